"""What kind of target a case has."""

from __future__ import annotations

import re

from trainer.models.device import Region
from trainer.models.learning import Task
from trainer.models.scenario import Case

JAWS = {Region.LOWER_JAW: Task.LOWER_JAW, Region.UPPER_JAW: Task.UPPER_JAW}
EAR_PARTS = ("ossicles", "tympanic-cavity", "inner-ear", "ear-canal")
# One site has up to this many teeth (training reference, 2.1: "two to four teeth").
MOST_TEETH_OF_A_SITE = 4


def task_of(case: Case) -> Task:
    """The case's task: what its file says, else what region and required structures make of it."""
    if case.task is not None:
        return case.task
    if case.groove_off_mm is not None:
        return Task.PANORAMIC
    asked = [r.structure for r in case.required]
    region = _region(case)
    two_sided = all(any(s.endswith(side) for s in asked) for side in ("-left", "-right"))
    if any(s.startswith(EAR_PARTS) for s in asked):
        return Task.EAR
    if region is Region.JOINTS:
        return Task.BOTH_JOINTS if two_sided else Task.ONE_JOINT
    if any(s.startswith("sinus-") and not s.startswith("sinus-floor") for s in asked):
        return Task.SINUS
    if region is Region.BOTH_JAWS:
        return Task.BOTH_JAWS
    teeth = {found[1] for s in asked if (found := re.match(r"tooth-(\d\d)", s))}
    return JAWS[region] if two_sided or len(teeth) > MOST_TEETH_OF_A_SITE else Task.SINGLE_SITE


def _region(case: Case) -> Region:
    """The region that was ordered; without a visit the one entered."""
    if case.visit is None:
        return case.start.region
    return (case.visit.answers.clears or case.visit.card.prescription).region

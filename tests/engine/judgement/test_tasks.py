"""The kind of target: what the file says, and what region and structures make of it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from helpers.appointments import real_case

from trainer.engine.judgement.tasks import task_of
from trainer.models.device import Region
from trainer.models.learning import Task
from trainer.models.scenario import Requirement
from trainer.services.assets import SCENARIOS, UNITS
from trainer.services.scenario_io import load_case


@pytest.mark.parametrize("path", sorted(SCENARIOS.glob("*.yaml")), ids=lambda p: p.stem)
def test_what_a_shipped_case_calls_its_task_is_what_it_looks_like(path: Path) -> None:
    """Region and required structures alone lead to the same task as the file's own word."""
    case = load_case(path, UNITS)
    assert task_of(replace(case, task=None)) is task_of(case)


def test_the_files_own_word_counts() -> None:
    """Whatever the structures look like."""
    case = replace(real_case()[0], task=Task.EAR)
    assert task_of(case) is Task.EAR


@pytest.mark.parametrize(
    ("region", "asked", "task"),
    [
        (Region.LOWER_JAW, ["tooth-48", "tooth-48-apex-mesial", "canal-at-48"], Task.SINGLE_SITE),
        (Region.LOWER_JAW, ["mental-foramen-left", "mental-foramen-right"], Task.LOWER_JAW),
        (Region.UPPER_JAW, [f"tooth-1{n}-crown" for n in range(1, 6)], Task.UPPER_JAW),
        (Region.UPPER_JAW, ["tooth-16", "sinus-floor-right"], Task.SINGLE_SITE),
        (Region.UPPER_JAW, ["sinus-right"], Task.SINUS),
        (Region.BOTH_JAWS, ["chin", "nasal-floor"], Task.BOTH_JAWS),
        (Region.JOINTS, ["condyle-left", "fossa-left"], Task.ONE_JOINT),
        (Region.JOINTS, ["condyle-left", "condyle-right"], Task.BOTH_JOINTS),
        (Region.JOINTS, ["ossicles-right", "inner-ear-right"], Task.EAR),
    ],
)
def test_a_file_that_does_not_say_is_understood(
    region: Region, asked: list[str], task: Task
) -> None:
    """Region and required structures tell, with or without a visit."""
    case = real_case()[0]
    required = tuple(Requirement(s, 2.0) for s in asked)
    start = case.start.with_values({"region": region})
    bare = replace(case, task=None, required=required, start=start, visit=None)
    assert task_of(bare) is task
    visit = case.visit
    order = replace(visit.card.prescription, region=region)
    ordered = replace(visit, card=replace(visit.card, prescription=order))
    assert task_of(replace(bare, start=case.start, visit=ordered)) is task

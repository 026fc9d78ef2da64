"""What is kept of learners and their work. Real patients never stand in it.

Simulated attempts, supervised cases and observations are three things that are never added up or
derived from each other: the first are practice, the others are a supervisor's word.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from trainer.models.learning import HelpLevel, Task


@dataclass(frozen=True, slots=True)
class Learner:
    """Somebody who practises. ``pseudonym`` is what is shown; ``name`` is optional.

    ``group``: a course or practice; an instructor sees their own groups only.
    """

    id: str
    pseudonym: str
    name: str = ""
    group: str = ""
    is_instructor: bool = False
    made_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class StoredAttempt:
    """A finished attempt with its log and the score that the log gave when it was stored.

    ``log`` holds the attempt log's bytes, from which everything else can be computed again;
    ``score`` is that score as plain data; ``finished_at`` is UTC. ``prediction`` is the learner's,
    as plain data; empty when none was made.
    """

    id: str
    learner_id: str
    case_id: str
    case_sha256: str
    task: Task
    help: HelpLevel
    hints: int
    seed: int
    program: str
    finished_at: datetime
    percent: float
    critical: tuple[str, ...]
    mastered: bool
    needless_retake: bool
    scout_pairs: int
    runs: int
    duration_s: float
    score: Mapping[str, Any]
    log: bytes
    prediction: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class SupervisedCase:
    """One supervised examination of the sign-off log: no patient, a case number at most.

    ``supervision``: 1 watched, 2 helped with hands, 3 helped with words, 4 supervisor in the room,
    5 supervisor on call. ``grade``: "A" acceptable, "N" not acceptable, with ``cause``.
    """

    id: str
    learner_id: str
    on: date
    supervisor: str
    region: str
    field_class: str
    patient_group: str
    positioned_by: str
    prompts: int
    scouts: int
    exposures: int
    grade: str
    cause: str
    supervision: int
    done_well: str
    aim: str
    case_number: str = ""


@dataclass(frozen=True, slots=True)
class Observation:
    """A supervisor's direct observation of a real or simulated procedure.

    ``ratings``: domain to 1 (well below) … 5 (well above); a domain that was not seen is left out.
    ``overall``: the global rating, given by the supervisor and by nobody else. ``supervision`` as
    in `SupervisedCase`. ``attempt_id`` when a simulated attempt was watched.
    """

    id: str
    learner_id: str
    on: date
    observer: str
    setting: str
    ratings: Mapping[str, int]
    overall: int
    supervision: int
    done_well: str
    aim: str
    attempt_id: str = ""


@dataclass(frozen=True, slots=True)
class PanelEstimate:
    """One judge's word in a standard-setting panel, given by an instructor.

    ``share``: of the learners who just suffice, the share (0 to 1) who would do ``item`` of case
    ``case_id`` rightly. ``panel`` names the round, so that several can be kept.
    """

    id: str
    judge_id: str
    panel: str
    case_id: str
    item: str
    share: float
    on: date

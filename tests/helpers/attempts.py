"""Stored attempts and supervised cases for tests: invented, of people with tree names."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

from trainer.models.learning import Block, HelpLevel, Task
from trainer.models.records import StoredAttempt, SupervisedCase

START = datetime(2026, 1, 5, 9, 0, tzinfo=UTC)
WEIGHTS = {
    Block.PREPARATION: 20,
    Block.PRESCRIPTION: 15,
    Block.POSITION: 35,
    Block.STABILITY: 10,
    Block.EXPOSURE: 10,
    Block.REVIEW: 10,
}


def _row(block: Block, share: float) -> dict[str, Any]:
    """The only row of a block."""
    told = {"value": share, "limit": 1.0, "unit": "", "sentence": ""}
    name = f"Row of {block}"
    return {"key": f"{block}-row", "name": name, "points": share, "most": 1.0, **told}


def score_of_blocks(shares: dict[Block, float]) -> dict[str, Any]:
    """A stored score of these shares; a block left out earned everything. The image answers."""
    return {
        "acceptable": True,
        "mastery_percent": 90.0,
        "required": [],
        "held": [],
        "spoiled_by": [],
        "blocks": [
            {
                "block": str(b),
                "weight": w,
                "earned": shares.get(b, 1.0),
                "items": [_row(b, shares.get(b, 1.0))],
            }
            for b, w in WEIGHTS.items()
        ],
    }


GOOD = StoredAttempt(
    id="0",
    learner_id="alder",
    case_id="case-a",
    case_sha256="",
    task=Task.SINGLE_SITE,
    help=HelpLevel.NONE,
    hints=0,
    seed=1,
    program="test",
    finished_at=START,
    percent=95.0,
    critical=(),
    mastered=True,
    needless_retake=False,
    scout_pairs=1,
    runs=1,
    duration_s=400.0,
    score=score_of_blocks({}),
    log=b"",
)


def attempt(number: int = 0, success: bool = True, **changes: object) -> StoredAttempt:
    """An attempt on day ``number`` that is a success, or stays below mastery."""
    own = replace(
        GOOD,
        id=f"{number:04d}",
        finished_at=START + timedelta(days=number),
        percent=95.0 if success else 70.0,
        mastered=success,
    )
    return replace(own, **changes)


def series(results: Iterable[bool] | str, **changes: object) -> list[StoredAttempt]:
    """Attempts a day apart at two cases in turn; a text's S and F stand for True and False."""
    found: Sequence[bool] = [r in (True, "S") for r in results]
    return [
        attempt(i, success, **{"case_id": f"case-{'ab'[i % 2]}", **changes})
        for i, success in enumerate(found)
    ]


def supervised(number: int, grade: str = "A", cause: str = "") -> SupervisedCase:
    """A supervised examination of the invented practice."""
    return SupervisedCase(
        id=str(number),
        learner_id="alder",
        on=date(2026, 2, 1),
        supervisor="Rowan",
        region="lower-jaw",
        field_class="S",
        patient_group="adult",
        positioned_by="trainee",
        prompts=0,
        scouts=1,
        exposures=1,
        grade=grade,
        cause=cause,
        supervision=4,
        done_well="",
        aim="",
    )

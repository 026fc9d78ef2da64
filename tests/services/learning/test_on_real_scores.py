"""Learning and statistics on scores as the program stores them, and on the shipped cases."""

from __future__ import annotations

from dataclasses import replace

import pytest
from helpers.appointments import CLEAN_RUN, doing, play, without
from helpers.attempts import attempt

from trainer.engine.judgement.score import Score, score
from trainer.engine.learning.next_case import block_care, block_shares, next_case
from trainer.engine.learning.practice import exam_set, practice_case
from trainer.engine.learning.progress import succeeded
from trainer.engine.statistics.rejects import simulated_rejects
from trainer.models import appointment_commands as do
from trainer.models.appointment_words import Instruction
from trainer.models.learning import Block, HelpLevel, Task
from trainer.models.records import StoredAttempt
from trainer.services.assets import SCENARIOS, UNITS
from trainer.services.learning.group_report import case_items
from trainer.services.scenario_io import load_case
from trainer.services.scoring import score_data

PEOPLE = ["alder", "birch", "cedar", "elder", "hazel"]


def stored(number: int, found: Score, learner: str) -> StoredAttempt:
    """An attempt with that score as the program would store it."""
    return attempt(
        number,
        learner_id=learner,
        task=found.task,
        help=found.help,
        percent=found.percent,
        critical=tuple(str(c.item) for c in found.critical),
        mastered=found.mastered,
        needless_retake=found.needless_retake,
        scout_pairs=found.scout_pairs,
        score=score_data(found),
    )


@pytest.fixture(scope="module")
def clean() -> Score:
    """The score of a clean appointment."""
    return score(play(CLEAN_RUN)[0])


@pytest.fixture(scope="module")
def unclean() -> Score:
    """The score of an appointment in which nobody was told to stay still."""
    silent = without(CLEAN_RUN, doing(do.Instruct, what=Instruction.STAY_STILL))
    return score(play(silent)[0])


@pytest.mark.parametrize("level", list(HelpLevel))
def test_success_is_the_same_everywhere(level, clean):
    """An attempt is a success by its columns if and only if its score says so."""
    found = replace(clean, help=level)
    assert succeeded(stored(0, found, "alder")) is found.success
    wasteful = replace(found, needless_retake=True)
    assert not succeeded(stored(0, wasteful, "alder")) and not wasteful.success


def test_blocks_of_a_stored_score_are_read(clean, unclean):
    """The shares are those of the score's own blocks, and the lacking one is named."""
    shares = block_shares(score_data(unclean))
    assert shares == {b.block: round(b.earned, 4) for b in unclean.blocks if b.items}
    assert shares[Block.STABILITY] < block_shares(score_data(clean))[Block.STABILITY]
    care = block_care([stored(i, unclean, "alder") for i in range(3)])
    assert care is not None
    assert care.mean == pytest.approx(min(shares.values()))


def test_items_of_stored_scores_are_rows_of_the_table(clean, unclean):
    """Five people's rows: four asked in time to stay still, and every mark is 0 or 1."""
    rows = [stored(i, unclean if i == 0 else clean, name) for i, name in enumerate(PEOPLE)]
    found = {f.name: f.difficulty.rate for f in case_items(rows, "case-a")}
    assert found["Last words"] == 0.8
    assert found["Required structures"] == 1.0


def test_rejects_of_stored_scores(clean):
    """A clean attempt's image answers; one that was spoiled counts by its cause."""
    spoiled = {**score_data(clean), "acceptable": False, "spoiled_by": ["motion"]}
    rows = [stored(0, clean, "alder"), attempt(1, score=spoiled)]
    found = simulated_rejects(rows)
    assert (found.rejected, found.images) == (1, 2)
    assert [c.cause for c in found.causes if c.count] == ["motion"]


def test_the_shipped_cases_fill_an_exam_and_suggest_a_start():
    """Every shipped case can be practised, they fill an exam, and level 1 comes first."""
    cases = [practice_case(load_case(path, UNITS)) for path in sorted(SCENARIOS.glob("*.yaml"))]
    assert len({c.id for c in exam_set(cases, 1)}) == 8
    first = next_case(cases, []).case
    assert (first.task, first.level) == (Task.SINGLE_SITE, 1)

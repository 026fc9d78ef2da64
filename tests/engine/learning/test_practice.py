"""Practice sets and exams: mixed order, blueprints, the case met least."""

from __future__ import annotations

import itertools
from collections import Counter

import pytest
from helpers.attempts import attempt
from hypothesis import given
from hypothesis import strategies as st

from trainer.engine.learning.practice import (
    BLUEPRINT,
    EXAM_CASES,
    Cell,
    PracticeCase,
    exam_set,
    freshest,
    mixed_order,
    practice_set,
)
from trainer.errors import NotValid
from trainer.models.learning import Task

TASKS = list(Task)[:4]


def made(tasks: list[Task], levels: tuple[int, ...] = (1, 2, 3, 4)) -> list[PracticeCase]:
    """Cases of these tasks, levels in turn."""
    return [PracticeCase(f"c{i:02d}", t, levels[i % len(levels)]) for i, t in enumerate(tasks)]


def pairs(cases) -> int:
    """How many neighbours are of one task."""
    return sum(a.task is b.task for a, b in itertools.pairwise(cases))


@given(st.lists(st.sampled_from(TASKS), max_size=30), st.integers(0, 2**32 - 1))
def test_mixed_order_has_as_few_neighbours_of_a_task_as_can_be(tasks, seed):
    """Nothing is lost, and one task stands beside itself only as often as it must.

    The least number is by counting: m of n in a row need n - m others between them, so
    max(0, 2 m - n - 1) neighbours are left.
    """
    cases = made(tasks)
    order = mixed_order(cases, seed)
    assert sorted(order, key=lambda c: c.id) == cases
    most = max(Counter(tasks).values(), default=0)
    assert pairs(order) == max(0, 2 * most - len(tasks) - 1)


def test_mixed_order_reaches_every_allowed_order():
    """Chance leaves no good order out: all 12 of two and two and one come up (listed by hand)."""
    cases = made([Task.EAR, Task.EAR, Task.SINUS, Task.SINUS, Task.ONE_JOINT])
    found = {tuple(c.task for c in mixed_order(cases, seed)) for seed in range(300)}
    every = set(itertools.permutations([c.task for c in cases]))
    assert found == {p for p in every if all(a is not b for a, b in itertools.pairwise(p))}
    assert len(found) == 12


def test_the_seed_decides():
    """The same seed gives the same set, and seeds differ."""
    cases = made(TASKS * 5)
    assert practice_set(cases, 8, 3) == practice_set(cases, 8, 3)
    assert exam_of(7) == exam_of(7)
    assert len({practice_set(cases, 8, seed) for seed in range(20)}) > 10


@given(st.lists(st.sampled_from(TASKS), max_size=25), st.integers(0, 12), st.integers(0, 999))
def test_practice_sets_spread_over_tasks(tasks, size, seed):
    """A set has different cases, and no task two more than another that had cases left."""
    cases = made(tasks)
    chosen = practice_set(cases, size, seed)
    assert len({c.id for c in chosen}) == len(chosen) == min(size, len(cases))
    there, used = Counter(tasks), Counter(c.task for c in chosen)
    for a, b in itertools.permutations(there, 2):
        assert used[a] - used[b] <= 1 or used[b] == there[b]


LIBRARY = made(
    [Task.SINGLE_SITE] * 8
    + [Task.LOWER_JAW, Task.UPPER_JAW, Task.BOTH_JAWS, Task.LOWER_JAW] * 2
    + [Task.EAR, Task.SINUS, Task.ONE_JOINT, Task.BOTH_JOINTS]
)


def exam_of(seed: int) -> tuple[PracticeCase, ...]:
    """An exam drawn from the library above."""
    return exam_set(LIBRARY, seed)


def fills(cases, blueprint) -> bool:
    """Whether the cases fill the blueprint's places one to one (tried by every order)."""
    places = [cell for cell in blueprint for _ in range(cell.count)]
    return any(
        all(cell.takes(c) for cell, c in zip(places, order, strict=True))
        for order in itertools.permutations(cases)
    )


@pytest.mark.parametrize("seed", range(5))
def test_an_exam_fills_the_blueprint(seed):
    """An exam has eight different cases that fill every line of the blueprint."""
    exam = exam_of(seed)
    assert sum(cell.count for cell in BLUEPRINT) == EXAM_CASES == len(exam)
    assert len(set(exam)) == 8
    assert fills(exam, BLUEPRINT)


def test_an_exam_is_found_where_greed_would_fail():
    """Where two lines compete for a case, the only way to fill both is taken, for any seed."""
    wide = Cell(1, frozenset({Task.EAR, Task.SINUS}), frozenset({1}))
    narrow = Cell(1, frozenset({Task.EAR}), frozenset({1}))
    cases = [PracticeCase("e", Task.EAR, 1), PracticeCase("s", Task.SINUS, 1)]
    for seed in range(20):
        assert {c.id for c in exam_set(cases, seed, (wide, narrow))} == {"e", "s"}


@pytest.mark.parametrize("few", [LIBRARY[:3], LIBRARY[:8] * 1, []], ids=["3", "one task", "none"])
def test_a_library_too_small_for_an_exam_is_told(few):
    """An exam that cannot be filled is refused with words."""
    with pytest.raises(NotValid, match="cannot fill its 8 places"):
        exam_set(few, 1)


def test_the_freshest_case_is_another_one():
    """The case met least, then longest ago, is offered; the last one only when it stands alone."""
    a, b, c = (PracticeCase(name, Task.EAR, 1) for name in "abc")
    met = [attempt(i, case_id=name) for i, name in enumerate("abca")]
    assert freshest([a, b, c], met) == b
    assert freshest([a, b, c], met[:1]) == b
    assert freshest([a, c], [*met, attempt(9, case_id="c")]) == a
    assert freshest([a], met) == a
    assert freshest([a, b], [attempt(0, case_id="a")]) == b

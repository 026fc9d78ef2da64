"""Sets of cases to practise or to be examined with, in mixed order.

Random order tends to beat blocked order for what is kept and carried over (review of 15 trials,
695 people, PMC4714441; high risk of bias), so no two neighbours of a set are of one task where that
can be avoided.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from trainer.engine.chance import Chance
from trainer.engine.judgement.tasks import task_of
from trainer.errors import Fault, NotValid
from trainer.models.learning import Task
from trainer.models.records import StoredAttempt
from trainer.models.scenario import Case

_ORDER, _CHOICE, _EXAM = 1, 2, 3  # what a stream of chance is for
EXAM_CASES = 8  # cases of one exam, of at most 8 minutes each; own working values
MINUTES_PER_CASE = 8


@dataclass(frozen=True, slots=True)
class PracticeCase:
    """What a set needs to know of a case. ``level`` 1 guided to 4 hard."""

    id: str
    task: Task
    level: int


@dataclass(frozen=True, slots=True)
class Cell:
    """A line of an exam's blueprint: so many cases of these tasks and levels."""

    count: int
    tasks: frozenset[Task]
    levels: frozenset[int]

    def takes(self, case: PracticeCase) -> bool:
        """Whether the case fits this line."""
        return case.task in self.tasks and case.level in self.levels


_JAWS = frozenset({Task.LOWER_JAW, Task.UPPER_JAW, Task.BOTH_JAWS})
_FAR = frozenset({Task.ONE_JOINT, Task.BOTH_JOINTS, Task.EAR, Task.SINUS, Task.PANORAMIC})
# Own working value, to be replaced by a panel's: most cases where most requests are, one rare
# target, and one case of the hardest level of any task.
BLUEPRINT: tuple[Cell, ...] = (
    Cell(3, frozenset({Task.SINGLE_SITE}), frozenset({1, 2, 3})),
    Cell(3, _JAWS, frozenset({1, 2, 3})),
    Cell(1, _FAR, frozenset({1, 2, 3, 4})),
    Cell(1, frozenset(Task), frozenset({4})),
)


def practice_case(case: Case) -> PracticeCase:
    """What a set needs to know of a written case."""
    return PracticeCase(case.id, task_of(case), case.level)


def mixed_order(cases: Iterable[PracticeCase], seed: int) -> tuple[PracticeCase, ...]:
    """The cases in a chance order with as few neighbours of one task as can be."""
    chance = Chance(seed, _ORDER)
    waiting: dict[Task, list[PracticeCase]] = {}
    for case in cases:
        waiting.setdefault(case.task, []).append(case)
    for group in waiting.values():
        _shuffle(group, chance)
    counts = Counter({task: len(group) for task, group in waiting.items()})
    order: list[PracticeCase] = []
    last: Task | None = None
    while counts:
        costs = {task: (task == last) + _pairs_after(counts, task) for task in counts}
        free = [task for task, cost in costs.items() if cost == min(costs.values())]
        last = free[chance.pick([float(counts[task]) for task in free])]
        order.append(waiting[last].pop())
        counts[last] -= 1
        counts += Counter()  # drops what is used up
    return tuple(order)


def practice_set(cases: Sequence[PracticeCase], size: int, seed: int) -> tuple[PracticeCase, ...]:
    """So many different cases, spread evenly over their tasks, in mixed order.

    Fewer when there are fewer cases.
    """
    chance = Chance(seed, _CHOICE)
    pool = list(cases)
    _shuffle(pool, chance)
    taken: list[PracticeCase] = []
    used: Counter[Task] = Counter()
    while pool and len(taken) < size:
        case = min(pool, key=lambda c: used[c.task])
        pool.remove(case)
        taken.append(case)
        used[case.task] += 1
    return mixed_order(taken, seed)


def exam_set(
    cases: Sequence[PracticeCase], seed: int, blueprint: Sequence[Cell] = BLUEPRINT
) -> tuple[PracticeCase, ...]:
    """Different cases that fill every line of the blueprint, drawn by chance, in mixed order.

    Raises
    ------
    NotValid
        If the cases cannot fill the blueprint.
    """
    from scipy.optimize import linear_sum_assignment

    chance = Chance(seed, _EXAM)
    lines = [cell for cell in blueprint for _ in range(cell.count)]
    # A place that a case does not fit costs more than all places that fit together.
    barred = float(len(lines) + 1)
    costs = np.array(
        [[chance.uniform() if cell.takes(c) else barred for c in cases] for cell in lines]
    ).reshape(len(lines), len(cases))
    places, chosen = linear_sum_assignment(costs)
    if len(places) < len(lines) or (costs[places, chosen] >= barred).any():
        text = (
            f"{len(cases)} cases cannot fill its {len(lines)} places with different ones; "
            "take more cases into the library or ask for fewer of one kind"
        )
        raise NotValid([Fault("exam", 0, "blueprint", text)])
    return mixed_order([cases[i] for i in chosen], seed)


def freshest(cases: Sequence[PracticeCase], attempts: Sequence[StoredAttempt]) -> PracticeCase:
    """The case met least often, then longest ago, then first by id; never the last one met.

    Unless it is the only one. ``attempts`` in order of time; ``cases`` not empty.
    """
    times = Counter(a.case_id for a in attempts)
    latest = {a.case_id: i for i, a in enumerate(attempts)}
    last = attempts[-1].case_id if attempts else ""
    return min(cases, key=lambda c: (c.id == last, times[c.id], latest.get(c.id, -1), c.id))


def _pairs_after(counts: Counter[Task], first: Task) -> int:
    """The fewest neighbours of one task that are left if ``first`` comes next.

    A task that fills more than every second place must stand beside itself.
    """
    n = counts.total()
    own = 2 * counts[first] - n - 1
    others = (2 * count - n for task, count in counts.items() if task != first)
    return max(0, own, *others)


def _shuffle(items: list[PracticeCase], chance: Chance) -> None:
    """Puts the list into an order by chance (Fisher & Yates)."""
    for i in range(len(items) - 1, 0, -1):
        j = int(chance.uniform(0.0, i + 1))
        items[i], items[j] = items[j], items[i]

"""How a group does, for its instructor: by task and block, without names and without ranking.

Every person counts once: first the median of each person's latest unassisted attempts, then the
median and quartiles over people. Where fewer than five people stand behind a figure there is no
figure, since it would tell who they are (own working value).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from math import isnan
from statistics import median
from typing import Any

import numpy as np

from trainer.engine.appointment.state import spoken
from trainer.engine.learning.next_case import LATEST, TASK_TEXT, block_shares
from trainer.engine.learning.progress import in_order, progress, succeeded
from trainer.engine.statistics.items import ItemFigures, item_figures
from trainer.engine.statistics.rejects import Rejects, simulated_rejects
from trainer.errors import TrainerError
from trainer.models.appointment_words import CriticalItem
from trainer.models.learning import Block, Task
from trainer.models.records import StoredAttempt
from trainer.services.cautions import SHORT_CAUTION
from trainer.services.learning.reject_words import reject_lines

FEWEST_PEOPLE = 5
TOO_FEW = f"fewer than {FEWEST_PEOPLE} people: not shown"


@dataclass(frozen=True, slots=True)
class Spread:
    """Median and quartiles over people, 0 to 100."""

    lower: float
    median: float
    upper: float


@dataclass(frozen=True, slots=True)
class GroupRow:
    """One task or block: how many people and unassisted attempts, and how they lie.

    ``successes`` and ``percent`` are None where too few people stand behind them; ``successes`` is
    None for a block.
    """

    name: str
    people: int
    attempts: int
    successes: int | None
    percent: Spread | None


@dataclass(frozen=True, slots=True)
class GroupView:
    """A group without names.

    ``critical``: attempts in which each critical item failed, commonest first; ``ready``: people
    with a learning signal and no alarm since; ``rejects``: of unassisted attempts. All None with
    too few people.
    """

    people: int
    attempts: int
    unassisted: int
    tasks: tuple[GroupRow, ...]
    blocks: tuple[GroupRow, ...]
    critical: tuple[tuple[CriticalItem, int], ...] | None
    ready: int | None
    rejects: Rejects | None


def group_view(attempts: Sequence[StoredAttempt]) -> GroupView:
    """The group whose attempts these are, of all its people, in any order."""
    free = [a for a in in_order(attempts) if a.help.is_unassisted]
    people = sorted({a.learner_id for a in attempts})
    enough = len({a.learner_id for a in free}) >= FEWEST_PEOPLE
    failed = Counter(CriticalItem(item) for a in free for item in a.critical)
    commonest = sorted(failed.items(), key=lambda f: (-f[1], list(CriticalItem).index(f[0])))
    own = [[a for a in attempts if a.learner_id == person] for person in people]
    return GroupView(
        len(people),
        len(attempts),
        len(free),
        tuple(_task_rows(free)),
        tuple(_block_rows(free)),
        tuple(commonest) if enough else None,
        sum(_is_ready(series) for series in own) if enough else None,
        simulated_rejects(free) if enough else None,
    )


def case_items(attempts: Sequence[StoredAttempt], case_id: str) -> tuple[ItemFigures, ...]:
    """How the score's rows worked at one case: each person's first unassisted attempt at it.

    Only rows that applied in all of these attempts; a row is done when it earned all its points.

    Raises
    ------
    TrainerError
        If fewer than five people tried the case without help.
    """
    first: dict[str, StoredAttempt] = {}
    for a in in_order(attempts):
        if a.case_id == case_id and a.help.is_unassisted:
            first.setdefault(a.learner_id, a)
    if len(first) < FEWEST_PEOPLE:
        raise TrainerError(
            f"{_people(len(first))} tried case {case_id!r} without help; items are shown from "
            f"{FEWEST_PEOPLE} people on, so that nobody is recognised."
        )
    marked = [_marks(a.score) for a in first.values()]
    names = {key: name for marks in marked for key, (name, _) in marks.items()}
    keys = [key for key in names if all(key in marks for marks in marked)]
    table = [[marks[key][1] for key in keys] for marks in marked]
    return item_figures(table, [names[key] for key in keys])


def items_text(items: Sequence[ItemFigures]) -> str:
    """The items for reading, in the score's own order."""
    common = set.intersection(*(set(item.warnings) for item in items)) if items else set()
    lines = ["Share that did it (95 % interval); correlation with the rest of the score"]
    lines += sorted(common)
    for item in items:
        d, bond = item.difficulty, item.discrimination
        rest = "all did the same" if isnan(bond) else f"{bond:+.2f}"
        lines.append(
            f"  {item.name}: {100 * d.rate:.0f} % ({100 * d.low:.0f}–{100 * d.high:.0f} %); {rest}"
        )
        lines += [f"    {warning}" for warning in item.warnings if warning not in common]
    return "\n".join([*lines, SHORT_CAUTION])


def group_data(view: GroupView) -> dict[str, Any]:
    """The group view, ready for JSON; rates 0 to 1 or null, percents 0 to 100."""
    data = asdict(view, dict_factory=_plain)
    data["critical"] = None if view.critical is None else {str(i): n for i, n in view.critical}
    return {"caution": SHORT_CAUTION, **data}


def group_text(view: GroupView) -> str:
    """The group view for reading."""
    return "\n".join(_lines(view))


def _is_ready(attempts: Sequence[StoredAttempt]) -> bool:
    charts = progress(attempts)
    return charts.signal is not None and not charts.alarms


def _lines(view: GroupView) -> Iterator[str]:
    start = f"{_people(view.people)}, {_attempts(view.attempts)}"
    yield f"{start}, {view.unassisted} of them unassisted"
    yield f"Each person counts once, by their latest {LATEST} unassisted attempts. No ranking."
    for title, rows in (("By task", view.tasks), ("By block", view.blocks)):
        if rows:
            yield f"{title}:"
        for row in rows:
            yield f"  {row.name}: {_row_words(row)}"
    if view.critical is None:
        yield f"Critical items, signals, rejects: {TOO_FEW}"
    else:
        yield (
            "Critical items failed, by number of attempts:"
            if view.critical
            else ("Critical items failed: none")
        )
        for item, count in view.critical:
            yield f"  {spoken(item)}: {count}"
        if view.ready is not None:
            yield f"Ready for observed practice by their learning chart: {_people(view.ready)}"
    if view.rejects is not None:
        yield from reject_lines(view.rejects)
    yield SHORT_CAUTION


def _plain(fields: Sequence[tuple[str, Any]]) -> dict[str, Any]:
    """Fields with null for what is no number: JSON has no other word for it."""
    return {key: None if isinstance(v, float) and isnan(v) else v for key, v in fields}


def _row_words(row: GroupRow) -> str:
    start = f"{_people(row.people)}, {_attempts(row.attempts)}"
    if row.percent is None:
        return f"{start}; {TOO_FEW}"
    good = "" if row.successes is None else f"{row.successes} successes, "
    p = row.percent
    return f"{start}; {good}median {p.median:.0f} % (middle half {p.lower:.0f}–{p.upper:.0f} %)"


def _task_rows(free: Sequence[StoredAttempt]) -> Iterator[GroupRow]:
    for task in Task:
        own = [a for a in free if a.task is task]
        if own:
            spread, people = _spread(own, lambda a: a.percent)
            good = None if spread is None else sum(succeeded(a) for a in own)
            name = TASK_TEXT[task]
            yield GroupRow(name, people, len(own), good, spread)


def _block_rows(free: Sequence[StoredAttempt]) -> Iterator[GroupRow]:
    for block in Block:
        own = [a for a in free if block in block_shares(a.score)]
        if own:
            spread, people = _spread(own, _block_percent(block))
            yield GroupRow(spoken(block), people, len(own), None, spread)


def _block_percent(block: Block) -> Callable[[StoredAttempt], float]:
    return lambda a: 100.0 * block_shares(a.score)[block]


def _spread(
    attempts: Sequence[StoredAttempt], value: Callable[[StoredAttempt], float]
) -> tuple[Spread | None, int]:
    """Median and quartiles over people (None with too few), and how many people there are."""
    own: dict[str, list[float]] = {}
    for a in attempts:
        own.setdefault(a.learner_id, []).append(value(a))
    if len(own) < FEWEST_PEOPLE:
        return None, len(own)
    of_people = [median(values[-LATEST:]) for values in own.values()]
    lower, middle, upper = (float(q) for q in np.percentile(of_people, [25, 50, 75]))
    return Spread(round(lower, 1), round(middle, 1), round(upper, 1)), len(own)


def _marks(score: Mapping[str, Any]) -> dict[str, tuple[str, int]]:
    """Name and mark, 1 or 0, of every row of a stored score that applied."""
    return {
        item["key"]: (item["name"], int(item["points"] >= item["most"]))
        for block in score["blocks"]
        for item in block["items"]
    }


def _people(n: int) -> str:
    return f"{n} {'person' if n == 1 else 'people'}"


def _attempts(n: int) -> str:
    return f"{n} attempt{'' if n == 1 else 's'}"

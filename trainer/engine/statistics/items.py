"""How each item of a checklist worked: how many did it, and whether it goes with the rest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from trainer.engine.statistics.rates import Interval, wilson
from trainer.errors import Fault, NotValid

FEWEST_ATTEMPTS = 30  # own working value
LOW_DISCRIMINATION = 0.2  # from memory
RARE = 0.05  # nearly all or nearly none did it; own working value


@dataclass(frozen=True, slots=True)
class ItemFigures:
    """One item.

    ``difficulty`` is the share of attempts that did it (so high is easy), with its interval.
    ``discrimination`` is its correlation with the rest of the score (point-biserial), ``nan`` where
    all did the same.
    """

    name: str
    difficulty: Interval
    discrimination: float
    attempts: int
    warnings: tuple[str, ...]


def item_figures(marks: ArrayLike, names: Sequence[str]) -> tuple[ItemFigures, ...]:
    """Difficulty and discrimination of each item.

    Parameters
    ----------
    marks : (attempts, items)
        1 done, 0 not done; only items that every one of these attempts could do.
    names : (items,)
        What each item is called.
    """
    table = np.asarray(marks, float)
    if table.ndim != 2 or table.shape[1] != len(names) or not len(table):
        raise NotValid([Fault("items", 0, "marks", "needs one column for each item")])
    if not np.isin(table, (0.0, 1.0)).all():
        raise NotValid([Fault("items", 0, "marks", "must be 0 or 1")])
    total = table.sum(axis=1)
    found = []
    for name, marked in zip(names, table.T, strict=True):
        rest = total - marked
        differs = bool(np.ptp(marked) and np.ptp(rest))
        bond = float(np.corrcoef(marked, rest)[0, 1]) if differs else float("nan")
        rate = wilson(int(marked.sum()), len(table))
        found.append(
            ItemFigures(name, rate, bond, len(table), _warnings(len(table), rate.rate, bond))
        )
    return tuple(found)


def _warnings(n: int, rate: float, bond: float) -> tuple[str, ...]:
    found = []
    if n < FEWEST_ATTEMPTS:
        found.append(f"{n} attempts, {FEWEST_ATTEMPTS} or more are wanted.")
    if rate <= RARE or rate >= 1.0 - RARE:
        found.append("Nearly all did the same: the item tells nobody apart (it may still matter).")
    elif bond < 0.0:
        found.append("Those who do the item do worse elsewhere: read its wording again.")
    elif bond < LOW_DISCRIMINATION:
        found.append("The item hardly goes with the rest of the score.")
    return tuple(found)

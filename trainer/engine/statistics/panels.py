"""Instructors' words made ready for the statistics: panels, ratings beside scores, rated pairs."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import fmean

from trainer.engine.statistics.standards import PanelCut, angoff
from trainer.errors import Fault, NotValid
from trainer.models.records import Observation, PanelEstimate, StoredAttempt


def panel_cut(estimates: Sequence[PanelEstimate]) -> PanelCut:
    """The pass mark of one panel; judges and items in the order of their ids.

    Of two estimates of one judge for one item the later counts.

    Raises
    ------
    NotValid
        If a judge left out items that another one judged; each gap is named.
    """
    table = {
        (e.judge_id, e.case_id, e.item): e.share for e in sorted(estimates, key=lambda e: e.on)
    }
    judges = sorted({judge for judge, _, _ in table})
    items = sorted({(case, item) for _, case, item in table})
    gaps = [
        Fault("panel", 0, judge, f"has not judged {item!r} of case {case!r}")
        for judge in judges
        for case, item in items
        if (judge, case, item) not in table
    ]
    if gaps:
        raise NotValid(gaps)
    return angoff([[table[judge, case, item] for case, item in items] for judge in judges])


def rated_scores(
    observations: Sequence[Observation], attempts: Sequence[StoredAttempt]
) -> tuple[list[float], list[float]]:
    """Global ratings, and beside each the percent of the simulated attempt that was watched.

    One pair for each attempt; what several people gave it is averaged, for they are not several
    attempts. The rating is the supervisor's own, the percent the program's: neither is made from
    the other.
    """
    given: dict[str, list[int]] = {}
    for o in observations:
        given.setdefault(o.attempt_id, []).append(o.overall)
    watched = [a for a in attempts if a.id in given]
    return [fmean(given[a.id]) for a in watched], [a.percent for a in watched]


def paired_ratings(observations: Sequence[Observation]) -> tuple[list[int], list[int]]:
    """Global ratings of attempts that two people watched: the first one's, and the second one's.

    First and second by the observers' names; a third is left out.
    """
    watched: dict[str, dict[str, int]] = {}
    for o in observations:
        if o.attempt_id:
            watched.setdefault(o.attempt_id, {})[o.observer] = o.overall
    pairs = [
        [ratings[name] for name in sorted(ratings)[:2]]
        for _, ratings in sorted(watched.items())
        if len(ratings) > 1
    ]
    return [first for first, _ in pairs], [second for _, second in pairs]

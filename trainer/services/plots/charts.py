"""The learning chart and the maintenance chart of one learner."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from trainer.engine.learning.progress import (
    ADEQUATE,
    INADEQUATE,
    KEPT,
    LEARNING_LIMIT,
    LOST,
    MAINTENANCE_LIMIT,
    Progress,
)
from trainer.services.plots.style import (
    GREY,
    INK,
    SMALL_POINTS,
    attempt_axis,
    key,
    new_figure,
    nothing_yet,
    plain_axes,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

LEARNING_TEXT = (
    "A success adds, a failure takes off; never below 0. Not yet good enough: "
    f"{100 * INADEQUATE:.0f} % failures, good enough: {100 * ADEQUATE:.0f} % (own working values). "
    "Method: LC-CUSUM (Biau et al., Br J Surg 2008). Only unassisted attempts at changing cases "
    "count."
)
MAINTENANCE_TEXT = (
    "A failure adds, a success takes off; never below 0, and from 0 again after an alarm. Kept up: "
    f"{100 * KEPT:.0f} % failures, lost: {100 * LOST:.0f} % (own working values)."
)


def learning_plot(progress: Progress) -> Figure:
    """The learning chart up to its signal."""
    figure = new_figure("Learning chart", (progress.sentence, LEARNING_TEXT))
    axes = figure.subplots()
    results = progress.successes[: len(progress.learning)]
    _draw_sums(axes, progress.learning, results)
    _draw_limit(axes, LEARNING_LIMIT, "ready for observed practice")
    if progress.signal is not None:
        _ring(axes, progress.signal, float(progress.learning[-1]), "signal")
    attempt_axis(axes, len(progress.learning))
    plain_axes(axes, "counted attempt", "sum")
    if not len(progress.learning):
        nothing_yet(axes, "No attempt counts yet.")
    else:
        key(axes)
    return figure


def maintenance_plot(progress: Progress) -> Figure:
    """The maintenance chart after the learning signal, with its alarms."""
    figure = new_figure("Maintenance chart", (progress.sentence, MAINTENANCE_TEXT))
    axes = figure.subplots()
    start = progress.signal or 0
    results = progress.successes[start:] if progress.signal else ()
    _draw_sums(axes, progress.maintenance, results, start, progress.alarms)
    _draw_limit(axes, MAINTENANCE_LIMIT, "alarm: failures have become more frequent")
    for alarm in progress.alarms:
        _ring(axes, start + alarm, float(progress.maintenance[alarm - 1]), "alarm")
    attempt_axis(axes, len(progress.maintenance), start)
    plain_axes(axes, "counted attempt", "sum")
    if not len(progress.maintenance):
        nothing_yet(axes, "Starts after the signal of the learning chart.")
    else:
        key(axes)
    return figure


def _draw_sums(
    axes: Axes,
    sums: NDArray[np.float64],
    successes: Sequence[bool],
    before: int = 0,
    alarms: Sequence[int] = (),
) -> None:
    """The sums of the attempts after number ``before``: dots for successes, crosses for the rest.

    The line through them breaks after each alarm, where the chart starts anew.
    """
    number = np.arange(before + 1, before + 1 + len(sums))
    for start, end in pairwise((0, *alarms, len(sums))):
        axes.plot(number[start:end], sums[start:end], color=GREY, linewidth=1.2)
    good = np.asarray(successes, bool)
    for chosen, mark, name in ((good, "o", "success"), (~good, "X", "no success")):
        if chosen.any():
            axes.plot(
                number[chosen],
                sums[chosen],
                linestyle="none",
                marker=mark,
                markersize=6 if mark == "o" else 8,
                color=INK,
                markerfacecolor=INK if mark == "o" else "white",
                label=name,
            )


def _draw_limit(axes: Axes, limit: float, text: str) -> None:
    axes.axhline(limit, color=INK, linestyle="--", linewidth=1.2)
    axes.annotate(
        f"{text} (limit {limit:g})",
        (0.01, limit),
        xycoords=("axes fraction", "data"),
        xytext=(0, 3),
        textcoords="offset points",
        fontsize=SMALL_POINTS,
    )
    axes.set_ylim(-0.1, limit * 1.3)


def _ring(axes: Axes, number: int, level: float, text: str) -> None:
    """A ring round the point that reached the limit, and its number."""
    axes.plot([number], [level], "o", markersize=13, markerfacecolor="none", color=INK)
    axes.annotate(
        f"{text}: {number}",
        (number, level),
        xytext=(0, 10),
        textcoords="offset points",
        ha="center",
        fontsize=SMALL_POINTS,
    )

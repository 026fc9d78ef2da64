"""Percent and calibration of one learner, attempt by attempt."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from trainer.engine.learning.curves import CurveFit, exponential, fit_exponential
from trainer.engine.learning.progress import in_order, succeeded
from trainer.models.records import StoredAttempt
from trainer.services.plots.style import (
    GREY,
    INK,
    attempt_axis,
    key,
    new_figure,
    nothing_yet,
    plain_axes,
)

if TYPE_CHECKING:
    from matplotlib.figure import Figure

RUNNING = 5  # attempts of the running mean
UP_TEXT = "predicted minus reached, points\n← too cautious      too hopeful →"
LOWEST_SHOWN = 50.0  # percent at the bottom of the drawing, unless an attempt had less


def percent_plot(attempts: Sequence[StoredAttempt], mastery_percent: float) -> Figure:
    """Percent of every attempt, marked by help and result, with the mastery mark.

    A curve is drawn through the unassisted ones only where they give one.
    """
    ordered = in_order(attempts)
    free = [a for a in ordered if a.help.is_unassisted]
    fit = fit_exponential([a.percent for a in free])
    text = (
        f"Curve of the unassisted attempts: settles at {fit.level:.0f} %."
        if isinstance(fit, CurveFit)
        else f"No curve is drawn. {fit.reason}"
    )
    rule = "A failed critical item is never made up for by points."
    figure = new_figure("Points by attempt", (f"{text} {rule}",))
    axes = figure.subplots()
    number = {a.id: i for i, a in enumerate(ordered, 1)}
    kinds = (
        ("success, unassisted", "o", INK, [a for a in free if succeeded(a)]),
        ("not yet, unassisted", "o", "white", [a for a in free if not _shown_fail(a)]),
        ("critical item failed", "X", "white", [a for a in free if a.critical]),
        ("helped", "s", "0.75", [a for a in ordered if not a.help.is_unassisted]),
    )
    for name, mark, fill, chosen in kinds:
        if chosen:
            axes.plot(
                [number[a.id] for a in chosen],
                [a.percent for a in chosen],
                linestyle="none",
                marker=mark,
                markersize=8 if mark == "X" else 6,
                color=INK,
                markerfacecolor=fill,
                label=name,
            )
    if isinstance(fit, CurveFit):
        along = np.arange(1.0, len(free) + 1.0)
        axes.plot(
            [number[a.id] for a in free],
            exponential(along, fit.level, fit.change, fit.rate),
            color=GREY,
            linestyle=":",
            linewidth=1.6,
            label="curve",
        )
    axes.axhline(
        mastery_percent,
        color=INK,
        linestyle="--",
        linewidth=1.0,
        label=f"mastery mark {mastery_percent:g} %",
    )
    lowest = min((a.percent for a in ordered), default=LOWEST_SHOWN)
    axes.set_ylim(min(LOWEST_SHOWN, 10.0 * (lowest // 10.0) - 2.0), 102.0)
    attempt_axis(axes, len(ordered))
    plain_axes(axes, "attempt", "points, % of those that applied")
    if ordered:
        key(axes)
    else:
        nothing_yet(axes, "No attempt yet.")
    return figure


def calibration_plot(attempts: Sequence[StoredAttempt]) -> Figure:
    """Predicted minus reached percent of the attempts with a prediction, and its running mean."""
    said = [a for a in in_order(attempts) if a.prediction]
    off = np.array([float(a.prediction["percent"]) - a.percent for a in said])
    figure = new_figure(
        "How well results were foretold",
        ("What was predicted before the result was shown. It has no say in any score.",),
    )
    axes = figure.subplots()
    axes.axhline(0.0, color=INK, linewidth=1.0)
    reach = max(20.0, float(np.abs(off).max(initial=0.0)) * 1.15)
    axes.set_ylim(-reach, reach)
    attempt_axis(axes, len(said))
    plain_axes(axes, "attempt with a prediction", UP_TEXT)
    if not len(off):
        nothing_yet(axes, "No prediction yet.")
        return figure
    number = np.arange(1, len(off) + 1)
    axes.vlines(number, 0.0, off, color=GREY, linewidth=1.0)
    axes.plot(number, off, "o", markersize=6, color=INK, markerfacecolor="white", label="attempt")
    if len(off) >= RUNNING:
        means = np.convolve(off, np.ones(RUNNING) / RUNNING, "valid")
        name = f"mean of the latest {RUNNING}"
        axes.plot(number[RUNNING - 1 :], means, color=INK, linewidth=2.0, label=name)
    key(axes)
    return figure


def _shown_fail(attempt: StoredAttempt) -> bool:
    """Whether another kind of mark shows the attempt already."""
    return succeeded(attempt) or bool(attempt.critical)

"""Rejects and their causes, beside published ones."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.engine.appointment.state import spoken
from trainer.engine.statistics.rates import Interval
from trainer.engine.statistics.rejects import (
    POOLED_RATE,
    PUBLISHED,
    PUBLISHED_CAUSES,
    Rejects,
)
from trainer.models.appointment_words import RetakeCause
from trainer.services.plots.style import INK, SMALL_POINTS, key, new_figure, plain_axes

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

SIZE_IN = (6.8, 6.7)
PLACES = ("Hong Kong", "Mainz", "Denmark", "Italy", "Ghent")
BELOW = (
    "Bars and points with 95 % Wilson intervals. Published causes: Clin Oral Investig 2020;24:4501 "
    '(57.5 % coverage, 27.5 % motion; "other" is all the rest there).',
    "Published rates: Hong Kong 2020; Mainz (Habibi et al.); Denmark 2015; Italy 2017 (motion "
    "only, lying); Ghent 2019 (under age, judged afterwards). Dotted: pooled 2.77 % (Yeung & Wong "
    "2021). They differ in what was counted: compare orders of size only.",
)


def rejects_plot(own: Rejects) -> Figure:
    """Causes of the rejects as bars, and the rate of rejects, each beside what was published."""
    here = "" if own.images else "No image here yet: published figures only. "
    below = (here + BELOW[0], BELOW[1], *own.warnings)
    figure = new_figure(f"Rejects: {own.what}", below, SIZE_IN)
    upper, lower = figure.subplots(2, 1, height_ratios=(3, 2))
    _draw_causes(upper, own)
    _draw_rates(lower, own)
    return figure


def _draw_causes(axes: Axes, own: Rejects) -> None:
    causes = list(RetakeCause)
    rows = (
        (f"here ({own.rejected} rejects)", own.causes if own.rejected else (), "////", -0.2),
        ("published (80 repeats)", PUBLISHED_CAUSES, "", 0.2),
    )
    for name, shares, hatch, aside in rows:
        if shares:
            place = np.array([causes.index(s.cause) for s in shares]) + aside
            height = [100.0 * s.share.rate for s in shares]
            axes.bar(
                place,
                height,
                0.36,
                facecolor="white" if hatch else "0.7",
                edgecolor=INK,
                hatch=hatch,
                label=name,
                yerr=_arms([s.share for s in shares]),
                capsize=3,
                error_kw={"elinewidth": 1.2},
            )
    axes.set_xticks(range(len(causes)), [_two_lines(c) for c in causes])
    axes.set_ylim(0.0, 100.0)
    plain_axes(axes, "", "share of all rejects, %")
    key(axes)


def _draw_rates(axes: Axes, own: Rejects) -> None:
    names = []
    if own.images:
        _draw_points(axes, [0.0], [own.rate], "D", INK)
        names.append(f"here\n{own.images} images")
    place = np.arange(len(PUBLISHED)) + len(names)
    _draw_points(axes, place, [p.rate for p in PUBLISHED], "o", "white")
    names += [f"{name}\n{p.n} images" for name, p in zip(PLACES, PUBLISHED, strict=True)]
    axes.axhline(100.0 * POOLED_RATE, color=INK, linestyle=":", linewidth=1.2)
    axes.set_xticks(range(len(names)), names)
    axes.set_xlim(-0.6, len(names) - 0.4)
    axes.set_ylim(bottom=0.0)
    plain_axes(axes, "", "rejected or repeated, %")
    axes.tick_params(axis="x", labelsize=SMALL_POINTS)


def _draw_points(
    axes: Axes, place: ArrayLike, rates: Sequence[Interval], mark: str, fill: str
) -> None:
    axes.errorbar(
        place,
        [100.0 * r.rate for r in rates],
        yerr=_arms(rates),
        linestyle="none",
        marker=mark,
        markersize=7,
        markerfacecolor=fill,
        color=INK,
        capsize=3,
        clip_on=False,  # a rate of 0 lies on the axis
    )


def _arms(rates: Sequence[Interval]) -> NDArray[np.float64]:
    """Lengths of the error bars below and above, (2, n), in percent."""
    return 100.0 * np.array([[r.rate - r.low for r in rates], [r.high - r.rate for r in rates]])


def _two_lines(cause: RetakeCause) -> str:
    """The cause's words, broken near the middle."""
    words = spoken(cause).split()
    half = (len(words) + 1) // 2
    return " ".join(words[:half]) + ("\n" + " ".join(words[half:]) if words[half:] else "")

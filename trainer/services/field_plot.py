"""The plot of field chooser evidence: probability and dose field by field, for black and white."""

from __future__ import annotations

import textwrap
from pathlib import Path
from typing import Any

from trainer.physics.dose import DOSE_CAUTION
from trainer.services.cautions import SHORT_CAUTION
from trainer.services.field_evidence import Evidence

# Marks that tell the scatters apart without colour, with their filling.
MARKS = (("o", "white"), ("s", "black"))
WIDTH_IN, ROW_IN, REST_IN, DPI = 9.0, 0.42, 2.6, 150
CAPTION_CHARACTERS, CAPTION_POINTS = 165, 7
APART_ROWS = 0.16  # how far the marks of one field stand above and below its line
MANY_TIMES = 8.0  # doses that lie farther apart than this are drawn on a scale of ratios


def save_plot(evidence: Evidence, path: Path) -> Path:
    """Draws the evidence into a PNG file and returns its path.

    Raises
    ------
    OSError
        If the file cannot be written.
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    height = REST_IN + ROW_IN * len(evidence.fields)
    figure = Figure(figsize=(WIDTH_IN, height), layout="constrained")
    FigureCanvasAgg(figure)
    left, right = figure.subplots(1, 2, sharey=True, width_ratios=(3, 2))
    draw_probabilities(left, evidence)
    draw_doses(right, evidence)
    figure.legend(
        loc="outside upper center",
        ncols=len(evidence.order.scatters),
        fontsize=9,
        title=f"{evidence.title}: what every field holds, and its dose",
        title_fontsize=12,
        frameon=False,
    )
    parts = _legend(evidence), DOSE_CAUTION, SHORT_CAUTION
    caption = "\n".join(textwrap.fill(part, CAPTION_CHARACTERS) for part in parts)
    figure.supxlabel(caption, fontsize=CAPTION_POINTS, x=0.01, ha="left")
    figure.savefig(path, dpi=DPI, format="png")
    return path


def draw_probabilities(axes: Any, evidence: Evidence) -> None:
    """Draws into matplotlib axes: for each field and scatter the probability with its interval.

    The smallest field stands on top; the ordered one is named in bold.
    """
    for number, scatter in enumerate(evidence.order.scatters):
        mark, filling = MARKS[number % len(MARKS)]
        found = [f.successes[number] for f in evidence.fields]
        share = [100.0 * s.probability for s in found]
        ends = [(100.0 * s.interval[0], 100.0 * s.interval[1]) for s in found]
        axes.errorbar(
            share,
            _rows(evidence, number),
            xerr=_reach(share, ends),
            fmt=mark,
            markersize=6,
            markerfacecolor=filling,
            markeredgecolor="black",
            ecolor="black",
            elinewidth=1.0,
            capsize=3,
            label=scatter.name,
        )
    axes.set_yticks(range(len(evidence.fields)))
    labels = axes.set_yticklabels([_field_name(evidence, f.field.id) for f in evidence.fields])
    for label, found_field in zip(labels, evidence.fields, strict=True):
        if found_field.field.id == evidence.ordered:
            label.set_fontweight("bold")
    axes.set_ylim(len(evidence.fields) - 0.5, -0.5)
    axes.set_xlim(-4.0, 104.0)
    axes.set_xticks(range(0, 101, 20))
    axes.set_xlabel("placings that hold everything [%]")
    axes.set_ylabel("field, diameter x height [mm]")
    _guide(axes)


def draw_doses(axes: Any, evidence: Evidence) -> None:
    """Draws into matplotlib axes: for each field and scatter the range of the effective dose."""
    doses = [d for f in evidence.fields for d in f.doses]
    for number in range(len(evidence.order.scatters)):
        mark, filling = MARKS[number % len(MARKS)]
        mine = [f.doses[number] for f in evidence.fields]
        middle = [d.middle_usv for d in mine]
        axes.errorbar(
            middle,
            _rows(evidence, number),
            xerr=_reach(middle, [(d.low_usv, d.high_usv) for d in mine]),
            fmt=mark,
            markersize=6,
            markerfacecolor=filling,
            markeredgecolor="black",
            ecolor="0.45",
            elinewidth=1.0,
            capsize=3,
        )
    if max(d.high_usv for d in doses) > MANY_TIMES * min(d.low_usv for d in doses):
        from matplotlib.ticker import LogLocator, NullFormatter, ScalarFormatter

        axes.set_xscale("log")
        axes.xaxis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0)))
        axes.xaxis.set_major_formatter(ScalarFormatter())
        axes.xaxis.set_minor_formatter(NullFormatter())
    axes.set_xlabel("effective dose, estimate [µSv]")
    _guide(axes)


def _guide(axes: Any) -> None:
    """Thin lines to read along."""
    axes.grid(True, color="0.88", linewidth=0.6)
    axes.set_axisbelow(True)


def _rows(evidence: Evidence, number: int) -> list[float]:
    """Heights of a scatter's marks, one a field."""
    middle = (len(evidence.order.scatters) - 1) / 2.0
    return [row + 2.0 * APART_ROWS * (number - middle) for row in range(len(evidence.fields))]


def _reach(middle: list[float], ends: list[tuple[float, float]]) -> list[list[float]]:
    """How far bars reach below and above their middles; rounding makes none negative."""
    pairs = list(zip(middle, ends, strict=True))
    below = [max(0.0, m - low) for m, (low, _) in pairs]
    above = [max(0.0, high - m) for m, (_, high) in pairs]
    return [below, above]


def _field_name(evidence: Evidence, field_id: str) -> str:
    return f"{field_id} (ordered)" if field_id == evidence.ordered else field_id


def _legend(evidence: Evidence) -> str:
    """What is drawn, and where the scatters come from."""
    sources = "; ".join(f"{s.id}: {s.source}" for s in evidence.order.scatters)
    return (
        f"Unit {evidence.unit_id} (invented). {evidence.order.draws} placings drawn a field about "
        "the best setup in it. Bars: 95 % interval of the probability; range of published dose "
        "coefficients. After scouts the dose of the scouts is counted in. "
        f"Scatters: {sources}."
    )

"""Plots: what is drawn, read from the drawing's own parts and not from its pixels."""

from __future__ import annotations

import io
import math
from dataclasses import replace

import numpy as np
import pytest
from helpers.attempts import attempt, series

from trainer.engine.learning.progress import progress
from trainer.engine.statistics.rejects import PUBLISHED, rejects
from trainer.models.appointment_words import RetakeCause
from trainer.models.learning import HelpLevel
from trainer.services.cautions import SHORT_CAUTION
from trainer.services.plots.charts import learning_plot, maintenance_plot
from trainer.services.plots.over_time import calibration_plot, percent_plot
from trainer.services.plots.reject_causes import rejects_plot
from trainer.services.plots.style import png_bytes, svg_bytes

NAMES = ("learning", "maintenance", "percent", "calibration", "rejects", "no rejects", "nothing")


@pytest.fixture(scope="module")
def attempts():
    """A learner with a signal, an alarm, helped attempts, critical fails and predictions."""
    rows = series("FSSF" + "S" * 20 + "FFFS")
    said = [10.0, -20.0, 5.0]
    return [
        replace(
            a,
            percent=60.0 + i,
            critical=("target-outside",) if i == 0 else (),
            prediction={"percent": 60.0 + i + said[i], "cut": [], "acceptable": True}
            if i < 3
            else {},
        )
        for i, a in enumerate(rows)
    ] + [attempt(90, percent=30.0, help=HelpLevel.OPEN)]


@pytest.fixture(scope="module")
def own():
    """Nine rejects of 84 images."""
    causes = [RetakeCause.COVERAGE] * 5 + [RetakeCause.MOTION] * 3 + [RetakeCause.METAL]
    return rejects("supervised examinations graded not acceptable", causes, 84)


@pytest.fixture(scope="module")
def figures(attempts, own):
    """One figure of each kind, by name."""
    found = progress(attempts)
    made = (
        learning_plot(found),
        maintenance_plot(found),
        percent_plot(attempts, 90.0),
        calibration_plot(attempts),
        rejects_plot(own),
        rejects_plot(rejects("test", [], 0)),
        calibration_plot([]),
    )
    return dict(zip(NAMES, made, strict=True))


def drawn(axes, mark):
    """Points of all lines with this mark, (n, 2), from left to right."""
    found = [np.asarray(line.get_xydata()) for line in axes.lines if line.get_marker() == mark]
    return sorted(np.vstack(found).tolist()) if found else []


def texts(figure):
    """All texts of a figure that show; labels of ticks beyond an axis' ends do not."""
    import matplotlib.text

    hidden = {
        label
        for axes in figure.axes
        for axis in (axes.xaxis, axes.yaxis)
        for tick in axis.get_major_ticks()
        if not min(axis.get_view_interval()) <= tick.get_loc() <= max(axis.get_view_interval())
        for label in (tick.label1, tick.label2)
    }
    found = figure.findobj(matplotlib.text.Text)
    return [t for t in found if t.get_text().strip() and t.get_visible() and t not in hidden]


def test_learning_chart_shows_successes_failures_and_the_signal(figures, attempts):
    """Dots and crosses stand at the chart's sums; the limit and the signal are marked."""
    found, axes = progress(attempts), figures["learning"].axes[0]
    sums = found.learning.tolist()
    places = dict(enumerate(sums, 1))
    assert found.signal == len(sums) == 18
    assert drawn(axes, "X") == [[n, places[n]] for n in (1, 4)]
    dots = [[n, s] for n, s in places.items() if n not in (1, 4)]
    assert drawn(axes, "o") == sorted([*dots, [18, sums[-1]]])  # the ring again at the signal
    assert any(line.get_ydata()[0] == 2.5 for line in axes.lines if line.get_linestyle() == "--")
    shown = " ".join(t.get_text() for t in axes.texts)
    assert "signal: 18" in shown and "ready for observed practice (limit 2.5)" in shown


def test_maintenance_chart_goes_on_counting_and_breaks_at_the_alarm(figures, attempts):
    """Its numbers follow the learning chart's; no line leads from the alarm to the new start."""
    found, axes = progress(attempts), figures["maintenance"].axes[0]
    number, alarm = 18 + np.arange(1, len(found.maintenance) + 1), found.alarms[0]
    assert [p[0] for p in drawn(axes, "X")] == [25, 26, 27]
    paths = [list(line.get_xdata()) for line in axes.lines if line.get_marker() == "None"]
    assert [number[:alarm].tolist(), number[alarm:].tolist()] == paths[:2]
    assert f"alarm: {18 + alarm}" in [t.get_text() for t in axes.texts]


def test_percent_plot_tells_kinds_apart_by_mark(figures):
    """Success, not yet, critical and helped have different mark or filling, each once a point."""
    axes = figures["percent"].axes[0]
    kinds = {
        line.get_label(): (line.get_marker(), line.get_markerfacecolor(), len(line.get_xdata()))
        for line in axes.lines
        if line.get_linestyle() == "None"
    }
    assert {name: kind[2] for name, kind in kinds.items()} == {
        "success, unassisted": 23,
        "not yet, unassisted": 4,
        "critical item failed": 1,
        "helped": 1,
    }
    assert len({kind[:2] for kind in kinds.values()}) == 4
    mark = next(line for line in axes.lines if line.get_label() == "mastery mark 90 %")
    assert mark.get_ydata()[0] == 90.0
    assert axes.get_ylim()[0] < 30.0 < 100.0 < axes.get_ylim()[1]


def test_no_curve_is_drawn_through_a_straight_rise(figures):
    """Points that rise evenly get no curve, and the reason stands below."""
    axes = figures["percent"].axes[0]
    assert "curve" not in [line.get_label() for line in axes.lines]
    assert "No curve is drawn." in " ".join(t.get_text() for t in texts(figures["percent"]))


def test_a_curve_is_drawn_where_there_is_one():
    """Points of an exponential get its curve at their own places."""
    rows = [
        replace(a, percent=95.0 - 40.0 * math.exp(-0.3 * i)) for i, a in enumerate(series("S" * 20))
    ]
    (curve,) = [
        line for line in percent_plot(rows, 90.0).axes[0].lines if line.get_label() == "curve"
    ]
    np.testing.assert_allclose(curve.get_ydata(), [a.percent for a in rows], atol=0.05)


def test_calibration_plot_shows_predicted_minus_reached(figures):
    """Only attempts with a prediction have a point, too hopeful above zero."""
    axes = figures["calibration"].axes[0]
    assert drawn(axes, "o") == [[1, 10.0], [2, -20.0], [3, 5.0]]
    assert "too hopeful" in axes.get_ylabel()


def test_running_mean_is_over_the_latest_five():
    """The line's first value is the mean of the first five differences."""
    off = [10, 20, 30, 40, 50, 0]
    rows = [
        replace(a, prediction={"percent": a.percent + o})
        for a, o in zip(series("S" * 6), off, strict=True)
    ]
    (line,) = [
        x for x in calibration_plot(rows).axes[0].lines if str(x.get_label()).startswith("mean")
    ]
    assert line.get_xdata().tolist() == [5, 6]
    assert line.get_ydata().tolist() == pytest.approx([30.0, 28.0])


def test_reject_bars_have_hatching_and_intervals(figures, own):
    """Own bars are hatched, published ones filled; heights and error bars are the intervals."""
    axes = figures["rejects"].axes[0]
    here, published = [c for c in axes.containers if hasattr(c, "patches")]
    heights = [bar.get_height() for bar in here.patches]
    assert heights == pytest.approx([500 / 9, 300 / 9, 0, 100 / 9, 0, 0, 0, 0])
    assert [bar.get_height() for bar in published.patches] == pytest.approx([57.5, 27.5, 15.0])
    assert {bar.get_hatch() for bar in here.patches} == {"////"}
    assert here.patches[0].get_facecolor() != published.patches[0].get_facecolor()
    arms = here.errorbar.lines[2][0].get_segments()
    first = own.causes[0].share
    assert arms[0][:, 1].tolist() == pytest.approx([100.0 * first.low, 100.0 * first.high])


def test_reject_rates_stand_beside_published_ones(figures, own):
    """Every published rate and the own one has a point in its interval."""
    axes = figures["rejects"].axes[1]
    assert drawn(axes, "D") == [[0.0, pytest.approx(100.0 * own.rate.rate)]]
    rates = [height for _, height in drawn(axes, "o")]
    assert rates == pytest.approx([100.0 * p.count / p.n for p in PUBLISHED])
    assert len(axes.get_xticklabels()) == 6


@pytest.mark.parametrize("name", NAMES)
def test_text_is_legible_and_the_caution_stands_below(figures, name):
    """No text is below 8 points, all of it lies inside the picture, and the caution is there."""
    figure = figures[name]
    figure.draw_without_rendering()
    whole = figure.bbox
    for text in texts(figure):
        assert text.get_fontsize() >= 8.0, text
        box = text.get_window_extent()
        assert whole.x0 <= box.x0 and box.x1 <= whole.x1 + 0.5, text
        assert whole.y0 <= box.y0 and box.y1 <= whole.y1 + 0.5, text
    below = " ".join(figure.get_supxlabel().split())
    assert below.endswith(SHORT_CAUTION)


@pytest.mark.parametrize("name", NAMES)
def test_pictures_are_grey(figures, name):
    """Every pixel is black, white or grey: a print in black and white loses nothing."""
    from PIL import Image

    pixels = np.asarray(Image.open(io.BytesIO(png_bytes(figures[name], 50))).convert("RGB"), int)
    assert np.ptp(pixels, axis=2).max() == 0
    assert np.unique(pixels).size > 2


def test_svg_repeats_and_keeps_its_text(attempts):
    """The drawing has the same bytes every time it is made, and its words as words."""
    first, second = (svg_bytes(learning_plot(progress(attempts))) for _ in range(2))
    assert first == second
    assert b"counted attempt" in first


def test_figures_do_not_pile_up(figures):
    """No figure is kept by pyplot."""
    import sys

    pyplot = sys.modules.get("matplotlib.pyplot")
    assert pyplot is None or pyplot.get_fignums() == []

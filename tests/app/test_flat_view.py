"""The flat views in the window."""

from __future__ import annotations

import numpy as np
import pytest
from PySide6.QtGui import QImage

from tests.scene.standin import marker_pixels, standin_case, with_marker
from trainer.app.flat_view import FlatView
from trainer.engine.placement import chain_of, place
from trainer.engine.points import pack
from trainer.scene.flat_picture import FlatHead, flat_picture
from trainer.scene.outlines import Flat
from trainer.scene.palette import FIELD_LINE, MISSED, PAPER


def grabbed(widget) -> np.ndarray:
    """What the widget shows: (h, w, 3) uint8."""
    image = widget.grab().toImage().convertToFormat(QImage.Format.Format_RGB888)
    rows = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), -1)
    return rows[:, : 3 * image.width()].reshape(image.height(), image.width(), 3).copy()


@pytest.fixture
def shown(qtbot, bench):
    """Makes a flat view that shows the stand-in case, with other values or another head."""

    def make(view, meshes=None, inside=True, **values):
        meshes = meshes or bench.meshes
        case = standin_case(**values)
        points = pack(meshes.head.structure(r.structure) for r in case.required)
        placement = place(case, meshes.head, points, bench.unit, case.start)
        steps = chain_of(meshes.head, bench.unit, case.start)
        widget = FlatView(view)
        qtbot.addWidget(widget)
        widget.resize(400, 420)
        head = FlatHead(meshes)
        widget.show_picture(flat_picture(view, head, bench.unit, placement, steps, inside))
        return widget

    return make


@pytest.mark.parametrize(
    ("view", "at_mm", "right_half"),
    [
        (Flat.FRONT, (60.0, -60.0, -20.0), True),
        (Flat.FRONT, (-60.0, -60.0, -20.0), False),
        (Flat.SIDE, (0.0, -125.0, -20.0), True),
        (Flat.SIDE, (0.0, -20.0, -20.0), False),
    ],
)
def test_marker_is_painted_where_it_belongs(shown, bench, view, at_mm, right_half) -> None:
    """A ball on the patient's left is right in the front view; in front, right in the side view."""
    widget = shown(view, with_marker(bench.meshes, at_mm))
    columns = marker_pixels(grabbed(widget))[:, 1]
    assert len(columns) > 10
    assert bool(np.median(columns) > 200) is right_half


def test_missed_is_painted_in_its_colour_with_hatching(shown) -> None:
    """The missed tooth shows its colour with paper between, and none of it when all is inside."""
    image = grabbed(shown(Flat.FRONT))
    red = np.argwhere(np.all(image == MISSED, axis=-1))
    assert len(red) > 60
    widget = shown(Flat.FRONT, chin_height_mm=-24.0)
    assert np.all(grabbed(widget) == MISSED, axis=-1).sum() == 0


def test_field_line_only_inside(shown) -> None:
    """The field's line is painted when looking inside, and not without."""
    inside, outside = (
        np.all(grabbed(shown(Flat.SIDE, inside=i)) == FIELD_LINE, axis=-1).sum()
        for i in (True, False)
    )
    assert inside > 40
    assert outside == 0


def test_the_scale_is_true(shown) -> None:
    """Ten millimetres up are as many pixels as ten across, and the frame fits the widget."""
    widget = shown(Flat.FRONT)
    zero, up, left = (widget.on_widget(p) for p in ((0.0, 0.0), (0.0, 10.0), (10.0, 0.0)))
    assert zero.y() - up.y() == pytest.approx(left.x() - zero.x())
    low_left, high_right = (
        widget.on_widget((widget.picture.window_mm[i], widget.picture.window_mm[i + 2]))
        for i in (0, 1)
    )
    assert -0.5 <= low_left.x() < high_right.x() <= 400.5
    assert -0.5 <= high_right.y() < low_left.y() <= 420.5


def test_nothing_to_show_is_paper(qtbot) -> None:
    """Before there is a picture the view is empty."""
    widget = FlatView(Flat.FRONT)
    qtbot.addWidget(widget)
    widget.resize(200, 200)
    assert np.all(grabbed(widget) == PAPER)


def test_a_shift_gives_the_same_picture_moved(shown) -> None:
    """Kept outlines are drawn at their new place: as a new view would draw them."""
    kept = shown(Flat.FRONT, sideways_mm=0.0)
    grabbed(kept)
    fresh = shown(Flat.FRONT, sideways_mm=8.0)
    kept.show_picture(fresh.picture)
    np.testing.assert_array_equal(grabbed(kept), grabbed(fresh))

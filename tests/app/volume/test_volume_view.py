"""Looking through a volume by keys, wheel, click and numbers."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from helpers.volumes import ball_volume, placement_of
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QApplication

from tests.app.volume.conftest import BALL_MM
from trainer.app.volume.greys import PRESETS, Greys, grey_of, overlay_of
from trainer.app.volume.sight_bar import OWN
from trainer.app.volume.volume_view import VolumeView
from trainer.scene.palette import FIELD, MISSED, PAPER
from trainer.services.volumes.sheets import DEEPER, FLAT_PLANES, UNIT_AXES, Plane
from trainer.services.workbench import open_workbench


def settled(qtbot, view) -> None:
    """Wait until what was asked for is drawn."""
    qtbot.waitUntil(lambda: not view._soon.isActive())


@pytest.mark.parametrize("plane", FLAT_PLANES)
def test_page_keys_and_wheel_go_through_the_slices(qtbot, view, plane) -> None:
    """One voxel a press or a notch, ten with Shift; back the same way."""
    picture, (axis, sign) = view.pictures[plane], DEEPER[plane]
    step = view.sliced.volume.spacing_mm
    qtbot.keyClick(picture, Qt.Key.Key_PageDown)
    assert view.sight.point_mm[axis] == pytest.approx(sign * step)
    qtbot.keyClick(picture, Qt.Key.Key_PageDown, Qt.KeyboardModifier.ShiftModifier)
    assert view.sight.point_mm[axis] == pytest.approx(sign * 11 * step)
    wheel = QWheelEvent(
        QPointF(20, 20), picture.mapToGlobal(QPointF(20, 20)), QPoint(), QPoint(0, 120),
        Qt.MouseButton.NoButton, Qt.KeyboardModifier.NoModifier,
        Qt.ScrollPhase.NoScrollPhase, False,
    )  # fmt: skip
    QApplication.sendEvent(picture, wheel)
    assert view.sight.point_mm[axis] == pytest.approx(sign * 10 * step)
    qtbot.keyClick(picture, Qt.Key.Key_Home)
    assert not view.sight.point_mm.any()


@pytest.mark.parametrize("plane", [*FLAT_PLANES, Plane.ARCH])
def test_arrow_keys_move_the_point_where_they_point(qtbot, view, plane) -> None:
    """Right and down in every picture, seen by the cross's own place in it."""
    picture = view.pictures[plane]
    for key, (down, right) in {
        Qt.Key.Key_Right: (0, 1),
        Qt.Key.Key_Down: (1, 0),
        Qt.Key.Key_Left: (0, -1),
        Qt.Key.Key_Up: (-1, 0),
    }.items():
        view.centre()
        settled(qtbot, view)
        row, column = view._sheets[plane].place_of(view.sight.point_mm)
        for _ in range(4):
            qtbot.keyClick(picture, key, Qt.KeyboardModifier.ShiftModifier)
            settled(qtbot, view)
        there = view._sheets[plane].place_of(view.sight.point_mm)
        moved = np.array(there) - (row, column)
        assert np.sign(moved[np.abs(moved) > 2.0]).tolist() == [v for v in (down, right) if v]


def test_a_click_puts_the_point_on_the_ball_and_all_slices_show_it(qtbot, view) -> None:
    """Click on the ball in one slice, and it is under the cross in the others, too."""
    view._look(view.sight.at_place(np.array([0.0, 0.0, BALL_MM[2]])))
    settled(qtbot, view)
    picture = view.pictures[Plane.AXIAL]
    row, column = view._sheets[Plane.AXIAL].place_of(np.array(BALL_MM))
    at = picture._at(row, column).toPoint()
    qtbot.mouseClick(picture, Qt.MouseButton.LeftButton, pos=at)
    settled(qtbot, view)
    assert np.linalg.norm(view.sight.point_mm - BALL_MM) < 1.0
    for plane in FLAT_PLANES:
        found = view.pictures[plane].found
        bright = np.argwhere(found.values > 0.0)
        cross = view._sheets[plane].place_of(view.sight.point_mm)
        assert np.abs(bright.mean(axis=0) - cross).max() * found.sheet.pixel_mm < 1.5


def test_the_point_stays_in_the_field(qtbot, view) -> None:
    """A thousand steps outwards end at the field's rim."""
    for _ in range(20):
        view._on_stepped(Plane.AXIAL, 50, 0)
        settled(qtbot, view)
    assert np.hypot(*view.sight.point_mm[:2]) <= view.sliced.region.radius_mm + 1e-9


def test_zoom_keeps_the_point_in_sight(qtbot, view) -> None:
    """Closer with +, and the ball under the cross grows; back with −, never beyond the field."""
    view._look(view.sight.at_place(np.array(BALL_MM)))
    settled(qtbot, view)
    picture = view.pictures[Plane.CORONAL]
    before = (picture.found.values > 0.0).sum()
    for _ in range(4):
        qtbot.keyClick(picture, Qt.Key.Key_Plus)
    settled(qtbot, view)
    assert (picture.found.values > 0.0).sum() > 3 * before
    for _ in range(9):
        qtbot.keyClick(picture, Qt.Key.Key_Minus)
    assert view.sight.zoom == 1.0


def test_greys_by_name_and_by_number(qtbot, view) -> None:
    """A named choice sets both numbers; a number of one's own is called so; white follows."""
    bar = view.bar
    bar.preset.setCurrentText("Teeth and metal")
    assert bar.greys == PRESETS["Teeth and metal"]
    bar.level.setValue(1000)
    assert bar.preset.currentText() == OWN
    settled(qtbot, view)
    found = view.pictures[Plane.AXIAL].found
    assert bar.greys == Greys(1000, 6000)
    bar.level.setValue(PRESETS["Teeth and metal"].level)
    assert bar.preset.currentText() == "Teeth and metal"
    # from black to white over the window, by definition of window and level (DICOM PS3.3 C.11.2)
    grey = grey_of(found, Greys(-1000, 2))
    assert set(np.unique(grey[found.recorded & (found.values == -1000.0)])) == {127}


def test_level_turns_what_is_seen_and_no_value(qtbot, view) -> None:
    """The box turns the axes to the head's; unticked, they are the unit's again."""
    values = view.sliced.volume.values.copy()
    view.bar.straight.setChecked(True)
    assert not np.allclose(view.sight.axes, UNIT_AXES)
    view.bar.straight.setChecked(False)
    np.testing.assert_array_equal(view.sight.axes, UNIT_AXES)
    np.testing.assert_array_equal(view.sliced.volume.values, values)


def test_return_makes_a_slice_the_large_one(qtbot, view) -> None:
    """The large slice is wider than the others, and keeps the keyboard."""
    view.pictures[Plane.AXIAL].setFocus()
    qtbot.keyClick(view.pictures[Plane.ARCH], Qt.Key.Key_Return)
    qtbot.waitUntil(
        lambda: view.pictures[Plane.ARCH].width() > 1.8 * view.pictures[Plane.AXIAL].width()
    )
    assert view.focusWidget() is view.pictures[Plane.ARCH]


def test_outlines_only_when_they_are_allowed(qtbot, view) -> None:
    """Not allowed: none to be seen or ticked. Allowed: held and missed, told in words as well."""
    assert not view.bar.marks.isVisible()
    assert not any(p.found.marks for p in view.pictures.values())
    view.allow_marks(True)
    view.centre()
    settled(qtbot, view)
    named = set().union(*(p.found.marks for p in view.pictures.values()))
    assert named
    told = " ".join(p.accessibleDescription() for p in view.pictures.values())
    for name in named:
        assert name.replace("-", " ") in told
    words = {"Missed here" if n in view._missed else "Held here" for n in named}
    assert all(word in told for word in words)
    view.bar.marks.setChecked(False)
    settled(qtbot, view)
    assert not any(p.found.marks for p in view.pictures.values())


def test_landmarks_are_named_where_they_lie(qtbot) -> None:
    """Only when allowed and asked for; in slices through one it is under the cross."""
    bench = open_workbench("both-jaws")
    view = VolumeView(bench.meshes.head, bench.case.attitude.reference_plane)
    qtbot.addWidget(view)
    view.resize(700, 520)
    view.show()
    start = bench.case.start
    view.show_volume(ball_volume(bench, start, BALL_MM), placement_of(bench, start))
    qtbot.waitUntil(lambda: all(p.found for p in view.pictures.values()))
    assert not view.bar.landmarks.isVisible()
    view.allow_landmarks(True)
    view.bar.landmarks.setChecked(True)
    region = view.sliced.region
    inner = {
        n: p for n, p in view.sliced.landmarks.items()
        if np.hypot(*p[:2]) < region.radius_mm and abs(p[2]) < region.half_height_mm
    }  # fmt: skip
    assert inner
    for name, point in inner.items():
        view._look(view.sight.at_place(view.sight.axes.T @ point))
        settled(qtbot, view)
        for plane in FLAT_PLANES:
            found = view.pictures[plane].found
            assert name in found.landmarks
            cross = found.sheet.place_of(view.sight.point_mm)
            assert np.abs(np.subtract(found.landmarks[name], cross)).max() <= 1.0
            told = view.pictures[plane].accessibleDescription()
            assert name.replace("-", " ") in told


def test_held_and_missed_differ_in_more_than_colour(qtbot, view) -> None:
    """Missed: hatched in two colours. Held: clear within a solid rim."""
    view.allow_marks(True)
    view.centre()
    settled(qtbot, view)
    found = max((p.found for p in view.pictures.values()), key=lambda f: len(f.marks))
    name, mask = max(found.marks.items(), key=lambda m: m[1].sum())
    one = replace(found, rim=found.rim & False, marks={name: mask})
    missed, held = (overlay_of(one, frozenset(ids)) for ids in ([name], []))
    assert {tuple(c) for c in missed[mask & (missed[..., 3] > 0)][:, :3].tolist()} == {
        MISSED,
        PAPER,
    }
    rim = {tuple(c) for c in held[mask & (held[..., 3] == 255)][:, :3].tolist()}
    assert rim == {FIELD}
    assert (missed[mask][:, 3] > 0).sum() > (held[mask][:, 3] == 255).sum()


def test_every_picture_says_simulated_and_names_the_sides(qtbot, view) -> None:
    """Each has its name for a screen reader; the large one's words are on the picture."""
    for plane, picture in view.pictures.items():
        assert plane.value.split("-")[0] in picture.accessibleName().lower()
        assert picture.accessibleDescription()
        assert "Arrow keys" in picture.toolTip()
    image = view.pictures[Plane.AXIAL].grab().toImage()
    light = [
        image.pixelColor(x, y).lightness() > 200
        for x in range(image.width() - 120, image.width() - 4)
        for y in range(image.height() - 24, image.height() - 4)
    ]
    assert sum(light) > 100


def test_an_empty_view_takes_keys_calmly(qtbot, bench) -> None:
    """Before there is a volume nothing happens."""
    view = VolumeView(bench.meshes.head, bench.case.attitude.reference_plane)
    qtbot.addWidget(view)
    view.show()
    for key in (Qt.Key.Key_Right, Qt.Key.Key_PageDown, Qt.Key.Key_Plus, Qt.Key.Key_Home):
        qtbot.keyClick(view.pictures[Plane.AXIAL], key)
    view.bar.straight.setChecked(True)
    assert view.sliced is None

"""The window as a whole."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from PySide6.QtCore import QPoint, QSize, Qt
from PySide6.QtWidgets import QLabel, QMessageBox

from tests.scene.standin import marker_pixels, with_marker
from trainer.app import sizes
from trainer.app import window as window_module
from trainer.app.case_list import CaseList
from trainer.app.display import no_3d
from trainer.engine.points import pack_head
from trainer.scene.flat_picture import Area, Polygon, Words
from trainer.scene.outlines import Flat
from trainer.scene.palette import BONE
from trainer.scene.vtk_frames import Look
from trainer.services.assets import SCENARIOS
from trainer.services.workbench import DEMO_CASE, Workbench


def message(window) -> QMessageBox:
    """The one message that is open."""
    (box,) = [b for b in window.findChildren(QMessageBox) if b.isVisible()]
    return box


def words_of(box: QMessageBox) -> str:
    """Everything the message says."""
    return f"{box.text()}\n{box.informativeText()}"


@pytest.fixture
def window3d(make_window, bench, qtbot):
    """A window with the 3-D view, on a stand-in head with a ball at its left side."""
    why_not = no_3d()
    if why_not is not None:
        pytest.skip(why_not)
    made = make_window()
    made.view3d.build()
    meshes = with_marker(bench.meshes, (78.0, -60.0, -20.0))
    made.controller.open(Workbench(bench.case, bench.unit, meshes, pack_head(meshes.head)))
    qtbot.waitUntil(lambda: made.view3d.scene is not None and made.flats[Flat.FRONT].picture)
    return made


def shot(window) -> np.ndarray:
    """What the 3-D view shows."""
    return window.view3d.canvas.picture[:, :, :3].astype(int)


def test_case_title_and_request_are_shown(window) -> None:
    """Title, request and aim of the case stand above the views."""
    assert window.title.text() == "Stand-in case"
    assert "Tooth 48." in window.request.text()
    assert "Bring 48 into the field." in window.request.text()


def test_a_control_moves_everything(qtbot, window) -> None:
    """Stepping a control changes setup, result and flat view."""
    qtbot.waitUntil(lambda: window.flats[Flat.FRONT].picture is not None)
    before = window.flats[Flat.FRONT].picture
    headline = window.result.headline.text()
    entry = window.controls.entries["chin_height_mm"]
    qtbot.keyClick(entry, Qt.Key.Key_PageUp)
    assert window.controller.state.setup.chin_height_mm == -26.0
    assert window.result.headline.text() != headline
    qtbot.waitUntil(lambda: window.flats[Flat.FRONT].picture is not before)


def test_undo_and_redo_reach_the_entries(qtbot, window) -> None:
    """Undo and redo by key bring the entries back and on, also from within an entry."""
    window.activateWindow()
    entry = window.controls.entries["sideways_mm"]
    entry.setFocus()
    qtbot.waitUntil(entry.hasFocus)
    qtbot.keyClick(entry, Qt.Key.Key_Up)
    assert entry.text() == "1 mm left"
    qtbot.keyClick(entry, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert entry.text() == "0 mm"
    both = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier
    qtbot.keyClick(entry, Qt.Key.Key_Z, both)
    assert entry.text() == "1 mm left"


def test_start_over_can_be_undone(window) -> None:
    """Starting over brings the case's start back, and undo the setup before."""
    window.controls.entries["yaw_deg"].stepUp()
    window.actions_by_name["over"].trigger()
    assert window.controls.entries["yaw_deg"].value() == 0.0
    window.actions_by_name["undo"].trigger()
    assert window.controls.entries["yaw_deg"].value() == 1.0


def test_look_inside_hides_bone_and_field_in_the_flat_views(qtbot, window) -> None:
    """Turned off, neither flat view has bone, field or the field's name left."""

    def inner(view):
        shapes = window.flats[view].picture.shapes
        return [
            s for s in shapes
            if (isinstance(s, Area) and s.fill == BONE)
            or (isinstance(s, Polygon) and s.opacity < 1.0)
            or (isinstance(s, Words) and s.text == "field")
        ]  # fmt: skip

    window.draw()
    assert all(inner(view) for view in Flat)
    window.actions_by_name["inside"].trigger()
    window.draw()
    assert not any(inner(view) for view in Flat)
    assert "look inside off" in window.state_note.text()


def test_live_help_off_gives_nothing_away(window) -> None:
    """Without live help neither the panel nor the status line tells the result."""
    assert "required inside" in window.state_note.text()
    window.actions_by_name["help"].trigger()
    assert "required inside" not in window.state_note.text()
    assert not window.result.table.isVisible()


def test_what_was_typed_in_vain_is_told_in_full(qtbot, window) -> None:
    """The reason stands whole under the controls, until a change is made."""
    entry = window.controls.entries["pitch_deg"]
    entry.selectAll()
    qtbot.keyClicks(entry, "99")
    qtbot.keyClick(entry, Qt.Key.Key_Return)
    assert window.notice.isVisible()
    assert window.notice.text().startswith("Head pitch must be ")
    qtbot.waitUntil(
        lambda: window.notice.height() >= window.notice.heightForWidth(window.notice.width()) > 0
    )
    assert window.notice.geometry().right() <= window.notice.parentWidget().width()
    entry.stepUp()
    assert not window.notice.isVisible()


@pytest.mark.parametrize(
    ("screen", "size"),
    [((1920, 1080), (1280, 800)), ((1280, 800), (1276, 766)), ((1024, 768), (1020, 734))],
)
def test_the_window_starts_within_the_screen(screen, size) -> None:
    """The first size is 1280 by 800, or what the screen has room for with the window's frame."""
    assert sizes.start_size(QSize(*screen)) == QSize(*size)


def test_on_a_small_screen_nothing_is_cut_off(qtbot, window) -> None:
    """At 1020 by 734 all step buttons and table columns are whole and the caution is shown."""
    window.resize(1020, 734)
    window.body.setSizes(sizes.start_widths(1020))
    qtbot.waitUntil(lambda: window.controls_place.width() >= window.controls.width())
    assert (window.width(), window.height()) == (1020, 734)
    seen = window.controls_place.viewport().rect()
    for pair in window.controls.buttons.values():
        for button in pair:
            at = button.mapTo(window.controls_place.viewport(), QPoint(0, 0))
            assert seen.left() <= at.x()
            assert at.x() + button.width() <= seen.right() + 1
    place = window.result.parentWidget()
    assert window.result.width() <= place.width()
    assert window.result.table.columnWidth(1) > window.fontMetrics().horizontalAdvance("mandibular")
    (caution,) = [w for w in window.statusBar().findChildren(QLabel) if w.text() == sizes.CAUTION]
    assert window.rect().contains(caution.mapTo(window, caution.rect().bottomRight()))


@pytest.mark.parametrize("place", ["controls_place", "result_place"])
def test_what_has_no_room_scrolls(qtbot, window, place) -> None:
    """A part that is drawn narrower than its content gets a scroll bar."""
    bar = getattr(window, place).horizontalScrollBar()
    window.resize(1020, 734)
    window.body.setSizes([150, 900, 150])
    qtbot.waitUntil(bar.isVisible)
    assert bar.maximum() > 0


def test_the_title_says_what_it_is(window) -> None:
    """The window's title is the program's name."""
    assert window.windowTitle() == "CBCT positioning trainer"


def test_every_action_has_a_key(window) -> None:
    """Everything in the menus can be done by keyboard, each with a key of its own."""
    keys = [a.shortcut().toString() for a in window.actions_by_name.values()]
    assert all(keys)
    assert len(set(keys)) == len(keys)


def test_tab_reaches_controls_and_result(qtbot, window) -> None:
    """Tab goes through all controls and on to the result's table."""
    window.activateWindow()
    first = window.controls.entries["unit_height_mm"]
    first.setFocus()
    qtbot.waitUntil(first.hasFocus)
    reached = set()
    for _ in range(40):
        reached.add(window.focusWidget())
        qtbot.keyClick(window.focusWidget(), Qt.Key.Key_Tab)
    assert set(window.controls.entries.values()) <= reached
    assert window.result.table in reached


def test_a_bad_case_is_told_and_the_old_one_stays(window, tmp_path) -> None:
    """A file with faults shows file, line and fault, says what is safe, and changes nothing."""
    bad = tmp_path / "bad.yaml"
    bad.write_text("kind: case\nlevel: high\n", encoding="utf-8")
    before = window.controller.state
    assert window.open_case(str(bad)) is False
    box = message(window)
    assert "bad.yaml:2" in words_of(box)
    assert "“Stand-in case” stays open as it was" in words_of(box)
    assert window.controller.state is before
    assert window.title.text() == "Stand-in case"
    box.close()


def test_missing_head_files_are_told(make_window, tmp_path) -> None:
    """Without the head's files a message says which is missing and how to make it again."""
    made = make_window(meshes=tmp_path)
    assert made.open_case(DEMO_CASE) is False
    box = message(made)
    assert "build-head" in words_of(box)
    assert made.controller.bench is None
    box.close()


def test_cases_are_listed_also_broken_ones(qtbot, make_window, tmp_path) -> None:
    """The list holds the folder's cases by title; a broken one says so and is not opened."""
    shutil.copy(SCENARIOS / "lower_third_molar.yaml", tmp_path)
    (tmp_path / "broken.yaml").write_text("kind: case\n", encoding="utf-8")
    made = make_window(cases=tmp_path)
    made.actions_by_name["open"].trigger()
    (dialog,) = made.findChildren(CaseList)
    texts = [dialog.list.item(i).text() for i in range(dialog.list.count())]
    assert texts == ["Level 1: Lower right third molar", "! broken.yaml (has faults)"]
    dialog.reject()


def test_picture_is_saved(make_window, window, tmp_path) -> None:
    """The present placement is saved as PNG and a sentence says where."""
    path = tmp_path / "a.png"
    assert window.save_picture(path) is True
    with Image.open(path) as image:
        assert image.format == "PNG"
    assert str(path) in window.notice.text()


def test_a_picture_has_to_be_a_png(window, tmp_path) -> None:
    """Another ending is refused with a sentence, and no file is written."""
    path = tmp_path / "a.jpg"
    assert window.save_picture(path) is False
    box = message(window)
    assert "must end in .png" in words_of(box)
    assert not path.exists()
    box.close()


def test_a_picture_that_cannot_be_saved_is_told(window, tmp_path) -> None:
    """A folder that is not there gives a message with the way out; the case is kept."""
    assert window.save_picture(tmp_path / "none" / "a.png") is False
    box = message(window)
    assert "Your case is kept" in words_of(box)
    box.close()


def test_without_opengl_the_flat_views_do(qtbot, make_window, bench, monkeypatch) -> None:
    """Where there is no OpenGL a sentence stands in the 3-D view's place and all else works."""
    monkeypatch.setenv("TRAINER_NO_3D", "1")
    made = make_window()
    made.view3d.start()
    made.controller.open(bench)
    made.draw()
    assert "TRAINER_NO_3D" in made.view3d.note.text()
    assert made.view3d.note.isVisible()
    assert made.flats[Flat.SIDE].picture is not None


def test_marker_in_the_windows_3d_view(qtbot, window3d) -> None:
    """A ball on the patient's left is right from the front and left from behind."""
    for key, right in ((Look.FRONT, True), (Look.BACK, False)):
        window3d.actions_by_name[f"look-{key}"].trigger()
        image = shot(window3d)
        columns = marker_pixels(image)[:, 1]
        assert len(columns) > 20
        assert bool(np.median(columns) > image.shape[1] / 2) is right


def test_dragging_and_wheel_move_the_view(qtbot, window3d) -> None:
    """Dragging to the right turns the patient to the right, the wheel brings the view nearer."""
    window3d.actions_by_name[f"look-{Look.FRONT}"].trigger()
    canvas, camera = window3d.view3d.canvas, window3d.view3d.plotter.camera
    half = camera.GetParallelScale()
    qtbot.mousePress(canvas, Qt.MouseButton.LeftButton, pos=QPoint(100, 100))
    qtbot.mouseMove(canvas, QPoint(150, 100))
    canvas.dragged.emit(-20.0, 0.0)
    qtbot.mouseRelease(canvas, Qt.MouseButton.LeftButton, pos=QPoint(150, 100))
    assert camera.GetPosition()[0] < -100.0  # the camera stands more to the patient's right
    canvas.zoomed.emit(1.1)
    assert camera.GetParallelScale() == pytest.approx(half / 1.1)


def test_the_picture_has_the_widgets_size(qtbot, window3d) -> None:
    """After the window has been resized the 3-D picture has as many pixels as its place."""
    with qtbot.waitSignal(window3d.view3d.canvas.resized):
        window3d.resize(1000, 700)
    wide, high = window3d.view3d.canvas.size_px()
    assert window3d.view3d.canvas.picture.shape == (high, wide, 4)


def test_look_inside_hides_skull_and_field_actors(qtbot, window3d) -> None:
    """Turned off, the skull's and the field's actors are hidden and the skin is shown."""
    scene = window3d.view3d.scene
    for inside in (True, False):
        if window3d.look_inside != inside:
            window3d.actions_by_name["inside"].trigger()
        window3d.draw()
        assert all(bool(a.GetVisibility()) == inside for a, _ in scene.fine.inner)
        assert all(bool(a.GetVisibility()) == inside for a in scene.field.actors())
        assert bool(scene.fine.skin.actor.GetVisibility()) != inside


def test_coarse_while_moving_fine_at_rest(qtbot, window3d) -> None:
    """A movement shows the coarse surfaces, and the rest after it the fine ones."""
    scene = window3d.view3d.scene
    with qtbot.waitSignal(window3d.controller.rested, timeout=3000):
        window3d.controls.entries["pitch_deg"].stepUp()
        window3d.draw()
        assert any(a.GetVisibility() for a in scene.coarse.actors())
    window3d.draw()
    assert not any(a.GetVisibility() for a in scene.coarse.actors())
    assert any(a.GetVisibility() for a in scene.fine.actors())


def test_another_case_takes_the_place_of_the_first(qtbot, window3d, bench) -> None:
    """Opening a second case leaves one scene, one set of controls, and no marker of the first."""
    window3d.controller.open(bench)
    window3d.draw()
    window3d.actions_by_name[f"look-{Look.FRONT}"].trigger()
    assert len(marker_pixels(shot(window3d))) == 0
    assert window3d.controls_place.widget() is window3d.controls


def test_the_demo_case_is_played_to_the_end(qtbot, make_window) -> None:
    """From the start of the demo case to everything inside, through entries and buttons only."""
    made = make_window()
    assert made.open_case(DEMO_CASE)
    panel, result = made.controls, made.result
    assert result.headline.property("state") == "missed"
    assert "48" in result.headline.text()
    # the chin support stands too low: raise it step by step until the headline agrees
    entry = panel.entries["chin_height_mm"]
    _, more = panel.buttons["chin_height_mm"]
    steps = 0
    while result.headline.property("state") != "inside" and steps < 40:
        qtbot.mouseClick(more, Qt.MouseButton.LeftButton)
        steps += 1
    assert result.headline.property("state") == "inside", entry.text()
    assert 0 < steps < 40
    assert made.controller.placement.all_required_inside
    # and the other region loses it again, the way back finds it
    panel.entries["region"].setCurrentIndex(panel.entries["region"].findData("upper-jaw"))
    assert result.headline.property("state") == "missed"
    made.actions_by_name["undo"].trigger()
    assert result.headline.property("state") == "inside"


def test_the_demo_case_is_solved_by_its_advice(qtbot, make_window) -> None:
    """Pressing the first advice's button once brings everything in the demo case inside."""
    made = make_window()
    with qtbot.waitSignal(made.controller.advice_ready, timeout=20000):
        assert made.open_case(DEMO_CASE)
    made.result.moves[0].button.click()
    assert made.result.headline.property("state") == "inside"


def test_guided_cases_start_open_and_later_ones_closed(make_window) -> None:
    """Cases of the first level start with look inside on, later ones with it off."""
    made = make_window()
    for path in sorted(Path(SCENARIOS).glob("*.yaml")):
        assert made.open_case(str(path))
        level = made.controller.bench.case.level
        assert made.look_inside is (level <= window_module.GUIDED_LEVEL)

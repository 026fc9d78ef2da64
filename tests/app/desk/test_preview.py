"""The live preview at the desk, and choosing structures by clicks."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from PySide6.QtCore import QPointF, Qt

from trainer.app.desk import head_job
from trainer.app.desk.pages import INSIDE
from trainer.app.desk.preview import FAULTY
from trainer.app.desk.window import DeskWindow
from trainer.app.display import no_3d
from trainer.engine.placement import place
from trainer.engine.points import pack_head
from trainer.scene.drawing import frame_step
from trainer.scene.outlines import Flat


@pytest.fixture
def shown(qtbot, at_desk) -> Iterator[DeskWindow]:
    """The desk with its preview drawn."""
    qtbot.waitUntil(lambda: at_desk.preview.placement is not None, timeout=30000)
    return at_desk


def test_the_preview_is_the_placement_of_the_start(shown) -> None:
    """What the preview tells is the placement that the engine computes for the case's start."""
    case, preview = shown.desk.result.case, shown.preview
    points = pack_head(preview.meshes.head)
    expected = place(case, preview.meshes.head, points, shown.desk.unit, case.start)
    assert preview.placement.held == expected.held
    assert f"{expected.held} of {len(case.required)} required" in preview.told.text()
    assert all(flat.picture is not None for flat in preview.flats.values())


def test_the_preview_follows_the_start(qtbot, shown) -> None:
    """A start that holds everything is told as one that teaches nothing."""
    shown.desk.set(("start", "chin_height_mm"), -28)
    qtbot.waitUntil(lambda: "5 of 5" in shown.preview.told.text())
    assert "already holds everything" in shown.preview.told.text()


def test_faults_leave_the_last_picture(qtbot, shown) -> None:
    """While person, unit, start or structures have faults the last picture stays, and says so."""
    before = shown.preview.placement
    with qtbot.waitSignal(shown.desk.checked, timeout=20000):
        shown.desk.set(("required", 0, "structure"), "toth-48")
    assert shown.preview.told.text() == FAULTY
    assert shown.preview.placement is before
    with qtbot.waitSignal(shown.desk.checked, timeout=20000):
        shown.desk.undo()
    with qtbot.waitSignal(shown.desk.checked, timeout=20000):
        shown.desk.set(("visit", "patient"), "nobody")
    qtbot.waitUntil(lambda: "required are inside" in shown.preview.told.text())


def test_another_person_is_built_in_the_background(qtbot, shown) -> None:
    """Another person's head comes from a thread; the picture before stays until then."""
    man = shown.preview.meshes
    with qtbot.waitSignal(shown.preview.head_shown, timeout=30000):
        shown.desk.set(("subject", "sex"), "female")
        assert shown.preview.meshes is man
    assert str(shown.preview.meshes.head.person.sex) == "female"
    qtbot.waitUntil(lambda: "required are inside" in shown.preview.told.text())


def test_building_can_be_cancelled(qtbot, monkeypatch, shown) -> None:
    """Cancel stops a head at its next part, and the head before stays."""
    import threading

    held = threading.Event()

    def slow(person, folder, tell):
        for _ in range(500):
            held.wait(0.01)
            tell("part")
        raise AssertionError("was not cancelled")

    monkeypatch.setattr(head_job, "load_head", slow)
    man = shown.preview.meshes
    shown.desk.set(("subject", "sex"), "female")
    qtbot.waitUntil(lambda: shown.preview.work.isVisible(), timeout=20000)
    qtbot.mouseClick(shown.preview.cancel, Qt.MouseButton.LeftButton)
    assert "cancelled" in shown.preview.told.text()
    assert not shown.preview.work.isVisible()
    shown.preview.draw()
    assert shown.preview.meshes is man


def test_a_click_on_a_flat_view_offers_structures(qtbot, shown) -> None:
    """A click on a tooth in the front view offers it; Space makes it a required structure."""
    preview, inside = shown.preview, shown.inside
    structure = preview.meshes.head.structure("tooth-11-crown")
    step = frame_step(preview._steps, structure.frame)
    at = step.rotation @ structure.centre_mm + step.translation_mm
    flat = preview.flats[Flat.FRONT]
    point = flat.on_widget((at[0], at[2]))
    qtbot.mouseClick(flat, Qt.MouseButton.LeftButton, pos=point.toPoint())
    assert INSIDE in shown.list.currentItem().text()
    offered = [inside.list.item(n).text() for n in range(inside.list.count())]
    assert any("tooth-11-crown" in text for text in offered[:2])
    assert f"{len(offered)} structures lie under the click" in inside.told.text()
    name = inside.marked()
    qtbot.keyClick(inside.list, Qt.Key.Key_Space)
    assert inside.required()[-1] == name
    assert inside.list.currentItem().text().startswith("■ must:")
    qtbot.keyClick(inside.list, Qt.Key.Key_Space)
    assert name not in inside.required()
    qtbot.mouseClick(flat, Qt.MouseButton.LeftButton, pos=QPointF(4.0, 4.0).toPoint())
    assert inside.told.text() == "No structure lies under the click."


def test_structures_are_required_told_or_neither(qtbot, shown) -> None:
    """The three buttons move a structure between the lists of the file."""
    inside = shown.inside
    shown.go_to(("required",))
    inside.search.setText("canal-at-47")
    inside._on_search()
    assert inside.marked() == "canal-at-47"
    qtbot.mouseClick(inside.only, Qt.MouseButton.LeftButton)
    assert inside.wanted_ids()[-1] == "canal-at-47"
    qtbot.mouseClick(inside.must, Qt.MouseButton.LeftButton)
    assert "canal-at-47" not in inside.wanted_ids()
    assert inside.required()[-1] == "canal-at-47"
    assert shown.desk.value(("required", len(inside.required()) - 1, "margin_mm")) == 2
    qtbot.mouseClick(inside.neither, Qt.MouseButton.LeftButton)
    assert "canal-at-47" not in inside.required()


def test_the_chart_leads_to_the_structures_of_a_tooth(qtbot, shown) -> None:
    """A tooth that is chosen in the chart narrows the list; required teeth are marked there."""
    shown.go_to(("required",))
    assert shown.inside.chart.chosen == {48}
    shown.inside.chart.toggled.emit(36)
    names = [shown.inside.list.item(n).text() for n in range(shown.inside.list.count())]
    assert names
    assert all("36" in name for name in names)


def test_a_click_on_the_head_offers_structures(qtbot, shown) -> None:
    """A click on the 3-D view offers what lies under it; a drag does not."""
    why_not = no_3d()
    if why_not is not None:
        pytest.skip(why_not)
    shown.preview.view3d.build()
    qtbot.waitUntil(lambda: shown.preview.view3d.canvas.picture is not None, timeout=20000)
    canvas = shown.preview.view3d.canvas
    middle = canvas.rect().center()
    told: list[object] = []
    shown.preview.picked.connect(told.append)
    qtbot.mouseClick(canvas, Qt.MouseButton.LeftButton, pos=middle)
    assert len(told) == 1
    assert len(told[0]) > 0
    qtbot.mousePress(canvas, Qt.MouseButton.LeftButton, pos=middle)
    qtbot.mouseMove(canvas, pos=middle + canvas.rect().topLeft() * 0 + QPointF(60, 0).toPoint())
    away = middle + QPointF(60, 0).toPoint()
    qtbot.mouseRelease(canvas, Qt.MouseButton.LeftButton, pos=away)
    assert len(told) == 1

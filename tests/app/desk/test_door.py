"""From the bench to the desk and back."""

from __future__ import annotations

from trainer.services.workbench import DEMO_CASE


def open_desk(qtbot, window):
    """The desk, opened from the bench's menu."""
    window.actions_by_name["write"].trigger()
    desk = window.desk.open
    qtbot.waitUntil(lambda: desk.desk.result is not None, timeout=20000)
    return desk


def test_the_desk_begins_with_the_case_of_the_bench(qtbot, make_window) -> None:
    """The desk opens once, with the case that lies on the bench, and closes with it."""
    window = make_window()
    window.open_case("upper-front-teeth")
    desk = open_desk(qtbot, window)
    assert desk.desk.draft.value("id") == "upper-front-teeth"
    window.actions_by_name["write"].trigger()
    assert window.desk.open is desk
    closed = []
    desk.closed.connect(lambda: closed.append(True))
    window.close()
    assert closed == [True]
    assert window.desk.open is None


def test_a_draft_is_tried_at_the_bench_and_its_setup_taken_back(qtbot, make_window) -> None:
    """A draft opens at the bench unsaved, and the bench's setup becomes the draft's start."""
    window = make_window()
    desk = open_desk(qtbot, window)
    assert desk.desk.draft.value("id") == DEMO_CASE
    desk.desk.set(("title", "en"), "Tried title")
    qtbot.waitUntil(lambda: desk.desk.result is not None and not desk.desk.result.faults)
    desk.actions_by_name["placing"].trigger()
    assert window.title.text() == "Tried title"
    window.controller.change({"chin_height_mm": -30.0})
    desk.go_to(("start",))
    desk.start_page.take.click()
    assert desk.desk.value(("start", "chin_height_mm")) == -30
    desk.desk.draft = None
    window.close()


def test_the_bench_stays_while_the_desk_is_kept(qtbot, make_window, monkeypatch) -> None:
    """Who wants to go on at the desk keeps the bench open too."""
    window = make_window()
    desk = open_desk(qtbot, window)
    monkeypatch.setattr(type(desk), "_may_go", lambda _: False)
    assert not window.close()
    assert window.isVisible()
    monkeypatch.undo()
    desk.desk.draft = None
    assert window.close()

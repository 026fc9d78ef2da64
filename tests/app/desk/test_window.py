"""The desk's window, and a whole case written at it."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFileDialog, QInputDialog, QMessageBox

from trainer.app.desk.file_controller import is_shipped, tried_folder
from trainer.app.desk.pages import INSIDE, START, all_pages, page_of
from trainer.cli.main import main
from trainer.services.assets import SCENARIOS
from trainer.services.scenario_io import load_case
from trainer.services.workbench import open_workbench

CASE = SCENARIOS / "lower_third_molar.yaml"


def go(window, title: str):
    """The part of the page of that title, shown."""
    titles = [page.title for page in window.pages]
    window.list.setCurrentRow(titles.index(title))
    return window.parts[titles.index(title)]


def type_over(qtbot, entry, text: str) -> None:
    """Put the focus into an entry and write over what stands there."""
    entry.setFocus()
    entry.selectAll()
    qtbot.keyClicks(entry, text)


def test_every_field_of_a_case_is_on_a_page(at_desk) -> None:
    """No key of a case or its visit is missing from the pages, and each page shows."""
    pages = all_pages(at_desk.desk)
    named = {place for page in pages for place in page.places}
    for part in at_desk.desk.field().parts:
        if part.key in ("schema_version", "kind"):
            continue
        if part.key == "visit":
            assert {(*p.where,) for p in part.parts} <= named
        else:
            assert (part.key,) in named, part.key
    for number in range(at_desk.list.count()):
        at_desk.list.setCurrentRow(number)
        assert at_desk.stack.currentIndex() == number
    titles = [page.title for page in pages]
    assert titles[page_of(("start", "yaw_deg"), pages)] == START
    assert titles[page_of(("required", 2), pages)] == INSIDE
    assert titles[page_of(("subject", "mouth", "repairs", 0), pages)] == "Teeth and mouth"


def test_a_shipped_case_becomes_a_new_one(qtbot, monkeypatch, tmp_path, at_desk) -> None:
    """By keyboard alone a shipped case becomes a new one that passes the check and opens.

    The steps an instructor takes: another id, texts, other structures and margins, another start.
    """
    window = at_desk
    monkeypatch.setattr(QInputDialog, "getText", lambda *_, **__: ("lower-left-molar", True))
    target = tmp_path / "lower_left_molar.yaml"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(target), ""))
    window.actions_by_name["new"].trigger()
    assert window.title.text() == "lower-left-molar"

    texts = go(window, "Name and texts").form.parts
    title = next(p for p in texts if p.where == ("title",))
    type_over(qtbot, title.entries["en"], "Lower left third molar")
    type_over(qtbot, title.entries["de"], "Unterer linker Weisheitszahn")

    inside = go(window, INSIDE)
    for _ in range(len(inside.required())):
        qtbot.keyClick(inside.rows.outs[0], Qt.Key.Key_Space)
    assert inside.required() == []
    for name in ("tooth-38", "tooth-38-apex-mesial", "canal-at-38"):
        type_over(qtbot, inside.search, name)
        inside.list.setFocus()
        assert inside.marked() == name
        qtbot.keyClick(inside.list, Qt.Key.Key_Space)
    type_over(qtbot, inside.rows.all, "1.5")
    qtbot.keyClick(inside.rows.all, Qt.Key.Key_Return)

    start = go(window, START)
    side = start.controls.entries["field_sideways_mm"]
    type_over(qtbot, side, "30 left")
    qtbot.keyClick(side, Qt.Key.Key_Return)
    card = go(window, "Request and rules")
    prescription = card.form.parts[1].inside.parts[0].inside
    choice = next(p for p in prescription.parts if p.field.key == "side").entry
    qtbot.keyClick(choice, Qt.Key.Key_Home)
    qtbot.keyClick(choice, Qt.Key.Key_Down)
    chart = next(p for p in prescription.parts if p.field.key == "teeth").chart
    chart.at = 48
    qtbot.keyClick(chart, Qt.Key.Key_Space)
    chart.at = 38
    with qtbot.waitSignal(window.desk.checked, timeout=20000):
        qtbot.keyClick(chart, Qt.Key.Key_Space)

    assert window.desk.result.faults == ()
    assert window.actions_by_name["placing"].isEnabled()
    window.actions_by_name["save"].trigger()
    assert main(["check", str(target)]) == 0
    case = open_workbench(str(target)).case
    assert case.id == "lower-left-molar"
    assert case.title == {"en": "Lower left third molar", "de": "Unterer linker Weisheitszahn"}
    assert [(r.structure, r.margin_mm) for r in case.required] == [
        ("tooth-38", 1.5), ("tooth-38-apex-mesial", 1.5), ("canal-at-38", 1.5),
    ]  # fmt: skip
    assert case.start.field_sideways_mm == 30.0
    assert case.visit.card.prescription.teeth == ("38",)
    assert str(case.visit.card.prescription.side) == "left"
    # whatever was not touched is as it was, comments too
    old, new = CASE.read_text(encoding="utf-8"), target.read_text(encoding="utf-8")
    comments = [line.split("#", 1)[1] for line in old.split("\n") if "#" in line]
    assert [line.split("#", 1)[1] for line in new.split("\n") if "#" in line] == comments
    assert "  chin_height_mm: -42  # too low: 10 mm more just do" in new


def test_faults_lead_to_their_field_and_line(qtbot, at_desk) -> None:
    """Each fault is listed with its line; going there shows page, entry and line of the file."""
    window = at_desk
    window.desk.set(("start", "chin_height_mm"), 99)
    with qtbot.waitSignal(window.desk.checked, timeout=20000):
        window.desk.set(("required", 1, "margin_mm"), 33)
    assert window.faults.count() == 2
    text = window.faults.item(1).text()
    assert "required[1].margin_mm: must be 0 to 20 mm, got 33" in text
    assert window.faults_head.text().startswith("! 2 faults")
    assert "! Must be inside (1)" in [window.list.item(n).text() for n in range(6)]
    qtbot.keyClick(window, Qt.Key.Key_F8)
    assert window.list.currentItem().text().startswith("! Unit and start")
    entry = window.start_page.controls.entries["chin_height_mm"]
    qtbot.waitUntil(lambda: window.focusWidget() is entry)
    qtbot.keyClick(window, Qt.Key.Key_F8)
    qtbot.waitUntil(lambda: window.focusWidget() is window.inside.rows.margins[1])
    assert window.inside.rows.faults[1].text() == "! must be 0 to 20 mm, got 33"
    lines = window.desk.draft.text.split("\n")
    assert lines[window.file.line - 1].strip() == "margin_mm: 33"
    assert f"line {window.file.line}:" in text
    assert not window.actions_by_name["placing"].isEnabled()
    window.try_placing()
    assert "has faults" in window.notice.text()


def test_undo_by_key(qtbot, at_desk) -> None:
    """Undo and redo by key reach every page, also from within an entry."""
    window = at_desk
    texts = go(window, "Name and texts").form.parts
    level = next(p for p in texts if p.where == ("level",))
    type_over(qtbot, level.entry, "3")
    qtbot.keyClick(level.entry, Qt.Key.Key_Return)
    assert window.desk.value(("level",)) == 3
    qtbot.keyClick(level.entry, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert window.desk.value(("level",)) == 1
    assert level.entry.text() == "1"
    modifiers = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier
    qtbot.keyClick(level.entry, Qt.Key.Key_Z, modifiers)
    assert window.desk.value(("level",)) == 3


def test_no_shipped_case_is_written_over(monkeypatch, at_desk) -> None:
    """Save asks for a place when the case is a shipped one, and refuses that very place."""
    before = CASE.read_bytes()
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(CASE), ""))
    at_desk.desk.set(("level",), 2)
    assert not at_desk.save()
    assert "came with the program" in at_desk.notice.text()
    assert at_desk.notice.isVisible()
    assert CASE.read_bytes() == before
    assert is_shipped(CASE)
    assert not is_shipped(SCENARIOS / "no_such_case.yaml")


def test_what_is_typed_is_saved(qtbot, tmp_path, monkeypatch, at_desk) -> None:
    """Saving takes over what stands in the entry that still has the focus."""
    target = tmp_path / "lower_third_molar.yaml"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(target), ""))
    texts = go(at_desk, "Name and texts").form.parts
    title = next(p for p in texts if p.where == ("title",))
    type_over(qtbot, title.entries["en"], "Another title")
    assert at_desk.save()
    assert "  en: Another title\n" in target.read_text(encoding="utf-8")
    assert at_desk.desk.draft.path == target
    assert not at_desk.desk.draft.changed


def test_trying_saves_nothing(qtbot, at_desk) -> None:
    """A draft is tried from a file in the cache, and such a file opens as one not saved."""
    at_desk.desk.set(("level",), 2)
    with qtbot.waitSignal(at_desk.try_placing_asked, timeout=1000) as told:
        at_desk.actions_by_name["placing"].trigger()
    path = Path(told.args[0])
    assert path.parent == tried_folder()
    assert load_case(path, SCENARIOS / "units").level == 2
    assert at_desk.desk.draft.path == CASE
    with qtbot.waitSignal(at_desk.try_whole_asked, timeout=1000):
        at_desk.actions_by_name["whole"].trigger()
    at_desk.desk.open(path)
    assert at_desk.desk.draft.path is None
    assert at_desk.desk.draft.changed


@pytest.mark.parametrize(
    ("answer", "closed"),
    [
        (QMessageBox.StandardButton.Cancel, False),
        (QMessageBox.StandardButton.Discard, True),
    ],
)
def test_closing_asks_when_something_is_not_saved(monkeypatch, at_desk, answer, closed) -> None:
    """A desk with changes asks before it closes; without changes it just closes."""
    asked = []
    monkeypatch.setattr(QMessageBox, "exec", lambda box: asked.append(box.text()) or answer)
    at_desk.desk.set(("level",), 2)
    assert at_desk.close() is closed
    assert "not saved" in asked[0]


def test_a_visit_is_put_in_and_left_out(qtbot, at_desk) -> None:
    """A case becomes an exercise in placing only, and a whole appointment again, without faults."""
    page = go(at_desk, "Waiting room")
    assert page.form.isVisible()
    at_desk.desk.leave_out(("rules",))
    with qtbot.waitSignal(at_desk.desk.checked, timeout=20000):
        qtbot.mouseClick(page.button, Qt.MouseButton.LeftButton)
    assert at_desk.desk.value(("visit",)) is None
    assert page.note.isVisible()
    assert not page.form.isVisible()
    assert at_desk.desk.result.faults == ()
    assert not at_desk.actions_by_name["whole"].isEnabled()
    at_desk.desk.set(("rules",), "tallow-lane")
    with qtbot.waitSignal(at_desk.desk.checked, timeout=20000):
        qtbot.mouseClick(page.button, Qt.MouseButton.LeftButton)
    assert at_desk.desk.result.faults == ()
    assert at_desk.desk.result.case.visit.waiting[0].surname == "Tree"
    assert at_desk.actions_by_name["whole"].isEnabled()


def test_the_proof_is_shown(qtbot, at_desk) -> None:
    """The proof of the draft comes in the background, and a later change marks it as older."""
    at_desk.actions_by_name["prove"].trigger()
    assert at_desk.proof.cancel.isVisible()
    qtbot.waitUntil(lambda: bool(at_desk.proof.text.toPlainText()), timeout=60000)
    assert "Proved: the case can be solved" in at_desk.proof.text.toPlainText()
    assert not at_desk.proof.cancel.isVisible()
    at_desk.desk.set(("level",), 2)
    assert "changed since" in at_desk.proof.state.text()
    at_desk.actions_by_name["prove"].trigger()
    qtbot.mouseClick(at_desk.proof.cancel, Qt.MouseButton.LeftButton)
    assert "cancelled" in at_desk.proof.state.text()


def test_unreadable_files_are_told(tmp_path, at_desk) -> None:
    """A file that cannot be read is told with its line, and the case before stays."""
    path = tmp_path / "broken.yaml"
    path.write_text("id: a\n  b: [\n", encoding="utf-8")
    before = at_desk.desk.draft
    assert not at_desk.open_case(path)
    assert "broken.yaml:2" in at_desk.notice.text()
    assert at_desk.desk.draft is before

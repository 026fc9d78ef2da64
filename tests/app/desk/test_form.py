"""Forms made from fields."""

from __future__ import annotations

from PySide6.QtCore import Qt

from trainer.app.desk.form import Form, GroupPart, RowsPart, SimplePart, TeethPart
from trainer.app.desk.texts import TextsPart


def form_of(qtbot, desk, *places) -> Form:
    """A shown form of the fields at these places, that follows the desk."""
    form = Form(desk, [desk.field(*place) for place in places], ())
    qtbot.addWidget(form)
    desk.changed.connect(form.show_draft)
    desk.checked.connect(form.show_faults)
    form.resize(450, 700)
    form.show()
    form.show_draft()
    return form


def test_label_unit_and_range_stand_beside_the_entry(qtbot, desk) -> None:
    """A field shows its label, unit and range, and its value."""
    form = form_of(qtbot, desk, ("subject", "chin_standing_mm"))
    (part,) = form.parts
    assert isinstance(part, SimplePart)
    assert part.label.text() == "Chin standing"
    assert part.range.text() == "mm, 700 to 1900"
    assert part.entry.text() == "1510"
    assert "700 to 1900" in part.entry.accessibleName()


def test_a_fault_stands_beside_its_field_and_goes(qtbot, desk) -> None:
    """A value out of range is told beside its field in the words of the check."""
    form = form_of(qtbot, desk, ("guard_rim_mm",), ("level",))
    rim, level = form.parts
    rim.entry.setFocus()
    rim.entry.selectAll()
    qtbot.keyClicks(rim.entry, "55")
    with qtbot.waitSignal(desk.checked, timeout=20000):
        qtbot.keyClick(rim.entry, Qt.Key.Key_Return)
    assert rim.fault.text() == "! must be 0 to 10 mm, got 55"
    assert rim.fault.isVisible()
    assert not level.fault.isVisible()
    with qtbot.waitSignal(desk.checked, timeout=20000):
        desk.undo()
    assert rim.entry.text() == "1"
    assert not rim.fault.isVisible()


def test_a_group_is_put_in_and_left_out(qtbot, desk) -> None:
    """A group that may be left out is put in by its button, filled in, and left out again."""
    before = desk.draft.text
    form = form_of(qtbot, desk, ("subject", "posture"))
    (part,) = form.parts
    assert isinstance(part, GroupPart)
    assert part.button.text() == "Put in: posture"
    qtbot.mouseClick(part.button, Qt.MouseButton.LeftButton)
    assert desk.value(("subject", "posture")) == {}
    field = part.inside.parts[-1]
    field.entry.setFocus()
    qtbot.keyClicks(field.entry, "20")
    qtbot.keyClick(field.entry, Qt.Key.Key_Return)
    assert desk.value(("subject", "posture")) == {"kyphosis_deg": 20}
    assert part.button.text() == "Leave out: posture"
    qtbot.mouseClick(part.button, Qt.MouseButton.LeftButton)
    assert desk.draft.text == before
    assert part.inside is None


def test_rows_come_go_and_move(qtbot, desk) -> None:
    """Rows of a list are put in, moved and taken out, each showing its own values."""
    form = form_of(qtbot, desk, ("visit", "waiting"))
    (part,) = form.parts
    assert isinstance(part, RowsPart)
    assert len(part.rows) == 1
    qtbot.mouseClick(part.add, Qt.MouseButton.LeftButton)
    assert [w["id"] for w in desk.value(("visit", "waiting"))] == ["rowan", "person"]
    assert not part.rows[0].up.isEnabled()
    qtbot.mouseClick(part.rows[1].up, Qt.MouseButton.LeftButton)
    assert [row.form.parts[0].entry.text() for row in part.rows] == ["person", "rowan"]
    qtbot.mouseClick(part.rows[0].out, Qt.MouseButton.LeftButton)
    assert [w["id"] for w in desk.value(("visit", "waiting"))] == ["rowan"]
    assert len(part.rows) == 1


def test_teeth_are_chosen_in_the_chart(qtbot, desk) -> None:
    """Teeth that are chosen in the chart are written as the file writes them."""
    form = form_of(
        qtbot, desk, ("subject", "mouth", "missing"), ("visit", "card", "prescription", "teeth")
    )
    missing, teeth = form.parts
    assert isinstance(missing, TeethPart)
    missing.chart.toggled.emit(36)
    assert desk.value(("subject", "mouth", "missing")) == [36]
    assert missing.chart.gone == teeth.chart.gone == {36}
    assert teeth.chart.chosen == {48}
    teeth.chart.toggled.emit(47)
    assert desk.value(("visit", "card", "prescription", "teeth")) == ["47", "48"]
    missing.chart.toggled.emit(36)
    assert desk.value(("subject", "mouth")) is None


def test_texts_stand_side_by_side(qtbot, desk) -> None:
    """Each language has its entry; a missing one is told and can be written."""
    form = form_of(qtbot, desk, ("title",))
    (part,) = form.parts
    assert isinstance(part, TextsPart)
    assert part.entries["en"].toPlainText() == "Lower right third molar"
    assert part.heads["de"].text() == "German"
    desk.leave_out(("title", "de"))
    assert part.heads["de"].text() == "German – missing"
    qtbot.keyClicks(part.entries["de"], "Unten rechts")
    part.entries["de"].commit()
    assert desk.value(("title", "de")) == "Unten rechts"
    assert part.heads["de"].text() == "German"


def test_the_focus_finds_the_entry_of_a_place(qtbot, desk) -> None:
    """The entry of any place, also deep in groups and rows, takes the focus."""
    form = form_of(qtbot, desk, ("visit", "card"), ("visit", "waiting"))
    assert form.focus_at(("visit", "card", "prescription", "programme", "voxel_um"))
    assert form.focusWidget().text() == "100"
    assert form.focus_at(("visit", "waiting", 0, "address"))
    assert form.focusWidget().text() == "4 Mill Row"
    assert not form.focus_at(("level",))

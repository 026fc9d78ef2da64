"""A unit described by its numbers, at the window."""

from __future__ import annotations

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFileDialog, QInputDialog, QMessageBox, QPushButton

from tests.app.unit_desk.conftest import FILE
from trainer.app.desk.entries import NumberLine
from trainer.app.desk.form import RowsPart, SimplePart
from trainer.app.unit_desk.controller import UnitController
from trainer.app.unit_desk.drawing import LOOKS
from trainer.app.unit_desk.pages import PAGES
from trainer.app.unit_desk.plan import LineKind
from trainer.cli.main import main
from trainer.models.controls import CONTROLS
from trainer.scene.palette import PAPER, contrast
from trainer.services.assets import UNITS
from trainer.services.drafts.fields import fields_of
from trainer.services.unit_io import load_unit


def page(window, title: str):
    """The part of the page of that title, shown."""
    titles = [p.title for p in PAGES]
    window.list.setCurrentRow(titles.index(title))
    return window.parts[titles.index(title)]


def entry_of(window, *where):
    """The entry of a place on the page that is shown."""
    part = window.parts[window.list.currentRow()]
    found = [p for p in part.findChildren(SimplePart) if p.where == where]
    assert len(found) == 1, where
    return found[0]


def type_in(qtbot, window, text: str, *where) -> None:
    """Write over the number of a place, and wait until it was looked through."""
    entry = entry_of(window, *where).entry
    entry.setFocus()
    entry.selectAll()
    qtbot.keyClicks(entry, text)
    with qtbot.waitSignal(window.desk.checked, timeout=30000):
        qtbot.keyClick(entry, Qt.Key.Key_Return)


def test_every_number_of_a_unit_has_an_entry_with_unit_and_range(qtbot, at_unit) -> None:
    """Each key of the schema stands on a page; each number tells mm, deg or its range."""
    named = {place[0] for p in PAGES for place in p.places}
    assert named == {p.key for p in fields_of("unit").parts} - {"schema_version", "kind"}
    counted = 0
    for number in range(at_unit.list.count()):
        at_unit.list.setCurrentRow(number)
        for part in at_unit.parts[number].findChildren(SimplePart):
            if isinstance(part.entry, NumberLine):
                counted += 1
                assert part.range.text(), part.where
    assert counted > 60
    travel = page(at_unit, "Travel")
    told = {p.where: p.range.text() for p in travel.findChildren(SimplePart)}
    for control in (c for c in CONTROLS if ("travel", c.key, "lowest") in told):
        unit = "mm" if control.key.endswith("_mm") else "deg"
        assert told["travel", control.key, "lowest"].startswith(f"{unit}, ")


@pytest.mark.parametrize("path", sorted(UNITS.glob("*.yaml")), ids=lambda p: p.stem)
def test_a_shipped_unit_is_read_and_written_byte_for_byte(qtbot, tmp_path, path) -> None:
    """Opened and saved elsewhere it is the same file."""
    desk = UnitController()
    with qtbot.waitSignal(desk.checked, timeout=30000):
        assert desk.open(path)
    assert desk.result.faults == ()
    assert desk.save(tmp_path / path.name)
    assert (tmp_path / path.name).read_bytes() == path.read_bytes()
    desk.close()


def test_a_unit_of_ones_own(qtbot, at_unit, monkeypatch, tmp_path) -> None:
    """By keyboard: another id, another field, other distances; saved, and ``trainer check`` agrees.

    Comments and the order of the keys stay.
    """
    monkeypatch.setattr(QInputDialog, "getText", lambda *_, **__: ("school-unit", True))
    target = tmp_path / "school_unit.yaml"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(target), ""))
    at_unit.actions_by_name["new"].trigger()
    page(at_unit, "Source and detector")
    type_in(qtbot, at_unit, "420", "beam", "source_to_axis_mm")
    type_in(qtbot, at_unit, "640", "beam", "source_to_detector_mm")
    rows = page(at_unit, "Fields").findChild(RowsPart)
    before = len(rows.rows)
    with qtbot.waitSignal(at_unit.desk.checked, timeout=30000):
        qtbot.keyClick(rows.add, Qt.Key.Key_Space)
    assert len(rows.rows) == before + 1
    type_in(qtbot, at_unit, "70", "fields", before, "diameter_mm")
    type_in(qtbot, at_unit, "50", "fields", before, "height_mm")
    assert at_unit.desk.result.faults == (), at_unit.desk.result.faults
    at_unit.actions_by_name["save"].trigger()
    assert main(["check", str(target)]) == 0
    unit = load_unit(target)
    assert (unit.id, unit.beam.source_to_axis_mm, unit.beam.source_to_detector_mm) == (
        "school-unit", 420.0, 640.0,
    )  # fmt: skip
    assert (unit.fields[-1].diameter_mm, unit.fields[-1].height_mm) == (70.0, 50.0)
    old, new = (p.read_text(encoding="utf-8").split("\n") for p in (FILE, target))
    assert [x for x in new if x.lstrip().startswith("#")] == [
        x for x in old if x.lstrip().startswith("#")
    ]
    top = [x.split(":")[0] for x in old if x and x[0].isalpha()]
    assert [x.split(":")[0] for x in new if x and x[0].isalpha()] == top


@pytest.mark.parametrize(
    ("title", "where", "text", "words"),
    [
        ("Source and detector", ("beam", "source_to_detector_mm"), "390", "detector"),
        ("Source and detector", ("turn", "sweep_deg"), "185", "at most the arm's sweep_deg"),
        ("Travel", ("travel", "chin_height_mm", "lowest"), "200", "highest"),
        ("Source and detector", ("beam", "detector_width_mm"), "40", "the detector covers"),
    ],
)
def test_impossible_geometry_is_explained(qtbot, at_unit, title, where, text, words) -> None:
    """Told in the list by line and key; the list leads to the entry."""
    page(at_unit, title)
    type_in(qtbot, at_unit, text, *where)
    told = [at_unit.faults.item(n).text() for n in range(at_unit.faults.count())]
    assert any(words in t and "line " in t for t in told), told
    assert at_unit.actions_by_name["fault"].isEnabled()
    at_unit.list.setCurrentRow(0)
    at_unit.actions_by_name["fault"].trigger()
    qtbot.waitUntil(lambda: at_unit.list.currentRow() > 0)


def test_a_number_out_of_range_is_told_beside_its_entry(qtbot, at_unit) -> None:
    """In words, and in the file's line."""
    page(at_unit, "Source and detector")
    type_in(qtbot, at_unit, "5000", "beam", "source_to_axis_mm")
    part = entry_of(at_unit, "beam", "source_to_axis_mm")
    assert not part.fault.isHidden()
    assert "800" in part.fault.text()
    (fault,) = at_unit.desk.result.faults
    line = at_unit.file.toPlainText().split("\n")[fault.line - 1]
    assert line.strip() == "source_to_axis_mm: 5000"


def test_the_drawing_follows_the_numbers(qtbot, at_unit) -> None:
    """The source in both drawings stands where the number says, to scale with the field."""
    drawing = at_unit.drawing

    def line(view, kind):
        return next(x for x in view.lines if x.kind is kind)

    assert line(drawing.above, LineKind.BEAM).points[1] == pytest.approx([0.0, -400.0])
    page(at_unit, "Source and detector")
    type_in(qtbot, at_unit, "450", "beam", "source_to_axis_mm")
    assert line(drawing.above, LineKind.BEAM).points[1] == pytest.approx([0.0, -450.0])
    assert line(drawing.side, LineKind.BEAM).points[1][0] == pytest.approx(-450.0)
    field = line(drawing.above, LineKind.FIELD).points
    width = at_unit.desk.value(("fields", 0, "diameter_mm"))
    assert np.ptp(field[:, 0]) == pytest.approx(width, rel=1e-3)
    # the outermost rays touch the field's circle (closed form: sin of half the fan = r / S)
    first, source, _ = line(drawing.above, LineKind.BEAM).points
    ray = (first - source) / np.linalg.norm(first - source)
    off = abs(ray[0] * source[1] - ray[1] * source[0])
    assert off == pytest.approx(width / 2.0, rel=1e-6)
    assert "450 mm from the axis" in drawing.words.text()


def test_faults_leave_the_last_drawing(qtbot, at_unit) -> None:
    """It says that it is the one from before."""
    page(at_unit, "Source and detector")
    lines = at_unit.drawing.above.lines
    type_in(qtbot, at_unit, "5000", "beam", "source_to_axis_mm")
    assert at_unit.drawing.above.lines == lines
    assert "before the faults" in at_unit.drawing.words.text()


def test_numbers_that_do_not_fit_together_are_drawn(qtbot, at_unit) -> None:
    """A detector before the axis is a fault, and the drawing shows where it stands."""
    page(at_unit, "Source and detector")
    type_in(qtbot, at_unit, "390", "beam", "source_to_detector_mm")
    assert at_unit.desk.result.faults
    detector = next(x for x in at_unit.drawing.above.lines if x.kind is LineKind.DETECTOR)
    # the source stands 400 mm behind the axis, so 390 mm from it is still 10 mm behind
    assert detector.points[:, 1] == pytest.approx([-10.0, -10.0])
    assert "before the faults" not in at_unit.drawing.words.text()


@pytest.mark.parametrize(
    ("where", "value"),
    [
        (("lights", 0, "axis"), "forward"),  # the midline faces sideways
        (("lights", 1, "axis"), "sideways"),  # the zero plane is a height
        (("lights", 0, "place"), "groove"),  # a groove without a layer
        (("beam", "source_to_axis_mm"), 200),
        (("beam", "detector_offset_mm"), 300),
        (("fields", 0, "diameter_mm"), 250),
        (("moving_parts", 0, "nearest_mm"), 1000),
        (("travel", "chin_height_mm", "lowest"), 100),
    ],
)
def test_no_number_breaks_the_drawing(qtbot, at_unit, where, value) -> None:
    """Whatever fits together or not is drawn, with finite numbers."""
    with qtbot.waitSignal(at_unit.desk.checked, timeout=30000):
        at_unit.desk.set(where, value)
    assert at_unit.drawing.unit is at_unit.desk.result.unit is not None
    for view in (at_unit.drawing.above, at_unit.drawing.side):
        assert all(np.isfinite(line.points).all() for line in view.lines)
        assert not view.grab().isNull()


def test_a_tube_that_contradicts_itself_leaves_the_last_drawing(qtbot, at_unit) -> None:
    """A beam on for longer than the scan is told as a fault, and what was drawn stays."""
    page(at_unit, "Tube")
    lines = at_unit.drawing.above.lines
    type_in(qtbot, at_unit, "30", "tube", "protocols", 0, "beam_on_s")
    assert any("beam_on_s" in f.key or "scan_s" in f.key for f in at_unit.desk.result.faults)
    assert at_unit.drawing.above.lines == lines
    assert "before the faults" in at_unit.drawing.words.text()


def test_voxels_are_a_list_of_any_length(qtbot, at_unit) -> None:
    """All of them are shown, others can be typed, and what is no number is refused with a word."""
    page(at_unit, "Fields")
    where = ("fields", 0, "voxels_um")
    entry = entry_of(at_unit, *where).entry
    assert entry.text() == ", ".join(map(str, at_unit.desk.value(where)))
    type_in(qtbot, at_unit, "100, 150, 300, 400", *where)
    assert at_unit.desk.value(where) == [100, 150, 300, 400]
    entry.selectAll()
    qtbot.keyClicks(entry, "fine")
    qtbot.keyClick(entry, Qt.Key.Key_Return)
    assert "numbers parted by commas" in entry_of(at_unit, *where).fault.text()
    assert at_unit.desk.value(where) == [100, 150, 300, 400]


def test_undo_and_redo_by_key(qtbot, at_unit) -> None:
    """The text is as it was, and then as it was changed."""
    before = at_unit.desk.draft.text
    page(at_unit, "Source and detector")
    type_in(qtbot, at_unit, "420", "beam", "source_to_axis_mm")
    changed = at_unit.desk.draft.text
    assert changed != before
    at_unit.actions_by_name["undo"].trigger()
    assert at_unit.desk.draft.text == before
    at_unit.actions_by_name["redo"].trigger()
    assert at_unit.desk.draft.text == changed


def test_no_shipped_unit_is_written_over(at_unit, monkeypatch) -> None:
    """Not even when it is chosen in the dialog."""
    before = FILE.read_bytes()
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(FILE), ""))
    at_unit.desk.set(("name",), "Mine now")
    assert not at_unit.save()
    assert FILE.read_bytes() == before
    assert "came with the program" in at_unit.notice.text()


def test_closing_asks_when_something_is_not_saved(at_unit, monkeypatch) -> None:
    """Cancel keeps the window and what was written."""
    at_unit.desk.set(("name",), "Mine now")
    monkeypatch.setattr(QMessageBox, "exec", lambda self: QMessageBox.StandardButton.Cancel)
    assert not at_unit.close()
    assert at_unit.isVisible()


@pytest.mark.parametrize("size", [(1280, 800), (1020, 734)])
def test_it_fits_small_screens(qtbot, at_unit, size) -> None:
    """No button is cut, and the window takes the size."""
    at_unit.resize(*size)
    assert (at_unit.width(), at_unit.height()) == size
    for number in range(at_unit.list.count()):
        at_unit.list.setCurrentRow(number)
        qtbot.wait(20)  # for the layout
        for button in at_unit.parts[number].findChildren(QPushButton):
            if button.isVisible():
                assert button.width() >= button.minimumSizeHint().width()


def test_the_bench_leads_to_it_and_waits_for_it(qtbot, make_window, monkeypatch) -> None:
    """One window at most; the bench stays while something is not saved."""
    bench = make_window()
    bench.actions_by_name["unit"].trigger()
    window = bench.unit_desk.open
    qtbot.waitUntil(lambda: window.desk.result is not None, timeout=30000)
    bench.actions_by_name["unit"].trigger()
    assert bench.unit_desk.open is window
    window.desk.set(("name",), "Mine now")
    monkeypatch.setattr(QMessageBox, "exec", lambda self: QMessageBox.StandardButton.Cancel)
    assert not bench.close()
    monkeypatch.setattr(QMessageBox, "exec", lambda self: QMessageBox.StandardButton.Discard)
    assert bench.close()
    assert bench.unit_desk.open is None


def doubted(window) -> list[str]:
    """What the list tells as possible but uncommon."""
    texts = [window.faults.item(n).text() for n in range(window.faults.count())]
    return [t for t in texts if t.startswith("possible, but look again")]


def test_a_doubt_stands_in_the_list_beside_its_entry_and_at_its_page(qtbot, at_unit) -> None:
    """Possible but uncommon: never as a fault, and gone when the number is usual again."""
    usual = f"{at_unit.desk.value(('front_line_mm',)):g}"
    page(at_unit, "Support and heights")
    type_in(qtbot, at_unit, "26", "front_line_mm")
    assert at_unit.desk.result.faults == ()
    part = entry_of(at_unit, "front_line_mm")
    assert part.fault.text().startswith("? Possible, but look again: the field's front edge")
    assert part.fault.property("wrong") is False
    assert doubted(at_unit)
    number = [p.title for p in PAGES].index("Support and heights")
    assert at_unit.list.item(number).text() == "? Support and heights (1)"
    type_in(qtbot, at_unit, usual, "front_line_mm")
    assert not doubted(at_unit) and part.fault.text() == ""
    assert at_unit.list.item(number).text() == "Support and heights"


def test_a_finding_stands_beside_every_number_it_concerns(qtbot, at_unit) -> None:
    """An uncovered field is told at the field and at the detector's width; both mend it."""
    page(at_unit, "Source and detector")
    type_in(qtbot, at_unit, "40", "beam", "detector_width_mm")
    width = entry_of(at_unit, "beam", "detector_width_mm")
    assert "the detector covers" in width.fault.text()
    assert width.fault.property("wrong") is True
    page(at_unit, "Fields")
    field = entry_of(at_unit, "fields", 0, "diameter_mm")
    qtbot.waitUntil(lambda: "the detector covers" in field.fault.text())


def test_a_field_is_taken_out_by_keyboard(qtbot, at_unit) -> None:
    """The file loses that row and nothing else; undo brings it back."""
    before = at_unit.desk.draft.text
    names = [f["id"] for f in at_unit.desk.draft.data["fields"]]
    rows = page(at_unit, "Fields").findChild(RowsPart)
    out = rows.rows[1].out
    out.setFocus()
    with qtbot.waitSignal(at_unit.desk.checked, timeout=30000):
        qtbot.keyClick(out, Qt.Key.Key_Space)
    left = [f["id"] for f in at_unit.desk.draft.data["fields"]]
    assert left == names[:1] + names[2:]
    assert len(rows.rows) == len(left)
    at_unit.actions_by_name["undo"].trigger()
    assert at_unit.desk.draft.text == before


def test_the_drawing_shows_axis_and_light_planes(qtbot, at_unit) -> None:
    """The axis in the middle of the field, the midline through it, the front line at its edge."""
    above, side = at_unit.drawing.above.lines, at_unit.drawing.side.lines
    unit = at_unit.drawing.unit
    radius = unit.fields[0].diameter_mm / 2.0
    cross = next(x for x in above if x.kind is LineKind.AXIS)
    assert cross.points.mean(axis=0) == pytest.approx([0.0, 0.0])
    lights = {x.word: x.points for x in above if x.kind is LineKind.LIGHT}
    assert lights["light: midline"][:, 0] == pytest.approx([0.0, 0.0])
    assert lights["light: field-front"][:, 1] == pytest.approx([radius, radius])
    upright = next(x for x in side if x.word == "light: field-front")
    assert upright.points[:, 0] == pytest.approx([radius, radius])
    assert next(x for x in side if x.kind is LineKind.AXIS).points[:, 0] == pytest.approx([0, 0])
    height = unit.travel["unit_height_mm"]
    told = f"{height.lowest:g} to {height.highest:g} mm above the floor"
    assert told in at_unit.drawing.words.text()


def test_every_colour_of_the_drawing_is_seen(at_unit) -> None:
    """At least 4.5:1 against the paper (WCAG 2.2, 1.4.3), so that thin lines are seen too."""
    for colour, _, _ in LOOKS.values():
        assert contrast(colour, PAPER) >= 4.5


def test_a_panoramic_unit_can_be_described(qtbot, at_unit) -> None:
    """Its layer has entries with units; the drawing shows the horseshoe behind the groove."""
    with qtbot.waitSignal(at_unit.desk.checked, timeout=30000):
        assert at_unit.open_file(UNITS / "rowan_slit.yaml")
    page(at_unit, "Fields")
    for key in ("groove_behind_mm", "front_behind_mm", "slit_mm"):
        assert "mm" in entry_of(at_unit, "fields", 0, "layer", key).range.text()
    arc = entry_of(at_unit, "fields", 0, "layer", "arcs", 0, "radius_mm")
    assert arc.range.text() == "mm, 10 to 300"
    type_in(qtbot, at_unit, "28", "fields", 0, "layer", "arcs", 0, "radius_mm")
    assert at_unit.desk.result.faults == ()
    lines = at_unit.drawing.above.lines
    layer = next(x for x in lines if x.kind is LineKind.LAYER).points
    groove = next(x for x in lines if x.word == "light: front-teeth").points
    field = at_unit.drawing.unit.fields[0]
    front = layer[:, 1].max()
    assert front == pytest.approx(field.diameter_mm / 2.0 - field.layer.front_behind_mm)
    assert groove[0, 1] - front == pytest.approx(
        field.layer.front_behind_mm - field.layer.groove_behind_mm
    )
    type_in(qtbot, at_unit, "90", "fields", 0, "layer", "groove_behind_mm")
    told = entry_of(at_unit, "fields", 0, "layer", "groove_behind_mm").fault.text()
    assert "front half" in told

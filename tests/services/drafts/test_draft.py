"""A case file that is being written."""

from __future__ import annotations

from pathlib import Path

import pytest

from trainer.errors import NotAllowedNow, NotReadable
from trainer.services.assets import SCENARIOS, UNITS, known_structure_ids
from trainer.services.drafts import draft as work
from trainer.services.drafts.draft import Draft
from trainer.services.drafts.fields import field_at
from trainer.services.drafts.offers import beginning, fitted, offers, unit_of
from trainer.services.scenario_io import check_file, load_case

CASE = SCENARIOS / "lower_third_molar.yaml"
IDS = known_structure_ids()


@pytest.fixture
def draft() -> Draft:
    """A shipped case on the desk."""
    return work.open_draft(CASE)


def checked(draft: Draft) -> work.Checked:
    """What is found in a draft."""
    return work.check_case(draft, UNITS, IDS)


def test_what_is_opened_is_unchanged(draft: Draft) -> None:
    """An opened file is not changed, has no faults, and its case is the one that is loaded."""
    assert not draft.changed
    found = checked(draft)
    assert found.faults == ()
    assert found.case == load_case(CASE, UNITS, IDS)


@pytest.mark.parametrize("path", sorted(SCENARIOS.glob("*.yaml")), ids=lambda p: p.stem)
def test_saving_a_shipped_case_elsewhere_keeps_every_byte(path: Path, tmp_path: Path) -> None:
    """A case that is opened and saved elsewhere is the same file."""
    saved = work.save(work.open_draft(path), tmp_path / path.name)
    assert (tmp_path / path.name).read_bytes() == path.read_bytes()
    assert not saved.changed


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_line_ends_and_byte_order_mark_are_kept(tmp_path: Path, mark: bytes) -> None:
    """A file with line ends and mark of another system is saved with them."""
    path = tmp_path / "lower_third_molar.yaml"
    raw = mark + CASE.read_bytes().replace(b"\n", b"\r\n")
    path.write_bytes(raw)
    draft = work.open_draft(path)
    assert "\r" not in draft.text
    work.save(work.set_value(draft, ("level",), 2), path)
    assert path.read_bytes() == raw.replace(b"level: 1", b"level: 2")


def test_undo_and_redo(draft: Draft) -> None:
    """Changes of one place in a row are undone in one go, others one by one, and come again."""
    one = work.set_value(draft, ("start", "chin_height_mm"), -40)
    two = work.set_value(one, ("start", "chin_height_mm"), -38)
    three = work.set_value(two, ("level",), 3)
    assert work.undo(three).text == two.text
    assert work.undo(work.undo(three)).text == draft.text
    assert work.redo(work.redo(work.undo(work.undo(three)))).text == three.text
    with pytest.raises(NotAllowedNow, match="nothing to undo"):
        work.undo(draft)
    with pytest.raises(NotAllowedNow, match="nothing to redo"):
        work.redo(three)


def test_setting_what_is_there_is_no_change(draft: Draft) -> None:
    """A value that holds already, or a key that is not there to be left out, changes nothing."""
    assert work.set_value(draft, ("level",), 1) is draft
    assert work.take_out(draft, ("subject", "worn")) is draft


def test_missing_groups_are_put_in_and_go_when_empty(draft: Draft) -> None:
    """A value in a group that is missing brings the group to its place; taken out, both go."""
    longer = work.set_value(draft, ("subject", "mouth", "missing"), [36])
    assert "  age_years: 28\n  mouth:\n    missing: [36]\n" in longer.text
    assert work.take_out(longer, ("subject", "mouth", "missing")).text == draft.text


def test_faults_carry_place_and_line(draft: Draft) -> None:
    """Every fault names its key and the line of the text in which it stands."""
    wrong = work.set_value(draft, ("start", "chin_height_mm"), 99)
    wrong = work.set_value(wrong, ("required", 0, "structure"), "toth-48")
    found = checked(wrong)
    lines = wrong.text.split("\n")
    chin, structure = found.faults
    assert lines[chin.line - 1].strip().startswith("chin_height_mm: 99")
    assert lines[structure.line - 1].strip() == "- structure: toth-48"
    assert found.at(("start", "chin_height_mm")) == [chin]
    assert found.within(("required", 0)) == [structure]
    assert found.case is None
    assert found.placing is None


def test_a_faulty_visit_still_has_a_placing(draft: Draft) -> None:
    """Faults of the visit, the rules or the texts do not keep the placing from being shown."""
    wrong = work.set_value(draft, ("visit", "patient"), "nobody")
    wrong = work.set_value(wrong, ("title",), {"de": "Weisheitszahn"})
    found = checked(wrong)
    assert found.case is None
    whole = load_case(CASE, UNITS, IDS)
    assert found.placing is not None
    assert found.placing.start == whole.start
    assert found.placing.required == whole.required
    assert found.placing.subject == whole.subject


def test_a_new_case_from_another(draft: Draft, tmp_path: Path) -> None:
    """A new id makes a case that is not saved yet, called by custom after its id."""
    new = work.new_from(draft, "lower-left-molar")
    assert new.changed
    assert new.path is None
    assert work.file_name(new) == "lower_left_molar.yaml"
    saved = work.save(new, tmp_path / work.file_name(new))
    assert not saved.changed
    assert check_file(tmp_path / "lower_left_molar.yaml", UNITS, IDS) == ()
    assert saved.text == draft.text.replace("id: lower-third-molar", "id: lower-left-molar")


def test_no_shipped_case_is_written_over(draft: Draft) -> None:
    """Saving over a shipped case is refused in words and leaves the file alone."""
    before = CASE.read_bytes()
    with pytest.raises(NotAllowedNow, match="came with the program"):
        work.save(work.set_value(draft, ("level",), 2), CASE, lambda path: path == CASE)
    assert CASE.read_bytes() == before


def test_a_file_that_cannot_be_written(draft: Draft, tmp_path: Path) -> None:
    """A place that cannot be written to is told, with what to do."""
    (tmp_path / "file").write_text("no folder", encoding="utf-8")
    with pytest.raises(NotReadable, match="choose another name or folder"):
        work.save(draft, tmp_path / "file" / "case.yaml")


def test_broken_files_are_not_opened(tmp_path: Path) -> None:
    """A file that is no YAML is refused with its line."""
    path = tmp_path / "broken.yaml"
    path.write_text("id: a\n  b: [\n", encoding="utf-8")
    with pytest.raises(NotReadable, match=r"broken\.yaml:2"):
        work.open_draft(path)


def test_everything_that_can_be_begun_is_sound(draft: Draft) -> None:
    """What is put in begins without faults: a visit from nothing, and every list and group in it.

    The exceptions are an item whose thing has to be chosen and texts that only a person can write.
    """
    unit = unit_of(draft.data, UNITS)
    bare = work.take_out(draft, ("visit",))
    visit = field_at(work.CASE, ("visit",))
    assert visit is not None
    new = work.set_value(bare, ("visit",), beginning(visit, ("visit",), bare.data, unit))
    assert checked(new).faults == ()
    for keys in (
        ("visit", "scripted_motion"), ("visit", "waiting"), ("visit", "items"),
        ("subject", "mouth", "repairs"),
    ):  # fmt: skip
        field = field_at(work.CASE, keys)
        assert field is not None
        new = work.put_in(new, keys, beginning(field, keys, new.data, unit))
    for keys in (
        ("visit", "neck"), ("visit", "answers", "clears"), ("visit", "programme_left_over"),
        ("subject", "sizes"), ("subject", "posture"), ("visit", "history"),
    ):  # fmt: skip
        field = field_at(work.CASE, keys)
        assert field is not None
        new = work.set_value(new, keys, beginning(field, keys, new.data, unit))
    assert checked(new).faults == ()


def test_offers_follow_unit_and_waiting_room(draft: Draft) -> None:
    """Names that a field may hold come from the unit, the rules folder and the waiting room."""
    unit = unit_of(draft.data, UNITS)

    def offered(*where: str) -> tuple[str, ...]:
        return offers(where, draft.data, unit, UNITS)

    assert "alder-bench" in offered("unit")
    assert offered("rules") == ("tallow-lane",)
    assert offered("visit", "patient") == ("rowan",)
    assert "40x40" in offered("visit", "card", "prescription", "field")
    assert "adult" in offered("visit", "card", "prescription", "programme", "protocol")
    assert offered("id") == ()
    chin = field_at(work.CASE, ("start", "chin_height_mm"))
    assert chin is not None
    assert unit is not None
    told = fitted(chin, ("start", "chin_height_mm"), draft.data, unit, UNITS)
    travel = unit.travel["chin_height_mm"]
    assert (told.lowest, told.highest) == (travel.lowest, travel.highest)
    assert told.range_words() == f"mm, {travel.lowest:g} to {travel.highest:g}"

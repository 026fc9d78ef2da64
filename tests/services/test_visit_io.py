"""The visit of a case: its schema against the models, and faults beyond the schema."""

from __future__ import annotations

import json
from dataclasses import fields
from enum import StrEnum
from pathlib import Path
from typing import Any

import pytest

from trainer.engine.appointment.plain_data import from_data, to_data
from trainer.models import appointment_visit as visit_models
from trainer.models import appointment_words as words
from trainer.models.appointment_visit import LocalRules, Programme, Visit
from trainer.models.appointment_words import RunKind
from trainer.models.motion import Movement, MovementKind
from trainer.services.assets import SCENARIOS, UNITS, known_structure_ids
from trainer.services.file_check import SCHEMA_FOLDER
from trainer.services.scenario_io import check_file, load_case
from trainer.services.unit_io import find_unit
from trainer.services.visit_io import protocols, run_s

DEMO = SCENARIOS / "lower_third_molar.yaml"
TEXT = DEMO.read_text(encoding="utf-8")
SCHEMA = json.loads((SCHEMA_FOLDER / "case.schema.json").read_text(encoding="utf-8"))
VISIT = SCHEMA["properties"]["visit"]["properties"]
RULES = json.loads((SCHEMA_FOLDER / "rules.schema.json").read_text(encoding="utf-8"))


def resolved(part: dict[str, Any]) -> dict[str, Any]:
    """A part of the schema, its reference followed."""
    ref = part.get("$ref")
    return SCHEMA["$defs"][ref.rsplit("/", 1)[1]] if ref else part


GROUPS = {
    Visit: VISIT,
    visit_models.RequestCard: resolved(VISIT["card"])["properties"],
    visit_models.Prescription: SCHEMA["$defs"]["prescription"]["properties"],
    Programme: SCHEMA["$defs"]["programme"]["properties"],
    visit_models.Waiting: VISIT["waiting"]["items"]["properties"],
    visit_models.WornItem: VISIT["items"]["items"]["properties"],
    visit_models.NeckRange: VISIT["neck"]["properties"],
    visit_models.Answers: VISIT["answers"]["properties"],
    Movement: VISIT["scripted_motion"]["items"]["properties"],
}


@pytest.mark.parametrize("model", GROUPS, ids=lambda m: m.__name__)
def test_the_schema_knows_the_fields_of_the_models(model: Any) -> None:
    """Every group of the schema has exactly the fields of its class."""
    assert set(GROUPS[model]) == {f.name for f in fields(model)}


def test_the_schema_of_rules_knows_the_fields_of_the_model() -> None:
    """Beside what a file says of itself a rules file has the fields of `LocalRules`."""
    about_itself = {"schema_version", "kind", "id", "name", "note"}
    assert set(RULES["properties"]) - about_itself == {f.name for f in fields(LocalRules)}


@pytest.mark.parametrize(
    ("listed", "choices"),
    [
        (VISIT["traits"]["items"], words.Trait),
        (VISIT["pregnancy"], words.PregnancyAnswer),
        (VISIT["supports_wanted"]["items"], words.Support),
        (VISIT["supports_left_on"]["items"], words.Support),
        (GROUPS[visit_models.WornItem]["place"], words.WornPlace),
        (GROUPS[Programme]["metal_level"], words.MetalLevel),
        (GROUPS[Programme]["run_kind"], RunKind),
        (GROUPS[Movement]["kind"], MovementKind),
        (RULES["properties"]["shield"], words.Shield),
        (RULES["properties"]["identity_items"]["items"], words.IdentityItem),
    ],
)
def test_the_schema_knows_the_closed_lists(listed: dict[str, Any], choices: type[StrEnum]) -> None:
    """Every closed list of the schema is that of the models, in its order."""
    assert listed["enum"] == [c.value for c in choices]
    assert set(VISIT["history"]["properties"]) == set(words.HistoryTopic)


def test_a_visit_is_read_as_written() -> None:
    """The demo case's card, people and left-overs arrive unchanged."""
    visit = load_case(DEMO, UNITS).visit
    assert visit is not None
    assert visit.patient == "rowan"
    assert visit.card.prescription.programme == Programme(voxel_um=100)
    assert visit.card.prescription.teeth == ("48",)
    assert visit.supports_left_on == (words.Support.CHIN_REST, words.Support.BITE_PIECE)[::-1]
    assert visit.scripted_motion is None


@pytest.mark.parametrize("path", sorted(SCENARIOS.glob("*.yaml")), ids=lambda p: p.stem)
def test_a_visit_survives_plain_data(path: Path) -> None:
    """A shipped visit, written as plain data and read again, is the same."""
    visit = load_case(path, UNITS).visit
    assert from_data(Visit, json.loads(json.dumps(to_data(visit))), "visit") == visit


BEYOND_THE_SCHEMA = {
    "voxel": ("        voxel_um: 100", "        voxel_um: 200",
              "visit.card.prescription.programme.voxel_um",
              "field 40x40 offers 75, 100, 150, got 200"),
    "protocol": ("        protocol: adult", "        protocol: giant",
                 "visit.card.prescription.programme.protocol",
                 "must be one of adult, child, large-adult, short, got 'giant'"),
    "region": ("      region: lower-jaw", "      region: joints",
               "visit.card.prescription.field", "40x40 serves lower-jaw, upper-jaw, not joints"),
    "patient": ("  patient: rowan", "  patient: rowen", "visit.patient",
                "'rowen' is not among rowan"),
    "left over": ("  programme_left_over:", "  console_left_over: ash\n  programme_left_over:",
                  "visit.console_left_over", "'ash' is not among rowan"),
    "no band": ("[chin-rest, forehead-rest]", "[chin-rest]", "visit.supports_wanted",
                "needs one of forehead-rest, temple-supports, head-strap"),
    "neck": ("  programme_left_over:", "  neck:\n    pitch_deg: [5, 9]\n  programme_left_over:",
             "visit.neck.pitch_deg", "the start 0 is outside 5 to 9"),
    "late motion": ("  programme_left_over:",
                    "  scripted_motion:\n    - {kind: nod, start_s: 30, moving_s: 1, size_mm: 2, "
                    "direction: [0, 0, 0, 1, 0, 0], returns: true, seen: true}\n"
                    "  programme_left_over:",
                    "visit.scripted_motion[0].start_s",
                    "must lie in the run of 16 s, got 30"),
    "shown as": ("  programme_left_over:",
                 "  items:\n    - {id: ring, name: a ring, place: ears, shown_as: earrings}\n"
                 "  programme_left_over:", "visit.items[0].shown_as",
                 "the subject does not wear earrings; name it under subject.worn"),
    "no rules": ("rules: tallow-lane\n", "\n", "rules", "is missing; a visit goes by local rules"),
    "unknown rules": ("rules: tallow-lane", "rules: tallow-line", "rules",
                      "unknown rules 'tallow-line', did you mean 'tallow-lane'?"),
}  # fmt: skip
LINE_OFFSET = {"left over": 0, "neck": 1, "late motion": 1, "shown as": 1, "region": 1}


@pytest.mark.parametrize("name", BEYOND_THE_SCHEMA)
def test_a_fault_of_the_visit_is_told_at_its_line(tmp_path: Path, name: str) -> None:
    """What case, person, unit and rules do not allow is told with key and line."""
    old, new, key, text = BEYOND_THE_SCHEMA[name]
    assert TEXT.count(old) == 1, old
    path = tmp_path / "case.yaml"
    path.write_text(TEXT.replace(old, new), encoding="utf-8")
    line = TEXT[: TEXT.index(old)].count("\n") + 1 + LINE_OFFSET.get(name, 0)
    (fault,) = check_file(path, UNITS, known_structure_ids())
    assert (fault.key, fault.text) == (key, text)
    assert fault.line == (2 if name == "no rules" else line)


def test_required_teeth_must_be_the_persons(tmp_path: Path) -> None:
    """A tooth that the person has lost cannot be required, and each mention is told."""
    text = TEXT.replace("  age_years: 28", "  age_years: 28\n  mouth:\n    missing: [48]")
    path = tmp_path / "case.yaml"
    path.write_text(text, encoding="utf-8")
    found = check_file(path, UNITS, known_structure_ids())
    assert [f.key for f in found] == [f"required[{n}].structure" for n in range(5)]
    assert all(f.text.endswith("this person has lost 48") for f in found)


def test_a_run_lasts_as_long_as_the_protocol_says() -> None:
    """The unit's presets give the length of a run; a preview takes half of it."""
    unit = find_unit("alder-bench", UNITS)
    assert protocols(unit) == ("adult", "child", "large-adult", "short")
    assert run_s(unit, Programme("adult")) == 16.0
    assert run_s(unit, Programme("short")) == pytest.approx(16.0 * 210.0 / 360.0, abs=0.01)
    assert run_s(unit, Programme("adult", run_kind=RunKind.PREVIEW)) == 8.0

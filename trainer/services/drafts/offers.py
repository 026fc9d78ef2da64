"""What a field of a case may hold, as far as it follows from unit, rules, person and the rest."""

from __future__ import annotations

from dataclasses import asdict, replace
from typing import Any

from trainer.errors import TrainerError
from trainer.models.appointment_visit import NeckRange
from trainer.models.device import Region, Unit
from trainer.services.drafts.changes import value_at
from trainer.services.drafts.fields import Field, FieldKind, blank
from trainer.services.drafts.usual import usual_words
from trainer.services.scenario_io import rules_beside
from trainer.services.unit_io import Folders, find_unit, named_files
from trainer.services.visit_io import protocols
from trainer.services.yaml_text import KeyPath

WAITING_KEYS = ("patient", "console_left_over")
# A nod of 2 mm in the second second: own working value, to be changed.
FIRST_MOVEMENT = {
    "kind": "nod", "start_s": 2, "moving_s": 1, "size_mm": 2,
    "direction": [0, 0, 0, 1, 0, 0], "returns": True, "seen": True,
}  # fmt: skip
FIRST_VOXEL_UM = 200


def unit_of(data: Any, units_folder: Folders) -> Unit | None:
    """The unit that the case names; ``None`` while there is no such unit or it has faults."""
    name = value_at(data, ("unit",))
    try:
        return find_unit(name, units_folder) if isinstance(name, str) else None
    except TrainerError:
        return None


def offers(where: KeyPath, data: Any, unit: Unit | None, units_folder: Folders) -> tuple[str, ...]:
    """The names that a text field may hold; empty when anything may be written."""
    key = where[-1]
    if where == ("unit",):
        return tuple(named_files(units_folder))
    if where == ("rules",):
        return tuple(named_files(rules_beside(units_folder)))
    if key in WAITING_KEYS and len(where) == 2:
        waiting = value_at(data, ("visit", "waiting")) or []
        return tuple(str(w["id"]) for w in waiting if isinstance(w, dict) and "id" in w)
    if unit is None:
        return ()
    if key == "protocol":
        return protocols(unit)
    if key == "field":
        region = value_at(data, (*where[:-1], "region"))
        return tuple(f.id for f in unit.fields if region in f.regions)
    return ()


def fitted(field: Field, where: KeyPath, data: Any, unit: Unit | None, units: Folders) -> Field:
    """The field as it is for this case: range and names from the unit, and what usually holds."""
    field = replace(field, usual="" if field.must else usual_words(where))
    if unit is not None and where[:1] == ("start",) and field.key in unit.travel:
        travel = unit.travel[field.key]
        return replace(field, lowest=travel.lowest, highest=travel.highest)
    if field.key == "voxel_um" and unit is not None:
        name = value_at(data, (*where[:-2], "field"))
        sizes = next((f.voxels_um for f in unit.fields if f.id == name), ())
        return replace(field, choices=tuple(map(str, sizes)))
    if field.kind is FieldKind.TEXT and (names := offers(where, data, unit, units)):
        return replace(field, kind=FieldKind.CHOICE, choices=names)
    return field


def beginning(field: Field, where: KeyPath, data: Any, unit: Unit | None) -> Any:
    """What a part that is put in begins with: sound where the rest of the case says enough."""
    if where == ("visit",):
        return _visit(data, unit)
    if where == ("visit", "scripted_motion"):
        return FIRST_MOVEMENT
    if where == ("visit", "waiting"):
        return _person(free_id("person", value_at(data, where)))
    if where == ("visit", "items"):
        return {"id": free_id("item", value_at(data, where)), "name": "a pair of glasses",
                "place": "eyes"}  # fmt: skip
    if field.key == "clears":
        return _prescription(data, unit)
    if field.key == "repairs":
        return {"tooth": 16, "repair": "amalgam-filling"}
    if field.kind is FieldKind.ROWS:
        return {p.key: blank(p) for p in field.parts if p.must}
    if field.key == "neck":
        return {key: list(ends) for key, ends in asdict(NeckRange()).items()}
    return blank(field)


def _visit(data: Any, unit: Unit | None) -> dict[str, Any]:
    return {
        "card": {"prescription": _prescription(data, unit)},
        "patient": "person",
        "waiting": [_person("person")],
    }


def _prescription(data: Any, unit: Unit | None) -> dict[str, Any]:
    """Region and field of the start, with the unit's first protocol and a voxel it offers."""
    region = value_at(data, ("start", "region")) or str(Region.LOWER_JAW)
    name = value_at(data, ("start", "field")) or ""
    programme: dict[str, Any] = {}
    if unit is not None and protocols(unit):
        programme["protocol"] = protocols(unit)[0]
    sizes = () if unit is None else next((f.voxels_um for f in unit.fields if f.id == name), ())
    if sizes:
        programme["voxel_um"] = min(sizes, key=lambda v: abs(v - FIRST_VOXEL_UM))
    return {"region": region, "field": name, "programme": programme}


def _person(name: str) -> dict[str, Any]:
    return {
        "id": name, "surname": "Tree", "given_name": "Sam",
        "birth_date": "1990-01-01", "address": "1 Tallow Lane (invented)",
    }  # fmt: skip


def free_id(stem: str, rows: Any) -> str:
    """An id that begins so and that no row has yet."""
    used = {r.get("id") for r in rows or [] if isinstance(r, dict)}
    names = (stem if n == 1 else f"{stem}-{n}" for n in range(1, 100))
    return next(name for name in names if name not in used)

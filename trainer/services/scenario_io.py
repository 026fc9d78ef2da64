"""Case files: from YAML to `Case`, and every fault of one at once."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path
from typing import Any

from trainer.engine.appointment.plain_data import from_data
from trainer.errors import Fault, NotFound, NotReadable, NotValid, TrainerError
from trainer.models.appointment_visit import Visit
from trainer.models.controls import CONTROLS, NUMBER_KEYS
from trainer.models.device import Region, Unit
from trainer.models.learning import Task
from trainer.models.scenario import AttitudeLimits, Case, ReferencePlane, Requirement
from trainer.models.setup import Setup, setup_faults
from trainer.models.subject import Person, Subject
from trainer.services.command_list import commands_faults
from trainer.services.file_check import (
    entries,
    got,
    in_order,
    known,
    name_fault,
    near_hint,
    schema_faults,
    sound_tree,
)
from trainer.services.person_io import person_of
from trainer.services.person_names import missing_teeth_among, mouth_contradictions
from trainer.services.rules_io import find_rules, rules_faults
from trainer.services.unit_io import ENDINGS, Folders, find_unit, named_files, unit_faults
from trainer.services.visit_io import tell_visit_faults
from trainer.services.yaml_text import KeyPath, Tree, read_tree

KINDS = ("case", "unit", "rules", "commands", "pack")
RULES_FOLDER = "rules"  # beside the units


def load_case(
    path: Path, units_folder: Folders, structure_ids: Collection[str] | None = None
) -> Case:
    """The case that the file describes.

    ``structure_ids`` are the known structures; without them the names are not checked. Local rules
    stand in a folder of that name beside the units.

    Raises
    ------
    NotReadable, NotValid
        As `sound_tree`.
    """
    return case_of(sound_tree(path, lambda t: case_faults(t, units_folder, structure_ids)).data)


def check_file(
    path: Path, units_folder: Folders, structure_ids: Collection[str] | None = None
) -> tuple[Fault, ...]:
    """Every fault of a case, unit, rules, command or pack file, told by ``kind``.

    Raises
    ------
    NotReadable
        If the file is missing, too large, or no YAML text.
    """
    tree = read_tree(path)
    kind = known(tree, "kind")
    if kind == "unit":
        return unit_faults(tree)
    if kind == "case":
        return case_faults(tree, units_folder, structure_ids)
    if kind == "rules":
        return rules_faults(tree)
    if kind == "commands":
        return commands_faults(tree)
    if kind == "pack":
        from trainer.services.packs.manifest import manifest_faults

        return manifest_faults(tree, finished=False)
    if not isinstance(tree.data, dict):
        if not tree.faults:
            tree.say((), f"must be a group of keys, got {got(tree.data)}")
    elif not tree.is_spoiled(("kind",)):
        found = f"got {got(kind)}" if "kind" in tree.data else "is missing"
        hint = near_hint(kind, KINDS) if isinstance(kind, str) else ""
        tree.say(("kind",), f"must be one of {', '.join(KINDS)}; {found}{hint}")
    return in_order(tree)


def find_case(name_or_path: str, folder: Folders) -> Path:
    """The file of a case: a path as it is, or a name like ``lower-third-molar`` in the folder.

    Raises
    ------
    NotFound
        If there is none; the message offers the nearest name.
    NotReadable
        If there is a file of that name that cannot be a case by its ending.
    """
    files = named_files(folder)
    plain = name_or_path.replace("_", "-")
    if plain in files:
        return files[plain]
    path = Path(name_or_path)
    if _is_file(path):
        if path.suffix not in ENDINGS:
            raise NotReadable(f"{path}: a case file's name must end in {' or '.join(ENDINGS)}")
        return path
    stem = path.stem.replace("_", "-") if path.suffix in ENDINGS else plain
    hint = near_hint(stem, files) or f"; there are {', '.join(files) or 'none'}"
    raise NotFound(f"no case or file {got(name_or_path)}{hint}")


def rules_beside(units: Folders) -> Folders:
    """The folders of rules that stand beside those of units."""
    if isinstance(units, Path):
        return units.parent / RULES_FOLDER
    return tuple(folder.parent / RULES_FOLDER for folder in units)


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except (OSError, ValueError):  # a name too long, or with a zero in it
        return False


def case_files(folder: Folders) -> dict[str, Path]:
    """The case files of the folders by name."""
    return named_files(folder)


def case_faults(
    tree: Tree, units_folder: Folders, structure_ids: Collection[str] | None = None
) -> tuple[Fault, ...]:
    """Every fault of a case file, from top to bottom; empty when all is well."""
    schema_faults(tree, "case")
    if isinstance(tree.data, dict):
        unit = _unit_of_case(tree, units_folder)
        person = _person_of_case(tree)
        if unit is not None:
            _start_faults(tree, unit)
            _layer_faults(tree, unit)
        _structure_faults(tree, structure_ids, person)
        _rules_faults(tree, rules_beside(units_folder))
        if unit is not None and "visit" in tree.data:
            tell_visit_faults(tree, unit, _sound_start(tree, unit)[1], person)
    return in_order(tree)


def _person_of_case(tree: Tree) -> Person | None:
    """The case's person; nothing, and a fault unless it was told before, when there is none."""
    if any(fault.key.split(".")[0] == "subject" for fault in tree.faults):
        return None
    subject = known(tree, "subject")
    if not isinstance(subject, dict):
        return None
    try:
        person = person_of(subject)
    except TrainerError as error:
        tree.say(("subject",), str(error))
        return None
    contradictions = mouth_contradictions(person)
    for text in contradictions:
        tree.say(("subject", "mouth"), text)
    return None if contradictions else person


def _rules_faults(tree: Tree, folder: Folders) -> None:
    """A visit needs local rules, and those named must be there."""
    name = known(tree, "rules")
    if isinstance(name, str):
        try:
            find_rules(name, folder)
        except (NotFound, NotReadable) as error:
            tree.say(("rules",), str(error))
        except NotValid as error:
            tree.say(("rules",), f"the file of {got(name)} has faults, first {error.faults[0]}")
    elif isinstance(tree.data, dict) and "visit" in tree.data and "rules" not in tree.data:
        tree.say(("rules",), "is missing; a visit goes by local rules")


def _unit_of_case(tree: Tree, units_folder: Folders) -> Unit | None:
    """The unit that the case names, or nothing and a fault."""
    name = known(tree, "unit")
    if not isinstance(name, str):
        return None
    try:
        return find_unit(name, units_folder)
    except (NotFound, NotReadable) as error:
        tree.say(("unit",), str(error))
    except NotValid as error:
        count = len(error.faults)
        many = f"{count} fault{'' if count == 1 else 's'}"
        tree.say(("unit",), f"the file of {got(name)} has {many}, first {error.faults[0]}")
    return None


def _sound_start(tree: Tree, unit: Unit) -> tuple[dict[str, Any], Setup]:
    """The values of the start that are what they should be, and a setup with those."""
    sound = {
        key: value
        for key in (c.key for c in CONTROLS)
        if (value := known(tree, "start", key)) is not None
    }
    stand_in: dict[str, Any] = {key: unit.travel[key].lowest for key in NUMBER_KEYS}
    field = next((f for f in unit.fields if f.id == sound.get("field")), unit.fields[0])
    stand_in |= {"region": field.regions[0].value, "field": field.id, "arm_turned": False}
    return sound, _setup_of(stand_in | sound)


def _start_faults(tree: Tree, unit: Unit) -> None:
    """Tell what the unit cannot do; values already known to be wrong are not told twice."""
    sound, setup = _sound_start(tree, unit)
    for fault in setup_faults(setup, unit):
        if fault.key in sound:
            place = ("start", fault.key)
            tree.say(place, fault.text + _setup_hint(fault.key, sound, unit))


def _layer_faults(tree: Tree, unit: Unit) -> None:
    """The limit for the groove goes with a unit that has one."""
    key = "groove_off_mm"
    is_given = isinstance(tree.data, dict) and key in tree.data
    if unit.is_panoramic and not is_given:
        tree.say((key,), f"is missing; unit {unit.id} makes panoramic pictures")
    elif not unit.is_panoramic and is_given:
        tree.say((key,), f"unit {unit.id} makes no panoramic pictures; leave it out")


def _setup_hint(key: str, sound: dict[str, Any], unit: Unit) -> str:
    if key == "field" and sound["field"] not in {f.id for f in unit.fields}:
        return near_hint(sound["field"], [f.id for f in unit.fields])
    return ""


def _structure_faults(
    tree: Tree, structure_ids: Collection[str] | None, person: Person | None
) -> None:
    """Unknown structures, those that the person lacks, and those named twice."""
    first: dict[str, int] = {}
    places: list[KeyPath] = [("required", n, "structure") for n in entries(tree, "required")]
    places += [("wanted", n) for n in entries(tree, "wanted")]
    for where in places:
        name = known(tree, *where)
        if not isinstance(name, str):
            continue
        if structure_ids is not None:
            unknown = name_fault(tree, where, name, structure_ids, "structure")
            if not unknown and person is not None and (lack := missing_teeth_among(person, name)):
                tree.say(where, f"{got(name)}: {lack}")
        if name in first:
            tree.say(where, f"{got(name)} is named twice, first in line {first[name]}")
        first.setdefault(name, tree.line(where))


def _setup_of(start: dict[str, Any]) -> Setup:
    values = {key: float(start[key]) for key in NUMBER_KEYS}
    return Setup(
        **values,
        region=Region(start["region"]),
        field=start["field"],
        arm_turned=start["arm_turned"],
    )


def case_of(data: Any) -> Case:
    """The case from the data of a file that has no faults."""
    subject, attitude = data["subject"], data["attitude"]
    return Case(
        id=data["id"],
        level=int(data["level"]),
        title=_stripped(data["title"]),
        request=_stripped(data["request"]),
        aim=_stripped(data["aim"]),
        subject=Subject(
            person_of(subject), subject["display_name"], float(subject["chin_standing_mm"])
        ),
        unit_id=data["unit"],
        start=_setup_of(data["start"]),
        required=tuple(
            Requirement(r["structure"], float(r["margin_mm"])) for r in data["required"]
        ),
        wanted=tuple(data["wanted"]),
        attitude=AttitudeLimits(
            ReferencePlane(attitude["reference_plane"]),
            float(attitude["pitch_deg"]),
            float(attitude["yaw_deg"]),
            float(attitude["roll_deg"]),
            attitude.get("tilt_allowed", False),
        ),
        guard_rim_mm=float(data["guard_rim_mm"]),
        groove_off_mm=float(data["groove_off_mm"]) if "groove_off_mm" in data else None,
        visit=from_data(Visit, data["visit"], "visit") if "visit" in data else None,
        rules_id=data.get("rules", ""),
        task=Task(data["task"]) if "task" in data else None,
    )


def _stripped(texts: dict[str, str]) -> dict[str, str]:
    return {language: text.strip() for language, text in texts.items()}

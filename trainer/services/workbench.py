"""A case with everything it needs: unit, head, packed points. What window and commands open."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

from trainer.engine.points import HeadPoints, pack_head
from trainer.errors import Fault, NotValid
from trainer.models.appointment_visit import LocalRules
from trainer.models.controls import ControlKind, control
from trainer.models.device import Region, Unit
from trainer.models.meshes import HeadMeshes
from trainer.models.scenario import Case
from trainer.models.setup import Setup, setup_faults
from trainer.services.assets import MESHES, known_structure_ids, load_head
from trainer.services.library import case_folders, units_for
from trainer.services.rules_io import find_rules, rules_file
from trainer.services.scenario_io import find_case, load_case, rules_beside
from trainer.services.unit_io import find_unit, named_files

DEMO_CASE = "lower-third-molar"
ON, OFF = ("on", "yes", "true", "1"), ("off", "no", "false", "0")


@dataclass(frozen=True, slots=True)
class Workbench:
    """A case ready to be worked on.

    ``rules`` are the local rules of its visit; ``files`` are those that case, unit and rules were
    read from, in this order.
    """

    case: Case
    unit: Unit
    meshes: HeadMeshes
    points: HeadPoints
    rules: LocalRules = field(default_factory=LocalRules)
    files: tuple[Path, ...] = ()


def open_workbench(name_or_path: str, meshes_folder: Path = MESHES) -> Workbench:
    """The case of that name or file, with its unit and head.

    Raises
    ------
    NotFound, NotReadable, NotValid
        If case, unit or head is missing or broken.
    """
    path = find_case(name_or_path, case_folders())
    case = load_case(path, units_for(path), known_structure_ids(meshes_folder))
    return bench_of(case, path, load_head(case.subject.person, meshes_folder))


def bench_of(case: Case, path: Path, meshes: HeadMeshes) -> Workbench:
    """The case, read from that file, with its unit and the head that was loaded for its person.

    Raises
    ------
    NotFound, NotReadable, NotValid
        If unit or rules are missing or broken.
    """
    units = units_for(path)
    unit = find_unit(case.unit_id, units)
    files = [path, named_files(units)[case.unit_id]]
    rules = LocalRules()
    if case.rules_id:
        folder = rules_beside(units)
        rules = find_rules(case.rules_id, folder)
        files.append(rules_file(case.rules_id, folder))
    return Workbench(case, unit, meshes, pack_head(meshes.head), rules, tuple(files))


def setup_from_words(start: Setup, unit: Unit, words: Iterable[str]) -> Setup:
    """The setup with ``key=value`` words laid over it.

    Raises
    ------
    NotValid
        With every word that is no setting and every value that the unit cannot do.
    """
    faults: list[Fault] = []
    values: dict[str, object] = {}
    for word in words:
        key, equals, text = word.partition("=")
        try:
            if not equals:
                raise ValueError(f"must be key=value, got {word!r}")
            values[key.strip()] = _value(key.strip(), text.strip())
        except (ValueError, LookupError) as error:
            faults.append(Fault(f"--set {word}", 0, key.strip(), str(error)))
    if faults:
        raise NotValid(faults)
    setup = start.with_values(values)
    found = setup_faults(setup, unit, "--set")
    if found:
        raise NotValid(found)
    return setup


def _value(key: str, text: str) -> object:
    kind = control(key).kind
    if kind is ControlKind.SWITCH:
        if text.lower() not in ON + OFF:
            raise ValueError(f"must be on or off, got {text!r}")
        return text.lower() in ON
    if key == "region":
        if text not in tuple(Region):
            raise ValueError(f"must be one of {', '.join(Region)}, got {text!r}")
        return Region(text)
    if kind is ControlKind.CHOICE:
        return text
    try:
        value = float(text)
    except ValueError:
        raise ValueError(f"must be a number, got {text!r}") from None
    if value != value or value in (float("inf"), float("-inf")):
        raise ValueError(f"must be a finite number, got {text!r}")
    return value

"""The visit of a case file: what its script says that case, person and unit cannot do."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from trainer.engine.appointment.plain_data import from_data
from trainer.engine.appointment.visit_check import visit_faults
from trainer.errors import NotValid
from trainer.models.appointment_visit import Programme, Visit
from trainer.models.appointment_words import RunKind
from trainer.models.device import Unit
from trainer.models.scenario import AttitudeLimits, Case, ReferencePlane
from trainer.models.setup import Setup
from trainer.models.subject import Person, Sex, Subject
from trainer.services.file_check import entries, known
from trainer.services.yaml_text import Tree, key_path

# A preview has fewer views and takes half the time: own working value.
PREVIEW_SHARE = 0.5


def run_s(unit: Unit, programme: Programme) -> float:
    """Length of a run for a programme [s]: by the unit's data, else a usual one."""
    if unit.tube is None or programme.protocol not in {p.id for p in unit.tube.protocols}:
        from trainer.engine.appointment.state import usual_run_s

        return usual_run_s(programme)
    share = PREVIEW_SHARE if programme.run_kind is RunKind.PREVIEW else 1.0
    return share * unit.tube.protocol(programme.protocol).scan_s


def protocols(unit: Unit) -> tuple[str, ...]:
    """Names of the presets that the unit offers; none where its data do not say."""
    return tuple(p.id for p in unit.tube.protocols) if unit.tube is not None else ()


@dataclass(frozen=True, slots=True)
class _Script:
    """What `visit_faults` looks at; a `Context` needs a head, and checking a file should not."""

    case: Case
    visit: Visit
    unit: Unit
    run_s: Callable[[Programme], float]
    protocols: tuple[str, ...]


def tell_visit_faults(tree: Tree, unit: Unit, start: Setup, person: Person | None) -> None:
    """Add to the tree what the schema cannot tell of the visit; nothing if it told faults there.

    ``start`` is the case's, with stand-ins for what is wrong in it.
    """
    if any(fault.key.split(".")[0] == "visit" for fault in tree.faults):
        return
    try:
        visit = from_data(Visit, known(tree, "visit"), tree.path)
    except NotValid as error:
        for fault in error.faults:
            tree.say(("visit", *key_path(fault.key)), fault.text)
        return
    script = _Script(
        case=_case_that_starts(start),
        visit=visit,
        unit=unit,
        run_s=lambda programme: run_s(unit, programme),
        protocols=protocols(unit),
    )
    for fault in visit_faults(script):
        where = key_path(fault.key)
        attitude = where[-1] if where[0] == "neck" else None
        if attitude is None or known(tree, "start", str(attitude)) is not None:
            tree.say(("visit", *where), fault.text)
    if person is not None:
        _worn_faults(tree, person)


def _worn_faults(tree: Tree, person: Person) -> None:
    """What an item is shown as must be worn by the subject, or nobody would see it."""
    for n in entries(tree, "visit", "items"):
        shown: Any = known(tree, "visit", "items", n, "shown_as")
        if shown is not None and shown not in [str(w) for w in person.worn]:
            text = f"the subject does not wear {shown}; name it under subject.worn"
            tree.say(("visit", "items", n, "shown_as"), text)


def _case_that_starts(start: Setup) -> Case:
    """A case of which only the start is looked at."""
    return Case(
        id="", level=1, title={}, request={}, aim={},
        subject=Subject(Person(Sex.MALE), "", 1500.0),
        unit_id="", start=start, required=(), wanted=(),
        attitude=AttitudeLimits(ReferencePlane.FRANKFORT, 1.0, 1.0, 1.0),
        guard_rim_mm=0.0,
    )  # fmt: skip

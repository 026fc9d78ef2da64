"""Every adjustable value at one moment."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace

from trainer.errors import Fault, NotValid
from trainer.models.controls import CONTROLS, ControlKind, control
from trainer.models.device import Region, Unit


@dataclass(frozen=True, slots=True)
class Setup:
    """What the operator has set, in the units of files and screens (mm, deg).

    Lengths count to the patient's left, forward and up; angles as in `models.frames`.
    """

    unit_height_mm: float
    chin_height_mm: float
    sideways_mm: float
    forward_mm: float
    pitch_deg: float
    yaw_deg: float
    roll_deg: float
    jaw_gap_mm: float
    region: Region
    field: str
    field_sideways_mm: float
    field_forward_mm: float
    arm_turned: bool

    def with_values(self, values: Mapping[str, object]) -> Setup:
        """A setup with some values changed; keys are those of `models.controls`."""
        for key in values:
            control(key)
        return replace(self, **values)  # type: ignore[arg-type]

    def as_dict(self) -> dict[str, float | str | bool]:
        """Plain data, in the order of the controls."""
        found = asdict(self)
        return {
            c.key: str(found[c.key]) if c.kind is ControlKind.CHOICE else found[c.key]
            for c in CONTROLS
        }


def setup_faults(setup: Setup, unit: Unit, path: str = "setup", line: int = 0) -> list[Fault]:
    """Everything in the setup that the unit cannot do; empty when all is well."""
    faults: list[Fault] = []

    def say(key: str, text: str) -> None:
        faults.append(Fault(path, line, key, text))

    for key, travel in unit.travel.items():
        value = getattr(setup, key)
        if not travel.lowest <= value <= travel.highest:
            unit_text = control(key).unit
            say(key, f"must be {travel.lowest:g} to {travel.highest:g} {unit_text}, got {value:g}")
    if setup.region not in unit.regions:
        have = ", ".join(unit.regions)
        say("region", f"unit {unit.id} has no {setup.region}; it has {have}")
    have_fields = {f.id: f for f in unit.fields}
    if setup.field not in have_fields:
        say("field", f"unit {unit.id} has no {setup.field!r}; it has {', '.join(have_fields)}")
    elif setup.region in unit.regions and setup.region not in have_fields[setup.field].regions:
        serves = ", ".join(have_fields[setup.field].regions)
        say("field", f"{setup.field} serves {serves}, not {setup.region}")
    return faults


def require_valid(setup: Setup, unit: Unit) -> None:
    """Return when the unit can do the setup.

    Raises
    ------
    NotValid
        With every fault, otherwise.
    """
    faults = setup_faults(setup, unit)
    if faults:
        raise NotValid(faults)

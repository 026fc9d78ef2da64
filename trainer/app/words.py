"""Values, limits and refusals in the words that stand on the window's controls."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from trainer.engine.wording import amount, signed_amount
from trainer.errors import Fault
from trainer.models.controls import CONTROLS, Control, ControlKind, control
from trainer.models.device import FieldSize, Region, Travel, Unit
from trainer.models.setup import Setup

REGION_WORDS = {
    Region.LOWER_JAW: "Lower jaw",
    Region.UPPER_JAW: "Upper jaw",
    Region.BOTH_JAWS: "Both jaws",
    Region.JOINTS: "Jaw joints",
}


def field_words(field: FieldSize) -> str:
    """Diameter and height in words."""
    return f"{field.diameter_mm:g} mm wide, {field.height_mm:g} mm high"


def number_words(c: Control, travel: Travel, value: float) -> str:
    """A number as its entry shows it: ``6 mm left``; without a way where there is only one."""
    if travel.lowest >= 0.0:
        return amount(value, c.unit)
    return signed_amount(value, c.unit, c.more_word, c.less_word)


def limit_words(c: Control, travel: Travel, value: float) -> str:
    """Why a number is refused: ``Head pitch must be -25 to 20°, got 99``."""
    unit = "°" if c.unit == "deg" else f" {c.unit}"
    return f"{c.label} must be {travel.lowest:g} to {travel.highest:g}{unit}, got {value:g}"


def refusal(faults: Sequence[Fault], values: Mapping[str, object], unit: Unit) -> str:
    """What the unit cannot do of these values, by the controls' labels; ends without a stop."""
    labels = {c.key: c.label for c in CONTROLS}
    told = []
    for fault in faults:
        value = values.get(fault.key)
        if fault.key in unit.travel and isinstance(value, int | float):
            told.append(limit_words(control(fault.key), unit.travel[fault.key], float(value)))
        else:
            text = fault.text
            for region, words in REGION_WORDS.items():
                text = text.replace(region, words.lower())
            told.append(f"{labels.get(fault.key, fault.key)}: {text}")
    return "; ".join(told)


def change_lines(unit: Unit, setup: Setup, changes: Mapping[str, object]) -> list[str]:
    """One line for each control that changes: its label and the value it gets."""
    lines = []
    for c in CONTROLS:
        value = changes.get(c.key)
        if value is None or value == getattr(setup, c.key):
            continue
        if c.key in unit.travel and isinstance(value, int | float):
            words = number_words(c, unit.travel[c.key], float(value))
        elif c.key == "region":
            words = REGION_WORDS[Region(str(value))]
        elif c.key == "field":
            words = field_words(unit.field(str(value)))
        else:
            words = "on" if c.kind is ControlKind.SWITCH and value else "off"
        lines.append(f"{c.label}: {words}")
    return lines

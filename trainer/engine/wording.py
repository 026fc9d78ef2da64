"""Sentences: what lies where, in plain words. English; other languages come with the text files."""

from __future__ import annotations

from trainer.engine.placement import Edge, StructurePlacement, Way

EDGE_TEXT = {
    (Edge.ROOF, Way.DOWN): "above the field",
    (Edge.FLOOR, Way.UP): "below the field",
    (Edge.WALL, Way.LEFT): "outside the field on the patient's right",
    (Edge.WALL, Way.RIGHT): "outside the field on the patient's left",
    (Edge.WALL, Way.FORWARD): "behind the field",
    (Edge.WALL, Way.BACK): "in front of the field",
}
NEAR_TEXT = {
    (Edge.ROOF, Way.DOWN): "the field's upper edge",
    (Edge.FLOOR, Way.UP): "the field's lower edge",
    (Edge.WALL, Way.LEFT): "the field's edge on the patient's right",
    (Edge.WALL, Way.RIGHT): "the field's edge on the patient's left",
    (Edge.WALL, Way.FORWARD): "the field's rear edge",
    (Edge.WALL, Way.BACK): "the field's front edge",
}


def amount(value: float, unit: str) -> str:
    """A size with its unit, without sign: ``6 mm``, ``2.5°``."""
    text = f"{abs(value):.1f}".removesuffix(".0")
    return f"{text}°" if unit == "deg" else f"{text} {unit}"


def signed_amount(value: float, unit: str, more_word: str, less_word: str) -> str:
    """A value in words of the patient: ``6 mm left``; ``0 mm`` when it rounds to nothing."""
    if abs(value) < 0.05:
        return amount(0.0, unit)
    return f"{amount(value, unit)} {more_word if value > 0 else less_word}"


def two_digits(value: float) -> str:
    """A number to two digits, without an exponent: ``350``, ``3.6``, ``0.13``."""
    return f"{float(f'{value:.2g}'):g}"


def sentence_start(text: str) -> str:
    """The text with its first letter as a sentence begins."""
    return text[0].upper() + text[1:]


def where(found: StructurePlacement) -> str:
    """One clause on where the structure lies, with the number that matters."""
    name = found.structure.name
    key = (found.edge, found.way)
    needs = found.required_margin_mm
    if abs(found.margin_mm) < 0.05:
        return f"{name} reaches just to {NEAR_TEXT[key]}"
    if found.margin_mm < 0.0:
        return f"{name} lies {amount(found.margin_mm, 'mm')} {EDGE_TEXT[key]}"
    if needs is not None and not found.holds:
        return (
            f"{name} is only {amount(found.margin_mm, 'mm')} from {NEAR_TEXT[key]}, "
            f"{amount(needs, 'mm')} asked"
        )
    return f"{name} is inside, {amount(found.margin_mm, 'mm')} from {NEAR_TEXT[key]}"


def share(found: StructurePlacement) -> str:
    """The inside share in words; what is not whole inside is never rounded up to it."""
    if found.inside_share == 1.0:
        return "whole inside"
    return f"{min(99.0, 100.0 * found.inside_share):.0f} % inside"

"""The look of the primary (milk) teeth, drawn from the permanent forms.

Primary crowns are those of the successors' class, lower and squatter, with a bulge at the neck;
primary molars have the cusps of first molars or of a premolar, a short trunk and thin roots that
are splayed to make room for the germ between them (from memory: dental anatomy textbooks, as
`tooth_forms`; the shares are drawn by eye).
"""

from __future__ import annotations

from dataclasses import replace

from trainer.anatomy.teeth.tooth_forms import (
    FORMS,
    LOWER_CANINE,
    LOWER_FIRST_MOLAR,
    LOWER_INCISOR,
    LOWER_SECOND_MOLAR,
    UPPER_CANINE,
    UPPER_CENTRAL,
    UPPER_FIRST_MOLAR,
    UPPER_LATERAL,
    UPPER_SECOND_PREMOLAR,
    RootForm,
    Row,
    ToothForm,
)

# Height (share of the crown) of the bulge at the neck, where the crown is at its thickest.
BULGE_AT = 0.18


def _low(form: ToothForm, share: float, **changes: object) -> ToothForm:
    """The form with everything that is given in millimetres made smaller by ``share``."""
    ridges = tuple((x, y, a * share, u, v, b * share, slope)
                   for x, y, a, u, v, b, slope in form.ridges)  # fmt: skip
    fossa = None if form.fossa is None else (*form.fossa[:3], form.fossa[3] * share)
    small = replace(
        form,
        ridges=ridges,
        rows=_bulging(form.rows),
        cej_mm=form.cej_mm * share,
        fossa=fossa,
        bend=form.bend * share,
        edge_mm=form.edge_mm * share,
        pit_mm=form.pit_mm * share,
    )
    return replace(small, **changes)  # type: ignore[arg-type]


def _bulging(rows: tuple[Row, ...]) -> tuple[Row, ...]:
    """The outline with its full thickness down at the neck."""
    _, mesial, distal, *_, power = rows[0]
    high = tuple(r for r in rows if r[0] > BULGE_AT + 0.05)
    return ((BULGE_AT, max(mesial, 0.86), max(distal, 0.86), 1.0, 1.0, power), *high)


def _splayed(
    form: ToothForm, share: float, roots: tuple[RootForm, ...], furcation_mm: float
) -> ToothForm:
    return _low(form, share, roots=roots, furcation_mm=furcation_mm)


THREE_SPLAYED = (
    RootForm((0.56, 0.52), (0.80, 0.98), (0.95, 1.45)),
    RootForm((-0.56, 0.50), (-1.05, 0.86), (0.90, 1.25)),
    RootForm((-0.04, -0.58), (-0.12, -1.25), (1.35, 1.05)),
)
TWO_SPLAYED = (
    RootForm((0.62, 0.0), (0.92, 0.0), (0.95, 2.5)),
    RootForm((-0.60, 0.0), (-1.16, 0.0), (0.95, 2.3)),
)

PRIMARY_FORMS: dict[tuple[str, int], ToothForm] = {
    ("upper", 11): _low(UPPER_CENTRAL, 0.6),
    ("upper", 12): _low(UPPER_LATERAL, 0.65),
    ("upper", 13): _low(UPPER_CANINE, 0.65),
    ("upper", 14): _splayed(UPPER_SECOND_PREMOLAR, 0.65, THREE_SPLAYED, 1.6),
    ("upper", 15): _splayed(UPPER_FIRST_MOLAR, 0.75, THREE_SPLAYED, 1.8),
    ("lower", 11): _low(LOWER_INCISOR, 0.6),
    ("lower", 12): _low(LOWER_INCISOR, 0.6),
    ("lower", 13): _low(LOWER_CANINE, 0.6),
    ("lower", 14): _splayed(LOWER_SECOND_MOLAR, 0.75, TWO_SPLAYED, 1.6),
    ("lower", 15): _splayed(LOWER_FIRST_MOLAR, 0.75, TWO_SPLAYED, 1.8),
}


def form_of(jaw: str, place: int) -> ToothForm:
    """The form of a kind of tooth (see `tooth_tables.kind_of`)."""
    return FORMS[jaw, place] if place in range(1, 9) else PRIMARY_FORMS[jaw, place]

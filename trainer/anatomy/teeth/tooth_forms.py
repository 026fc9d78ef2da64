"""The look of each kind of tooth: outlines by height, cusps and ridges, roots.

The sizes come from `tooth_tables`; here stands only form, as shares of those sizes. The shares
are drawn by eye after the descriptions of the classes in dental anatomy textbooks (heights of
contour, places of contacts, number and rank of cusps, root shapes); common knowledge of the trade,
no measured source.

Tooth coordinates: x mesial, y buccal (labial), z occlusal; origin in the middle of the neck.
"""

from __future__ import annotations

from dataclasses import dataclass

# A row of an outline: height as share of the crown, then the reach to mesial, distal (shares of
# half the mesiodistal size), buccal, lingual (of half the buccolingual size; negative when the
# outline has crossed the axis), and the power of the section (2 ellipse, more is boxier).
Row = tuple[float, float, float, float, float, float]
# A ridge of the biting surface: x, y (shares of the half sizes) and depth below the tallest cusp
# [mm] at both ends, and the slope of its flanks. Both ends equal: a plain cusp.
Ridge = tuple[float, float, float, float, float, float, float]


@dataclass(frozen=True, slots=True)
class RootForm:
    """One root of several.

    Centre at the furcation and at the apex as shares of the half neck sizes, half widths at the
    furcation [mm] across (mesiodistal, buccolingual).
    """

    top: tuple[float, float]
    apex: tuple[float, float]
    half_mm: tuple[float, float]


@dataclass(frozen=True, slots=True)
class ToothForm:
    """The form of one kind of tooth.

    ``taper`` narrows the section towards lingual (share), ``shear`` leans it (rhomboid). ``cej_mm``
    is how far the neck line climbs on the mesial and distal faces. ``fossa`` is the hollow of the
    lingual face of front teeth: height, half height (shares of the crown), half width (share of
    half the mesiodistal size), depth [mm]. ``bend`` is the distal sweep of a single
    root's apex [mm]; several roots are given by ``roots`` and leave the trunk ``furcation_mm``
    below the neck. ``edge_mm`` rounds the rim of the biting surface, ``pit_mm`` is its greatest
    depth below the tallest cusp.
    """

    rows: tuple[Row, ...]
    ridges: tuple[Ridge, ...]
    taper: float = 0.0
    shear: float = 0.0
    cej_mm: float = 0.0
    fossa: tuple[float, float, float, float] | None = None
    bend: float = 1.0
    roots: tuple[RootForm, ...] = ()
    furcation_mm: float = 0.0
    edge_mm: float = 0.7
    pit_mm: float = 6.0


UPPER_CENTRAL = ToothForm(
    rows=(
        (0.10, 0.86, 0.86, 0.94, 0.94, 2.0),
        (0.22, 0.89, 0.88, 1.00, 1.00, 2.1),
        (0.45, 0.94, 0.93, 0.90, 0.52, 2.3),
        (0.65, 0.98, 0.99, 0.74, 0.18, 2.6),
        (0.84, 1.00, 1.00, 0.54, -0.02, 3.0),
        (1.00, 0.97, 0.86, 0.35, -0.02, 3.4),
    ),
    ridges=((0.86, 0.17, 0.0, -0.60, 0.17, 0.0, 0.5), (-0.60, 0.17, 0.0, -0.84, 0.17, 0.5, 0.5)),
    taper=0.22,
    cej_mm=3.0,
    fossa=(0.60, 0.34, 0.62, 0.75),
    bend=0.5,
    edge_mm=0.35,
)
UPPER_LATERAL = ToothForm(
    rows=(
        (0.10, 0.80, 0.79, 0.94, 0.94, 2.0),
        (0.22, 0.83, 0.81, 1.00, 1.00, 2.1),
        (0.45, 0.92, 0.89, 0.90, 0.55, 2.2),
        (0.65, 0.98, 0.99, 0.74, 0.20, 2.4),
        (0.80, 1.00, 1.00, 0.55, 0.00, 2.6),
        (1.00, 0.90, 0.72, 0.36, 0.00, 2.8),
    ),
    ridges=((0.72, 0.18, 0.2, 0.10, 0.18, 0.0, 0.5), (0.10, 0.18, 0.0, -0.75, 0.18, 0.8, 0.5)),
    taper=0.22,
    cej_mm=2.8,
    fossa=(0.60, 0.33, 0.60, 0.7),
    bend=1.3,
    edge_mm=0.35,
)
LOWER_INCISOR = ToothForm(
    rows=(
        (0.10, 0.76, 0.76, 0.94, 0.94, 2.0),
        (0.20, 0.82, 0.81, 1.00, 1.00, 2.1),
        (0.45, 0.90, 0.89, 0.74, 0.60, 2.3),
        (0.70, 0.97, 0.96, 0.42, 0.38, 2.7),
        (0.88, 1.00, 1.00, 0.20, 0.33, 3.1),
        (1.00, 0.98, 0.95, 0.05, 0.30, 3.4),
    ),
    ridges=((0.85, -0.12, 0.0, -0.85, -0.12, 0.05, 0.5),),
    taper=0.15,
    cej_mm=2.5,
    fossa=(0.62, 0.30, 0.60, 0.3),
    bend=0.6,
    edge_mm=0.3,
)
UPPER_CANINE = ToothForm(
    rows=(
        (0.10, 0.76, 0.75, 0.94, 0.94, 2.0),
        (0.24, 0.80, 0.79, 1.00, 1.00, 2.0),
        (0.45, 0.91, 0.91, 0.95, 0.66, 2.1),
        (0.60, 0.99, 0.99, 0.86, 0.42, 2.1),
        (0.68, 1.00, 1.00, 0.76, 0.24, 2.2),
        (1.00, 0.62, 0.60, 0.46, 0.04, 2.3),
    ),
    ridges=((0.05, 0.25, 0.0, 0.86, 0.14, 2.6, 0.75), (0.05, 0.25, 0.0, -0.92, 0.14, 3.4, 0.75)),
    taper=0.25,
    cej_mm=2.5,
    fossa=(0.56, 0.24, 0.45, 0.35),
    bend=1.2,
    edge_mm=0.4,
)
LOWER_CANINE = ToothForm(
    rows=(
        (0.10, 0.82, 0.81, 0.94, 0.94, 2.0),
        (0.22, 0.87, 0.86, 1.00, 1.00, 2.0),
        (0.45, 0.94, 0.94, 0.84, 0.62, 2.1),
        (0.62, 0.99, 1.00, 0.66, 0.44, 2.1),
        (0.76, 1.00, 0.97, 0.48, 0.36, 2.2),
        (1.00, 0.74, 0.62, 0.14, 0.24, 2.3),
    ),
    ridges=(
        (0.08, -0.05, 0.0, 0.88, -0.05, 1.9, 0.75),
        (0.08, -0.05, 0.0, -0.92, -0.05, 3.0, 0.75),
    ),
    taper=0.20,
    cej_mm=2.2,
    fossa=(0.58, 0.26, 0.45, 0.25),
    bend=0.9,
    edge_mm=0.4,
)

# Upper premolars: buccal and palatal cusp, a groove running mesiodistally, marginal ridges.
UPPER_PREMOLAR_ROWS: tuple[Row, ...] = (
    (0.15, 0.80, 0.80, 0.95, 0.95, 2.1),
    (0.32, 0.90, 0.90, 1.00, 0.98, 2.2),
    (0.50, 0.98, 0.98, 0.97, 1.00, 2.3),
    (0.62, 1.00, 1.00, 0.91, 0.97, 2.4),
    (0.80, 0.95, 0.95, 0.82, 0.88, 2.4),
    (1.00, 0.84, 0.84, 0.68, 0.74, 2.4),
)
UPPER_FIRST_PREMOLAR = ToothForm(
    pit_mm=2.9,
    rows=UPPER_PREMOLAR_ROWS,
    ridges=(
        (-0.06, 0.50, 0.0, -0.02, 0.02, 2.2, 0.85),
        (-0.06, 0.50, 0.0, 0.74, 0.40, 1.5, 0.8),
        (-0.06, 0.50, 0.0, -0.76, 0.40, 1.4, 0.8),
        (0.14, -0.52, 0.9, 0.03, 0.00, 2.5, 0.8),
        (0.14, -0.52, 0.9, 0.70, -0.30, 1.9, 0.8),
        (0.14, -0.52, 0.9, -0.66, -0.32, 1.9, 0.8),
        (0.78, 0.30, 1.8, 0.76, -0.30, 1.9, 0.9),
        (-0.78, 0.30, 1.7, -0.74, -0.30, 1.8, 0.9),
    ),
    taper=0.14,
    cej_mm=1.0,
    furcation_mm=6.0,
    roots=(
        RootForm((-0.02, 0.46), (-0.40, 0.62), (2.2, 1.85)),
        RootForm((0.0, -0.46), (-0.30, -0.62), (2.1, 1.8)),
    ),
)
UPPER_SECOND_PREMOLAR = ToothForm(
    pit_mm=2.5,
    rows=UPPER_PREMOLAR_ROWS,
    ridges=(
        (0.02, 0.50, 0.0, 0.0, 0.02, 2.0, 0.85),
        (0.02, 0.50, 0.0, 0.74, 0.40, 1.3, 0.8),
        (0.02, 0.50, 0.0, -0.76, 0.40, 1.4, 0.8),
        (0.08, -0.52, 0.2, 0.02, -0.02, 2.0, 0.85),
        (0.08, -0.52, 0.2, 0.70, -0.30, 1.5, 0.8),
        (0.08, -0.52, 0.2, -0.68, -0.32, 1.5, 0.8),
        (0.78, 0.30, 1.6, 0.76, -0.30, 1.6, 0.9),
        (-0.78, 0.30, 1.6, -0.76, -0.30, 1.6, 0.9),
    ),
    taper=0.08,
    cej_mm=0.9,
    bend=1.4,
)
LOWER_PREMOLAR_ROWS: tuple[Row, ...] = (
    (0.15, 0.82, 0.82, 0.96, 0.92, 2.0),
    (0.30, 0.91, 0.91, 1.00, 0.96, 2.1),
    (0.50, 0.98, 0.98, 0.95, 1.00, 2.1),
    (0.64, 1.00, 1.00, 0.86, 1.00, 2.2),
    (0.80, 0.95, 0.95, 0.70, 0.95, 2.2),
    (1.00, 0.82, 0.82, 0.48, 0.84, 2.2),
)
# The first has a large buccal cusp standing over the root and a small lingual one.
LOWER_FIRST_PREMOLAR = ToothForm(
    pit_mm=3.0,
    rows=LOWER_PREMOLAR_ROWS,
    ridges=(
        (0.05, 0.16, 0.0, 0.03, 0.05, 0.4, 1.0),
        (0.05, 0.16, 0.0, 0.76, 0.12, 1.8, 1.0),
        (0.05, 0.16, 0.0, -0.80, 0.12, 2.0, 1.0),
        (0.05, -0.66, 1.5, 0.05, -0.62, 1.6, 0.9),
        (0.74, 0.0, 2.2, 0.50, -0.62, 2.9, 0.9),
        (-0.74, 0.0, 2.1, -0.50, -0.62, 2.7, 0.9),
    ),
    taper=0.20,
    cej_mm=0.9,
    bend=1.0,
)
# The second, here with one buccal and two lingual cusps.
LOWER_SECOND_PREMOLAR = ToothForm(
    pit_mm=2.3,
    rows=LOWER_PREMOLAR_ROWS,
    ridges=(
        (0.05, 0.24, 0.0, 0.0, -0.12, 1.7, 0.8),
        (0.05, 0.24, 0.0, 0.74, 0.20, 1.3, 0.75),
        (0.05, 0.24, 0.0, -0.76, 0.20, 1.4, 0.75),
        (0.30, -0.60, 0.8, 0.10, -0.24, 1.9, 0.85),
        (-0.42, -0.56, 1.3, -0.18, -0.22, 2.0, 0.85),
        (0.76, 0.10, 1.5, 0.66, -0.40, 1.6, 0.9),
        (-0.78, 0.10, 1.5, -0.68, -0.38, 1.7, 0.9),
    ),
    taper=-0.02,
    cej_mm=0.7,
    bend=1.2,
)

UPPER_MOLAR_ROWS: tuple[Row, ...] = (
    (0.15, 0.86, 0.85, 0.96, 0.95, 2.4),
    (0.32, 0.93, 0.92, 1.00, 0.99, 2.5),
    (0.48, 0.98, 0.98, 0.97, 1.00, 2.6),
    (0.62, 1.00, 1.00, 0.92, 0.97, 2.6),
    (0.80, 0.96, 0.96, 0.84, 0.89, 2.6),
    (1.00, 0.86, 0.86, 0.74, 0.76, 2.6),
)
UPPER_FIRST_MOLAR = ToothForm(
    pit_mm=2.5,
    rows=UPPER_MOLAR_ROWS,
    ridges=(
        (0.46, 0.55, 0.0, 0.16, 0.08, 2.0, 0.75),
        (-0.46, 0.53, 0.4, -0.26, 0.12, 1.7, 0.75),
        (0.26, -0.50, 0.1, 0.20, -0.10, 1.8, 0.75),
        (-0.58, -0.54, 0.9, -0.46, -0.34, 1.6, 0.8),
        (0.26, -0.50, 0.1, -0.14, -0.04, 1.5, 0.9),  # oblique ridge, palatal half
        (-0.46, 0.53, 0.4, -0.14, -0.04, 1.5, 0.9),  # oblique ridge, buccal half
        (0.78, 0.40, 1.3, 0.72, -0.42, 1.4, 0.95),
        (-0.76, 0.34, 1.5, -0.80, -0.34, 1.6, 0.95),
    ),
    shear=0.14,
    taper=-0.04,
    cej_mm=0.6,
    furcation_mm=3.8,
    roots=(
        RootForm((0.50, 0.46), (0.28, 0.62), (1.6, 2.4)),
        RootForm((-0.50, 0.46), (-0.66, 0.52), (1.5, 1.9)),
        RootForm((-0.02, -0.50), (-0.10, -1.00), (2.3, 1.9)),
    ),
)
UPPER_SECOND_MOLAR = ToothForm(
    pit_mm=2.5,
    rows=UPPER_MOLAR_ROWS,
    ridges=(
        (0.42, 0.55, 0.0, 0.14, 0.08, 2.0, 0.75),
        (-0.46, 0.50, 0.5, -0.26, 0.12, 1.7, 0.75),
        (0.20, -0.50, 0.1, 0.16, -0.10, 1.8, 0.75),
        (-0.58, -0.48, 1.3, -0.46, -0.30, 1.8, 0.85),
        (0.20, -0.50, 0.1, -0.16, -0.04, 1.6, 0.9),
        (-0.46, 0.50, 0.5, -0.16, -0.04, 1.6, 0.9),
        (0.78, 0.40, 1.3, 0.72, -0.40, 1.4, 0.95),
        (-0.76, 0.32, 1.6, -0.78, -0.30, 1.7, 0.95),
    ),
    shear=0.17,
    taper=0.04,
    cej_mm=0.5,
    furcation_mm=4.2,
    roots=(
        RootForm((0.46, 0.46), (0.10, 0.55), (1.5, 2.2)),
        RootForm((-0.46, 0.44), (-0.72, 0.44), (1.4, 1.8)),
        RootForm((-0.02, -0.50), (-0.26, -0.78), (2.0, 1.8)),
    ),
)
# Three cusps, rounder, the roots close together.
UPPER_THIRD_MOLAR = ToothForm(
    pit_mm=2.1,
    rows=UPPER_MOLAR_ROWS,
    ridges=(
        (0.40, 0.52, 0.0, 0.14, 0.08, 1.7, 0.75),
        (-0.46, 0.44, 0.5, -0.26, 0.10, 1.6, 0.75),
        (0.02, -0.50, 0.1, 0.06, -0.10, 1.5, 0.75),
        (0.76, 0.34, 1.2, 0.52, -0.44, 1.3, 0.95),
        (-0.74, 0.20, 1.4, -0.54, -0.44, 1.4, 0.95),
    ),
    shear=0.12,
    taper=0.14,
    cej_mm=0.4,
    furcation_mm=5.5,
    roots=(
        RootForm((0.42, 0.44), (0.16, 0.50), (1.55, 2.1)),
        RootForm((-0.44, 0.42), (-0.90, 0.36), (1.45, 1.9)),
        RootForm((-0.02, -0.48), (-0.42, -0.56), (2.2, 2.0)),
    ),
)
LOWER_MOLAR_ROWS: tuple[Row, ...] = (
    (0.15, 0.88, 0.86, 0.98, 0.91, 2.4),
    (0.30, 0.94, 0.92, 1.00, 0.95, 2.5),
    (0.50, 0.99, 0.98, 0.95, 1.00, 2.6),
    (0.64, 1.00, 1.00, 0.88, 0.99, 2.7),
    (0.82, 0.97, 0.96, 0.75, 0.95, 2.7),
    (1.00, 0.88, 0.86, 0.60, 0.86, 2.7),
)
# Five cusps: two and a small distal one buccally, two lingually.
LOWER_FIRST_MOLAR = ToothForm(
    pit_mm=2.6,
    rows=LOWER_MOLAR_ROWS,
    ridges=(
        (0.50, 0.42, 0.3, 0.24, 0.02, 2.0, 0.75),
        (-0.13, 0.46, 0.3, -0.08, 0.04, 2.1, 0.75),
        (-0.62, 0.34, 0.8, -0.42, 0.08, 1.9, 0.80),
        (0.48, -0.62, 0.0, 0.24, -0.16, 2.0, 0.75),
        (-0.42, -0.62, 0.1, -0.24, -0.16, 2.0, 0.75),
        (0.80, 0.26, 1.5, 0.78, -0.44, 1.4, 0.95),
        (-0.80, 0.06, 1.6, -0.76, -0.44, 1.5, 0.95),
    ),
    shear=0.04,
    taper=0.06,
    cej_mm=0.5,
    furcation_mm=3.2,
    roots=(
        RootForm((0.56, 0.0), (0.34, 0.0), (1.8, 4.1)),
        RootForm((-0.54, 0.0), (-0.86, 0.0), (1.8, 3.9)),
    ),
)
# Four cusps with a cross of grooves.
LOWER_SECOND_MOLAR = ToothForm(
    pit_mm=2.5,
    rows=LOWER_MOLAR_ROWS,
    ridges=(
        (0.46, 0.43, 0.2, 0.22, 0.00, 2.0, 0.75),
        (-0.44, 0.42, 0.2, -0.22, 0.00, 2.0, 0.75),
        (0.46, -0.62, 0.0, 0.22, -0.14, 2.0, 0.75),
        (-0.44, -0.62, 0.1, -0.22, -0.14, 2.0, 0.75),
        (0.80, 0.26, 1.4, 0.78, -0.44, 1.4, 0.95),
        (-0.80, 0.24, 1.5, -0.76, -0.44, 1.5, 0.95),
    ),
    taper=0.02,
    cej_mm=0.4,
    furcation_mm=3.6,
    roots=(
        RootForm((0.54, 0.0), (0.12, 0.0), (1.7, 4.1)),
        RootForm((-0.52, 0.0), (-0.92, 0.0), (1.7, 3.8)),
    ),
)
LOWER_THIRD_MOLAR = ToothForm(
    pit_mm=2.1,
    rows=LOWER_MOLAR_ROWS,
    ridges=(
        (0.44, 0.42, 0.1, 0.20, 0.00, 1.7, 0.75),
        (-0.40, 0.40, 0.3, -0.20, 0.00, 1.7, 0.75),
        (0.42, -0.58, 0.0, 0.20, -0.14, 1.7, 0.75),
        (-0.38, -0.56, 0.3, -0.20, -0.14, 1.7, 0.75),
        (0.78, 0.24, 1.3, 0.74, -0.40, 1.3, 0.95),
        (-0.76, 0.20, 1.4, -0.70, -0.38, 1.4, 0.95),
    ),
    taper=0.05,
    cej_mm=0.3,
    furcation_mm=4.4,
    roots=(
        RootForm((0.50, 0.0), (-0.20, 0.0), (1.7, 4.0)),
        RootForm((-0.50, 0.0), (-1.10, 0.0), (1.7, 3.7)),
    ),
)

FORMS: dict[tuple[str, int], ToothForm] = {
    ("upper", 1): UPPER_CENTRAL,
    ("upper", 2): UPPER_LATERAL,
    ("upper", 3): UPPER_CANINE,
    ("upper", 4): UPPER_FIRST_PREMOLAR,
    ("upper", 5): UPPER_SECOND_PREMOLAR,
    ("upper", 6): UPPER_FIRST_MOLAR,
    ("upper", 7): UPPER_SECOND_MOLAR,
    ("upper", 8): UPPER_THIRD_MOLAR,
    ("lower", 1): LOWER_INCISOR,
    ("lower", 2): LOWER_INCISOR,
    ("lower", 3): LOWER_CANINE,
    ("lower", 4): LOWER_FIRST_PREMOLAR,
    ("lower", 5): LOWER_SECOND_PREMOLAR,
    ("lower", 6): LOWER_FIRST_MOLAR,
    ("lower", 7): LOWER_SECOND_MOLAR,
    ("lower", 8): LOWER_THIRD_MOLAR,
}

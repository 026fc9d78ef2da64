"""Mean sizes of the 32 permanent and the 20 primary teeth.

Teeth are named by two digits (ISO 3950): quadrant as the patient has it (1 upper right, 2 upper
left, 3 lower left, 4 lower right; 5 to 8 the same for primary teeth), then place from the midline.
Both sides share one row. The *kind* of a tooth is its jaw and its place; primary places count from
11, so that a kind names one row.

Source of the sizes: Ash & Nelson / Nelson & Ash, Wheeler's Dental Anatomy, Physiology and
Occlusion, table 1-1 and appendix B. What was read there and what was recalled:

- 11, 12, 15, 16: read, save the buccolingual diameter at the neck (recalled);
- all others: mesiodistal crown diameter read second-hand, the rest recalled ("from memory"), and
  so for the primary teeth, whose necks and buccolingual sizes are all recalled.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ToothSize:
    """One row of the table [mm]; crown and roots are lengths along the labial or buccal side.

    ``root_mm`` has one length for each name in ``roots``. ``md`` is mesiodistal, ``bl``
    buccolingual: the largest of the crown, and at the neck.
    """

    crown_mm: float
    root_mm: tuple[float, ...]
    md_mm: float
    md_neck_mm: float
    bl_mm: float
    bl_neck_mm: float
    roots: tuple[str, ...] = ("",)


THREE = ("mesiobuccal", "distobuccal", "palatal")
TWO_LOWER = ("mesial", "distal")
TWO_UPPER = ("buccal", "palatal")

# Jaw ("upper", "lower") and place from the midline. Source and marks: see above. Lengths of the
# two or three roots differ only where the table says so.
SIZES: dict[tuple[str, int], ToothSize] = {
    ("upper", 1): ToothSize(10.5, (13.0,), 8.5, 7.0, 7.0, 6.0),
    ("upper", 2): ToothSize(9.0, (13.0,), 6.5, 5.0, 6.0, 5.0),
    ("upper", 3): ToothSize(10.0, (17.0,), 7.5, 5.5, 8.0, 7.0),
    ("upper", 4): ToothSize(8.5, (14.0, 14.0), 7.0, 5.0, 9.0, 8.0, TWO_UPPER),
    ("upper", 5): ToothSize(8.5, (14.0,), 7.0, 5.0, 9.0, 8.0),
    ("upper", 6): ToothSize(7.5, (12.0, 12.0, 13.0), 10.0, 8.0, 11.0, 10.0, THREE),
    ("upper", 7): ToothSize(7.0, (11.0, 11.0, 12.0), 9.0, 7.0, 11.0, 10.0, THREE),
    ("upper", 8): ToothSize(6.5, (11.0, 11.0, 11.0), 8.5, 6.5, 10.0, 9.5, THREE),
    ("lower", 1): ToothSize(9.0, (12.5,), 5.0, 3.5, 6.0, 5.3),
    ("lower", 2): ToothSize(9.5, (14.0,), 5.5, 4.0, 6.5, 5.8),
    ("lower", 3): ToothSize(11.0, (16.0,), 7.0, 5.5, 7.5, 7.0),
    ("lower", 4): ToothSize(8.5, (14.0,), 7.0, 5.0, 7.5, 6.5),
    ("lower", 5): ToothSize(8.0, (14.5,), 7.0, 5.0, 8.0, 7.0),
    ("lower", 6): ToothSize(7.5, (14.0, 14.0), 11.0, 9.0, 10.5, 9.0, TWO_LOWER),
    ("lower", 7): ToothSize(7.0, (13.0, 13.0), 10.5, 8.0, 10.0, 9.0, TWO_LOWER),
    ("lower", 8): ToothSize(7.0, (11.0, 11.0), 10.0, 7.5, 9.5, 9.0, TWO_LOWER),
    ("upper", 11): ToothSize(6.0, (10.0,), 6.5, 4.5, 5.0, 4.0),
    ("upper", 12): ToothSize(5.6, (11.4,), 5.1, 3.7, 4.8, 3.7),
    ("upper", 13): ToothSize(6.5, (13.5,), 7.0, 5.1, 7.0, 5.5),
    ("upper", 14): ToothSize(5.1, (10.0, 10.0, 10.0), 7.3, 5.2, 8.5, 6.9, THREE),
    ("upper", 15): ToothSize(5.7, (11.7, 11.7, 11.7), 8.2, 6.4, 10.0, 8.3, THREE),
    ("lower", 11): ToothSize(5.0, (9.0,), 4.2, 3.0, 4.0, 3.5),
    ("lower", 12): ToothSize(5.2, (10.0,), 4.1, 3.0, 4.0, 3.5),
    ("lower", 13): ToothSize(6.0, (11.5,), 5.0, 3.7, 4.8, 4.0),
    ("lower", 14): ToothSize(6.0, (9.8, 9.8), 7.7, 6.5, 7.0, 5.3, TWO_LOWER),
    ("lower", 15): ToothSize(5.5, (11.3, 11.3), 9.9, 7.2, 8.7, 6.4, TWO_LOWER),
}

QUADRANTS, PRIMARY_QUADRANTS = (1, 2, 3, 4), (5, 6, 7, 8)
ALL_TEETH: tuple[int, ...] = tuple(10 * q + n for q in QUADRANTS for n in range(1, 9))
PRIMARY_TEETH: tuple[int, ...] = tuple(10 * q + n for q in PRIMARY_QUADRANTS for n in range(1, 6))
# Primary places from the midline, as kinds count them.
FIRST_PRIMARY = 11


def is_primary(fdi: int) -> bool:
    """True for a primary (milk) tooth, quadrants 5 to 8."""
    return fdi // 10 in PRIMARY_QUADRANTS


def jaw_of(fdi: int) -> str:
    """``"upper"`` or ``"lower"``."""
    return "upper" if fdi // 10 in (1, 2, 5, 6) else "lower"


def is_right(fdi: int) -> bool:
    """True for a tooth on the patient's right (quadrants 1, 4, 5 and 8)."""
    return fdi // 10 in (1, 4, 5, 8)


def kind_of(fdi: int) -> tuple[str, int]:
    """Jaw and place from the midline, 1 to 8 for permanent, 11 to 15 for primary teeth."""
    return jaw_of(fdi), fdi % 10 + (FIRST_PRIMARY - 1 if is_primary(fdi) else 0)


def fdi_of(jaw: str, place: int, right: bool) -> int:
    """The number of the tooth of a kind on one side; undoes `kind_of`."""
    quadrant = {("upper", True): 1, ("upper", False): 2, ("lower", False): 3, ("lower", True): 4}
    first = quadrant[jaw, right] + (4 if place >= FIRST_PRIMARY else 0)
    return 10 * first + place % 10


def size_of(fdi: int) -> ToothSize:
    """The mean size of a tooth; raises ``KeyError`` for a number that names none."""
    if fdi not in ALL_TEETH and fdi not in PRIMARY_TEETH:
        raise KeyError(
            f"{fdi}: permanent teeth are 11 to 18, 21 to 28, 31 to 38, 41 to 48, "
            "primary teeth 51 to 55, 61 to 65, 71 to 75, 81 to 85"
        )
    return SIZES[kind_of(fdi)]

"""The synthetic person, and the person as a case knows them."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace
from enum import StrEnum

from trainer.errors import TrainerError

YOUNGEST, OLDEST = 6, 100
ADULT_AGE, PLAIN_ADULT_AGE = 18, 40
# Sizes stay within what the tables' spread can be trusted for: p5 to p95 is 1.645.
FARTHEST_SIZE = 2.5
MOST_KYPHOSIS_DEG = 40.0


class Sex(StrEnum):
    """Which table of means a person follows."""

    MALE = "male"
    FEMALE = "female"


class Profile(StrEnum):
    """How the jaws stand to each other from the side (skeletal class after Angle)."""

    CLASS_I = "class-1"
    CLASS_II = "class-2"
    CLASS_III = "class-3"


class Repair(StrEnum):
    """What a dentist has done to a tooth, or put in its place."""

    AMALGAM_FILLING = "amalgam-filling"
    COMPOSITE_FILLING = "composite-filling"
    CERAMIC_CROWN = "ceramic-crown"
    GOLD_CROWN = "gold-crown"
    ROOT_FILLING = "root-filling"
    IMPLANT = "implant"


class Jaw(StrEnum):
    """The upper or the lower jaw."""

    UPPER = "upper"
    LOWER = "lower"


class Worn(StrEnum):
    """What a person may wear on the head that an X-ray shows."""

    SPECTACLES = "spectacles"
    EARRINGS = "earrings"
    NOSE_STUD = "nose-stud"
    LIP_STUD = "lip-stud"
    TONGUE_STUD = "tongue-stud"
    NECKLACE = "necklace"
    HEARING_AID = "hearing-aid"


def _check(name: str, value: float, lowest: float, highest: float, unit: str) -> None:
    if not math.isfinite(value) or not lowest <= value <= highest:
        raise TrainerError(f"{name} {value:g}: must be {lowest:g} to {highest:g} {unit}".rstrip())


@dataclass(frozen=True, slots=True)
class Sizes:
    """How far each measure lies from the mean of the person's sex and age, in SDs (-2.5 to 2.5).

    Head breadth, length and height (tragion to vertex), width of the face (cheekbones), its height
    (nasion to menton), length of the lower jaw, crowns, roots, girth of the neck.
    """

    head_breadth: float = 0.0
    head_length: float = 0.0
    head_height: float = 0.0
    face_width: float = 0.0
    face_height: float = 0.0
    jaw_length: float = 0.0
    tooth_size: float = 0.0
    root_length: float = 0.0
    neck_girth: float = 0.0

    def __post_init__(self) -> None:
        for field in fields(self):
            _check(field.name, getattr(self, field.name), -FARTHEST_SIZE, FARTHEST_SIZE, "SD")


@dataclass(frozen=True, slots=True)
class Repaired:
    """A tooth, by FDI number, and what was done to it."""

    fdi: int
    repair: Repair


@dataclass(frozen=True, slots=True)
class Mouth:
    """What differs from a full, sound set of teeth.

    ``missing``: FDI numbers of teeth that are gone, ascending; all of a jaw make it edentulous.
    ``lost_ridge_upper`` and ``lost_ridge_lower``: the share (0 to 1) of the bone that carried the
    missing teeth which has been lost since. ``brackets``: jaws with a fixed appliance.
    ``dentures``: jaws with a removable one, which stands in for the missing teeth.
    """

    missing: tuple[int, ...] = ()
    repairs: tuple[Repaired, ...] = ()
    lost_ridge_upper: float = 0.0
    lost_ridge_lower: float = 0.0
    brackets: tuple[Jaw, ...] = ()
    dentures: tuple[Jaw, ...] = ()

    def __post_init__(self) -> None:
        _check("lost_ridge_upper", self.lost_ridge_upper, 0.0, 1.0, "")
        _check("lost_ridge_lower", self.lost_ridge_lower, 0.0, 1.0, "")
        if tuple(sorted(set(self.missing))) != self.missing:
            raise TrainerError(f"missing teeth must ascend, each once: {self.missing}")


@dataclass(frozen=True, slots=True)
class Posture:
    """Neck and shoulders: shoulder breadth and neck length in SDs, rounding of the upper back."""

    shoulder_breadth: float = 0.0
    neck_length: float = 0.0
    kyphosis_deg: float = 0.0

    def __post_init__(self) -> None:
        _check("shoulder_breadth", self.shoulder_breadth, -FARTHEST_SIZE, FARTHEST_SIZE, "SD")
        _check("neck_length", self.neck_length, -FARTHEST_SIZE, FARTHEST_SIZE, "SD")
        _check("kyphosis_deg", self.kyphosis_deg, 0.0, MOST_KYPHOSIS_DEG, "deg")


@dataclass(frozen=True, slots=True)
class Person:
    """All that a head is built from. Equal persons have the same head, byte for byte.

    ``age_years`` from 6; from 18 on a person is adult and age changes nothing of the shape.
    """

    sex: Sex = Sex.MALE
    age_years: int = PLAIN_ADULT_AGE
    sizes: Sizes = Sizes()
    profile: Profile = Profile.CLASS_I
    mouth: Mouth = Mouth()
    posture: Posture = Posture()
    worn: tuple[Worn, ...] = ()

    def __post_init__(self) -> None:
        _check("age_years", self.age_years, YOUNGEST, OLDEST, "years")
        if tuple(sorted(set(self.worn))) != self.worn:
            raise TrainerError(f"worn things must be in alphabetical order, each once: {self.worn}")

    @property
    def adult(self) -> bool:
        """Whether growth is over."""
        return self.age_years >= ADULT_AGE

    @property
    def shape(self) -> Person:
        """The person that all with this same head share: for an adult, whatever the age."""
        return replace(self, age_years=PLAIN_ADULT_AGE) if self.adult else self


MEAN_MAN, MEAN_WOMAN = Person(Sex.MALE), Person(Sex.FEMALE)
MEANS = (MEAN_MAN, MEAN_WOMAN)


@dataclass(frozen=True, slots=True)
class Subject:
    """A person in a case: with an invented name and a stance.

    ``chin_standing_mm`` is the height of the skin under the chin above the floor in an easy
    upright stance.
    """

    person: Person
    display_name: str
    chin_standing_mm: float

    def __post_init__(self) -> None:
        _check("chin_standing_mm", self.chin_standing_mm, 700.0, 1900.0, "mm")

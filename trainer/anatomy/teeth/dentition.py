"""A person's teeth in place, in the person's own space with the teeth together.

Crowns and roots vary with the person's `Sizes`, each by one factor for the whole mouth, so that
crowns that meet go on meeting; the arches scale with the crowns. Where the arches stand in the head
follows the person's landmarks, and teeth never follow the head's size.

A child has primary teeth in the arch and permanent ones in the bone below them. The part of a
primary root that a germ's follicle reaches has been dissolved.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.people.landmarks import starter_landmarks
from trainer.anatomy.shapes.implicit import Shape, cut, grow, mirrored, placed, tube
from trainer.anatomy.teeth import eruption
from trainer.anatomy.teeth.arch_form import ADULT, ArchPlan
from trainer.anatomy.teeth.germs import FOLLICLE_MM, Seat, Seats, follicle_reach, left_seats
from trainer.anatomy.teeth.tooth_shapes import ToothModel, tooth_model
from trainer.anatomy.teeth.tooth_tables import (
    FIRST_PRIMARY,
    SIZES,
    ToothSize,
    fdi_of,
    is_primary,
    is_right,
    kind_of,
)
from trainer.models.frames import Frame
from trainer.models.subject import Jaw, Mouth, Person, Posture, Profile, Repair, Sizes

Array = NDArray[np.float64]

# Spread of living teeth: SD about 0.5 on the mesiodistal width and 1.5 to 2 on the root's length
# (from memory: Ash & Nelson). Taken as one factor each for the whole mouth: the SD over the mean of
# the 32 permanent teeth.
WIDTH_SD_MM, ROOT_SD_MM = 0.5, 1.75
PERMANENT = [size for (_, place), size in SIZES.items() if place < FIRST_PRIMARY]
MEAN_WIDTH_MM = float(np.mean([s.md_mm for s in PERMANENT]))
MEAN_ROOT_MM = float(np.mean([max(s.root_mm) for s in PERMANENT]))
# A child's arches at the second molars over the adult's, by age: they widen by some 3 to 4 mm from
# 6 on (from memory: Moyers et al., Standards of Human Occlusal Development, 1976).
ARCH_WIDTH = ((6.0, 0.92), (9.0, 0.95), (12.0, 0.98), (15.0, 1.0))
# Depth of the curve of Spee over the adult's: 1.32 at 6.9 years, 2.17 at 12.4, then nearly constant
# (Marshall et al., AJO-DO 2008).
SPEE = ((6.0, 0.5), (6.9, 0.61), (12.4, 1.0))
BACK_STEP_MM = 0.5  # to which the step of a Class II or III bite is rounded
CLASS_III_BACK_MM = -5.0  # the least step of a Class III bite
ROOT_STEP = 0.05  # to which the roots' length over the crowns' is rounded where germs are placed
DISSOLVED_MM = 14.0  # teeth farther apart in plan than this leave each other's roots alone
NEAR_TOOTH_MM = 2.0  # farther from a whole tooth nobody asks what has been dissolved of it
SPARE_ROOT_MM = 0.5  # bone and ligament between a primary root and permanent roots beside it


@dataclass(frozen=True, slots=True)
class Root:
    """A root: middle line and thickness [mm], in the jaw's frame.

    ``axis_mm`` (n, 3) runs from the neck to the apex; ``radii_mm`` (n,) are those of circles as
    large as the sections, ``half_mm`` (n, 2) the half widths mesiodistally and buccolingually.
    ``name`` is empty for a single root.
    """

    name: str
    axis_mm: Array
    radii_mm: Array
    half_mm: Array


@dataclass(frozen=True, slots=True)
class Tooth:
    """A tooth in its jaw's frame [mm].

    ``frame`` is the skull for upper, the mandible for lower teeth; with the teeth together both
    have equal coordinates. The columns of ``rotation`` are the tooth's own axes: second buccal,
    third occlusal, first mesial in quadrants 1, 3, 5 and 7 and distal in the others (so that it is
    a proper rotation). ``origin_mm`` is the middle of the neck. ``solid`` is crown and roots
    together, ``pulp`` lies within it; ``roots`` is empty while there is only a crown.

    ``model`` is the tooth's kind (with the part ``root_share`` of its roots) in tooth coordinates,
    mesial first, at mean size. A point (x, y, z) of it goes to (x c, y c, z c or, below the neck,
    z r), with c, r = ``stretch``, before it is turned and placed. ``resorbed`` says that part of
    the roots has been dissolved besides, so that ``solid`` is less than that. ``erupted`` teeth
    show in the mouth; ``sunk_mm`` is how far one has still to rise along its own axis.
    """

    fdi: int
    frame: Frame
    rotation: Array
    origin_mm: Array
    size: ToothSize
    roots: tuple[Root, ...]
    crown: Shape
    solid: Shape
    pulp: Shape
    model: ToothModel
    stretch: tuple[float, float]
    root_share: float
    erupted: bool
    resorbed: bool
    sunk_mm: float


@dataclass(frozen=True, slots=True)
class OcclusalPlane:
    """The bisected occlusal plane: ``origin_mm`` in the midline between the incisal edges; the
    columns of ``rotation`` are left, back along the plane, up from it."""

    rotation: Array
    origin_mm: Array


def occlusal_plane(person: Person) -> OcclusalPlane:
    """The plane from between the incisal edges to the upper first-molar cusps, skull frame [mm].

    In a Class II or III bite it starts where the lower edge would be with the person's upper one in
    Class I.
    """
    marks = starter_landmarks(person)
    plain = starter_landmarks(replace(person, profile=Profile.CLASS_I))
    front = (plain["upper-incisor-edge"] + plain["lower-incisor-edge"]) / 2
    front = front + (marks["upper-incisor-edge"] - plain["upper-incisor-edge"])
    molars = (marks["upper-first-molar-cusp-left"] + marks["upper-first-molar-cusp-right"]) / 2
    back = molars - front
    back /= np.linalg.norm(back)
    left = np.array([1.0, 0.0, 0.0])
    return OcclusalPlane(np.column_stack([left, back, np.cross(left, back)]), front)


def stretch_of(sizes: Sizes) -> tuple[float, float]:
    """Factors of crowns (all ways) and of root lengths for a person's sizes."""
    crown = 1.0 + WIDTH_SD_MM * sizes.tooth_size / MEAN_WIDTH_MM
    root = 1.0 + ROOT_SD_MM * sizes.root_length / MEAN_ROOT_MM
    return crown, root


def lost_teeth(person: Person) -> tuple[int, ...]:
    """The numbers of the teeth that are gone; an implant stands in place of one."""
    implants = {r.fdi for r in person.mouth.repairs if r.repair is Repair.IMPLANT}
    return tuple(sorted({*person.mouth.missing, *implants}))


def dentition(person: Person) -> tuple[Tooth, ...]:
    """All teeth that the person has, unerupted ones too: permanent, then primary, by FDI number."""
    gone = lost_teeth(person)
    return tuple(t for t in whole_dentition(person) if t.fdi not in gone)


def whole_dentition(person: Person) -> tuple[Tooth, ...]:
    """The teeth as if the person had lost none: what guides the shape of an empty ridge."""
    return _whole(dental_shape(person))


def dental_shape(person: Person) -> Person:
    """The person that all with these same teeth share before any was lost."""
    return replace(person.shape, mouth=Mouth(), posture=Posture(), worn=())


def bone_shape(person: Person) -> Person:
    """The person that all with these same jaw bones share."""
    mouth = Mouth(
        missing=lost_teeth(person),
        lost_ridge_upper=person.mouth.lost_ridge_upper,
        lost_ridge_lower=person.mouth.lost_ridge_lower,
    )
    return replace(dental_shape(person), mouth=mouth)


def mirror_image(person: Person) -> Person:
    """The person in the mirror, as far as lost teeth go: whoever asks for the right side asks for
    the left side of this one and mirrors the answer."""
    shape = bone_shape(person)
    other = (fdi_of(*kind_of(f), not is_right(f)) for f in shape.mouth.missing)
    return replace(shape, mouth=replace(shape.mouth, missing=tuple(sorted(other))))


def teeth_of(person: Person, jaw: Jaw) -> tuple[Tooth, ...]:
    """The teeth of one jaw."""
    frame = Frame.SKULL if jaw is Jaw.UPPER else Frame.MANDIBLE
    return tuple(t for t in dentition(person) if t.frame is frame)


def arch_plan(person: Person) -> ArchPlan:
    """What the arches of the person are made of."""
    back = _lower_back_mm(person)
    if person.adult:
        return replace(ADULT, lower_back_mm=back)
    upper, lower = (eruption.row(eruption.places(person, jaw)) for jaw in eruption.JAWS)
    age = person.age_years
    width, spee = (float(np.interp(age, *np.transpose(table))) for table in (ARCH_WIDTH, SPEE))
    return ArchPlan(upper, lower, width, spee, back)


def _lower_back_mm(person: Person) -> float:
    """How much further back than in Class I the lower incisors stand, along the plane [mm]."""
    if person.profile is Profile.CLASS_I:
        return 0.0
    over = []
    for one in (person, replace(person, profile=Profile.CLASS_I)):
        marks = starter_landmarks(one)
        over.append(marks["lower-incisor-edge"] - marks["upper-incisor-edge"])
    back = float((over[0] - over[1]) @ occlusal_plane(person).rotation[:, 1])
    back = BACK_STEP_MM * round(back / BACK_STEP_MM)
    # between these the front teeth would stand edge to edge and hold the jaws apart
    return CLASS_III_BACK_MM if CLASS_III_BACK_MM < back < 0.0 else back


@lru_cache(maxsize=16)
def _whole(person: Person) -> tuple[Tooth, ...]:
    stretch = stretch_of(person.sizes)
    crown, root = stretch
    upper, lower = (eruption.places(person, jaw) for jaw in eruption.JAWS)
    # rounded, so that persons who differ little share the work; a germ's room forgives that
    ratio = 1.0 if person.adult else ROOT_STEP * round(root / crown / ROOT_STEP)
    seats = left_seats(arch_plan(person), upper, lower, ratio)
    plane = occlusal_plane(person)
    teeth = [
        _tooth(fdi_of(jaw, place, right), seat, plane, stretch)
        for (jaw, place), seat in seats.items()
        for right in (True, False)
    ]
    by_number = {t.fdi: t for t in teeth}
    for fdi in [f for f in by_number if is_primary(f)]:
        by_number[fdi] = _resorbed(by_number[fdi], by_number, seats)
    return tuple(by_number[f] for f in sorted(by_number))


def _tooth(fdi: int, seat: Seat, plane: OcclusalPlane, stretch: tuple[float, float]) -> Tooth:
    jaw, place = kind_of(fdi)
    model, stand = tooth_model(jaw, place, seat.place.root_share), seat.stand
    c, r = stretch
    flip = np.array([-1.0 if is_right(fdi) else 1.0, 1.0, 1.0])
    axes = plane.rotation @ (flip[:, None] * stand.axes)  # mesial, buccal, occlusal
    origin = plane.rotation @ (flip * (c * stand.origin_mm)) + plane.origin_mm
    grown = np.array([c, c, r])
    roots = tuple(
        Root(x.name, (x.axis_mm * grown) @ axes.T + origin, x.radii_mm * c, x.half_mm * c)
        for x in model.roots
    )
    shapes = [stretched(s, stretch) for s in (model.crown, model.solid, model.pulp)]
    if np.linalg.det(axes) < 0:
        axes = axes * [-1.0, 1.0, 1.0]
        shapes = [mirrored(s) for s in shapes]
    crown, solid, pulp = (placed(s, axes, origin) for s in shapes)
    frame = Frame.SKULL if jaw == "upper" else Frame.MANDIBLE
    info = seat.place
    return Tooth(
        fdi, frame, axes, origin, _stretched_size(model.size, stretch), roots, crown, solid, pulp,
        model, stretch, info.root_share, info.erupted, resorbed=False, sunk_mm=seat.sunk_mm * c,
    )  # fmt: skip


def stretched(shape: Shape, stretch: tuple[float, float]) -> Shape:
    """A shape in tooth coordinates with crown and roots stretched (see `Tooth`).

    Distances are right beside the tooth, where sections only grow; beyond an apex they are off by
    the ratio of the two factors.
    """
    c, r = stretch
    if c == r == 1.0:
        return shape

    def distance(p: Array) -> Array:
        q = p / c
        q[:, 2] = np.where(p[:, 2] < 0.0, p[:, 2] / r, q[:, 2])
        return shape.distance(q) * c

    lower, upper = shape.lower_mm * c, shape.upper_mm * c
    lower[2] = shape.lower_mm[2] * (r if shape.lower_mm[2] < 0.0 else c)
    return Shape(distance, lower, upper)


def _stretched_size(size: ToothSize, stretch: tuple[float, float]) -> ToothSize:
    c, r = stretch
    if c == r == 1.0:
        return size
    return ToothSize(
        size.crown_mm * c, tuple(x * r for x in size.root_mm), size.md_mm * c, size.md_neck_mm * c,
        size.bl_mm * c, size.bl_neck_mm * c, size.roots,
    )  # fmt: skip


def _resorbed(tooth: Tooth, teeth: dict[int, Tooth], seats: Seats) -> Tooth:
    """The primary tooth without what the permanent ones beside and below it have dissolved."""
    jaw, place = kind_of(tooth.fdi)
    c = tooth.stretch[0]
    near = [
        teeth[fdi_of(jaw, n, is_right(tooth.fdi))]
        for n in follicle_reach(seats, jaw, place, DISSOLVED_MM)
    ]
    tools = [grow(t.solid, (SPARE_ROOT_MM if t.erupted else FOLLICLE_MM) * c) for t in near]
    roots, rests = [], []
    for root in tooth.roots:
        reached = np.min([tool(root.axis_mm) for tool in tools], axis=0) < 0.0
        end = int(np.argmax(reached)) if reached.any() else len(reached)
        if end < len(reached):  # what hangs below the bite would float
            rest = slice(min(end, len(reached) - 2), None)
            rests.append(tube(root.axis_mm[rest], 1.5 * root.half_mm[rest].max(axis=1)))
        if end > 1:
            roots.append(Root(root.name, root.axis_mm[:end], root.radii_mm[:end],
                              root.half_mm[:end]))  # fmt: skip
    meets = [t for t in tools if _boxes_meet(t, tooth.solid)]
    if not meets and not rests:
        return tooth
    return replace(
        tooth,
        roots=tuple(roots),
        solid=_dissolved(tooth.solid, cut(tooth.solid, *meets, *rests)),
        pulp=cut(tooth.pulp, *(grow(t, 0.1) for t in [*meets, *rests])),
        resorbed=True,
    )


def _dissolved(whole: Shape, rest: Shape) -> Shape:
    """The ``rest`` of a tooth; where even the ``whole`` is far, its distance will do."""

    def distance(p: Array) -> Array:
        found = whole.distance(p)
        near = found < NEAR_TOOTH_MM
        if near.any():
            found[near] = rest.distance(p[near])
        return found

    return Shape(distance, rest.lower_mm, rest.upper_mm)


def _boxes_meet(a: Shape, b: Shape) -> bool:
    return bool(np.all(a.lower_mm < b.upper_mm) and np.all(b.lower_mm < a.upper_mm))

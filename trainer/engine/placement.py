"""Where the structures lie against the field, and everything read off from that."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Generic, NamedTuple, Protocol, TypeVar

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.jaw import mandible_to_skull
from trainer.engine.panoramic.layer import InLayer, in_layer
from trainer.engine.points import Batch, HeadPoints
from trainer.geometry.cylinders import FreePlay, TargetCylinder, target_cylinder
from trainer.geometry.pose import (
    gantry_to_field,
    gantry_to_room,
    region_place,
    skull_to_gantry,
    torso_to_gantry,
)
from trainer.geometry.region import (
    RecordedRegion,
    edge_distances,
    free_play_in,
    recorded_region,
)
from trainer.geometry.transforms import apply, chain
from trainer.models.clearance import Clearance
from trainer.models.device import FieldSize, Unit
from trainer.models.frames import Frame, RigidTransform
from trainer.models.scenario import Case, ReferencePlane
from trainer.models.setup import Setup
from trainer.models.structures import Head, Structure

Array = NDArray[np.float64]


class Way(StrEnum):
    """A way for the patient, as seen by the patient."""

    LEFT = "left"
    RIGHT = "right"
    FORWARD = "forward"
    BACK = "back"
    UP = "up"
    DOWN = "down"


class Edge(StrEnum):
    """A face of the recorded region."""

    WALL = "wall"
    ROOF = "roof"
    FLOOR = "floor"


class StructurePlacement(NamedTuple):
    """One structure against the field.

    A tuple and not a dataclass, since every placement makes one for each of the structures.

    Attributes
    ----------
    inside_share : float
        Weighted share of the structure in the recorded region less the case's guard rim, 0 to 1;
        exactly 1 when its whole hull is inside.
    margin_mm : float
        Smallest signed distance to the recorded region's own edge, positive inside.
    edge : Edge
        The face of the region that this smallest distance belongs to.
    way : Way
        The way the structure has to move, against the field, to gain margin there.
    side_margins_mm : tuple of float
        How far the structure's outermost point on each side is from the field's limit on that
        side, in the order of `SIDE_WAYS`; negative when it sticks out.
    required_margin_mm : float or None
        Distance from the edge that the case asks for, its guard rim included; ``None`` when the
        structure is not required.
    """

    structure: Structure
    inside_share: float
    margin_mm: float
    edge: Edge
    way: Way
    side_margins_mm: tuple[float, ...]
    required_margin_mm: float | None

    @property
    def margins_mm(self) -> dict[Way, float]:
        """The margin on each side by its way."""
        return dict(zip(SIDE_WAYS, self.side_margins_mm, strict=True))

    @property
    def lack_mm(self) -> float:
        """How much of what is asked is lacking; negative when there is more than asked."""
        return (self.required_margin_mm or 0.0) - self.margin_mm

    @property
    def holds(self) -> bool:
        """Whether the margin is what the case asks for (0 when it does not ask)."""
        return self.lack_mm <= TOUCHING_MM


@dataclass(frozen=True, slots=True)
class HeadAttitude:
    """Head attitude against the task's plane [deg]: chin up, face left, top left are positive."""

    pitch_off_deg: float
    yaw_off_deg: float
    roll_off_deg: float


class Placed(Protocol):
    """A structure against what records it."""

    @property
    def required_margin_mm(self) -> float | None: ...
    @property
    def holds(self) -> bool: ...


S = TypeVar("S", bound=Placed)


class Judged(Generic[S]):
    """What follows from the structures of a placement, whatever recorded them."""

    __slots__ = ()
    structures: tuple[S, ...]

    @property
    def required(self) -> tuple[S, ...]:
        """Only the required structures."""
        return tuple(s for s in self.structures if s.required_margin_mm is not None)

    @property
    def held(self) -> int:
        """How many of the required structures keep their margins."""
        return sum(s.holds for s in self.required)

    @property
    def all_required_inside(self) -> bool:
        """Whether every required structure keeps its margin."""
        return all(s.holds for s in self.required)


@dataclass(frozen=True, slots=True)
class Placement(Judged[StructurePlacement]):
    """Everything computed from one setup of one case; ``layer`` for a panoramic picture only."""

    setup: Setup
    field: FieldSize
    region: RecordedRegion
    structures: tuple[StructurePlacement, ...]
    attitude: HeadAttitude
    target: TargetCylinder | None
    free_play: FreePlay | None
    smallest_field: FieldSize | None
    chin_above_floor_mm: float
    layer: InLayer | None = None
    clearance: Clearance | None = None  # where somebody has looked: `engine.collisions`


def worst(structures: Sequence[StructurePlacement]) -> StructurePlacement:
    """The structure that lacks most; the first of those that lack as much."""
    return max(structures, key=lambda s: round(s.lack_mm, 6))


EDGES = (Edge.WALL, Edge.ROOF, Edge.FLOOR)
WAY_FROM = (None, Way.DOWN, Way.UP)  # in the order of EDGES
# the order in which `_place_batch` stacks the six side margins
SIDE_WAYS = (Way.LEFT, Way.BACK, Way.RIGHT, Way.FORWARD, Way.UP, Way.DOWN)
# What sticks out is never told to be whole inside.
MOST_OF_A_CUT = 0.9999
# A margin short by less than this is numerical noise, not a cut structure.
TOUCHING_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Chain:
    """The transforms of one setup."""

    skull_to_gantry: RigidTransform
    mandible_to_gantry: RigidTransform
    gantry_to_field: RigidTransform
    gantry_to_room: RigidTransform
    torso_to_gantry: RigidTransform

    def to_field(self, frame: Frame) -> RigidTransform:
        """Skull or mandible → field."""
        first = self.mandible_to_gantry if frame is Frame.MANDIBLE else self.skull_to_gantry
        return chain(first, self.gantry_to_field)


def chain_of(head: Head, unit: Unit, setup: Setup, moved: RigidTransform | None = None) -> Chain:
    """The transforms that lead from head to field and room for a setup.

    ``moved`` (skull → skull) says where the head really stands, when it has left the place and
    attitude that the setup gives it.
    """
    jaw = mandible_to_skull(head.person, setup.jaw_gap_mm)
    skull = skull_to_gantry(setup, unit, head.chin_contact_mm, jaw)
    if moved is not None:
        skull = chain(moved, skull)
    torso = torso_to_gantry(setup, unit, head.chin_contact_mm)
    return Chain(
        skull, chain(jaw, skull), gantry_to_field(setup, unit), gantry_to_room(setup), torso
    )


def place(
    case: Case,
    head: Head,
    points: HeadPoints,
    unit: Unit,
    setup: Setup,
    moved: RigidTransform | None = None,
) -> Placement:
    """The placement of the packed structures for one setup.

    ``points`` is the whole head or a part of it; required structures that are not packed are
    left out. ``moved`` as in `chain_of`.

    Raises
    ------
    NotFound
        If the unit lacks the field or region.
    """
    field = unit.field(setup.field)
    region = recorded_region(field, region_place(setup, unit), unit.beam)
    steps = chain_of(head, unit, setup, moved)
    to_field = {f: steps.to_field(f) for f in (Frame.SKULL, Frame.MANDIBLE)}
    asked = asked_of(case)
    found = tuple(
        placed
        for batch in points.batches
        for placed in _place_batch(batch, region, to_field[batch.frame], asked, case.guard_rim_mm)
    )
    held = [s for s in found if s.required_margin_mm is not None]
    target = play = smallest = None
    if held:
        corners = np.concatenate(
            [apply(to_field[s.structure.frame], s.structure.hull_mm) for s in held]
        )
        needs = np.repeat(
            [asked[s.structure.id] for s in held], [len(s.structure.hull_mm) for s in held]
        )
        target = target_cylinder(corners)
        play = free_play_in(region, target, float(needs.max()))
        smallest = smallest_field(unit, setup, corners, needs)
    contact_in_room = apply(
        chain(steps.mandible_to_gantry, steps.gantry_to_room), head.chin_contact_mm
    )
    return Placement(
        setup=setup,
        field=field,
        region=region,
        structures=found,
        attitude=attitude_against(case.attitude.reference_plane, head, steps),
        target=target,
        free_play=play,
        smallest_field=smallest,
        chin_above_floor_mm=float(contact_in_room[2]),
        layer=in_layer(head, field, unit.beam, to_field),
    )


def _place_batch(
    batch: Batch,
    region: RecordedRegion,
    to_field: RigidTransform,
    asked: Mapping[str, float],
    guard_mm: float,
) -> list[StructurePlacement]:
    """The structures of a batch against the region; ``guard_mm`` is left out of the share."""
    hull = apply(to_field, batch.hull_mm)
    edges = edge_distances(region, hull)
    starts = batch.starts
    least = np.stack([np.minimum.reduceat(d, starts) for d in edges], axis=1)
    highest = np.maximum.reduceat(hull[:, :2], starts, axis=0)
    lowest = np.minimum.reduceat(hull[:, :2], starts, axis=0)
    reach = region.radius_mm
    sides = np.concatenate([reach - highest, reach + lowest, least[:, 1:]], axis=1).tolist()
    edge_number = np.argmin(least, axis=1)
    margins = least[np.arange(len(least)), edge_number]
    shares = np.where(margins >= guard_mm, 1.0, 0.0)
    cut = np.flatnonzero((margins < guard_mm) & (margins >= guard_mm - batch.extents_mm))
    if len(cut):
        shares[cut] = _shares(batch, cut, region, to_field, guard_mm)
    # one hull corner of each structure that is nearest to the wall
    nearest = np.empty(len(starts), np.intp)
    rows = np.flatnonzero(edges[0] == least[batch.owner, 0])
    nearest[batch.owner[rows]] = rows
    to_axis = hull[nearest, :2].tolist()
    return [
        StructurePlacement(
            structure,
            share,
            margin,
            EDGES[edge],
            WAY_FROM[edge] or _way_back(*spot),
            tuple(side),
            asked.get(structure.id),
        )
        for structure, share, margin, edge, spot, side in zip(
            batch.structures,
            shares.tolist(),
            margins.tolist(),
            edge_number.tolist(),
            to_axis,
            sides,
            strict=True,
        )
    ]


def _shares(
    batch: Batch,
    which: NDArray[np.intp],
    region: RecordedRegion,
    to_field: RigidTransform,
    guard_mm: float,
) -> Array:
    """Inside shares of structures that the guarded edge may cut, by their numbers.

    A cell counts in full when its middle is half an edge inside, not at all half an edge outside,
    and in proportion between: exact for an edge parallel to the grid, and nearly so for others.
    """
    samples = np.concatenate([batch.samples_mm[i] for i in which], axis=1)
    moved = to_field.rotation.astype(np.float32) @ samples
    moved += to_field.translation_mm.astype(np.float32)[:, None]
    edges = edge_distances(region, moved.T)
    depth = np.minimum(np.minimum(edges[0], edges[1]), edges[2]) - np.float32(guard_mm)
    sizes = [len(batch.weights[i]) for i in which]
    held = np.clip(0.5 + depth / np.repeat(batch.cells_mm[which], sizes), 0.0, 1.0)
    weighed = np.concatenate([batch.weights[i] for i in which]) * held
    starts = np.r_[0, np.cumsum(sizes)[:-1]]
    return np.minimum(np.add.reduceat(weighed, starts, dtype=np.float64), MOST_OF_A_CUT)


def _way_back(x: float, y: float) -> Way:
    """The way towards the axis for a point at (x, y) in the field frame."""
    if abs(x) >= abs(y):
        return Way.RIGHT if x > 0 else Way.LEFT
    return Way.FORWARD if y > 0 else Way.BACK


def attitude_against(plane: ReferencePlane, head: Head, steps: Chain) -> HeadAttitude:
    """How far the task's plane is from level, and the head from straight ahead.

    The plane goes with the jaw it is named after. Pitch is the rise of its midline towards the
    front, roll the rise of its cross line towards the right (so that the top leans left), yaw the
    turn of its midline about the vertical.
    """
    frame, forward = plane_ahead(plane, head)
    to_gantry = steps.skull_to_gantry
    if frame is Frame.MANDIBLE:
        to_gantry = steps.mandible_to_gantry
    ahead = to_gantry.rotation @ forward
    across = to_gantry.rotation @ np.array([1.0, 0.0, 0.0])
    return HeadAttitude(
        float(np.rad2deg(np.arcsin(np.clip(ahead[2], -1, 1)))),
        float(np.rad2deg(np.arctan2(ahead[0], -ahead[1]))),
        float(np.rad2deg(np.arcsin(np.clip(-across[2], -1, 1)))),
    )


def plane_ahead(plane: ReferencePlane, head: Head) -> tuple[Frame, Array]:
    """The frame that a plane moves with, and the unit vector (3,) of its midline to the front."""
    if plane is ReferencePlane.FRANKFORT:
        return Frame.SKULL, np.array([0.0, -1.0, 0.0])
    is_lower = plane is ReferencePlane.LOWER_OCCLUSAL
    forward = _midline(head.landmarks_mm, "lower" if is_lower else "upper")
    frame = Frame.MANDIBLE if is_lower else Frame.SKULL
    return frame, np.asarray(forward / np.linalg.norm(forward))


def _midline(marks: Mapping[str, Array], jaw: str) -> Array:
    """From the first molars to the incisors of a jaw, (3,), skull frame with the teeth together.

    Where one of these teeth is lost, those of the upper jaw stand in: their marks are planned
    from the face and always there.
    """
    names = [f"{jaw}-{mark}" for mark in ("first-molar-cusp-left", "first-molar-cusp-right")]
    front = f"{jaw}-incisor-edge"
    if jaw != "upper" and not {front, *names} <= set(marks):
        return _midline(marks, "upper")
    return np.asarray(marks[front] - (marks[names[0]] + marks[names[1]]) / 2.0)


def asked_of(case: Case) -> dict[str, float]:
    """Distance from the edge [mm] that the case asks of each required structure, rim included."""
    return {r.structure: r.margin_mm + case.guard_rim_mm for r in case.required}


def smallest_field(
    unit: Unit, setup: Setup, corners_mm: Array, needs_mm: Array
) -> FieldSize | None:
    """The smallest field of the unit that would have held the target with the same care.

    The same care: target and field centre stand as far apart as now. ``corners_mm`` (n, 3) are
    the required structures' hull corners in the field frame of the setup [mm], ``needs_mm`` (n,)
    the margin each has to keep. ``None`` when no field holds it.
    """
    place_of_region = region_place(setup, unit)
    for field in sorted(unit.fields, key=lambda f: (f.volume_mm3, f.id)):
        if setup.region in field.regions:
            region = recorded_region(field, place_of_region, unit.beam)
            if (slack(region, corners_mm, needs_mm) >= -TOUCHING_MM).all():
                return field
    return None


def slack(region: RecordedRegion, points_mm: Array, needs_mm: Array) -> Array:
    """Distance of (..., n, 3) field-frame points to the region's edge less what each needs [mm]."""
    wall, roof, floor = edge_distances(region, points_mm)
    return np.asarray(np.minimum(np.minimum(wall, roof), floor) - needs_mm)

"""A run as the unit carries it out: views, voxels, and where the head stands in each view."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from trainer.engine.motion import motion_trace, moved_head
from trainer.engine.placement import chain_of
from trainer.geometry.pose import region_place
from trainer.geometry.transforms import apply
from trainer.models.appointment_visit import Programme
from trainer.models.appointment_words import RunKind
from trainer.models.frames import Frame, RigidTransform
from trainer.models.motion import MotionCause
from trainer.models.protocol import Protocol
from trainer.models.setup import Setup
from trainer.models.subject import Person
from trainer.physics.acquisition import Pose
from trainer.physics.fdk.reconstruct import VolumeGrid, grid_about
from trainer.physics.scan import ScanGeometry
from trainer.physics.solids import Solid
from trainer.services.visit_io import PREVIEW_SHARE
from trainer.services.workbench import Workbench

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Effort:
    """How finely a run is computed; all own working values.

    Attributes
    ----------
    views_per_turn : int
        Views of a whole turn.
    most_rays : float
        Rays of a run, over all views: what the time goes by. Voxels are as coarse as this asks for.
    finest_head_mm : float
        Voxels of the head round the field are cut no finer than that: it takes time and memory.
    part_mm : float
        Edge of a cube about what is required that is put together in the ordered voxel, whatever
        the rays; 0 for the whole field.
    """

    views_per_turn: int
    most_rays: float
    finest_head_mm: float
    part_mm: float = 0.0


FOR_LEARNERS = Effort(views_per_turn=200, most_rays=3.4e6, finest_head_mm=0.25)
ORDERED_VOXEL = Effort(views_per_turn=480, most_rays=math.inf, finest_head_mm=0.125, part_mm=20.0)


@dataclass(frozen=True, slots=True)
class VolumeAsk:
    """A run whose volume is wanted.

    ``person`` is as dressed; ``cause`` ``None`` when nobody moves; ``recorded_s`` of ``planned_s``
    is how long the switch was held. ``seed`` is that of motion and photon noise.
    """

    setup: Setup
    programme: Programme
    person: Person
    solids: tuple[Solid, ...]
    cause: MotionCause | None
    planned_s: float
    recorded_s: float
    seed: int


def planned_scan(
    bench: Workbench, ask: VolumeAsk, protocol: Protocol, effort: Effort
) -> tuple[ScanGeometry, VolumeGrid]:
    """The whole run's views, and the voxels that they are put together in.

    The detector is as wide and as high as the field needs and the unit's detector allows; its
    pixels are the voxels' size, seen from the source. One that stands aside sees about half of the
    field in each view.
    """
    unit, setup = bench.unit, ask.setup
    field, beam = unit.field(setup.field), unit.beam
    kind_share = PREVIEW_SHARE if ask.programme.run_kind is RunKind.PREVIEW else 1.0
    views = round(kind_share * effort.views_per_turn * protocol.rotation_deg / 360.0)
    rays_mm2 = field.diameter_mm * field.height_mm * views
    # what has to be coarser is so by whole steps of 5 um
    least_um = 5.0 * math.ceil(1000.0 * math.sqrt(rays_mm2 / effort.most_rays) / 5.0)
    voxel_mm = max(float(ask.programme.voxel_um), least_um) / 1000.0
    place = region_place(setup, unit)
    ray_mm = place.central_ray_mm - place.start_mm - field.height_mm / 2.0
    middle, size = np.zeros(3), np.array([field.diameter_mm] * 2 + [field.height_mm])
    if effort.part_mm:
        middle, size = _part(bench, setup, effort.part_mm, size)
    grid = grid_about(middle, size, voxel_mm)
    radius = field.diameter_mm / 2.0

    def on_detector(off_mm: float) -> float:
        """Where a place above or below the central ray falls on the detector, at the outermost."""
        nearest = beam.source_to_axis_mm + math.copysign(radius, -off_mm)
        return beam.source_to_detector_mm / nearest * off_mm

    pixel_mm = voxel_mm * beam.source_to_detector_mm / beam.source_to_axis_mm
    half_mm = beam.source_to_detector_mm * math.tan(math.asin(radius / beam.source_to_axis_mm))
    left_mm, right_mm = -half_mm - pixel_mm, half_mm + pixel_mm
    if beam.detector_width_mm is not None:
        left_mm = max(left_mm, beam.detector_offset_mm - beam.detector_width_mm / 2.0)
        right_mm = min(right_mm, beam.detector_offset_mm + beam.detector_width_mm / 2.0)
    columns = max(2, math.floor((right_mm - left_mm) / pixel_mm) + 1)
    left_mm += (right_mm - left_mm - (columns - 1) * pixel_mm) / 2.0
    above = min(beam.detector_above_mm, on_detector(grid.axis_mm(2)[-1] - ray_mm) + pixel_mm)
    below = min(beam.detector_below_mm, on_detector(ray_mm - grid.axis_mm(2)[0]) + pixel_mm)
    rows = max(2, math.floor((above + below) / pixel_mm) + 1)
    scan = ScanGeometry(
        source_to_axis_mm=beam.source_to_axis_mm,
        source_to_detector_mm=beam.source_to_detector_mm,
        ray_mm=ray_mm,
        first_rad=math.radians(unit.turn.from_deg),
        step_rad=math.radians(protocol.rotation_deg) / views,
        views=views,
        rows=rows,
        columns=columns,
        pixel_mm=pixel_mm,
        top_mm=above,
        left_mm=left_mm,
    )
    return scan, grid


def poses_of(bench: Workbench, ask: VolumeAsk, scan: ScanGeometry) -> list[Pose]:
    """Where skull and lower jaw stand in the field at each view of the whole run."""
    return poses_at(bench, ask, scan.turned_rad / scan.arc_rad)


def poses_at(bench: Workbench, ask: VolumeAsk, shares: Array) -> list[Pose]:
    """Where skull and lower jaw stand in the field after shares (n,) of the whole run."""
    head, unit = bench.meshes.head, bench.unit

    def pose(setup: Setup, moved: RigidTransform | None = None) -> Pose:
        steps = chain_of(head, unit, setup, moved)
        return steps.to_field(Frame.SKULL), steps.to_field(Frame.MANDIBLE)

    if ask.cause is None:
        return [pose(ask.setup)] * len(shares)
    trace = motion_trace(ask.cause, ask.planned_s, ask.seed)
    found = []
    for at_s in (shares * ask.planned_s).tolist():
        nearest = int(np.abs(trace.times_s - at_s).argmin())
        gap = max(0.0, ask.setup.jaw_gap_mm + float(trace.jaw_gaps_mm[nearest]))
        moved = moved_head(trace, at_s, head.chin_contact_mm)
        found.append(pose(replace(ask.setup, jaw_gap_mm=gap), moved))
    return found


def _part(bench: Workbench, setup: Setup, edge_mm: float, size_mm: Array) -> tuple[Array, Array]:
    """Middle and size of a cube about what the case requires, kept inside the field's box."""
    steps = chain_of(bench.meshes.head, bench.unit, setup)
    structures = bench.meshes.head.structures
    wanted = {r.structure for r in bench.case.required}
    corners = [
        apply(steps.to_field(s.frame), s.hull_mm) for s in structures.values() if s.id in wanted
    ]
    ends = np.concatenate(corners) if corners else np.zeros((1, 3))
    middle = (ends.min(axis=0) + ends.max(axis=0)) / 2.0
    size = np.minimum(edge_mm, size_mm)
    room = (size_mm - size) / 2.0
    return np.clip(middle, -room, room), size

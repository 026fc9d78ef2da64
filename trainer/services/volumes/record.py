"""The volume that a run records: from the person's phantom over every view to grey values.

What is computed for a learner is coarser than what a unit would give, so that it is there within
seconds: voxels are chosen so that a run has a fixed number of rays. `RecordedVolume` says what was
ordered and what was computed. The ordered voxel itself can be had in a small part of the field.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.head.phantom_box import Volumes, with_fine_part
from trainer.anatomy.materials import MATERIALS
from trainer.errors import TrainerError
from trainer.geometry.transforms import apply, inverse
from trainer.models.appointment import Run
from trainer.models.appointment_visit import Programme
from trainer.models.appointment_words import MetalLevel, RunKind
from trainer.models.frames import RigidTransform
from trainer.models.images import RecordedVolume
from trainer.models.protocol import Exposure, ExposureKind, Protocol, Tube, exposure_mas
from trainer.models.setup import Setup
from trainer.physics.acquisition import InBeam, Pose, acquire, voxel_noise
from trainer.physics.bricks import bricks_of
from trainer.physics.dose import spectrum_of
from trainer.physics.fdk.reconstruct import VolumeGrid, circle_of, reconstruct
from trainer.physics.metal import bridged, metal_in, metal_shadow, opaque
from trainer.physics.scan import ScanGeometry
from trainer.services.assets import MESHES
from trainer.services.head_store import stored_phantom
from trainer.services.scouts import FILLER, WORKING_TUBE, require_cone_beam
from trainer.services.visit_io import PREVIEW_SHARE, run_s
from trainer.services.volumes.in_beam import as_worn, spacer_in_beam
from trainer.services.volumes.scan import (
    FOR_LEARNERS,
    Effort,
    VolumeAsk,
    planned_scan,
    poses_of,
)
from trainer.services.volumes.store import kept_volume
from trainer.services.workbench import Workbench

Array = NDArray[np.float64]
Values = NDArray[np.float32]
Tell = Callable[[str, float], None]

# Of the phantom round the field [mm]; scouts go through the same one.
HEAD_SPACING_MM = 0.5
# Least and most of 16 bits.
LEAST_HU, MOST_HU = -32768.0, 32767.0
# Fine voxels of the phantom reach beyond the field by so much [mm].
ROUND_FIELD_MM = 1.0
# Grey values are smoothed as units do: with it an edge of 0.2 mm voxels is as sharp as theirs.
SMOOTH = True
# Raised when what is computed changes, so that older volumes in the cache are not taken.
VERSION = 3


class RecordingCancelled(Exception):
    """Nobody wants the volume any more; nothing has been kept of it."""


def exposure_of(ask: VolumeAsk, protocol: Protocol) -> Exposure:
    """The exposure of a run."""
    used = ask.programme
    return Exposure(ExposureKind.FULL, protocol.id, used.voxel_um, used.low_dose)


def run_mas(tube: Tube, ask: VolumeAsk, protocol: Protocol) -> float:
    """Tube charge of a whole run [mAs]; a preview takes its share."""
    whole = exposure_mas(tube, exposure_of(ask, protocol))
    return whole * PREVIEW_SHARE if ask.programme.run_kind is RunKind.PREVIEW else whole


def watched(tell: Tell, cancelled: Callable[[], bool]) -> Tell:
    """What tells of a step of the work; raises `RecordingCancelled` once nobody wants it more."""

    def step(part: str, share: float) -> None:
        if cancelled():
            raise RecordingCancelled
        tell(part, share)

    return step


def ask_of_run(bench: Workbench, run: Run) -> VolumeAsk:
    """The volume of a run of an appointment.

    Raises
    ------
    TrainerError
        If the case has no visit.
    """
    visit, now = bench.case.visit, run.conditions
    if visit is None:
        raise TrainerError(f"case {bench.case.id} has no visit, so it has no runs")
    return VolumeAsk(
        setup=now.setup,
        programme=now.programme,
        person=as_worn(bench.case.subject.person, visit, now.worn),
        solids=spacer_in_beam(bench, now),
        cause=run.cause,
        planned_s=run.planned_s,
        recorded_s=min(run.recorded_s, run.planned_s),
        seed=run.seed,
    )


def still_ask(bench: Workbench, setup: Setup, programme: Programme, seed: int) -> VolumeAsk:
    """The volume of a whole run in which the person, as they come in, keeps still."""
    length_s = run_s(bench.unit, programme)
    person = bench.case.subject.person
    return VolumeAsk(setup, programme, person, (), None, length_s, length_s, seed)


def default_programme(bench: Workbench, setup: Setup) -> Programme:
    """What the request orders; without a visit the field's finest voxel and the first preset."""
    if bench.case.visit is not None:
        return bench.case.visit.card.prescription.programme
    tube = bench.unit.tube or WORKING_TUBE
    return Programme(
        protocol=tube.protocols[0].id, voxel_um=bench.unit.field(setup.field).voxels_um[0]
    )


def protocol_of(bench: Workbench, ask: VolumeAsk) -> Protocol:
    """The tube's protocol that the run takes; the working tube's first where the unit names none.

    Raises
    ------
    NotFound
        If the tube lacks it.
    """
    if bench.unit.tube is None:
        return WORKING_TUBE.protocols[0]
    return bench.unit.tube.protocol(ask.programme.protocol)


def record_volume(
    bench: Workbench,
    ask: VolumeAsk,
    tell: Tell = lambda part, share: None,
    cancelled: Callable[[], bool] = lambda: False,
    effort: Effort = FOR_LEARNERS,
    head_spacing_mm: float = HEAD_SPACING_MM,
) -> RecordedVolume:
    """What the unit gives for a run; the same for the same ask, from the cache when it is there.

    Parameters
    ----------
    bench : Workbench
        Case, unit and head.
    ask : VolumeAsk
        The run.
    tell : callable
        Called with what is being done and the share of all work that is over.
    cancelled : callable
        Asked often; once it is true, the work ends.
    effort : Effort
        How finely.
    head_spacing_mm : float
        Voxels of the phantom.

    Raises
    ------
    RecordingCancelled
        If it was cancelled.
    NotFound
        If the unit lacks field or region, or its tube the protocol.
    TrainerError
        If the switch was let go before the first view, or the unit makes panoramic pictures.
    """
    require_cone_beam(bench.unit)
    step = watched(tell, cancelled)
    step("looking at the run", 0.0)
    tube, protocol = bench.unit.tube or WORKING_TUBE, protocol_of(bench, ask)
    field = bench.unit.field(ask.setup.field)
    planned, grid = planned_scan(bench, ask, protocol, effort)
    share = min(1.0, ask.recorded_s / ask.planned_s)
    views = math.floor(planned.views * share + 1e-9)
    if views < 1:
        raise TrainerError(
            "The switch was let go before the first view, so there is no volume. Nothing is lost: "
            "the exposure and its dose are kept in the attempt."
        )
    scan = planned.stopped_after(views)
    inside = circle_of(grid, field.diameter_mm / 2.0)
    poses = poses_of(bench, ask, planned)[:views]
    voxel_um, low_dose = ask.programme.voxel_um, ask.programme.low_dose
    mas = run_mas(tube, ask, protocol)
    spectrum = spectrum_of(tube)
    level = ask.programme.metal_level

    def compute() -> RecordedVolume:
        body = _in_beam(ask, grid, poses[0], effort, head_spacing_mm, step)
        found = acquire(
            body,
            scan,
            poses,
            spectrum,
            mas / planned.views,
            ask.seed,
            lambda s: step("taking the views", 0.15 + 0.55 * s),
        )
        values = _put_together(found.lines_mm, scan, grid, inside, level, step)
        hu = np.clip(np.round(1000.0 * (values - 1.0)), LEAST_HU, MOST_HU).astype(np.float32)
        hu[:, ~inside] = 0.0
        return RecordedVolume(
            values=hu,
            origin_mm=grid.origin_mm,
            spacing_mm=grid.spacing_mm,
            inside=inside,
            skull_to_field=poses[0][0],
            mandible_to_field=poses[0][1],
            requested_voxel_um=voxel_um,
            views=scan.views,
            views_planned=planned.views,
            arc_rad=scan.arc_rad,
            arc_is_enough=scan.arc_is_enough,
            metal_level=level,
            low_dose=low_dose,
            noise_hu=1000.0 * voxel_noise(found.noise_mm, scan, SMOOTH),
            is_part=effort.part_mm > 0.0,
        )

    facts = (
        repr((VERSION, planned, views, grid.spacing_mm, grid.shape, mas, ask.seed, str(level))),
        repr((voxel_um, low_dose, head_spacing_mm, effort, ask.solids)),
        grid.origin_mm.tobytes(),
        np.concatenate([t.rotation.ravel() for p in poses for t in p]).tobytes(),
        np.concatenate([t.translation_mm for p in poses for t in p]).tobytes(),
        spectrum.energies_kev.tobytes(),
        spectrum.photons.tobytes(),
    )
    digest = hashlib.sha256()
    for fact in facts:
        digest.update(fact.encode() if isinstance(fact, str) else fact)
    return kept_volume(ask.person, head_spacing_mm, digest.hexdigest(), compute)


def _in_beam(
    ask: VolumeAsk,
    grid: VolumeGrid,
    pose: Pose,
    effort: Effort,
    head_spacing_mm: float,
    step: Tell,
) -> InBeam:
    """What the rays go through; round the voxels wanted in finer voxels, where that shows."""
    coarse = stored_phantom(
        ask.person, head_spacing_mm, MESHES, lambda what: step(f"the head: {what}", 0.0)
    )
    skull: Volumes = (coarse.skull,)
    mandible: Volumes = (coarse.mandible,)
    # cut only where that comes near to the voxels wanted: a large part takes long
    fine_mm = max(grid.spacing_mm, effort.finest_head_mm)
    parts = math.floor(head_spacing_mm / fine_mm + 0.45)
    if parts > 1:
        boxes = {t.source: _box_round(grid, t) for t in pose}
        skull, mandible = with_fine_part(
            coarse, ask.person, boxes, parts, lambda what: step(f"the field: {what}", 0.05)
        )
    return InBeam(
        skull=tuple(map(bricks_of, skull)),
        mandible=tuple(map(bricks_of, mandible)),
        filler=FILLER,
        materials={n: m.material for n, m in MATERIALS.items()}
        | {s.material.name: s.material for s in ask.solids},
        solids=ask.solids,
    )


def _box_round(grid: VolumeGrid, to_field: RigidTransform) -> tuple[Array, Array]:
    """The box in a frame that holds all of the grid."""
    ends = [grid.axis_mm(axis)[[0, -1]] + [-ROUND_FIELD_MM, ROUND_FIELD_MM] for axis in range(3)]
    corners = np.stack(np.meshgrid(*ends, indexing="ij"), axis=-1).reshape(8, 3)
    there = apply(inverse(to_field), corners)
    return there.min(axis=0), there.max(axis=0)


def _put_together(
    lines_mm: Values,
    scan: ScanGeometry,
    grid: VolumeGrid,
    inside: NDArray[np.bool_],
    level: MetalLevel,
    step: Tell,
) -> Values:
    """The volume, water as 1, with metal corrected for at that level."""
    corrects = level is not MetalLevel.OFF
    share = 0.1 if corrects else 0.3
    values = reconstruct(
        lines_mm,
        scan,
        grid,
        inside,
        smooth=SMOOTH,
        tell=lambda s: step("putting together", 0.7 + share * s),
    )
    if not corrects:
        return values
    metal = metal_in(values)
    shadow = opaque(lines_mm)
    if metal.any():
        shadow |= metal_shadow(metal, grid, scan, lambda s: step("finding metal", 0.8 + 0.1 * s))
    if not shadow.any():
        return values
    clean = bridged(lines_mm, shadow, level)
    again = reconstruct(
        clean,
        scan,
        grid,
        inside,
        smooth=SMOOTH,
        tell=lambda s: step("correcting for metal", 0.9 + 0.1 * s),
    )
    return np.asarray(np.where(metal, values, again))

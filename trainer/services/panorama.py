"""Panoramic pictures: what the slit gathers of the person's phantom, column by column.

The same beam, phantom and spectrum as for volumes: what stands beside the layer is narrow or wide
and smeared, and the far side and the spine leave their shadows, because the rays go through them.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.materials import MATERIALS
from trainer.engine.placement import Placement
from trainer.errors import TrainerError
from trainer.geometry.pose import region_place
from trainer.geometry.region import recorded_region
from trainer.models.appointment import Run
from trainer.models.frames import Frame
from trainer.models.images import Projection
from trainer.models.protocol import age_group
from trainer.models.structures import Head
from trainer.physics.detector import (
    open_photons,
    optical_depth,
    transmitted,
    with_photon_noise,
)
from trainer.physics.dose import DoseEstimate, dose_of, spectrum_of
from trainer.physics.projection import head_line_integrals
from trainer.physics.slit import SlitRun, row_of, slit_run
from trainer.physics.solids import Block, Solid
from trainer.services.cautions import SHORT_CAUTION
from trainer.services.exports.png_out import save_png
from trainer.services.scouts import FILLER, WORKING_TUBE, ScoutHead, person_head
from trainer.services.volumes.record import (
    ask_of_run,
    exposure_of,
    protocol_of,
    run_mas,
    watched,
)
from trainer.services.volumes.scan import VolumeAsk, poses_at
from trainer.services.workbench import Workbench

Values = NDArray[np.float32]
Tell = Callable[[str, float], None]

# Edge of a picture's points on the detector [mm]: coarser than what is ordered, so that it is there
# within seconds.
PIXEL_MM = 0.4
HEAD_SPACING_MM = 0.5  # of the phantom, as for scouts
# Optical depths shown black and white at first: own working values for a head.
SHOWN_DEPTHS = (1.0, 6.0)
# Air over a tongue that lies low: as high, wide and deep as this below the palate's lowest place.
# Own working values.
LOW_TONGUE_MM = (30.0, 38.0, 9.0)


@dataclass(frozen=True, slots=True)
class PanoramaPicture:
    """A panoramic picture: shares of the open beam, the steps that made it, and what it cost.

    The patient's right is on its left. Columns that the switch was let go before are empty (no
    beam, share 0 and no photons). ``photons`` (columns,) is how many each of their pixels met.
    """

    projection: Projection
    run: SlitRun
    recorded: int
    photons: NDArray[np.float64]
    dose: DoseEstimate


class ToothMark(NamedTuple):
    """Where a tooth's middle is shown: its number, row and column, and whether it is sharp."""

    number: str
    row: float
    column: float
    is_sharp: bool


def tooth_marks(
    bench: Workbench, picture: PanoramaPicture, placement: Placement
) -> tuple[ToothMark, ...]:
    """The teeth of a placement in its picture, as they stood at the start of the run."""
    if placement.layer is None:
        return ()
    beam, run = bench.unit.beam, picture.run
    ray_mm = placement.region.ray_mm
    return tuple(
        ToothMark(
            t.id.removeprefix("tooth-"),
            row_of(run, beam, ray_mm, t.up_mm, t.outside_mm),
            float(run.column_of(t.along_mm)),
            t.is_sharp,
        )
        for t in placement.layer.teeth
    )


def low_tongue(head: Head) -> Solid:
    """The air between the palate and a tongue that lies low, in the skull's frame."""
    palate, air = head.structure("hard-palate").hull_mm, MATERIALS["air"].material
    wide, deep, high = LOW_TONGUE_MM
    middle = (palate.min(axis=0) + palate.max(axis=0)) / 2.0
    middle[2] = palate[:, 2].min() - high / 2.0
    return Block(Frame.SKULL, middle, np.array([wide, deep, high]) / 2.0, np.eye(3), air)


def panorama_ask(bench: Workbench, run: Run) -> VolumeAsk:
    """What stood in the beam of a run, with the air over a tongue nobody spoke of.

    Raises
    ------
    TrainerError
        If the case has no visit.
    """
    ask = ask_of_run(bench, run)
    if run.conditions.soft_parts_told:
        return ask
    return replace(ask, solids=(*ask.solids, low_tongue(bench.meshes.head)))


def take_panorama(
    bench: Workbench,
    ask: VolumeAsk,
    tell: Tell = lambda part, share: None,
    cancelled: Callable[[], bool] = lambda: False,
    head: ScoutHead | None = None,
    pixel_mm: float = PIXEL_MM,
) -> PanoramaPicture:
    """What the unit gives for a run.

    Parameters
    ----------
    bench : Workbench
        Case, unit and head.
    ask : VolumeAsk
        The run.
    tell : callable
        Called with what is being done and the share of all work that is over.
    cancelled : callable
        Asked at every step; once it is true, the work ends.
    head : ScoutHead or None
        The person's phantom, if it is there.
    pixel_mm : float
        Edge of the picture's points on the detector.

    Raises
    ------
    RecordingCancelled
        If it was cancelled.
    NotFound
        If the unit lacks field or region, or its tube the protocol.
    TrainerError
        If the field has no sharp layer, or the switch was let go before the first step.
    """
    step = watched(tell, cancelled)
    step("looking at the run", 0.0)
    unit = bench.unit
    field = unit.field(ask.setup.field)
    if field.layer is None:
        raise TrainerError(f"field {field.id} of unit {unit.id} has no sharp layer")
    protocol, tube = protocol_of(bench, ask), unit.tube or WORKING_TUBE
    region = recorded_region(field, region_place(ask.setup, unit), unit.beam)
    steps = slit_run(field, unit.beam, region.ray_mm, pixel_mm)
    number = math.floor(len(steps.views) * min(1.0, ask.recorded_s / ask.planned_s) + 1e-9)
    if number < 1:
        raise TrainerError(
            "The switch was let go before the first step, so there is no picture. Nothing is lost: "
            "the exposure and its dose are kept in the attempt."
        )
    body = head or person_head(ask.person, HEAD_SPACING_MM, lambda part: step(part, 0.1))
    poses = poses_at(bench, ask, np.arange(len(steps.views)) / len(steps.views))
    exposure = exposure_of(ask, protocol)
    mas = run_mas(tube, ask, protocol)
    spectrum = spectrum_of(tube)
    rows = steps.views[0].shape[0]
    signal, grains = (np.zeros((rows, steps.columns), np.float32) for _ in range(2))
    photons = np.zeros((rows, steps.columns))
    own = {s.material.name: s.material for s in ask.solids}
    for n in range(number):
        if n % 16 == 0:
            step("taking the picture", 0.2 + 0.8 * n / number)
        view, (skull, jaw) = steps.views[n], poses[n]
        names, paths = head_line_integrals(
            body.skull, body.mandible, view, skull, jaw, FILLER, ask.solids
        )
        materials = [own[name] if name in own else MATERIALS[name].material for name in names]
        shares, grain = transmitted(paths, materials, spectrum)
        met = open_photons(spectrum, mas / len(steps.views), view)
        here = slice(n, n + steps.wide)
        signal[:, here] += shares * met
        grains[:, here] += shares * grain * met
        photons[:, here] += met
    with np.errstate(invalid="ignore", divide="ignore"):
        mean = np.where(photons > 0.0, signal / photons, 0.0).astype(np.float32)
        grain = np.where(signal > 0.0, grains / signal, 1.0)
    random = np.random.default_rng(ask.seed)
    seen = np.where(photons > 0.0, photons, 1.0)
    values = with_photon_noise(mean, seen, random, grain)
    values[photons == 0.0] = 0.0
    group = age_group(bench.case.subject.person.age_years)
    return PanoramaPicture(
        Projection(values, pixel_mm, "right"),
        steps,
        number,
        photons.mean(axis=0),
        dose_of(unit, tube, field, exposure, group),
    )


def shown_depths(picture: PanoramaPicture) -> NDArray[np.float32]:
    """Optical depth of each point (rows, columns); -1 where no beam was."""
    met = picture.photons > 0.0
    depth = optical_depth(picture.projection.values, np.where(met, picture.photons, 1.0)[None, :])
    return np.where(met[None, :], depth, -1.0).astype(np.float32)


def grey_of_depths(
    depths: NDArray[np.float32], darkest: float, lightest: float
) -> NDArray[np.uint8]:
    """Grey values 0 to 255 (uint8) between the optical depths shown darkest and lightest."""
    share = (depths - darkest) / max(lightest - darkest, 1e-6)
    return np.asarray(np.clip(share, 0.0, 1.0) * 255.0).astype(np.uint8)


def panorama_text(picture: PanoramaPicture) -> str:
    """What was computed, and what is not in it, in plain words."""
    rows, columns = picture.projection.values.shape
    whole = len(picture.run.views)
    lines = [
        f"Simulated panoramic picture: {columns} x {rows} points of {picture.projection.pixel_mm:g}"
        " mm on the detector, coarser than a unit's so that it is there within seconds.",
        f"{picture.recorded} of {whole} steps; the layer's middle is shown "
        f"{picture.run.magnification:.2f} times as large as it is. Sizes cannot be measured on it: "
        "what stands beside the layer is narrower or wider.",
    ]
    if picture.recorded < whole:
        lines.append("The switch was let go early: one side is missing.")
    lines.append(f"Not in it: scatter, the detector's lag, the arm's own blur. {SHORT_CAUTION}")
    return "\n".join(lines)


def save_panorama(bench: Workbench, picture: PanoramaPicture, path: Path) -> Path:
    """Writes the picture as PNG, marked as simulated, the patient's right on its left.

    Raises
    ------
    TrainerError
        If the name does not end in .png.
    NotReadable
        If it cannot be written, or the library for pictures is not installed.
    """
    grey = grey_of_depths(shown_depths(picture), *SHOWN_DEPTHS)
    facts = {"Case": bench.case.id, "View": "panoramic", "Note": panorama_text(picture)}
    return save_png(grey, path, "R", "L", facts=facts)

"""Scouts: the frontal and lateral preview of a setup, simulated from the head's phantom."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.materials import MATERIALS
from trainer.engine.placement import Chain, chain_of
from trainer.errors import TrainerError
from trainer.models.device import Unit
from trainer.models.images import Phantom, Projection
from trainer.models.materials import Material
from trainer.models.protocol import (
    SCOUTS,
    Exposure,
    ExposureKind,
    Protocol,
    Tube,
    VoxelFactor,
    age_group,
    exposure_mas,
)
from trainer.models.setup import Setup
from trainer.models.subject import Person
from trainer.physics.bricks import BrickVolume, bricks_of
from trainer.physics.detector import open_photons, optical_depth, transmitted, with_photon_noise
from trainer.physics.dose import DoseEstimate, dose_of, spectrum_of
from trainer.physics.projection import head_line_integrals
from trainer.physics.solids import Solid
from trainer.physics.views import ScoutView, ViewGeometry, scout_geometry
from trainer.services.assets import MESHES
from trainer.services.cautions import SHORT_CAUTION
from trainer.services.exports.png_out import save_png
from trainer.services.head_store import stored_phantom
from trainer.services.workbench import Workbench

KINDS: Mapping[ScoutView, ExposureKind] = {
    "frontal": ExposureKind.FRONTAL_SCOUT,
    "lateral": ExposureKind.LATERAL_SCOUT,
}
# What is drawn at a picture's left and right, by what of the patient lies on its left.
SIDES: Mapping[str, tuple[str, str]] = {"right": ("R", "L"), "back": ("BACK", "FRONT")}
# What the skull's volume holds where the lower jaw stands (see `models.images.Phantom`).
FILLER = "soft tissue"
# Darkest and lightest attenuation shown, as optical depth: own working values for a head.
SHOWN_DEPTHS = (0.0, 6.0)
# For a unit whose file names no tube: own working values, of no real machine.
WORKING_TUBE = Tube(
    kvp=90.0,
    aluminium_mm=3.0,
    copper_mm=0.0,
    protocols=(Protocol("adult", "Adult", 28.0, 360.0, 4.5, 16.0),),
    voxel_factors=(VoxelFactor(100, 1.4), VoxelFactor(200, 1.0), VoxelFactor(400, 0.7)),
    low_dose_factor=0.5,
    scout_factors=dict.fromkeys(SCOUTS, 0.002),
)


@dataclass(frozen=True, slots=True)
class ScoutHead:
    """A phantom made ready for rays: what moves with the skull, and with the lower jaw."""

    skull: BrickVolume
    mandible: BrickVolume


@dataclass(frozen=True, slots=True)
class ScoutPicture:
    """A preview: shares of the open beam, how it was taken, what it cost.

    ``view`` turns pixels into rays (`physics.views`: `shift_from_marks`, `beside_centre`).
    ``photons`` (rows, columns) is how many each pixel met in the open beam.
    """

    projection: Projection
    view: ViewGeometry
    photons: NDArray[np.float64]
    dose: DoseEstimate


def scout_head(phantom: Phantom) -> ScoutHead:
    """The phantom made ready; once for all scouts of a person."""
    return ScoutHead(bricks_of(phantom.skull), bricks_of(phantom.mandible))


def person_head(
    person: Person, spacing_mm: float, tell: Callable[[str], None] = lambda _: None
) -> ScoutHead:
    """A person's head made ready; the one place where scouts get it from."""
    return scout_head(stored_phantom(person, spacing_mm, MESHES, tell))


def require_cone_beam(unit: Unit) -> None:
    """Return when the unit makes scouts and volumes.

    Raises
    ------
    TrainerError
        If it makes panoramic pictures, with what to do instead.
    """
    if unit.is_panoramic:
        raise TrainerError(
            f"unit {unit.id} makes panoramic pictures, no scouts and no volumes. "
            "'trainer panorama' draws one."
        )


def take_scout(
    bench: Workbench,
    setup: Setup,
    head: ScoutHead,
    view: ScoutView,
    random: np.random.Generator | None,
    *,
    tube: Tube = WORKING_TUBE,
    protocol: str = "",
    solids: Sequence[Solid] = (),
    chain: Chain | None = None,
) -> ScoutPicture:
    """One preview of a setup, as the share of the open beam that reaches each pixel.

    Beer-Lambert through the phantom with the tube's spectrum and the unit's geometry.

    Parameters
    ----------
    bench : Workbench
        Case, unit and head.
    setup : Setup
        What stands how.
    head : ScoutHead
        The person's phantom.
    view : "frontal" or "lateral"
        From where.
    random : Generator or None
        For photon noise; without it the picture is free of noise.
    tube : Tube
        Its spectrum and the charge of a scout.
    protocol : str
        Of the tube's; the first if empty.
    solids : sequence of Solid
        What else is in the beam, such as `spacer_solids`.
    chain : Chain or None
        Where head and jaw really stand, if not where the setup puts them.

    Raises
    ------
    NotFound
        If the unit lacks the field or region, or the tube the protocol.
    TrainerError
        If the unit makes panoramic pictures and no scouts.
    """
    require_cone_beam(bench.unit)
    chain = chain or chain_of(bench.meshes.head, bench.unit, setup)
    geometry = scout_geometry(bench.unit, setup, view)
    names, paths = head_line_integrals(
        head.skull,
        head.mandible,
        geometry,
        chain.skull_to_gantry,
        chain.mandible_to_gantry,
        FILLER,
        solids,
    )
    spectrum = spectrum_of(tube)
    shares, grain = transmitted(paths, _materials(names, solids), spectrum)
    field = bench.unit.field(setup.field)
    exposure = Exposure(KINDS[view], protocol or tube.protocols[0].id, field.voxels_um[0])
    photons = open_photons(spectrum, exposure_mas(tube, exposure), geometry)
    if random is not None:
        shares = with_photon_noise(shares, photons, random, grain)
    group = age_group(bench.case.subject.person.age_years)
    return ScoutPicture(
        Projection(shares, geometry.pixel_mm, geometry.left_is_patients),
        geometry,
        photons,
        dose_of(bench.unit, tube, field, exposure, group),
    )


def scout_pair(
    bench: Workbench,
    setup: Setup,
    head: ScoutHead,
    random: np.random.Generator | None,
    *,
    tube: Tube = WORKING_TUBE,
    protocol: str = "",
    solids: Sequence[Solid] = (),
) -> dict[str, ScoutPicture]:
    """Both previews, the frontal one first; as `take_scout`."""
    return {
        view: take_scout(
            bench, setup, head, view, random, tube=tube, protocol=protocol, solids=solids
        )
        for view in KINDS
    }


def save_scouts(
    bench: Workbench,
    setup: Setup,
    folder: Path,
    spacing_mm: float,
    seed: int | None,
    tell: Callable[[str], None] = lambda _: None,
) -> list[Path]:
    """Draw both previews into PNG files with a JSON file that tells their spacing, sides and dose.

    Dark is little, light is much attenuation. "SIMULATED" stands in the pixels.

    Raises
    ------
    TrainerError
        If the unit makes no scouts.
    NotReadable
        If the libraries for images are not installed, or a file cannot be written.
    OSError
        If the folder cannot be made.
    """
    require_cone_beam(bench.unit)
    folder.mkdir(parents=True, exist_ok=True)  # what cannot be made is told before the work
    head = person_head(bench.case.subject.person, spacing_mm, tell)
    tell("previews")
    random = None if seed is None else np.random.default_rng(seed)
    written: list[Path] = []
    facts: dict[str, Any] = {
        "caution": SHORT_CAUTION,
        "simulated": True,
        "case": bench.case.id,
        "unit": bench.unit.id,
        "phantom_spacing_mm": spacing_mm,
        "seed": seed,
        "setup": setup.as_dict(),
        "views": {},
    }
    tube = bench.unit.tube or WORKING_TUBE
    for name, scout in scout_pair(bench, setup, head, random, tube=tube).items():
        projection = scout.projection
        path = save_png(
            grey_levels(projection.values, scout.photons),
            folder / f"{name}.png",
            *SIDES[projection.left_is_patients],
            facts={"Case": bench.case.id, "View": name},
        )
        written.append(path)
        facts["views"][name] = {
            "file": path.name,
            "rows": projection.values.shape[0],
            "columns": projection.values.shape[1],
            "pixel_mm": round(projection.pixel_mm, 4),
            "left_is_patients": projection.left_is_patients,
            "open_photons_per_pixel": round(float(scout.photons.mean())),
            "dose": _dose_facts(scout.dose),
        }
    table = folder / "scouts.json"
    table.write_text(json.dumps(facts, indent=1) + "\n", encoding="utf-8")
    return [*written, table]


def grey_levels(shares: np.ndarray, photons: np.ndarray | float = np.inf) -> np.ndarray:
    """Grey values 0 to 255 (uint8) of shares of the open beam, by their optical depth."""
    low, high = SHOWN_DEPTHS
    depth = optical_depth(shares, photons)
    return np.asarray(np.clip((depth - low) / (high - low), 0.0, 1.0) * 255.0).astype(np.uint8)


def _materials(names: Sequence[str], solids: Sequence[Solid]) -> list[Material]:
    own = {s.material.name: s.material for s in solids}
    return [own[n] if n in own else MATERIALS[n].material for n in names]


def _dose_facts(dose: DoseEstimate) -> dict[str, Any]:
    return {
        "kerma_area_product_mgy_cm2": round(dose.kap_mgy_cm2, 3),
        "effective_dose_usv": {
            "low": round(dose.low_usv, 3),
            "middle": round(dose.middle_usv, 3),
            "high": round(dose.high_usv, 3),
        },
        "sources": list(dose.sources),
        "caution": dose.caution,
    }

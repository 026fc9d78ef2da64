"""Scouts: the frontal and lateral preview of a setup, simulated from the head's phantom."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from trainer.anatomy.materials import MATERIALS
from trainer.anatomy.phantom import build_phantom
from trainer.engine.placement import chain_of
from trainer.errors import NotReadable
from trainer.models.images import Phantom, Projection
from trainer.models.setup import Setup
from trainer.physics.bricks import bricks_of
from trainer.physics.projection import head_line_integrals, transmission, with_photon_noise
from trainer.physics.spectrum import tube_spectrum
from trainer.physics.views import ScoutView, scout_geometry
from trainer.services.cautions import SHORT_CAUTION
from trainer.services.workbench import Workbench

VIEWS: tuple[ScoutView, ...] = ("frontal", "lateral")
# What the skull's volume holds where the lower jaw stands (see `models.images.Phantom`).
FILLER = "soft tissue"
# Photons that reach a pixel of the open beam in a low-dose preview: own working value.
OPEN_PHOTONS = 4000.0
# Darkest and lightest attenuation shown, as optical depth: own working values for a head.
SHOWN_DEPTHS = (0.0, 6.0)


def scout_pair(
    bench: Workbench, setup: Setup, phantom: Phantom, random: np.random.Generator | None
) -> dict[str, Projection]:
    """Both previews of a setup, as the share of the open beam that reaches each pixel (0 to 1).

    Beer-Lambert through the phantom with a 90 kV spectrum and the unit's geometry. With ``random``
    photon noise is added; without it the pictures are free of noise.
    """
    chain = chain_of(bench.meshes.head, bench.unit, setup)
    skull, mandible = bricks_of(phantom.skull), bricks_of(phantom.mandible)
    found = {}
    for view in VIEWS:
        geometry = scout_geometry(bench.unit, setup, view)
        names, paths = head_line_integrals(
            skull, mandible, geometry, chain.skull_to_gantry, chain.mandible_to_gantry, FILLER
        )
        values = transmission(paths, [MATERIALS[name].material for name in names], tube_spectrum())
        if random is not None:
            values = with_photon_noise(values, OPEN_PHOTONS, random)
        found[str(view)] = Projection(values, geometry.pixel_mm, geometry.left_is_patients)
    return found


def save_scouts(
    bench: Workbench,
    setup: Setup,
    folder: Path,
    spacing_mm: float,
    seed: int | None,
    tell: Callable[[str], None] = lambda _: None,
) -> list[Path]:
    """Draw both previews into PNG files with a JSON file that tells their spacing and sides.

    Dark is little, light is much attenuation. "SIMULATED" stands in the pixels.

    Raises
    ------
    NotReadable
        If the libraries for images are not installed.
    """
    try:
        from PIL import Image, ImageDraw
    except ImportError as error:
        raise NotReadable(f"The library that writes pictures is missing ({error}).") from error
    phantom = build_phantom(bench.case.subject.person, spacing_mm, tell)
    tell("previews")
    random = None if seed is None else np.random.default_rng(seed)
    folder.mkdir(parents=True, exist_ok=True)
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
    for name, projection in scout_pair(bench, setup, phantom, random).items():
        image = Image.fromarray(grey_levels(projection.values))
        pen = ImageDraw.Draw(image)
        pen.text((4, 4), "SIMULATED - training only", fill=255)
        pen.text((4, image.height - 14), f"left: patient's {projection.left_is_patients}", fill=255)
        path = folder / f"{name}.png"
        image.save(path)
        written.append(path)
        facts["views"][name] = {
            "file": path.name,
            "rows": projection.values.shape[0],
            "columns": projection.values.shape[1],
            "pixel_mm": round(projection.pixel_mm, 4),
            "left_is_patients": projection.left_is_patients,
        }
    table = folder / "scouts.json"
    table.write_text(json.dumps(facts, indent=1) + "\n", encoding="utf-8")
    return [*written, table]


def grey_levels(transmitted: np.ndarray) -> np.ndarray:
    """Grey values 0 to 255 (uint8) of transmitted shares, by their optical depth."""
    low, high = SHOWN_DEPTHS
    depth = -np.log(np.clip(transmitted, 1e-6, 1.0))
    return np.asarray(np.clip((depth - low) / (high - low), 0.0, 1.0) * 255.0).astype(np.uint8)

"""The tube of a unit file: from plain data to `Tube`, and its faults beyond the schema."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from trainer.models.protocol import ExposureKind, Protocol, Tube, VoxelFactor
from trainer.services.file_check import entries, known, numbers, repeated_ids
from trainer.services.yaml_text import Tree


def tube_faults(tree: Tree) -> None:
    """Names once, no turn beyond the arm's, no beam beyond the run, factors for every voxel."""
    repeated_ids(tree, "tube", "protocols")
    sweep = known(tree, "turn", "sweep_deg")
    for n in entries(tree, "tube", "protocols"):
        base = ("tube", "protocols", n)
        times = numbers(tree, base, "beam_on_s", "scan_s")
        if times is not None and times[0] > times[1]:
            text = f"must be at most scan_s ({times[1]:g} s), got {times[0]:g}"
            tree.say((*base, "beam_on_s"), text)
        turned = numbers(tree, base, "rotation_deg")
        if turned is not None and isinstance(sweep, (int, float)) and turned[0] > sweep:
            text = f"must be at most the arm's sweep_deg ({sweep:g} deg), got {turned[0]:g}"
            tree.say((*base, "rotation_deg"), text)
    _voxel_factor_faults(tree)


def _voxel_factor_faults(tree: Tree) -> None:
    rows = [
        numbers(tree, ("tube", "voxel_factors", n), "up_to_um", "mas_factor")
        for n in entries(tree, "tube", "voxel_factors")
    ]
    for n, (before, row) in enumerate(pairwise(rows), start=1):
        base = ("tube", "voxel_factors", n)
        if before is not None and row is not None and row[0] <= before[0]:
            text = f"must be above the one before ({before[0]:g} µm), got {row[0]:g}"
            tree.say((*base, "up_to_um"), text)
        if before is not None and row is not None and row[1] > before[1]:
            text = (
                f"coarser voxels cannot cost more than finer ones ({before[1]:g}), got {row[1]:g}"
            )
            tree.say((*base, "mas_factor"), text)
    if not rows or None in rows:
        return
    coarsest = max(row[0] for row in rows if row is not None)
    for n in entries(tree, "fields"):
        voxels = known(tree, "fields", n, "voxels_um")
        for m, voxel in enumerate(voxels if isinstance(voxels, list) else []):
            if known(tree, "fields", n, "voxels_um", m) is not None and voxel > coarsest:
                text = f"the tube's voxel_factors end at {coarsest:g} µm, got {voxel:g}"
                tree.say(("fields", n, "voxels_um", m), text)


def tube_of(data: Any) -> Tube:
    """The tube from data that has no faults."""
    numbers_of = ("turn_mas", "rotation_deg", "beam_on_s", "scan_s")
    return Tube(
        kvp=float(data["kvp"]),
        aluminium_mm=float(data["aluminium_mm"]),
        copper_mm=float(data["copper_mm"]),
        protocols=tuple(
            Protocol(p["id"], p["name"], *(float(p[key]) for key in numbers_of))
            for p in data["protocols"]
        ),
        voxel_factors=tuple(
            VoxelFactor(int(v["up_to_um"]), float(v["mas_factor"])) for v in data["voxel_factors"]
        ),
        low_dose_factor=float(data["low_dose_factor"]),
        scout_factors={ExposureKind(k): float(v) for k, v in data["scout_factors"].items()},
    )

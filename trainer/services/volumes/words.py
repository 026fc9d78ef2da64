"""A recorded volume in words: what was ordered, what was computed, what is not in it."""

from __future__ import annotations

import math

from trainer.models.appointment_words import MetalLevel
from trainer.models.images import RecordedVolume
from trainer.services.cautions import SHORT_CAUTION


def volume_text(volume: RecordedVolume) -> str:
    """What was ordered, what was computed, and what is not in it, in plain words."""
    nz, ny, nx = volume.values.shape
    part = "a part of the field" if volume.is_part else "the field"
    lines = [
        f"Simulated volume of {part}: {nx} x {ny} x {nz} voxels of {volume.spacing_mm:.3f} mm.",
        f"Ordered: {volume.requested_voxel_um} µm. "
        + (
            "Computed as ordered."
            if volume.spacing_mm * 1000.0 <= volume.requested_voxel_um + 0.5
            else "Computed coarser, so that it is there within seconds: finer detail than this is "
            "not in it, and its grain is that of these larger voxels."
        ),
        f"{volume.views} of {volume.views_planned} views over {math.degrees(volume.arc_rad):.0f} "
        f"degrees. Grain in the middle: about {volume.noise_hu:.0f} of a scale on which water is 0 "
        "and air -1000; the scale is not calibrated.",
    ]
    if volume.stopped_early:
        lines.append("The switch was let go early: views are missing.")
    if not volume.arc_is_enough:
        lines.append("The arc is too short: edges along some directions are lost.")
    if volume.metal_level is not MetalLevel.OFF:
        lines.append(
            f"Metal correction: {volume.metal_level}. Of metal outside the field only the "
            "darkest shadow is mended, and what lies next to metal is softened or lost with it."
        )
    lines.append(f"Not in it: scatter, the detector's lag, the arm's own blur. {SHORT_CAUTION}")
    return "\n".join(lines)

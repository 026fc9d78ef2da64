"""Recorded volumes that were computed before, in the user's cache folder."""

from __future__ import annotations

import json
from collections.abc import Callable

import numpy as np

from trainer.anatomy.head.packing import Arrays
from trainer.models.appointment_words import MetalLevel
from trainer.models.frames import Frame, RigidTransform
from trainer.models.images import RecordedVolume
from trainer.models.subject import Person
from trainer.services.assets import MESHES
from trainer.services.head_store import head_key, kept


def kept_volume(
    person: Person, head_spacing_mm: float, content: str, compute: Callable[[], RecordedVolume]
) -> RecordedVolume:
    """The volume of a person and of that content, from the cache or else computed and kept.

    ``content`` names everything but the head that decides what the volume holds.
    """
    name = f"volume-{head_key(person, MESHES, head_spacing_mm)}-{content[:32]}.npz"
    return kept(name, volume_of_arrays, lambda: arrays_of_volume(compute()))


# Fields that are numbers, switches and words.
_PLAIN = (
    "spacing_mm",
    "requested_voxel_um",
    "views",
    "views_planned",
    "arc_rad",
    "arc_is_enough",
    "low_dose",
    "noise_hu",
    "is_part",
)


def arrays_of_volume(volume: RecordedVolume) -> Arrays:
    """A volume as arrays by name; its whole numbers take 16 bits each."""
    plain = {name: getattr(volume, name) for name in _PLAIN} | {"metal": str(volume.metal_level)}
    out: Arrays = {
        "values": volume.values.astype(np.int16),
        "origin": volume.origin_mm,
        "inside": volume.inside,
        "plain": np.frombuffer(json.dumps(plain).encode(), np.uint8),
    }
    for way in (volume.skull_to_field, volume.mandible_to_field):
        out[f"{way.source}.turn"], out[f"{way.source}.move"] = way.rotation, way.translation_mm
    return out


def volume_of_arrays(arrays: Arrays) -> RecordedVolume:
    """The volume from what `arrays_of_volume` gave."""
    plain = json.loads(arrays["plain"].tobytes())
    skull, mandible = (
        RigidTransform(frame, Frame.FIELD, arrays[f"{frame}.turn"], arrays[f"{frame}.move"])
        for frame in (Frame.SKULL, Frame.MANDIBLE)
    )
    return RecordedVolume(
        values=arrays["values"].astype(np.float32),
        origin_mm=arrays["origin"],
        inside=arrays["inside"],
        skull_to_field=skull,
        mandible_to_field=mandible,
        metal_level=MetalLevel(plain.pop("metal")),
        **plain,
    )

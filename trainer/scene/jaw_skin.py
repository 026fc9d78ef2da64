"""How the skin follows the lower jaw, and the neck the torso."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.soft.torso import NeckBend, neck_bend
from trainer.engine.placement import Chain
from trainer.geometry.transforms import apply, chain, inverse
from trainer.models.frames import Frame
from trainer.models.meshes import DisplayPart, Tissue

Array = NDArray[np.float64]


def skin_and_torso(parts: Iterable[DisplayPart]) -> tuple[DisplayPart, DisplayPart | None]:
    """The head's skin among the parts, and the torso if there is one."""
    by_frame = {part.frame: part for part in parts if part.tissue is Tissue.SKIN}
    return by_frame[Frame.SKULL], by_frame.get(Frame.TORSO)


def bend_of(parts: Iterable[DisplayPart], chin_contact_mm: Array) -> NeckBend | None:
    """Where the neck bends; nothing for a head without torso, whose neck stays straight."""
    skin, torso = skin_and_torso(parts)
    return neck_bend(torso, skin, chin_contact_mm) if torso is not None else None


def skin_points(skin: DisplayPart, steps: Chain, bend: NeckBend | None = None) -> Array:
    """The skin's corners in the skull frame where the setup puts them: (n, 3) [mm].

    Each corner goes the share of the jaw's way that the part says; low on the neck the corners stay
    with the torso, whose frame at rest has the skull's coordinates.
    """
    rest = skin.vertices_mm.astype(np.float64)
    to_skull = inverse(steps.skull_to_gantry)
    found = rest
    if skin.jaw_share is not None:
        moved = apply(chain(steps.mandible_to_gantry, to_skull), rest)
        found = rest + skin.jaw_share.astype(np.float64)[:, None] * (moved - rest)
    if bend is not None:
        on_torso = apply(chain(steps.torso_to_gantry, to_skull), rest)
        found = found + bend.torso_share(rest[:, 2])[:, None] * (on_torso - found)
    return np.asarray(found)

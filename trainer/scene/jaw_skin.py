"""How the skin follows the lower jaw."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from trainer.engine.placement import Chain
from trainer.geometry.transforms import apply, chain, inverse
from trainer.models.meshes import DisplayPart

Array = NDArray[np.float64]


def skin_points(skin: DisplayPart, steps: Chain) -> Array:
    """The skin's corners in the skull frame with the jaw where the setup puts it: (n, 3) [mm].

    Each corner goes the share of the jaw's way that the part says.
    """
    rest = skin.vertices_mm.astype(np.float64)
    if skin.jaw_share is None:
        return rest
    jaw = chain(steps.mandible_to_gantry, inverse(steps.skull_to_gantry))
    moved = apply(jaw, rest)
    share = skin.jaw_share.astype(np.float64)[:, None]
    return np.asarray(rest + share * (moved - rest))

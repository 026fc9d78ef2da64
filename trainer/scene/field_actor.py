"""The recorded region in the 3-D view: a translucent solid of revolution and its rims."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from trainer.geometry.region import RecordedRegion, region_profile
from trainer.models.device import Beam, FieldSize
from trainer.scene.drawing import AROUND, rim_lines
from trainer.scene.layer_shell import layer_lines, layer_shell
from trainer.scene.palette import FIELD, FIELD_LINE
from trainer.scene.surfaces import OVER_ALL, actor_for, line_actor, line_data, surface_data

Array = NDArray[np.float64]

RINGS = 8
OPACITY = 0.22


def revolved(profile_mm: Array, around: int = AROUND) -> tuple[Array, NDArray[np.int64]]:
    """The surface that a half-plane outline sweeps round the axis.

    ``profile_mm`` (n, 2) is radius and height from the roof's middle to the floor's middle [mm].
    Returns corners (n * around, 3) [mm] and triangles with outward normals.
    """
    turn = np.arange(around) * (2.0 * np.pi / around)
    r, z = profile_mm[:, 0, None], profile_mm[:, 1, None]
    points = np.stack([r * np.cos(turn), r * np.sin(turn), np.broadcast_to(z, (len(r), around))],
                      axis=-1)  # fmt: skip
    i, j = np.meshgrid(np.arange(len(r) - 1), np.arange(around), indexing="ij")
    here, onward = i * around + j, i * around + (j + 1) % around
    below, below_onward = here + around, onward + around
    first = np.stack([here, below, onward], axis=-1).reshape(-1, 3)
    second = np.stack([onward, below, below_onward], axis=-1).reshape(-1, 3)
    faces = np.concatenate([first, second])
    vertices = points.reshape(-1, 3)
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    solid = np.linalg.norm(np.cross(b - a, c - a), axis=1) > 1e-9
    return vertices, faces[solid]


class FieldActor:
    """The field: one translucent surface, and lines that stay clear."""

    def __init__(self) -> None:
        vertices, faces = revolved(np.array([[0.0, 1.0], [1.0, 1.0], [1.0, -1.0], [0.0, -1.0]]))
        self.solid: Any = actor_for(surface_data(vertices, faces), FIELD)
        shine = self.solid.GetProperty()
        shine.SetOpacity(OPACITY)
        # one layer of glass: its far side is culled, so no sorting of layers is needed
        shine.BackfaceCullingOn()
        shine.SetAmbient(0.7)
        shine.SetDiffuse(0.3)
        self.rims: Any = line_actor(FIELD_LINE, 2.5, OVER_ALL)
        self._shown: tuple[RecordedRegion, tuple[FieldSize, Beam] | None] | None = None

    def actors(self) -> list[Any]:
        """Both actors."""
        return [self.solid, self.rims]

    def show(
        self,
        region: RecordedRegion,
        centre_mm: Array,
        visible: bool,
        layer: tuple[FieldSize, Beam] | None = None,
    ) -> None:
        """Show the region with its centre there in the gantry frame [mm].

        ``layer``: of a field with a sharp layer, and its beam, only the layer is shown.
        """
        for actor in self.actors():
            actor.SetVisibility(visible)
            actor.SetPosition(*centre_mm)
        if not visible or (region, layer) == self._shown:
            return
        self._shown = (region, layer)
        if layer is not None:
            self.solid.GetMapper().SetInputData(surface_data(*layer_shell(*layer)))
            self.rims.GetMapper().SetInputData(line_data(layer_lines(*layer)))
            return
        profile = region_profile(region, RINGS)
        self.solid.GetMapper().SetInputData(surface_data(*revolved(profile)))
        self.rims.GetMapper().SetInputData(line_data(rim_lines(profile)))

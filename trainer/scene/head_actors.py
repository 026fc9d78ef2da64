"""The head in the 3-D view: skin, bone, teeth, canals, and marks of the required structures."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.soft.torso import NeckBend
from trainer.engine.placement import Chain, StructurePlacement, worst
from trainer.models.frames import Frame
from trainer.models.meshes import DisplayPart, HeadMeshes, Tissue
from trainer.scene.drawing import ARROW_MM, WAY_STEP, frame_step, state_colour
from trainer.scene.jaw_skin import bend_of, skin_and_torso, skin_points
from trainer.scene.palette import (
    BONE,
    CERAMIC,
    METAL,
    MISSED,
    NERVE,
    PAPER,
    PLASTIC,
    SKIN,
    TOOTH,
    Rgb,
)
from trainer.scene.surfaces import (
    OVER_ALL,
    actor_for,
    corner_normals,
    joined,
    line_actor,
    line_data,
    parted_at_edges,
    set_matrix,
    surface_data,
)
from trainer.scene.vtk_frames import matrix4

Array = NDArray[np.float64]

COLOURS = {
    Tissue.BONE: BONE,
    Tissue.TOOTH: TOOTH,
    Tissue.NERVE: NERVE,
    Tissue.SKIN: SKIN,
    Tissue.METAL: METAL,
    Tissue.CERAMIC: CERAMIC,
    Tissue.PLASTIC: PLASTIC,
}
# What people carry; on the skin it shows too.
CARRIED = frozenset({Tissue.METAL, Tissue.CERAMIC, Tissue.PLASTIC})
# Marks stand this far off the surface they mark [mm].
MARK_SWELL_MM = 0.3
# Half the size of the cross on a missed structure, and of the arrow's barbs [mm].
CROSS_MM, BARB_MM = 3.5, 5.0
# Strokes that look like a cross from the front and from the side.
CROSS = np.array(
    [
        [[-1, 0, -1], [1, 0, 1]],
        [[-1, 0, 1], [1, 0, -1]],
        [[0, -1, -1], [0, 1, 1]],
        [[0, -1, 1], [0, 1, -1]],
    ],
    float,
)
# Height of the bands on a missed structure [mm].
BAND_MM = 1.6


class SkinActor:
    """The skin of one level of detail; it follows the jaw, and its neck the torso."""

    def __init__(self, part: DisplayPart, bend: NeckBend | None = None) -> None:
        self.part = part
        self.bend = bend
        self.points_mm = part.vertices_mm.astype(np.float64)
        self._source, self.faces = parted_at_edges(self.points_mm, part.faces.astype(np.int64))
        self.data = surface_data(self.points_mm[self._source], self.faces)
        self.actor = actor_for(self.data, SKIN)
        self._state: Array | None = None

    def follow(self, steps: Chain) -> None:
        """Bring the corners to where jaw and torso put them, and the skin to the gantry."""
        set_matrix(self.actor, matrix4(steps.skull_to_gantry))
        state = steps.skull_to_gantry.rotation.T @ steps.mandible_to_gantry.rotation
        if self.bend is not None:
            state = np.stack([state, steps.skull_to_gantry.rotation])
        if self._state is not None and np.allclose(state, self._state, atol=1e-9, rtol=0):
            return
        self._state = state
        self.points_mm = skin_points(self.part, steps, self.bend)
        shown = self.points_mm[self._source]
        self.data.points = shown.astype(np.float32)
        self.data.point_data.active_normals = corner_normals(shown, self.faces)


class HeadActors:
    """All actors of one level of detail.

    Attributes
    ----------
    skin : SkinActor
        The skin.
    torso : actor or None
        Neck base and shoulders, if the head has them.
    inner : list of (actor, Frame)
        Bone, teeth and canals, joined by tissue and frame so that there are few to draw.
    carried : list of (actor, Frame)
        Repairs, appliances and worn things, joined likewise; the skin covers those in the mouth.
    """

    def __init__(self, parts: Sequence[DisplayPart], chin_contact_mm: Array) -> None:
        skin, torso = skin_and_torso(parts)
        self.skin = SkinActor(skin, bend_of(parts, chin_contact_mm))
        self.torso: Any = None
        if torso is not None:
            at = torso.vertices_mm.astype(np.float64)
            self.torso = actor_for(surface_data(at, torso.faces.astype(np.int64)), SKIN)
        self.inner: list[tuple[Any, Frame]] = []
        self.carried: list[tuple[Any, Frame]] = []
        groups: dict[tuple[Tissue, Frame], list[DisplayPart]] = {}
        for part in parts:
            if part.tissue is not Tissue.SKIN:
                groups.setdefault((part.tissue, part.frame), []).append(part)
        for (tissue, frame), members in groups.items():
            vertices, faces = joined(members)
            data = surface_data(vertices.astype(np.float64), faces)
            actors = self.carried if tissue in CARRIED else self.inner
            actors.append((actor_for(data, COLOURS[tissue]), frame))

    def actors(self) -> Iterable[Any]:
        """Every actor."""
        torso = [] if self.torso is None else [self.torso]
        return [self.skin.actor, *torso, *(actor for actor, _ in [*self.inner, *self.carried])]

    def show(self, steps: Chain, look_inside: bool) -> None:
        """Place what is visible: the skin, or what lies under it."""
        self.skin.actor.SetVisibility(not look_inside)
        # also when hidden: the light curves are taken from the skin as it stands now
        self.skin.follow(steps)
        if self.torso is not None:
            self.torso.SetVisibility(not look_inside)
            set_matrix(self.torso, matrix4(steps.torso_to_gantry))
        for actor, _ in self.inner:
            actor.SetVisibility(look_inside)
        for actor, _ in self.carried:
            actor.SetVisibility(True)
        for actor, frame in [*(self.inner if look_inside else []), *self.carried]:
            set_matrix(actor, matrix4(frame_step(steps, frame)))

    def hide(self) -> None:
        """Take every actor out of the picture."""
        for actor in self.actors():
            actor.SetVisibility(False)


class MarkActors:
    """Marks of the required structures, drawn over everything: a colour, and bands if missed."""

    def __init__(self, meshes: HeadMeshes) -> None:
        self._meshes = meshes
        self._by_frame: dict[Frame, tuple[Any, list[tuple[str, int]]]] = {}
        self._bands: dict[Frame, NDArray[np.bool_]] = {}
        self._asked: tuple[str, ...] = ()
        self._states: tuple[tuple[str, Rgb], ...] | None = None
        self.cross = line_actor(MISSED, 3.0, OVER_ALL)
        self.marks = {f: actor_for(line_data(np.zeros((0, 2, 3))), None, OVER_ALL)
                      for f in (Frame.SKULL, Frame.MANDIBLE)}  # fmt: skip

    def actors(self) -> Iterable[Any]:
        """Every actor."""
        return [*self.marks.values(), self.cross]

    def show(self, steps: Chain, required: Sequence[StructurePlacement], visible: bool) -> None:
        """Mark the structures with the colour of their state; missed ones get white bands."""
        for actor in self.actors():
            actor.SetVisibility(visible)
        if not visible:
            return
        asked = tuple(s.structure.id for s in required)
        if asked != self._asked:
            self._build(required)
            self._asked, self._states = asked, None
        states = tuple((s.structure.id, state_colour(s)) for s in required)
        if states != self._states:
            self._colour(required)
            self._states = states
        for frame in self._by_frame:
            set_matrix(self.marks[frame], matrix4(frame_step(steps, frame)))
        self.cross.GetMapper().SetInputData(line_data(self._crosses(steps, required)))

    def _colour(self, required: Sequence[StructurePlacement]) -> None:
        not_held = {s.structure.id for s in required if not s.holds}
        colour_of = {s.structure.id: state_colour(s) for s in required}
        for frame, (data, members) in self._by_frame.items():
            rows = [np.tile(np.array(colour_of[key], np.uint8), (n, 1)) for key, n in members]
            colours = np.concatenate(rows)
            missed = np.repeat([key in not_held for key, _ in members], [n for _, n in members])
            colours[missed & self._bands[frame]] = PAPER
            data.cell_data["rgb"] = colours
            data.cell_data.active_scalars_name = "rgb"

    def _build(self, required: Sequence[StructurePlacement]) -> None:
        self._by_frame = {}
        for frame in (Frame.SKULL, Frame.MANDIBLE):
            parts = [self._meshes.of_structure[s.structure.id] for s in required
                     if s.structure.frame is frame]  # fmt: skip
            self.marks[frame].SetVisibility(bool(parts))
            if not parts:
                self.marks[frame].GetMapper().SetInputData(line_data(np.zeros((0, 2, 3))))
                continue
            vertices, faces = joined(parts)
            at = vertices.astype(np.float64)
            data = surface_data(at + MARK_SWELL_MM * corner_normals(at, faces), faces)
            mapper = self.marks[frame].GetMapper()
            mapper.SetInputData(data)
            mapper.SetScalarModeToUseCellData()
            mapper.SetColorModeToDirectScalars()
            # every other band of a missed structure is white: a second mark beside the colour
            height = at[faces].mean(axis=1)[:, 2]
            self._bands[frame] = np.floor(height / BAND_MM).astype(int) % 2 == 0
            self._by_frame[frame] = (data, [(p.id, len(p.faces)) for p in parts])

    def _crosses(self, steps: Chain, required: Sequence[StructurePlacement]) -> Array:
        """A cross on the structure that misses most, and an arrow the way it has to go."""
        if not required:
            return np.zeros((0, 2, 3))
        found = worst(required)
        if found.holds:
            return np.zeros((0, 2, 3))
        step = frame_step(steps, found.structure.frame)
        at = step.rotation @ found.structure.centre_mm + step.translation_mm
        along = np.array(WAY_STEP[found.way])
        tip = ARROW_MM * along
        barbs = [
            [tip, tip - BARB_MM * (along + 0.6 * side)]
            for axis in np.eye(3)[np.abs(along) < 0.5]
            for side in (axis, -axis)
        ]
        return np.concatenate([CROSS_MM * CROSS, [[0.0 * tip, tip]], barbs]) + at

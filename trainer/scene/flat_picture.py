"""What a flat view shows, as shapes in millimetres that any painter can draw.

The gantry frame stands still and the head moves in it. Coordinates are (across, up) of
`scene.outlines`; both the window's painter and the exported picture draw these same shapes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trainer.engine.placement import Chain, Placement, StructurePlacement
from trainer.geometry.region import region_profile
from trainer.models.device import Unit
from trainer.models.frames import Frame, RigidTransform
from trainer.models.meshes import DisplayPart, HeadMeshes, Tissue
from trainer.scene.drawing import (
    ARROW_MM,
    MOST_NAMES,
    POST_HALF_MM,
    SUPPORT_BLOCK_MM,
    SUPPORT_HALF_MM,
    SUPPORT_POST_MM,
    WAY_STEP,
    frame_step,
    short_name,
    state_colour,
    worst_first,
)
from trainer.scene.jaw_skin import bend_of, skin_and_torso, skin_points
from trainer.scene.light_curves import light_names, light_sheets
from trainer.scene.outlines import (
    AXES,
    Flat,
    Outline,
    Surface,
    facing_triangles,
    outlines,
    surface,
)
from trainer.scene.palette import (
    BONE,
    BONE_LINE,
    CERAMIC,
    CERAMIC_LINE,
    FIELD,
    FIELD_LINE,
    LIGHT,
    LINE,
    METAL,
    METAL_LINE,
    NERVE,
    PLASTIC,
    PLASTIC_LINE,
    QUIET_TEXT,
    SKIN,
    SKIN_LINE,
    SKIN_SHADOW,
    SUPPORT,
    TEXT,
    TOOTH,
    TOOTH_LINE,
    Rgb,
)

Array = NDArray[np.float64]

# The part of the gantry frame that a flat view shows: across and up, lowest and highest [mm].
WINDOW_MM: dict[Flat, tuple[float, float, float, float]] = {
    Flat.FRONT: (-86.0, 86.0, -54.0, 136.0),
    Flat.SIDE: (-98.0, 74.0, -54.0, 136.0),
}
LETTERS: dict[Flat, tuple[str, str]] = {Flat.FRONT: ("R", "L"), Flat.SIDE: ("back", "front")}
TITLES = {Flat.FRONT: "From the front", Flat.SIDE: "From the patient's right"}
CROSS_MM = (1.4, 3.0)


@dataclass(frozen=True, slots=True)
class Area:
    """A filled outline, moved by ``shift_mm``. ``hatched`` is the second mark of what is missed.

    ``triangles`` (k, 3, 2) cover the same as the outline, for painters that cannot fill it; they
    are there only when asked for.
    """

    seen: Outline
    shift_mm: Array
    fill: Rgb | None
    line: Rgb | None
    line_px: float = 1.4
    hatched: bool = False
    triangles: Array | None = None


@dataclass(frozen=True, slots=True)
class Strokes:
    """Straight pieces (k, 2, 2)."""

    pieces_mm: Array
    colour: Rgb
    line_px: float = 1.5
    dashed: bool = False


@dataclass(frozen=True, slots=True)
class Polygon:
    """One closed outline (n, 2); ``opacity`` of its filling, 0 to 1."""

    points_mm: Array
    fill: Rgb | None
    line: Rgb | None
    line_px: float = 2.0
    opacity: float = 1.0


@dataclass(frozen=True, slots=True)
class Words:
    """Text at a place. ``anchor``: what part of it stands there, left, middle or right."""

    at_mm: tuple[float, float]
    text: str
    colour: Rgb
    anchor: str = "middle"
    strong: bool = False
    boxed: bool = False


@dataclass(frozen=True, slots=True)
class Arrow:
    """An arrow from one place to another."""

    start_mm: tuple[float, float]
    end_mm: tuple[float, float]
    colour: Rgb


Shape = Area | Strokes | Polygon | Words | Arrow
Seen = tuple[Outline, Array | None]


@dataclass(frozen=True, slots=True)
class FlatPicture:
    """The shapes of one view, rearmost first, and the part of the frame they are made for."""

    view: Flat
    window_mm: tuple[float, float, float, float]
    shapes: tuple[Shape, ...]


class FlatHead:
    """A head prepared for the flat views; remembers the last outlines of every group.

    Groups move as one: the skin, the torso, what goes with the skull, what goes with the lower jaw,
    and the mark of each structure. Outlines are made again only when a group has turned.
    """

    def __init__(self, meshes: HeadMeshes, with_triangles: bool = False) -> None:
        self.meshes = meshes
        self._with_triangles = with_triangles
        self.skin, self.torso = skin_and_torso(meshes.coarse)
        self._bend = bend_of(meshes.coarse, meshes.head.chin_contact_mm)
        self._skin_surface = surface([(self.skin.vertices_mm, self.skin.faces)])
        self.inner: dict[Frame, list[DisplayPart]] = {}
        for part in meshes.coarse:
            if part.tissue is not Tissue.SKIN:
                self.inner.setdefault(part.frame, []).append(part)
        self._surfaces: dict[str, Surface] = {
            frame: surface([(p.vertices_mm, p.faces) for p in parts])
            for frame, parts in self.inner.items()
        }
        if self.torso is not None:
            self._surfaces["torso"] = surface([(self.torso.vertices_mm, self.torso.faces)])
        self._seen: dict[tuple[str, Flat], tuple[bytes, list[Seen]]] = {}

    def seen_inner(self, frame: Frame, steps: Chain, view: Flat) -> list[Seen]:
        """Outlines of ``inner[frame]``, in that order."""
        return self._outlines(frame, self._surfaces[frame], frame_step(steps, frame), view)

    def seen_mark(self, structure_id: str, steps: Chain, view: Flat) -> Seen:
        """Outline of the surface that marks a structure."""
        part = self.meshes.of_structure[structure_id]
        shape = self._surfaces.get(structure_id)
        if shape is None:
            shape = self._surfaces[structure_id] = surface([(part.vertices_mm, part.faces)])
        return self._outlines(structure_id, shape, frame_step(steps, part.frame), view)[0]

    def seen_skin(self, steps: Chain, view: Flat) -> Seen:
        """Outline of the skin; it also changes its form with the jaw and the torso."""
        step = steps.skull_to_gantry
        rest = self._skin_surface
        jaw = steps.mandible_to_gantry.rotation.tobytes()
        key, state = ("skin", view), step.rotation.tobytes() + jaw
        held = self._seen.get(key)
        if held is None or held[0] != state:
            points = skin_points(self.skin, steps, self._bend)
            bent = Surface(points, rest.faces, rest.edges, rest.starts)
            held = self._seen[key] = (state, self._look(bent, step.rotation, view))
        return held[1][0]

    def seen_torso(self, steps: Chain, view: Flat) -> Seen:
        """Outline of the torso; only for a head that has one."""
        return self._outlines("torso", self._surfaces["torso"], steps.torso_to_gantry, view)[0]

    def _outlines(self, name: str, shape: Surface, step: RigidTransform, view: Flat) -> list[Seen]:
        key, state = (name, view), step.rotation.tobytes()
        held = self._seen.get(key)
        if held is None or held[0] != state:
            held = self._seen[key] = (state, self._look(shape, step.rotation, view))
        return held[1]

    def _look(self, shape: Surface, rotation: Array, view: Flat) -> list[Seen]:
        seen = outlines(shape, rotation, view)
        if not self._with_triangles:
            return [(one, None) for one in seen]
        return list(zip(seen, facing_triangles(shape, rotation, view), strict=True))


def flat_picture(
    view: Flat,
    head: FlatHead,
    unit: Unit,
    placement: Placement,
    steps: Chain,
    look_inside: bool,
) -> FlatPicture:
    """What the view shows for a placement; ``steps`` is the chain of its setup.

    Without ``look_inside`` bone, field and structures stay hidden, as they do at a real unit.
    """
    window = WINDOW_MM[view]
    shapes: list[Shape] = _support(view, unit, placement)
    seen, triangles = head.seen_skin(steps, view)
    shift = to_picture(steps.skull_to_gantry.translation_mm, view)
    ground = SKIN_SHADOW if look_inside else SKIN
    if head.torso is not None:
        body, body_triangles = head.seen_torso(steps, view)
        at = to_picture(steps.torso_to_gantry.translation_mm, view)
        shapes.append(Area(body, at, ground, SKIN_LINE, 1.8, triangles=body_triangles))
    shapes.append(Area(seen, shift, ground, SKIN_LINE, 1.8, triangles=triangles))
    if look_inside:
        shapes += _inner(view, head, steps)
    else:
        shapes.append(Strokes(seen.near_lines + shift, SKIN_LINE, 1.0))
    shapes += _lights(view, unit, placement, window)
    if look_inside:
        shapes += _field(view, steps, placement)
        shapes += _marks(view, head, steps, placement, window)
    shapes += _scale(window)
    shapes += _letters(view, window)
    return FlatPicture(view, window, tuple(shapes))


def to_picture(points_mm: Array, view: Flat) -> Array:
    """Gantry points (..., 3) [mm] as (across, up) of the view."""
    return np.asarray(points_mm, float) @ AXES[view].T


def _support(view: Flat, unit: Unit, placement: Placement) -> list[Shape]:
    half = SUPPORT_HALF_MM[0 if view is Flat.FRONT else 1]
    centre = 0.0 if view is Flat.FRONT else unit.support_forward_mm
    top = placement.setup.chin_height_mm
    shapes: list[Shape] = []
    for wide, high, low in (
        (POST_HALF_MM, top - SUPPORT_BLOCK_MM, top - SUPPORT_POST_MM),
        (half, top, top - SUPPORT_BLOCK_MM),
    ):
        box = np.array([[-wide, low], [wide, low], [wide, high], [-wide, high]]) + [centre, 0.0]
        shapes.append(Polygon(box, SUPPORT, None))
    return shapes


# From what is painted first to what covers all.
INNER_ORDER = (
    Tissue.BONE,
    Tissue.NERVE,
    Tissue.PLASTIC,
    Tissue.TOOTH,
    Tissue.CERAMIC,
    Tissue.METAL,
)


def _inner(view: Flat, head: FlatHead, steps: Chain) -> list[Shape]:
    colours = {
        Tissue.BONE: (BONE, BONE_LINE),
        Tissue.TOOTH: (TOOTH, TOOTH_LINE),
        Tissue.NERVE: (None, NERVE),
        Tissue.METAL: (METAL, METAL_LINE),
        Tissue.CERAMIC: (CERAMIC, CERAMIC_LINE),
        Tissue.PLASTIC: (PLASTIC, PLASTIC_LINE),
    }
    order = {tissue: place for place, tissue in enumerate(INNER_ORDER)}
    areas: list[tuple[int, Shape]] = []
    for frame, parts in head.inner.items():
        shift = to_picture(frame_step(steps, frame).translation_mm, view)
        for part, (seen, triangles) in zip(parts, head.seen_inner(frame, steps, view), strict=True):
            fill, line = colours[part.tissue]
            area = Area(seen, shift, fill, line, 1.0, triangles=triangles)
            areas.append((order[part.tissue], area))
    return [area for _, area in sorted(areas, key=lambda pair: pair[0])]


def _lights(
    view: Flat, unit: Unit, placement: Placement, window: tuple[float, float, float, float]
) -> list[Shape]:
    """Light planes seen edge on, each with its name at the picture's rim."""
    left, right, low, high = window
    shapes: list[Shape] = []
    across_column = 0 if view is Flat.FRONT else 1
    names_up = 0
    for (column, at_mm), words in light_names(light_sheets(unit, placement.setup)).items():
        if column == 2:
            ends = [[left, at_mm], [right, at_mm]]
            at, anchor = (right - 2.0, at_mm - 5.0), "right"
        elif column == across_column:
            u = at_mm if view is Flat.FRONT else -at_mm
            ends = [[u, low], [u, high]]
            at, anchor = (u + 2.0, high - 12.0 - 8.0 * names_up), "left"
            if u > 30.0:
                at, anchor = (u - 2.0, at[1]), "right"
            names_up += 1
        else:
            continue
        shapes.append(Strokes(np.array([ends]), LIGHT, 2.0))
        shapes.append(Words(at, words, LIGHT, anchor, boxed=True))
    return shapes


def field_outline(placement: Placement, steps: Chain, view: Flat) -> Array:
    """The recorded region's outline in a view, with what the cone loses: (n, 2) [mm]."""
    profile = region_profile(placement.region, rings=12)
    mirrored = profile[::-1] * np.array([-1.0, 1.0])
    whole = np.concatenate([profile, mirrored])
    centre = to_picture(-steps.gantry_to_field.translation_mm, view)
    return np.asarray(whole + centre)


def _field(view: Flat, steps: Chain, placement: Placement) -> list[Shape]:
    points = field_outline(placement, steps, view)
    return [
        Polygon(points, FIELD, FIELD_LINE, 2.6, opacity=0.16),
        Words(
            (float(points[:, 0].mean()), float(points[:, 1].max()) + 3.5),
            "field", FIELD_LINE, boxed=True,
        ),
    ]  # fmt: skip


def _marks(
    view: Flat,
    head: FlatHead,
    steps: Chain,
    placement: Placement,
    window: tuple[float, float, float, float],
) -> list[Shape]:
    """Required structures: those that hold first, the worst missed last and on top."""
    areas: list[Shape] = []
    names: list[tuple[float, float, StructurePlacement]] = []
    arrows: list[Shape] = []
    for found in reversed(worst_first(placement.required)):
        structure = found.structure
        step = frame_step(steps, structure.frame)
        seen, triangles = head.seen_mark(structure.id, steps, view)
        shift = to_picture(step.translation_mm, view)
        colour = state_colour(found)
        areas.append(
            Area(seen, shift, colour, colour, 1.6, hatched=not found.holds, triangles=triangles)
        )
        if found.holds:
            continue
        centre = to_picture(step.rotation @ structure.centre_mm + step.translation_mm, view)
        u, v = float(centre[0]), float(centre[1])
        arm = float(np.clip(structure.extent_mm / 6.0, *CROSS_MM))
        cross = np.array([[[-arm, -arm], [arm, arm]], [[-arm, arm], [arm, -arm]]]) + centre
        areas.append(Strokes(cross, colour, 2.2))
        du, dv = to_picture(np.array(WAY_STEP[found.way]), view)
        if abs(du) + abs(dv) > 0.5:
            arrows.append(Arrow((u, v), (u + ARROW_MM * du, v + ARROW_MM * dv), colour))
        names.append((u, v, found))
    return areas + arrows[-MOST_NAMES:] + _names(names[-MOST_NAMES:], window)


def _names(
    names: Sequence[tuple[float, float, StructurePlacement]],
    window: tuple[float, float, float, float],
) -> list[Shape]:
    """Names of missed structures below them."""
    shapes: list[Shape] = []
    left, right, low, _ = window
    v = low + 15.0
    for u, at_v, found in sorted(names, key=lambda n: -n[1]):
        # under the picture's busy part, with a line that leads to it
        anchor, at = ("left", left + 24.0) if u < (left + right) / 2.0 else ("right", right - 4.0)
        colour = state_colour(found)
        shapes.append(Strokes(np.array([[[u, at_v], [u, v]]]), colour, 1.2))
        shapes.append(Words((at, v), short_name(found), colour, anchor, strong=True, boxed=True))
        v += 9.0
    return shapes


def _scale(window: tuple[float, float, float, float]) -> list[Shape]:
    """Rulers along the left and lower edge: heights count from the zero plane, in mm."""
    left, right, low, high = window
    shapes: list[Shape] = []
    up = np.arange(np.ceil(low / 10) * 10, high, 10.0)
    long_up = np.where(up % 20 == 0, 4.0, 2.0)
    ticks_up = np.stack(
        [np.column_stack([np.full_like(up, left), up]), np.column_stack([left + long_up, up])],
        axis=1,
    )
    across = np.arange(np.ceil(left / 10) * 10, right, 10.0)
    long_across = np.where(across % 20 == 0, 4.0, 2.0)
    ticks_across = np.stack(
        [
            np.column_stack([across, np.full_like(across, low)]),
            np.column_stack([across, low + long_across]),
        ],
        axis=1,
    )
    shapes.append(Strokes(np.concatenate([ticks_up, ticks_across]), QUIET_TEXT, 1.0))
    for value in up[(up % 20 == 0) & (up > low + 12.0) & (up < high - 20.0)]:
        shapes.append(Words((left + 5.5, float(value)), f"{value:g}", QUIET_TEXT, "left"))
    for value in across[across % 40 == 0]:
        if left + 14.0 < value < right - 14.0:
            shapes.append(Words((float(value), low + 7.0), f"{abs(value):g}", QUIET_TEXT))
    shapes.append(Words((right - 2.0, low + 7.0), "mm", QUIET_TEXT, "right"))
    shapes.append(
        Strokes(np.array([[[left, low], [left, high]], [[left, low], [right, low]]]), LINE, 1.0)
    )
    return shapes


def _letters(view: Flat, window: tuple[float, float, float, float]) -> list[Shape]:
    left, right, _, high = window
    at_left, at_right = LETTERS[view]
    v = high - 6.5
    return [
        Words((left + 8.0, v), at_left, TEXT, "left", strong=True, boxed=True),
        Words((right - 6.0, v), at_right, TEXT, "right", strong=True, boxed=True),
    ]

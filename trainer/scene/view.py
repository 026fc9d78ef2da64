"""The 3-D view: what is shown for a placement, and from where."""

from __future__ import annotations

from typing import Any

import numpy as np
import pyvista
from numpy.typing import NDArray
from vtkmodules.util.numpy_support import vtk_to_numpy
from vtkmodules.vtkCommonCore import vtkUnsignedCharArray
from vtkmodules.vtkRenderingCore import vtkTextActor

from trainer.engine.placement import Chain, Placement
from trainer.models.device import Unit
from trainer.models.meshes import HeadMeshes
from trainer.scene.drawing import (
    MOST_NAMES,
    POST_HALF_MM,
    SUPPORT_BLOCK_MM,
    SUPPORT_HALF_MM,
    SUPPORT_POST_MM,
    frame_step,
    short_name,
    state_colour,
    worst_first,
)
from trainer.scene.field_actor import FieldActor
from trainer.scene.head_actors import HeadActors, MarkActors
from trainer.scene.light_curves import light_curve, light_sheets
from trainer.scene.palette import GROUND, LIGHT, QUIET_TEXT, SUPPORT, TEXT, Rgb, unit_rgb
from trainer.scene.surfaces import OVER_ALL, actor_for, line_actor, line_data, surface_data
from trainer.scene.vtk_frames import (
    LOOKS_AT_HEIGHT_MM,
    Look,
    camera_place,
    letter_places,
    on_screen,
    read_camera,
    set_camera,
)

Array = NDArray[np.float64]

# The one lamp goes with the camera: where it stands (right, up, towards the viewer). Each further
# lamp costs a software renderer 4 ms a picture.
LAMP = (-0.45, 0.6, 1.0)
LETTER_PX = 20
NAME_PX = 15
# Corners of the twelve triangles of a box, corners counted sideways, then back, then up.
BOX_SIDES = (
    (0, 2, 1, 1, 2, 3),
    (4, 5, 6, 5, 7, 6),
    (0, 1, 4, 1, 5, 4),
    (2, 6, 3, 3, 6, 7),
    (0, 4, 2, 2, 4, 6),
    (1, 3, 5, 3, 7, 5),
)
# How far the pieces of a light curve overlap [mm], about a pixel.
OVERLAP_MM = 0.8
# How near and how far the view may be zoomed: half the picture's height [mm].
HALF_HEIGHTS_MM = (20.0, 220.0)
# The scale beside the support: its distance from the midline and its longest mark [mm].
SCALE_SIDE_MM, SCALE_TOP_MM = 62.0, 100.0


def look_at_target(placement: Placement) -> Look:
    """From the front of the side on which most of the required structures lie."""
    left = sum(s.structure.centre_mm[0] > 0.0 for s in placement.required)
    return Look.LEFT_FRONT if 2 * left > len(placement.required) else Look.RIGHT_FRONT


class TrainerScene:
    """Draws placements into a pyvista plotter that is given from outside.

    ``show`` and ``look_from`` change what is there; ``picture`` draws it. Nothing is drawn on its
    own.
    """

    def __init__(self, plotter: Any, meshes: HeadMeshes, unit: Unit) -> None:
        self.plotter = plotter
        self.meshes = meshes
        self.unit = unit
        self.fine = HeadActors(meshes.fine, meshes.head.chin_contact_mm)
        self.coarse = HeadActors(meshes.coarse, meshes.head.chin_contact_mm)
        self.marks = MarkActors(meshes)
        self.field = FieldActor()
        self.other_field = line_actor(TEXT, 2.5, OVER_ALL)
        self.lights = line_actor(LIGHT, 3.0)
        self.support = actor_for(_support_block(), SUPPORT)
        self.scale = line_actor(QUIET_TEXT, 1.5, 0.0)
        self.scale.GetMapper().SetInputData(line_data(_scale_lines(unit)))
        self.letters = {letter: _text(letter, LETTER_PX, TEXT) for letter in ("R", "L")}
        self.names = [_text("", NAME_PX, TEXT) for _ in range(MOST_NAMES)]
        self._named_at: list[Array] = []
        plotter.set_background(unit_rgb(GROUND))
        plotter.remove_all_lights()
        plotter.add_light(pyvista.Light(light_type="camera light", position=LAMP))
        renderer = plotter.renderer
        for actor in self._actors():
            renderer.AddActor(actor)
        for text in (*self.names, *self.letters.values()):
            renderer.AddViewProp(text)
        # letters and names follow every move of the camera, just before each picture
        self._observer = renderer.AddObserver("StartEvent", self._place_texts)
        self._renderer = renderer
        self.look_from(Look.RIGHT_FRONT)

    def _actors(self) -> list[Any]:
        return [
            *self.fine.actors(),
            *self.coarse.actors(),
            *self.marks.actors(),
            *self.field.actors(),
            self.other_field,
            self.lights,
            self.support,
            self.scale,
        ]

    def show(
        self, placement: Placement, steps: Chain, look_inside: bool, moving: bool = False
    ) -> None:
        """Bring everything to where the placement puts it; ``steps`` is the chain of its setup.

        ``look_inside`` shows bone, field and marks in place of the skin; ``moving`` shows the
        coarse surfaces.
        """
        used, unused = (self.coarse, self.fine) if moving else (self.fine, self.coarse)
        unused.hide()
        used.show(steps, look_inside)
        centre = -steps.gantry_to_field.translation_mm
        field = placement.field
        layer = (field, self.unit.beam) if field.layer is not None else None
        self.field.show(placement.region, centre, look_inside, layer)
        self.marks.show(steps, placement.required, look_inside)
        self.lights.GetMapper().SetInputData(line_data(self._light_pieces(used, steps, placement)))
        at = np.array([0.0, -self.unit.support_forward_mm, placement.setup.chin_height_mm])
        self.support.SetPosition(*at)
        # a name that moves is drawn anew in every picture, which costs more than the head
        self._name_missed(placement, steps, look_inside and not moving)

    def show_other_field(self, pieces_mm: Array) -> None:
        """Show a second field by its rims, (k, 2, 3) in the gantry frame [mm]; k = 0 for none."""
        self.other_field.GetMapper().SetInputData(line_data(pieces_mm))

    def look_from(self, look: Look) -> None:
        """Put the camera there."""
        middle = np.array([0.0, -self.unit.support_forward_mm + 25.0, LOOKS_AT_HEIGHT_MM])
        set_camera(self.plotter.camera, camera_place(look, middle))
        self.plotter.renderer.ResetCameraClippingRange()

    def turn(self, sideways_deg: float, up_deg: float) -> None:
        """Walk the camera round the patient, and up or down."""
        camera = self.plotter.camera
        camera.Azimuth(sideways_deg)
        towards = read_camera(camera)
        ahead = towards.looks_at_mm - towards.position_mm
        slope = np.degrees(np.arcsin(-ahead[2] / np.linalg.norm(ahead)))
        # stay off the poles, where "up" has no meaning
        camera.Elevation(float(np.clip(slope + up_deg, -80.0, 80.0) - slope))
        camera.SetViewUp(0.0, 0.0, 1.0)
        self.plotter.renderer.ResetCameraClippingRange()

    def zoom(self, factor: float) -> None:
        """Bring the view nearer, within bounds."""
        camera = self.plotter.camera
        half = float(np.clip(camera.GetParallelScale() / factor, *HALF_HEIGHTS_MM))
        camera.SetParallelScale(half)

    def picture(self, size_px: tuple[int, int]) -> NDArray[np.uint8]:
        """The picture as it is now: (h, w, 4) uint8, top row first."""
        window = self.plotter.render_window
        if tuple(window.GetSize()) != size_px:
            window.SetSize(*size_px)
        window.Render()
        width, height = size_px
        pixels = vtkUnsignedCharArray()
        window.GetRGBACharPixelData(0, 0, width - 1, height - 1, 0, pixels)
        rows = vtk_to_numpy(pixels).reshape(height, width, 4)
        return np.ascontiguousarray(rows[::-1])

    def close(self) -> None:
        """Take everything out of the plotter again."""
        self._renderer.RemoveObserver(self._observer)
        for prop in (*self._actors(), *self.letters.values(), *self.names):
            self._renderer.RemoveViewProp(prop)

    def _light_pieces(self, used: HeadActors, steps: Chain, placement: Placement) -> Array:
        skin = used.skin
        curves = [
            light_curve(sheet, skin.points_mm, skin.part.faces, steps.skull_to_gantry)
            for sheet in light_sheets(self.unit, placement.setup)
        ]
        pieces = np.concatenate([np.zeros((0, 2, 3)), *curves])
        # drawn without smoothing, pieces that just meet leave gaps: let them overlap
        along = pieces[:, 1] - pieces[:, 0]
        longer = OVERLAP_MM / np.maximum(np.linalg.norm(along, axis=1), 1e-6)
        half = 0.5 * along * longer[:, None]
        return np.stack([pieces[:, 0] - half, pieces[:, 1] + half], axis=1)

    def _name_missed(self, placement: Placement, steps: Chain, visible: bool) -> None:
        missed = [s for s in worst_first(placement.required) if not s.holds]
        self._named_at = []
        for text, found in zip(self.names, missed, strict=False):
            step = frame_step(steps, found.structure.frame)
            self._named_at.append(step.rotation @ found.structure.centre_mm + step.translation_mm)
            words, colour = short_name(found), unit_rgb(state_colour(found))
            # touched only when they differ: VTK makes the letters' image anew at every touch
            if text.GetInput() != words:
                text.SetInput(words)
            if text.GetTextProperty().GetColor() != colour:
                text.GetTextProperty().SetColor(*colour)
        for number, text in enumerate(self.names):
            text.SetVisibility(visible and number < len(missed))

    def _place_texts(self, *_: Any) -> None:
        place = read_camera(self.plotter.camera)
        width, height = self._renderer.GetSize()
        places = letter_places(place, width, height)
        for letter, at in places.items():
            text = self.letters[letter]
            text.SetVisibility(at is not None)
            if at is not None:
                _move(text, at[0], at[1])
        taken = [at[1] for at in places.values() if at is not None]
        for text, at_mm in zip(self.names, self._named_at, strict=False):
            x, y = on_screen(place, at_mm, width, height)[0]
            y = float(np.clip(y - 24.0, 12.0, height - 12.0))
            while any(abs(y - t) < 24.0 for t in taken):
                y += 4.0
            taken.append(y)
            rightwards = x < width / 2.0
            justified = 0 if rightwards else 2
            if text.GetTextProperty().GetJustification() != justified:
                text.GetTextProperty().SetJustification(justified)
            x = float(np.clip(x + (10 if rightwards else -10), 4, width - 4))
            size = [0.0, 0.0]
            text.GetSize(self._renderer, size)
            # drawn in from the edge it would run over
            x = max(4.0, min(x, width - 4.0 - size[0])) if rightwards else max(x, 4.0 + size[0])
            _move(text, x, y)


def _move(text: Any, x_px: float, y_px: float) -> None:
    # whole pixels: letters stay sharp, and small shifts cost nothing
    at = (float(round(x_px)), float(round(y_px)))
    if tuple(text.GetPosition()) != at:
        text.SetPosition(*at)


def _text(words: str, size_px: int, colour: Rgb) -> Any:
    actor = vtkTextActor()
    actor.SetInput(words)
    look = actor.GetTextProperty()
    look.SetFontSize(size_px)
    look.SetBold(True)
    look.SetColor(*unit_rgb(colour))
    look.SetBackgroundColor(1.0, 1.0, 1.0)
    look.SetBackgroundOpacity(0.85)
    look.SetJustificationToCentered()
    look.SetVerticalJustificationToCentered()
    return actor


def _support_block() -> Any:
    """The chin support as a block on a post, its top at the origin."""
    half_x, half_y = SUPPORT_HALF_MM
    boxes = [
        (half_x, half_y, -SUPPORT_BLOCK_MM, 0.0),
        (POST_HALF_MM, POST_HALF_MM, -SUPPORT_POST_MM, -SUPPORT_BLOCK_MM),
    ]
    corners, faces = [], []
    for number, (x, y, low, high) in enumerate(boxes):
        signs = np.array([[i, j, k] for k in (0, 1) for j in (-1, 1) for i in (-1, 1)], float)
        box = signs * [x, y, 1.0]
        box[:, 2] = np.where(signs[:, 2] > 0, high, low)
        sides = np.array(BOX_SIDES).reshape(12, 3)
        # every side has corners of its own, so that edges stay sharp
        corners.append(box[sides].reshape(-1, 3))
        faces.append(np.arange(36).reshape(12, 3) + 36 * number)
    return surface_data(np.concatenate(corners), np.concatenate(faces))


def _scale_lines(unit: Unit) -> Array:
    """A ruler that stands beside the support: a mark every 10 mm up from the zero plane."""
    y = -unit.support_forward_mm
    x = -SCALE_SIDE_MM
    pieces = [[[x, y, 0.0], [x, y, SCALE_TOP_MM]]]
    for z in np.arange(0.0, SCALE_TOP_MM + 1.0, 10.0):
        long = 8.0 if z % 50 == 0 else 4.0
        pieces.append([[x, y, z], [x + long, y, z]])
        pieces.append([[x, y, z], [x, y + long, z]])
    return np.array(pieces)

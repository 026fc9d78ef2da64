"""A case as one picture, drawn off screen and without Qt."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Protocol

import numpy as np
import pyvista
from numpy.typing import NDArray
from PIL import Image, ImageDraw
from PIL.PngImagePlugin import PngInfo

from trainer.engine.criteria import is_well_placed
from trainer.engine.placement import Placement, chain_of, place, worst
from trainer.engine.points import pack
from trainer.engine.wording import sentence_start, where
from trainer.errors import TrainerError
from trainer.models.device import Unit
from trainer.models.meshes import HeadMeshes
from trainer.models.scenario import Case
from trainer.models.setup import Setup
from trainer.scene.flat_paint import font, paint
from trainer.scene.flat_picture import TITLES, FlatHead, flat_picture
from trainer.scene.outlines import Flat
from trainer.scene.palette import GROUND, INSIDE, MISSED, PAPER, QUIET_TEXT, TEXT, Rgb
from trainer.scene.view import TrainerScene, look_at_target
from trainer.scene.vtk_frames import Look

Image3 = NDArray[np.uint8]

CAUTION = "SIMULATED. Training only – synthetic head, invented unit. Not a medical device."
BAND_PX = 62
FOOT_PX = 26
GAP_PX = 8
TITLE_PX = 22


class Bench(Protocol):
    """What a picture needs: a case, its unit, and the head."""

    @property
    def case(self) -> Case: ...
    @property
    def unit(self) -> Unit: ...
    @property
    def meshes(self) -> HeadMeshes: ...


class NotPng(TrainerError, ValueError):
    """A picture's file name that does not end in .png."""


def without_display(environment: Mapping[str, str], platform: str = sys.platform) -> bool:
    """Whether VTK has to draw without a display here, as on a Linux server.

    VTK would find that out by itself, but not without a raw warning about the X server.
    """
    return platform.startswith("linux") and not environment.get("DISPLAY")


def headline(case: Case, placement: Placement) -> tuple[str, bool]:
    """One sentence on the required structures, and whether all is as the case asks."""
    required = placement.required
    if not required:
        return "This case requires no structure.", True
    if placement.all_required_inside and not is_well_placed(case, placement):
        return f"All {len(required)} are inside; the head does not stand as the layer asks.", False
    if placement.all_required_inside:
        return f"All {len(required)} required structures are inside.", True
    text = sentence_start(where(worst(required)))
    return f"{text}. {placement.held} of {len(required)} inside.", False


def render_scene(
    meshes: HeadMeshes,
    unit: Unit,
    placement: Placement,
    look_inside: bool = True,
    look: Look | None = None,
    size_px: tuple[int, int] = (640, 640),
) -> Image3:
    """Only the 3-D view, off screen: (h, w, 3) uint8.

    Without ``look`` from the front of the side of the required structures.
    """
    if without_display(os.environ):
        os.environ.setdefault("VTK_DEFAULT_OPENGL_WINDOW", "vtkEGLRenderWindow")
    plotter = pyvista.Plotter(off_screen=True, window_size=list(size_px), lighting="none")
    try:
        scene = TrainerScene(plotter, meshes, unit)
        scene.show(placement, chain_of(meshes.head, unit, placement.setup), look_inside)
        scene.look_from(look or look_at_target(placement))
        shot = plotter.screenshot(return_img=True)
        scene.close()
    finally:
        plotter.close()
    return np.ascontiguousarray(shot[:, :, :3])


def render_case(
    meshes: HeadMeshes,
    unit: Unit,
    case: Case,
    placement: Placement,
    look_inside: bool = True,
    look: Look | None = None,
    width_px: int = 1280,
) -> Image3:
    """The 3-D view and both flat views with title, result and caution: (h, w, 3) uint8.

    Without ``look_inside`` bone and field are hidden, and so is the result.
    """
    flat_px = width_px * 3 // 10
    head = FlatHead(meshes, with_triangles=True)
    steps = chain_of(meshes.head, unit, placement.setup)
    pictures = {
        view: paint(flat_picture(view, head, unit, placement, steps, look_inside), flat_px)
        for view in Flat
    }
    height = sum(p.shape[0] + TITLE_PX for p in pictures.values()) + GAP_PX
    main_px = (width_px - flat_px - GAP_PX, height)
    main = render_scene(meshes, unit, placement, look_inside, look, main_px)
    page = Image.new("RGB", (width_px, BAND_PX + height + FOOT_PX), GROUND)
    draw = ImageDraw.Draw(page)
    _text(draw, (12, 20), case.text(case.title), TEXT, 20)
    if look_inside:
        words, good = headline(case, placement)
        _text(draw, (12, 46), ("✓ " if good else "× ") + words, INSIDE if good else MISSED, 16)
    page.paste(Image.fromarray(main), (0, BAND_PX))
    x, y = main_px[0] + GAP_PX, BAND_PX
    for view, picture in pictures.items():
        draw.rectangle([x, y, x + flat_px, y + TITLE_PX], fill=PAPER)
        _text(draw, (x + 6, y + TITLE_PX // 2), TITLES[view], QUIET_TEXT, 14)
        page.paste(Image.fromarray(picture), (x, y + TITLE_PX))
        y += TITLE_PX + picture.shape[0] + GAP_PX
    _text(draw, (12, BAND_PX + height + FOOT_PX // 2), CAUTION, TEXT, 14)
    return np.asarray(page, np.uint8)


def picture_of(bench: Bench, setup: Setup, look_inside: bool = True) -> Image3:
    """The picture of a setup, as `render_case`."""
    head = bench.meshes.head
    points = pack(head.structure(r.structure) for r in bench.case.required)
    placement = place(bench.case, head, points, bench.unit, setup)
    return render_case(bench.meshes, bench.unit, bench.case, placement, look_inside)


def save_picture(bench: Bench, setup: Setup, path: Path, look_inside: bool = True) -> None:
    """Write the picture of a setup as PNG.

    Raises
    ------
    NotPng
        If the file's name says another format.
    OSError
        If the file cannot be written.
    """
    if path.suffix.lower() != ".png":
        raise NotPng(
            f"{path}: a picture's file name must end in .png, got {path.suffix or 'no ending'}. "
            "Nothing was written."
        )
    image = picture_of(bench, setup, look_inside)
    chunks = PngInfo()
    chunks.add_itxt("Title", "Simulated picture")
    chunks.add_itxt("Disclaimer", CAUTION)
    Image.fromarray(image).save(path, format="PNG", optimize=True, pnginfo=chunks)


def _text(
    draw: ImageDraw.ImageDraw, at: tuple[float, float], words: str, colour: Rgb, size_px: int
) -> None:
    draw.text(at, words, fill=colour, font=font(size_px), anchor="lm")

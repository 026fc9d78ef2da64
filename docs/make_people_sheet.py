"""Draws the example people, each from five sides, into one picture to be judged by eye.

    .venv/bin/python docs/make_people_sheet.py people.png [NAME …]
    .venv/bin/python docs/make_people_sheet.py --small docs/pictures/people.png

Without names all of `anatomy.people.people.example_people` are drawn, with ``--small`` those of
`SMALL` in smaller pictures of few colours. Shaded as the program shades them. The people are
invented. Without a display run it below ``xvfb-run -a``.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pyvista
from PIL import Image, ImageDraw

from trainer.anatomy.people.people import example_people
from trainer.models.frames import Frame
from trainer.models.meshes import DisplayPart, HeadMeshes, Tissue
from trainer.scene.flat_paint import font
from trainer.scene.head_actors import COLOURS
from trainer.scene.palette import PAPER, TEXT
from trainer.scene.surfaces import actor_for, parted_at_edges, surface_data
from trainer.services.assets import load_head

SIZE_PX, SMALL_PX, TITLE_PX = 360, 176, 24
SMALL_COLOURS = 160
SMALL = (
    "mean man",
    "mean woman",
    "large man",
    "girl of 6",
    "boy of 9",
    "boy of 15 with brackets",
    "old man without teeth",
    "woman with small chin",
)
# What, way of looking (from the camera, LPS), half height of the picture [mm], middle [mm], skin?
VIEWS: tuple[
    tuple[str, tuple[float, float, float], float, tuple[float, float, float], bool], ...
] = (
    ("skull, front", (0.0, 1.0, 0.0), 130.0, (0.0, -40.0, 0.0), False),
    ("skull, left side", (-1.0, 0.0, 0.0), 130.0, (0.0, 0.0, 0.0), False),
    ("skull, oblique", (-0.8, 0.8, -0.25), 120.0, (0.0, -30.0, -10.0), False),
    ("jaws, left front", (-0.6, 0.8, 0.0), 52.0, (10.0, -60.0, -50.0), False),
    ("skin, oblique", (-0.6, 0.8, -0.1), 190.0, (0.0, 0.0, -40.0), True),
)


def shown(part: DisplayPart, skin: bool) -> bool:
    """Whether a part belongs in a picture with or without the skin."""
    on_body = part.tissue is Tissue.SKIN or part.frame is Frame.TORSO
    return skin or not on_body


def picture(meshes: HeadMeshes, view: int, size_px: int) -> Image.Image:
    """One person from one side."""
    _, way, half_mm, middle, skin = VIEWS[view]
    plotter = pyvista.Plotter(off_screen=True, window_size=[size_px, size_px])
    try:
        plotter.set_background([v / 255 for v in PAPER])
        for part in meshes.fine:
            if not shown(part, skin):
                continue
            corners, faces = part.vertices_mm.astype(float), part.faces.astype(np.int64)
            if part.tissue is Tissue.SKIN:
                source, faces = parted_at_edges(corners, faces)
                corners = corners[source]
            data = surface_data(corners, faces)
            plotter.add_actor(actor_for(data, COLOURS[part.tissue]))
        camera = plotter.camera
        focal, ahead = np.array(middle), np.array(way) / np.linalg.norm(way)
        camera.focal_point, camera.position, camera.up = focal, focal - 800.0 * ahead, (0, 0, 1)
        camera.parallel_projection, camera.parallel_scale = True, half_mm
        plotter.reset_camera_clipping_range()
        return Image.fromarray(np.ascontiguousarray(plotter.screenshot(return_img=True)[:, :, :3]))
    finally:
        plotter.close()


def main(path: Path, names: list[str], size_px: int = SIZE_PX) -> None:
    """Draws the named people, or all, a row each."""
    people = {k: p for k, p in example_people().items() if not names or k in names}
    sheet = Image.new("RGB", (size_px * len(VIEWS), (size_px + TITLE_PX) * len(people)), PAPER)
    draw, letters = ImageDraw.Draw(sheet), font(14 if size_px == SIZE_PX else 11)
    for row, (name, person) in enumerate(people.items()):
        meshes = load_head(person)
        top = row * (size_px + TITLE_PX)
        draw.text((6, top + 4), name, fill=TEXT, font=letters)
        for column in range(len(VIEWS)):
            at = (column * size_px, top + TITLE_PX)
            sheet.paste(picture(meshes, column, size_px), at)
    if size_px < SIZE_PX:
        sheet = sheet.quantize(SMALL_COLOURS, Image.Quantize.MEDIANCUT, dither=Image.Dither.NONE)
    sheet.save(path, optimize=True)


if __name__ == "__main__":
    if sys.argv[1] == "--small":
        main(Path(sys.argv[2]), list(SMALL), SMALL_PX)
    else:
        main(Path(sys.argv[1]), sys.argv[2:])

"""Draws the example people, each from five sides, into one picture to be judged by eye.

    .venv/bin/python docs/make_people_sheet.py people.png [NAME …]

Without names all of `anatomy.people.people.example_people` are drawn. The people are invented.
Without a display run it below ``xvfb-run -a``.
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
from trainer.scene.palette import BONE, CERAMIC, METAL, NERVE, PAPER, PLASTIC, SKIN, TEXT, TOOTH
from trainer.services.assets import load_head

SIZE_PX, TITLE_PX = 360, 24
COLOURS = {
    Tissue.BONE: BONE,
    Tissue.TOOTH: TOOTH,
    Tissue.NERVE: NERVE,
    Tissue.SKIN: SKIN,
    Tissue.METAL: METAL,
    Tissue.CERAMIC: CERAMIC,
    Tissue.PLASTIC: PLASTIC,
}
# Name, way of looking (from the camera, LPS), half height of the picture [mm], middle [mm], skin?
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


def picture(meshes: HeadMeshes, view: int) -> Image.Image:
    """One person from one side."""
    _, way, half_mm, middle, skin = VIEWS[view]
    plotter = pyvista.Plotter(off_screen=True, window_size=[SIZE_PX, SIZE_PX])
    try:
        plotter.set_background([v / 255 for v in PAPER])
        for part in meshes.fine:
            if not shown(part, skin):
                continue
            faces = np.column_stack([np.full(len(part.faces), 3), part.faces]).ravel()
            mesh = pyvista.PolyData(part.vertices_mm.astype(float), faces)
            mesh = mesh.compute_normals(feature_angle=60.0, split_vertices=True)
            plotter.add_mesh(mesh, color=[v / 255 for v in COLOURS[part.tissue]], specular=0.1)
        camera = plotter.camera
        focal, ahead = np.array(middle), np.array(way) / np.linalg.norm(way)
        camera.focal_point, camera.position, camera.up = focal, focal - 800.0 * ahead, (0, 0, 1)
        camera.parallel_projection, camera.parallel_scale = True, half_mm
        plotter.reset_camera_clipping_range()
        return Image.fromarray(np.ascontiguousarray(plotter.screenshot(return_img=True)[:, :, :3]))
    finally:
        plotter.close()


def main(path: Path, names: list[str]) -> None:
    """Draws the named people, or all, a row each."""
    people = {k: p for k, p in example_people().items() if not names or k in names}
    sheet = Image.new("RGB", (SIZE_PX * len(VIEWS), (SIZE_PX + TITLE_PX) * len(people)), PAPER)
    draw = ImageDraw.Draw(sheet)
    for row, (name, person) in enumerate(people.items()):
        meshes = load_head(person)
        top = row * (SIZE_PX + TITLE_PX)
        for column, view in enumerate(VIEWS):
            left = column * SIZE_PX
            draw.text((left + 6, top + 4), f"{name}: {view[0]}", fill=TEXT, font=font(14))
            sheet.paste(picture(meshes, column), (left, top + TITLE_PX))
    sheet.save(path)


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2:])

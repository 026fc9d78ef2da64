"""Flat pictures painted into an image, without a window (Pillow)."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from trainer.scene.flat_picture import Area, Arrow, FlatPicture, Polygon, Strokes, Words
from trainer.scene.palette import PAPER, Rgb

Array = NDArray[np.float64]

# Drawn this many times larger and brought down: smooth edges.
FINER = 2
HATCH_PX = 7
TEXT_PX = 12


@lru_cache(maxsize=16)
def font(size_px: int, strong: bool = False) -> ImageFont.FreeTypeFont:
    """DejaVu Sans, which comes with matplotlib (pyvista needs it); ``strong`` is bold."""
    import matplotlib

    name = "DejaVuSans-Bold.ttf" if strong else "DejaVuSans.ttf"
    return ImageFont.truetype(str(Path(matplotlib.get_data_path(), "fonts", "ttf", name)), size_px)


def paint(picture: FlatPicture, size_px: int) -> NDArray[np.uint8]:
    """The picture as an image of ``size_px`` pixels width: (h, w, 3) uint8."""
    left, right, low, high = picture.window_mm
    scale = size_px * FINER / (right - left)
    width, height = size_px * FINER, round((high - low) * scale)
    image = Image.new("RGB", (width, height), PAPER)

    def at(points_mm: Array) -> list[tuple[float, float]]:
        p = np.asarray(points_mm, float).reshape(-1, 2)
        return list(zip((p[:, 0] - left) * scale, (high - p[:, 1]) * scale, strict=True))

    for shape in picture.shapes:
        match shape:
            case Area(seen, shift, fill, line, line_px, hatched, triangles):
                if triangles is None:
                    raise ValueError("painted without Qt, areas need their triangles")
                draw = ImageDraw.Draw(image)
                if line is not None:
                    stroke = max(1, round(line_px * FINER * 2))
                    for loop in seen.loops:
                        draw.line(
                            at(np.vstack([loop, loop[:1]]) + shift), line, stroke, joint="curve"
                        )
                if fill is not None or hatched:
                    mask = Image.new("1", (width, height))
                    fill_mask = ImageDraw.Draw(mask)
                    for triangle in triangles + shift:
                        fill_mask.polygon(at(triangle), fill=1, outline=1)
                    if fill is not None:
                        image.paste(fill, mask=mask)
                    if hatched:
                        _hatch(image, mask)
            case Strokes(pieces, colour, line_px, _):
                draw = ImageDraw.Draw(image)
                for piece in pieces:
                    draw.line(at(piece), colour, max(1, round(line_px * FINER)))
            case Polygon(points, fill, line, line_px, opacity):
                if fill is not None:
                    mask = Image.new("L", (width, height))
                    ImageDraw.Draw(mask).polygon(at(points), fill=round(255 * opacity))
                    image.paste(fill, mask=mask)
                if line is not None:
                    ImageDraw.Draw(image).line(
                        at(np.vstack([points, points[:1]])), line, round(line_px * FINER)
                    )
            case Arrow(start, end, colour):
                _arrow(ImageDraw.Draw(image), at(np.array([start, end])), colour)
            case Words():
                _words(ImageDraw.Draw(image), at(np.array([shape.at_mm]))[0], shape)
    small = image.resize((width // FINER, height // FINER), Image.Resampling.BOX)
    return np.asarray(small, np.uint8)


def _hatch(image: Image.Image, mask: Image.Image) -> None:
    """White slanting lines through what the mask holds."""
    lines = Image.new("1", image.size)
    draw = ImageDraw.Draw(lines)
    w, h = image.size
    for x in range(-h, w, HATCH_PX * FINER):
        draw.line([(x, h), (x + h, 0)], fill=1, width=2 * FINER)
    both = np.asarray(mask) & np.asarray(lines)
    image.paste(PAPER, mask=Image.fromarray(both))


def _arrow(draw: ImageDraw.ImageDraw, ends: list[tuple[float, float]], colour: Rgb) -> None:
    (x0, y0), (x1, y1) = ends
    along = np.array([x1 - x0, y1 - y0])
    along = along / max(float(np.linalg.norm(along)), 1e-9)
    across = np.array([-along[1], along[0]])
    tip = np.array([x1, y1])
    foot = tip - along * 9 * FINER
    draw.line([(x0, y0), tuple(foot)], colour, 3 * FINER)
    draw.polygon([tuple(tip), tuple(foot + across * 6 * FINER), tuple(foot - across * 6 * FINER)],
                 fill=colour)  # fmt: skip


def _words(draw: ImageDraw.ImageDraw, at: tuple[float, float], words: Words) -> None:
    used = font(TEXT_PX * FINER, words.strong)
    anchor = {"left": "lm", "middle": "mm", "right": "rm"}[words.anchor]
    if words.boxed:
        x0, y0, x1, y1 = draw.textbbox(at, words.text, font=used, anchor=anchor)
        pad = 2 * FINER
        draw.rectangle([x0 - pad, y0 - pad, x1 + pad, y1 + pad], fill=PAPER)
    draw.text(at, words.text, fill=words.colour, font=used, anchor=anchor)

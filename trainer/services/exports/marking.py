"""Marks in the pixels of everything that leaves the program: "SIMULATED", and the sides.

A mark is drawn into the pixels because tags are lost where a picture is copied. Pillow is imported
inside the functions: the core runs without it.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from trainer.errors import NotReadable, TrainerError
from trainer.models.images import RecordedVolume

MARK = "SIMULATED"
# A letter needs about five pixels each way to be read: own working value.
FEWEST_PX = 64
# Letters by a picture's shorter edge, between smallest and largest [px]: own working values.
LETTER_SHARE, SMALLEST_LETTER_PX, LARGEST_LETTER_PX = 1.0 / 18.0, 11, 28
# Grey of the mark in a volume, as bright as dense bone (1000 (mu / mu_water - 1)).
BRIGHT = 2000.0
# Shown as air, so that the band does not look like a part of the head.
DARK = -1000.0


def mark_shape(height_px: int, width_px: int) -> NDArray[np.bool_]:
    """The word "SIMULATED" as set pixels, (height_px, width_px) bool, centred and as large as fits.

    Raises
    ------
    TrainerError
        If there is too little room for the word to be read.
    """
    if width_px < FEWEST_PX or height_px < SMALLEST_LETTER_PX:
        raise TrainerError(
            f"a picture of {width_px} pixels is too narrow to be marked as simulated; it needs "
            f"{FEWEST_PX}. Nothing was written; record with smaller voxels."
        )
    draw_module, image_module, font_module = _pillow()
    image = image_module.new("L", (width_px, height_px))
    pen = draw_module.Draw(image)
    for size in range(height_px, 4, -1):
        letters = font_module.load_default(size)
        left, top, right, bottom = pen.textbbox((0, 0), MARK, font=letters)
        if right - left <= width_px - 4 and bottom - top <= height_px - 2:
            break
    # whole pixels: between two, thin strokes would fade
    at = (round((width_px - right - left) / 2.0), round((height_px - bottom - top) / 2.0))
    pen.text(at, MARK, fill=255, font=letters)
    return np.asarray(np.array(image) > 90)


def marked_picture(pixels: NDArray[np.uint8], left: str = "", right: str = "") -> NDArray[np.uint8]:
    """A copy of the picture, (h, w) or (h, w, 3), with "SIMULATED" and the sides in its pixels.

    ``left`` and ``right`` say which side or direction of the patient lies at the picture's left
    and right, such as "R" and "L". The words stand on black, readable on any grey.

    Raises
    ------
    TrainerError
        If the picture is too small to be marked.
    NotReadable
        If the library for pictures is not installed.
    """
    height, width = pixels.shape[:2]
    if min(height, width) < FEWEST_PX:
        raise TrainerError(
            f"a picture of {width} x {height} pixels is too small to be marked as simulated; each "
            f"edge needs {FEWEST_PX}. Nothing was written."
        )
    draw_module, image_module, font_module = _pillow()
    image = image_module.fromarray(np.ascontiguousarray(pixels))
    pen = draw_module.Draw(image)
    size = round(min(height, width) * LETTER_SHARE)
    size = min(max(SMALLEST_LETTER_PX, size), LARGEST_LETTER_PX)
    while pen.textlength(MARK, font=font_module.load_default(size)) > width - 12:
        size -= 1
    letters = font_module.load_default(size)
    white = 255 if pixels.ndim == 2 else (255, 255, 255)

    def write(at: tuple[float, float], words: str, anchor: str) -> None:
        a, b, c, d = pen.textbbox(at, words, font=letters, anchor=anchor)
        pen.rectangle((a - 3, b - 2, c + 3, d + 2), fill=0 if pixels.ndim == 2 else (0, 0, 0))
        pen.text(at, words, fill=white, font=letters, anchor=anchor)

    write((width / 2.0, 6), MARK, "ma")
    if left:
        write((6, height / 2.0), left, "lm")
    if right:
        write((width - 6, height / 2.0), right, "rm")
    return np.array(image, np.uint8)


def marked_above(pixels: NDArray[np.uint8], left: str = "", right: str = "") -> NDArray[np.uint8]:
    """The picture, (h, w) or (h, w, 3), below rows that are added and hold "SIMULATED".

    For pictures of the screen, whose words a mark would hide. ``left``, ``right`` and errors as
    `marked_picture`.
    """
    rows = np.zeros((LARGEST_LETTER_PX + 14, *pixels.shape[1:]), np.uint8)
    return marked_picture(np.concatenate([rows, pixels]), left, right)


def marked_volume(volume: RecordedVolume) -> RecordedVolume:
    """The volume with rows added in front of the field in which "SIMULATED" stands, in each slice.

    No recorded voxel is written over, and every voxel keeps its place: the origin moves by what is
    added. Seen as axial slices are read (front at the top, the patient's left on the right), the
    word stands upright above the field. A volume too narrow for the word gets columns at its sides,
    too. What is added counts as outside the field, but for the word itself.

    Raises
    ------
    NotReadable
        If the library for pictures is not installed.
    """
    columns = volume.values.shape[2]
    missing = max(0, FEWEST_PX - columns)
    sides = (missing // 2, missing - missing // 2)
    word = mark_shape(max(SMALLEST_LETTER_PX + 3, columns // 8), columns + missing)
    rows = word.shape[0]
    values = np.pad(volume.values, ((0, 0), (rows, 0), sides), constant_values=DARK)
    values[:, :rows][:, word] = BRIGHT
    inside = np.pad(volume.inside, ((rows, 0), sides))
    inside[:rows] = word
    added_mm = volume.spacing_mm * np.array([sides[0], rows, 0.0])
    return replace(volume, values=values, inside=inside, origin_mm=volume.origin_mm - added_mm)


def _pillow() -> tuple[Any, Any, Any]:
    try:
        from PIL import Image, ImageDraw, ImageFont
    except ImportError as error:
        raise NotReadable(
            f"The library that draws pictures is not installed ({error}). Run 'python3 start.py', "
            "which installs it."
        ) from error
    return ImageDraw, Image, ImageFont

"""Pictures as PNG files: marked as simulated in their pixels and in their text chunks."""

from __future__ import annotations

import io
from collections.abc import Mapping
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from trainer.services.cautions import SHORT_CAUTION
from trainer.services.exports.files import with_ending, write_whole
from trainer.services.exports.marking import marked_picture

NO_FACTS: Mapping[str, str] = {}


def save_png(
    pixels: NDArray[np.uint8],
    path: Path,
    left: str = "",
    right: str = "",
    facts: Mapping[str, str] = NO_FACTS,
) -> Path:
    """Writes a picture, (h, w) grey or (h, w, 3) RGB, with the marks of `marked_picture`.

    The text chunks (PNG specification, third edition, 11.3.3) say that it is simulated, carry the
    caution, and hold ``facts`` under their names.

    Raises
    ------
    TrainerError
        If the name does not end in .png, or the picture is too small to be marked.
    NotReadable
        If it cannot be written, or the library for pictures is not installed.
    """
    with_ending(path, ".png")
    marked = marked_picture(pixels, left, right)
    from PIL import Image
    from PIL.PngImagePlugin import PngInfo

    chunks = PngInfo()
    for key, words in {"Title": "Simulated picture", "Disclaimer": SHORT_CAUTION, **facts}.items():
        chunks.add_itxt(key, words)
    data = io.BytesIO()
    Image.fromarray(marked).save(data, format="PNG", optimize=True, pnginfo=chunks)
    return write_whole(path, data.getvalue())

"""A case as one exported picture."""

from __future__ import annotations

import subprocess
import sys
from types import SimpleNamespace

import numpy as np
import pytest
from PIL import Image

from tests.scene.standin import marker_pixels, standin_case, with_marker
from trainer.scene.palette import FIELD_LINE
from trainer.scene.snapshot import BAND_PX, GAP_PX, headline, render_case, save_picture
from trainer.scene.vtk_frames import Look

WIDTH = 640


def test_marker_in_the_exported_picture(meshes, unit, placed) -> None:
    """A ball on the patient's left is right of the middle in the 3-D part and the front view."""
    marked = with_marker(meshes, (78.0, -60.0, -20.0), 9.0)
    placement, _ = placed()
    image = render_case(marked, unit, standin_case(), placement, look=Look.FRONT, width_px=WIDTH)
    assert image.shape[1] == WIDTH
    assert image.dtype == np.uint8
    flat = WIDTH * 3 // 10
    main = marker_pixels(image[BAND_PX:, : WIDTH - flat - GAP_PX])
    assert np.median(main[:, 1]) > (WIDTH - flat - GAP_PX) / 2
    side_by_side = image[BAND_PX : BAND_PX + 22 + flat, WIDTH - flat :]
    front = marker_pixels(side_by_side)
    assert len(front) > 5
    assert np.median(front[:, 1]) > flat / 2


def test_skin_only_hides_field_and_result(meshes, unit, placed) -> None:
    """Without looking inside, the exported picture holds no field line."""
    placement, _ = placed()
    shown, hidden = (
        np.all(
            render_case(meshes, unit, standin_case(), placement, inside, width_px=WIDTH)
            == FIELD_LINE, axis=-1,
        ).sum()
        for inside in (True, False)
    )  # fmt: skip
    assert shown > 30
    assert hidden == 0


def test_headline_names_the_worst_and_the_way(placed) -> None:
    """The sentence says what lies where and how many are inside."""
    words, good = headline(placed()[0])
    assert not good
    assert "48" in words
    assert "below the field" in words
    assert "of 3 inside" in words
    assert headline(placed(chin_height_mm=-24.0)[0]) == (
        "All 3 required structures are inside.", True,
    )  # fmt: skip


def test_saved_as_png(meshes, unit, tmp_path) -> None:
    """The file is a PNG of the picture; a folder that is not there is told as such."""
    bench = SimpleNamespace(case=standin_case(), unit=unit, meshes=meshes)
    path = tmp_path / "a.png"
    save_picture(bench, bench.case.start, path)
    with Image.open(path) as image:
        assert image.format == "PNG"
        assert image.width == 1280
    with pytest.raises(OSError, match="missing"):
        save_picture(bench, bench.case.start, tmp_path / "missing" / "a.png")


def test_no_qt_is_needed() -> None:
    """The exporting module works where Qt cannot be imported."""
    code = (
        "import sys\n"
        "for name in ('PySide6', 'shiboken6'): sys.modules[name] = None\n"
        "import trainer.scene.snapshot"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr

"""A case as one exported picture."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from PIL import Image

from tests.scene.standin import marker_pixels, standin_case, with_marker
from trainer.errors import TrainerError
from trainer.scene.palette import FIELD_LINE
from trainer.scene.snapshot import (
    BAND_PX,
    GAP_PX,
    NotPng,
    headline,
    render_case,
    save_picture,
    without_display,
)
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
    words, good = headline(standin_case(), placed()[0])
    assert not good
    assert "48" in words
    assert "below the field" in words
    assert "of 3 inside" in words
    assert headline(standin_case(), placed(chin_height_mm=-24.0)[0]) == (
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


@pytest.mark.parametrize("name", ["a.jpg", "a", "a.png.gz"])
def test_only_png_names_are_taken(unit, meshes, tmp_path, name) -> None:
    """A name with another ending is refused with a sentence before anything is drawn."""
    bench = SimpleNamespace(case=standin_case(), unit=unit, meshes=meshes)
    with pytest.raises(NotPng, match=r"must end in \.png") as caught:
        save_picture(bench, bench.case.start, tmp_path / name)
    assert isinstance(caught.value, TrainerError)
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize(
    ("environment", "platform", "without"),
    [({}, "linux", True), ({"DISPLAY": ":1"}, "linux", False), ({}, "win32", False)],
)
def test_whether_there_is_a_display(environment, platform, without) -> None:
    """Only Linux draws without a display, and only where DISPLAY is not set."""
    assert without_display(environment, platform) is without


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="only Linux has displays by name")
def test_without_a_display_nothing_raw_is_printed() -> None:
    """Without a display a picture is drawn, and VTK prints no warning of its own."""
    code = (
        "from tests.scene.standin import standin_case, standin_head\n"
        "from trainer.engine.placement import place\n"
        "from trainer.engine.points import pack_head\n"
        "from trainer.scene.snapshot import render_scene\n"
        "from trainer.services.assets import UNITS\n"
        "from trainer.services.unit_io import find_unit\n"
        "meshes, case = standin_head(), standin_case()\n"
        "unit = find_unit('alder-bench', UNITS)\n"
        "now = place(case, meshes.head, pack_head(meshes.head), unit, case.start)\n"
        "print(len(set(render_scene(meshes, unit, now, size_px=(64, 64)).ravel())) > 9)"
    )
    gone = ("DISPLAY", "WAYLAND_DISPLAY", "VTK_DEFAULT_OPENGL_WINDOW")
    environment = {k: v for k, v in os.environ.items() if k not in gone}
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, env=environment,
        cwd=Path(__file__).parents[2],
    )  # fmt: skip
    assert (done.stdout, done.stderr) == ("True\n", "")


def test_no_qt_is_needed() -> None:
    """The exporting module works where Qt cannot be imported."""
    code = (
        "import sys\n"
        "for name in ('PySide6', 'shiboken6'): sys.modules[name] = None\n"
        "import trainer.scene.snapshot"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr

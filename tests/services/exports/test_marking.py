"""Marks in pixels, and PNG files read back by Pillow."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trainer.errors import NotReadable, TrainerError
from trainer.services.exports.files import write_whole
from trainer.services.exports.marking import (
    FEWEST_PX,
    mark_shape,
    marked_above,
    marked_picture,
    marked_volume,
)
from trainer.services.exports.png_out import save_png

Image = pytest.importorskip("PIL.Image")


@settings(max_examples=25)
@given(st.integers(FEWEST_PX, 700), st.integers(FEWEST_PX, 700), st.integers(0, 255))
def test_the_word_is_seen_on_any_grey_and_size(width, height, grey):
    """White letters on black stand at the top in the middle, whole, and nowhere else."""
    plain = np.full((height, width), grey, np.uint8)
    marked = marked_picture(plain)
    changed = np.argwhere(marked != plain)
    assert marked.min() == 0 and marked.max() > 200
    assert changed[:, 0].max() < height / 3
    low, high = changed[:, 1].min(), changed[:, 1].max()
    assert low >= 0 and high <= width - 1
    assert abs((low + high) / 2 - (width - 1) / 2) < 3
    assert high - low > 45  # nine letters of five pixels


@pytest.mark.parametrize("width", [64, 80, 100, 133, 150, 200, 267, 400])
def test_the_word_of_a_volume_is_whole(width):
    """It touches no edge, is nearly as wide as it fits, and the bars of T and E are there."""
    height = max(14, width // 8)
    shape = mark_shape(height, width)
    assert shape.shape == (height, width) and shape.dtype == bool
    assert not shape[:, 0].any() and not shape[:, -1].any()
    assert not shape[0].any() and not shape[-1].any()
    assert np.ptp(np.flatnonzero(shape.any(axis=0))) > 0.55 * width
    rows = np.flatnonzero(shape.any(axis=1))
    top, bottom = shape[rows[0] : rows[0] + 2].any(axis=0), shape[rows[-1] - 1 :].any(axis=0)
    # at the top bars of T, E, D, at the bottom of L, E, D: each as wide as a third of a letter
    for edge in (top, bottom):
        starts = np.flatnonzero(np.diff(np.r_[False, edge, False].astype(int)) == 1)
        ends = np.flatnonzero(np.diff(np.r_[False, edge, False].astype(int)) == -1)
        assert np.count_nonzero(ends - starts >= np.ptp(rows) / 3) >= 3


@pytest.mark.parametrize("shape", [(64, 64), (400, 600), (1080, 1920, 3), (90, 2000)])
def test_a_picture_of_the_screen_stays_whole(shape):
    """The word stands in rows above it, and no pixel of the picture is written over."""
    plain = np.random.default_rng(3).integers(0, 255, shape).astype(np.uint8)
    marked = marked_above(plain)
    rows = marked.shape[0] - shape[0]
    np.testing.assert_array_equal(marked[rows:], plain)
    assert marked[:rows].max() > 200


def test_sides_stand_at_their_sides():
    """The left letter is drawn in the left half only, the right one in the right half only."""
    plain = np.full((200, 300, 3), 128, np.uint8)
    word = marked_picture(plain)
    left, right = marked_picture(plain, left="R"), marked_picture(plain, right="L")
    columns = np.argwhere(np.any(left != word, axis=2))[:, 1]
    assert len(columns) and columns.max() < 40
    columns = np.argwhere(np.any(right != word, axis=2))[:, 1]
    assert len(columns) and columns.min() > 260
    assert np.all(plain == 128)  # the picture given is left as it was


@pytest.mark.parametrize("columns", [72, 64, 63, 40, 1])
def test_the_band_keeps_every_voxel_at_its_place(volume, columns):
    """The word is added round the recorded voxels: these stay, each at its place."""
    narrow = replace(
        volume, values=volume.values[:, :, :columns], inside=volume.inside[:, :columns]
    )
    before = narrow.values.copy()
    marked = marked_volume(narrow)
    first = np.round((narrow.origin_mm - marked.origin_mm) / volume.spacing_mm).astype(int)
    np.testing.assert_allclose(
        marked.origin_mm + first * volume.spacing_mm, narrow.origin_mm, atol=1e-12
    )
    assert marked.values.shape[2] == max(columns, FEWEST_PX)
    assert first[1] >= 14 and first[2] == 0
    kept = np.s_[first[1] :, first[0] : first[0] + columns]
    np.testing.assert_array_equal(marked.values[:, *kept], before)
    np.testing.assert_array_equal(marked.inside[kept], narrow.inside)
    np.testing.assert_array_equal(narrow.values, before)
    assert np.count_nonzero(marked.inside) == np.count_nonzero(narrow.inside) + np.count_nonzero(
        marked.inside[: first[1]]
    )
    assert marked.skull_to_field is volume.skull_to_field


def test_a_png_is_marked_in_pixels_and_text(tmp_path):
    """Pillow reads the marked pixels and the text: simulated, caution, facts in any script."""
    plain = np.random.default_rng(2).integers(0, 255, (120, 160, 3)).astype(np.uint8)
    path = save_png(plain, tmp_path / "view.png", "R", "L", {"Case": "Zahn 48 – Тополь"})
    with Image.open(path) as image:
        image.load()
        np.testing.assert_array_equal(np.asarray(image), marked_picture(plain, "R", "L"))
        assert image.text["Title"] == "Simulated picture"
        assert "Not a medical device" in image.text["Disclaimer"]
        assert image.text["Case"] == "Zahn 48 – Тополь"


def test_other_names_and_tiny_pictures_are_refused(tmp_path):
    """A name without .png and a picture too small for the word write nothing."""
    with pytest.raises(TrainerError, match=r"must end in \.png"):
        save_png(np.zeros((100, 100), np.uint8), tmp_path / "view.jpg")
    with pytest.raises(TrainerError, match="too small"):
        save_png(np.zeros((100, 40), np.uint8), tmp_path / "view.png")
    assert not list(tmp_path.iterdir())


def test_a_file_is_there_whole_or_as_it_was(tmp_path, monkeypatch):
    """When writing fails, the old file stays, no part is left, and the message says so."""
    path = write_whole(tmp_path / "table.csv", b"old")

    def full(_self, _data):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("pathlib.Path.write_bytes", full)
    with pytest.raises(NotReadable, match=r"No space left on device\. Nothing was changed"):
        write_whole(path, b"new")
    monkeypatch.undo()
    assert path.read_bytes() == b"old"
    assert [f.name for f in tmp_path.iterdir()] == ["table.csv"]

"""Flat pictures painted without a window."""

from __future__ import annotations

import numpy as np
import pytest

from trainer.scene.flat_paint import paint
from trainer.scene.flat_picture import Area, FlatHead, FlatPicture, Polygon, flat_picture
from trainer.scene.outlines import Flat, Outline
from trainer.scene.palette import FIELD_LINE, MISSED, PAPER

WINDOW = (-50.0, 50.0, -50.0, 50.0)
SQUARE = np.array([[10.0, 10.0], [40.0, 10.0], [40.0, 40.0], [10.0, 40.0]])


def test_up_is_up_and_right_is_right() -> None:
    """A square in the upper right of the picture's frame is painted there."""
    image = paint(FlatPicture(Flat.FRONT, WINDOW, (Polygon(SQUARE, MISSED, None),)), 100)
    assert image.shape == (100, 100, 3)
    assert tuple(image[25, 75]) == MISSED
    for row, column in ((75, 75), (25, 25), (75, 25)):
        assert tuple(image[row, column]) == PAPER


def test_a_hatched_area_shows_the_paper_between() -> None:
    """Hatching leaves both the colour and white lines."""
    triangles = np.array([SQUARE[[0, 1, 2]], SQUARE[[0, 2, 3]]])
    area = Area(Outline((SQUARE,), np.zeros((0, 2, 2))), np.zeros(2), MISSED, None,
                hatched=True, triangles=triangles)  # fmt: skip
    inner = paint(FlatPicture(Flat.FRONT, WINDOW, (area,)), 200)[30:70, 130:170].reshape(-1, 3)
    white = np.mean(inner.min(axis=1) > 200)
    assert 0.03 < white < 0.6
    assert np.mean(np.all(inner == MISSED, axis=1)) > 0.3


def test_areas_without_triangles_are_refused() -> None:
    """An area that was made for Qt only says so."""
    area = Area(Outline((SQUARE,), np.zeros((0, 2, 2))), np.zeros(2), MISSED, None)
    with pytest.raises(ValueError, match="need their triangles"):
        paint(FlatPicture(Flat.FRONT, WINDOW, (area,)), 50)


def test_the_field_is_seen_only_inside(meshes, unit, placed) -> None:
    """The field's line colour is in the picture when looking inside, and nowhere without."""
    head = FlatHead(meshes, with_triangles=True)
    counts = [
        np.all(paint(flat_picture(Flat.FRONT, head, unit, *placed(), inside), 300) == FIELD_LINE,
               axis=-1).sum()
        for inside in (True, False)
    ]  # fmt: skip
    assert counts[0] > 50
    assert counts[1] == 0

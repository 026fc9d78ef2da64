"""Landmarks on the flat views."""

from __future__ import annotations

import numpy as np
import pytest

from tests.helpers.appointments import real_case
from trainer.engine.placement import chain_of
from trainer.scene.flat_picture import FlatPicture, Strokes, Words
from trainer.scene.landmark_names import NAMED, with_landmarks
from trainer.scene.outlines import Flat


@pytest.mark.parametrize("view", list(Flat))
def test_every_landmark_is_marked_at_its_place(view: Flat) -> None:
    """A cross stands where the landmark is seen: with the skull, or with the opened jaw."""
    case, unit, head, _ = real_case()
    steps = chain_of(head, unit, case.start.with_values({"jaw_gap_mm": 10.0}))
    empty = FlatPicture(view, (-98.0, 74.0, -54.0, 136.0), ())
    shapes = with_landmarks(empty, head.landmarks_mm, steps).shapes
    crosses = [s.pieces_mm.mean(axis=(0, 1)) for s in shapes if isinstance(s, Strokes)]
    assert len(crosses) == len(NAMED[view])
    for cross, (key, _, with_jaw, _) in zip(crosses, NAMED[view], strict=True):
        step = steps.mandible_to_gantry if with_jaw else steps.skull_to_gantry
        x, y, z = step.rotation @ head.landmarks_mm[key] + step.translation_mm
        expected = (x, z) if view is Flat.FRONT else (-y, z)
        np.testing.assert_allclose(cross, expected, atol=1e-9)  # mm
    names = [s.text for s in shapes if isinstance(s, Words)]
    assert names == [name for _, name, _, _ in NAMED[view] if name]


def test_what_a_head_lacks_is_left_out() -> None:
    """A head without marks gets none."""
    case, unit, head, _ = real_case()
    steps = chain_of(head, unit, case.start)
    empty = FlatPicture(Flat.SIDE, (-98.0, 74.0, -54.0, 136.0), ())
    assert with_landmarks(empty, {}, steps).shapes == ()

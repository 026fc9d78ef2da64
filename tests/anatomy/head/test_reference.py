"""What everybody's head is read from, against the model it was worked out from."""

from __future__ import annotations

import numpy as np
import pytest

from trainer.anatomy.head.reference import (
    SOLIDS,
    read_reference,
    reference,
    write_reference,
)
from trainer.anatomy.head.structures import led_solids
from trainer.anatomy.head.tooth_patterns import TOOTH_KINDS
from trainer.anatomy.shapes.fields import REACH_MM
from trainer.errors import NotReadable
from trainer.models.subject import MEAN_MAN


def near_surface(name: str, count: int) -> np.ndarray:
    """Random points of the left side within 1 mm of where the field says the surface is."""
    field = reference().fields[name]
    z, y, x = np.nonzero(np.abs(field.values.astype(float)) < 0.5 * 127 / REACH_MM * 2)
    grid = field.origin_mm + field.spacing_mm * np.stack([x, y, z], axis=1)
    grid = grid[grid[:, 0] > field.spacing_mm]
    rng = np.random.default_rng(9)
    picked = grid[rng.integers(0, len(grid), count)]
    return picked + rng.uniform(-0.5, 0.5, (count, 3)) * field.spacing_mm


@pytest.mark.parametrize("name", SOLIDS)
def test_fields_are_the_models(name):
    """Near the surface a field is within 0.06 mm of the model at 97 of 100 points.

    Between the mastoid's cells, whose walls are two grid steps thick and sharp-edged, 0.15 mm.
    """
    points = near_surface(name, 1500)
    exact = SOLIDS[name][0]()(points)
    near = np.abs(exact) < 0.6
    assert near.sum() > 300
    off = np.abs(reference().fields[name].shape()(points) - exact)[near]
    assert np.percentile(off, 97) < (0.15 if name == "mastoid-cells" else 0.06)
    assert np.median(off) < 0.02


def test_it_holds_all_that_follows_the_map_and_every_kind_of_tooth():
    """Structures are those of the model; teeth are the 16 permanent and 10 primary kinds."""
    book = reference()
    assert list(book.led.structures) == [solid.id for solid in led_solids(MEAN_MAN)]
    assert set(book.teeth) == set(TOOTH_KINDS)
    assert len(book.teeth) == 26
    assert set(book.fields) == set(SOLIDS)


def test_it_is_written_and_read_without_loss(tmp_path):
    """What is written, read and written again gives equal bytes."""
    first, second = tmp_path / "a.npz", tmp_path / "b.npz"
    write_reference(reference(), first)
    write_reference(read_reference(first), second)
    assert first.read_bytes() == second.read_bytes()
    assert first.stat().st_size < 10_000_000


@pytest.mark.parametrize("content", [None, b"", b"not an archive", b"PK\x03\x04broken"])
def test_a_broken_reference_is_told(content, tmp_path):
    """A missing or broken file raises with how to make it again."""
    path = tmp_path / "reference.npz"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(NotReadable, match="trainer build-head"):
        read_reference(path)

"""Rolls and blocks: chords from closed forms, against voxels, and in front of a head."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import rigid

from trainer.anatomy.materials import MATERIALS
from trainer.errors import FrameError, TrainerError
from trainer.geometry.transforms import attitude_rotation, identity, inverse, shift
from trainer.models.frames import Frame, RigidTransform
from trainer.models.images import LabelVolume
from trainer.physics.bricks import bricks_of
from trainer.physics.projection import head_line_integrals, line_integrals
from trainer.physics.solids import Block, Roll, Solid, solid_lengths
from trainer.physics.views import ViewGeometry, project_point

ACRYLIC = MATERIALS["acrylic"].material
STILL = identity(Frame.GANTRY, Frame.SKULL)


def view(pixels: int = 61, pixel_mm: float = 1.5) -> ViewGeometry:
    """A square frontal view about the origin, SID 400, SDD 600."""
    half = (pixels - 1) / 2.0 * pixel_mm
    return ViewGeometry(
        Frame.GANTRY,
        np.array([0.0, 400.0, 0.0]),
        np.array([-half, -200.0, half]),
        np.array([0.0, 0.0, -pixel_mm]),
        np.array([pixel_mm, 0.0, 0.0]),
        (pixels, pixels),
        "right",
    )


def roll(*ends: tuple[float, float, float], radius_mm: float = 4.0) -> Roll:
    """A roll of acrylic between two points of the skull."""
    return Roll(Frame.SKULL, np.array(ends), radius_mm, ACRYLIC)


def block(half_mm: tuple[float, float, float], axes: np.ndarray | None = None) -> Block:
    """A block of acrylic about the origin of the skull."""
    turned = np.eye(3) if axes is None else axes
    return Block(Frame.SKULL, np.zeros(3), np.array(half_mm), turned, ACRYLIC)


# --- closed forms ---------------------------------------------------------------------------------


def test_a_roll_across_the_beam() -> None:
    """In the plane across a roll the chords are 2 sqrt(r^2 - d^2)."""
    v = view()
    lengths = solid_lengths(roll((0, 0, -19), (0, 0, 19), radius_mm=4.75), v, STILL)
    ways = (v.pixel_centres_mm() - v.source_mm)[30]
    ways /= np.linalg.norm(ways, axis=-1, keepdims=True)
    distance = np.linalg.norm(np.cross(-v.source_mm, ways), axis=-1)
    expected = 2.0 * np.sqrt(np.maximum(4.75**2 - distance**2, 0.0))
    np.testing.assert_allclose(lengths[30], expected, atol=1e-5)


def test_a_roll_along_the_beam() -> None:
    """The central ray along a roll runs in it for its whole length, also exactly on its axis."""
    lengths = solid_lengths(roll((0, -19, 0), (0, 19, 0)), view(), STILL)
    assert lengths[30, 30] == pytest.approx(38.0, abs=1e-4)
    assert lengths[30, 5] == 0.0


def test_a_block_across_the_beam() -> None:
    """Every ray that meets both faces of a block crosses thickness / cos."""
    v = view()
    lengths = solid_lengths(block((15.0, 5.0, 15.0)), v, STILL)
    ways = v.pixel_centres_mm() - v.source_mm
    slope = np.linalg.norm(ways, axis=-1) / np.abs(ways[..., 1])
    inner = np.s_[20:41, 20:41]
    np.testing.assert_allclose(lengths[inner], 10.0 * slope[inner], rtol=1e-6)


@settings(max_examples=40)
@given(rigid(Frame.GANTRY, Frame.SKULL), st.booleans())
def test_mass_of_the_shadow(move: RigidTransform, round_one: bool) -> None:
    """However it stands, a solid's lengths add up to its volume: sum of L dA / magnification.

    Each ray's share of volume is its length times the pixel's area, thinned by (depth / SDD)^2 and
    the slant; within 2 % for pixels of a fifth of the solid.
    """
    solid: Solid = roll((-9, 0, 0), (9, 0, 0), radius_mm=5.0) if round_one else block((9, 5, 4))
    volume = np.pi * 25.0 * 18.0 if round_one else 8.0 * 9.0 * 5.0 * 4.0
    turn = replace(move, translation_mm=np.zeros(3))
    v = view(101, 0.6)
    ways = v.pixel_centres_mm() - v.source_mm
    cosine = 600.0 / np.linalg.norm(ways, axis=-1)
    lengths = solid_lengths(solid, v, turn)
    found = (lengths * cosine * 0.6**2).sum() * (400.0 / 600.0) ** 2
    assert found == pytest.approx(volume, rel=0.02)


@given(rigid(Frame.GANTRY, Frame.SKULL))
def test_the_crop_loses_nothing(move: RigidTransform) -> None:
    """A solid anywhere, also beside the picture or behind the source, is seen as without a crop."""
    for solid in (roll((-9, 3, 0), (9, 0, 5)), block((9, 5, 4))):
        v = view(21, 20.0)
        ways = (v.pixel_centres_mm() - v.source_mm).reshape(-1, 3) @ move.rotation.T
        start = move.rotation @ v.source_mm + move.translation_mm
        enter, leave = solid.crossings(start, ways)
        whole = np.clip(np.minimum(leave, 1.0) - np.maximum(enter, 0.0), 0.0, None)
        whole *= np.linalg.norm(ways, axis=1)
        np.testing.assert_allclose(solid_lengths(solid, v, move).ravel(), whole, atol=1e-4)


@settings(max_examples=10)
@given(rigid(Frame.GANTRY, Frame.SKULL))
def test_solids_are_what_their_voxels_are(move: RigidTransform) -> None:
    """Roll and turned block agree with their own voxels of 0.25 mm: RMS 2 % of the largest."""
    turn = replace(move, translation_mm=np.zeros(3))
    axes = attitude_rotation(0.3, 0.2, -0.4)
    line = (np.arange(120) - 59.5) * 0.25
    z, y, x = np.meshgrid(line, line, line, indexing="ij", sparse=True)
    local = np.abs(np.stack(np.broadcast_arrays(x, y, z), axis=-1) @ axes)
    bodies: list[tuple[Solid, np.ndarray]] = [
        (roll((-12, 0, 0), (12, 0, 0)), (np.abs(x) < 12.0) & (y**2 + z**2 < 16.0)),
        (block((9, 5, 4), axes), (local < [9.0, 5.0, 4.0]).all(axis=-1)),
    ]
    v = view(61, 0.8)
    for solid, inside in bodies:
        volume = LabelVolume(
            Frame.SKULL, inside.astype(np.uint8), np.full(3, line[0]), 0.25, ("air", "acrylic")
        )
        expected = line_integrals(volume, v, turn)[1]
        found = solid_lengths(solid, v, turn)
        assert np.sqrt(np.mean((found - expected) ** 2)) < 0.02 * expected.max()


# --- refusals -------------------------------------------------------------------------------------


def test_frames_must_fit() -> None:
    """A transform that leads elsewhere is refused."""
    with pytest.raises(FrameError, match="needs gantry→skull, got gantry→mandible"):
        solid_lengths(block((1, 1, 1)), view(), identity(Frame.GANTRY, Frame.MANDIBLE))


def test_solids_have_a_size() -> None:
    """A roll without length and a block without height are refused."""
    with pytest.raises(TrainerError, match="roll 0 mm long"):
        roll((1, 1, 1), (1, 1, 1))
    with pytest.raises(TrainerError, match="half edges"):
        block((1, 0, 1))


# --- in a head ------------------------------------------------------------------------------------


def jaws() -> tuple[LabelVolume, LabelVolume]:
    """Blocks of soft tissue with nothing of the lower jaw in them."""
    labels = np.ones((30, 30, 30), np.uint8)
    corner = np.full(3, -29.0)
    skull = LabelVolume(Frame.SKULL, labels, corner, 2.0, ("air", "soft tissue"))
    lower = LabelVolume(
        Frame.MANDIBLE, labels[:1, :1, :1] * 0, corner, 2.0, ("air", "cortical bone")
    )
    return skull, lower


def test_a_spacer_takes_the_place_of_what_fills_the_mouth() -> None:
    """Its length comes in for as much filler; the sum of all lengths stays."""
    skull, lower = (bricks_of(v) for v in jaws())
    spacer = roll((-19, -10, 0), (19, -10, 0), radius_mm=4.75)
    to_view = inverse(STILL)
    jaw = replace(to_view, source=Frame.MANDIBLE)
    names, without = head_line_integrals(skull, lower, view(), to_view, jaw, "soft tissue")
    more, found = head_line_integrals(
        skull, lower, view(), to_view, jaw, "soft tissue", solids=[spacer]
    )
    assert more == (*names, "acrylic")
    np.testing.assert_allclose(found[3], solid_lengths(spacer, view(), STILL), atol=1e-5)
    np.testing.assert_allclose(found[1] + found[3], without[1], atol=1e-4)
    assert found[3].max() > 9.0


@pytest.mark.parametrize("frame", [Frame.SKULL, Frame.MANDIBLE])
def test_a_spacer_moves_with_its_jaw(frame: Frame) -> None:
    """Its shadow goes down with an open lower jaw if it lies on the lower teeth, else it stays."""
    skull, lower = (bricks_of(v) for v in jaws())
    spacer = replace(roll((-9, -10, 0), (9, -10, 0)), frame=frame)
    to_view = inverse(STILL)
    v = view()
    rows = []
    for drop_mm in (0.0, 12.0):
        jaw = shift(Frame.MANDIBLE, Frame.GANTRY, [0.0, 0.0, -drop_mm])
        found = head_line_integrals(skull, lower, v, to_view, jaw, "soft tissue", [spacer])[1]
        rows.append(np.average(np.arange(v.shape[0]), weights=found[-1].sum(axis=1)))
    down = project_point(v, np.array([[0, -10, -12], [0, -10, 0]]))[:, 0]
    expected = down[0] - down[1] if frame is Frame.MANDIBLE else 0.0
    assert rows[1] - rows[0] == pytest.approx(expected, abs=0.1)


def test_a_solid_of_another_frame_is_refused() -> None:
    """Only skull and lower jaw carry solids."""
    skull, lower = (bricks_of(v) for v in jaws())
    jaw = replace(inverse(STILL), source=Frame.MANDIBLE)
    stray = replace(block((1, 1, 1)), frame=Frame.ROOM)
    with pytest.raises(FrameError, match="moves with room"):
        head_line_integrals(skull, lower, view(), inverse(STILL), jaw, "soft tissue", [stray])

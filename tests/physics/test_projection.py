"""Path lengths against closed forms.

Lengths through voxels are exact for the voxels; a round body differs from its voxels, so spheres
are met on average, and exactly only where voxel walls and body coincide.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp
from strategies import rigid

from trainer.errors import FrameError, TrainerError
from trainer.geometry.transforms import apply, attitude_rotation, identity, inverse, shift
from trainer.models.frames import Frame, RigidTransform
from trainer.models.images import LabelVolume
from trainer.models.materials import Material
from trainer.physics._kernels import compiled_trace
from trainer.physics.bricks import bricks_of
from trainer.physics.detector import transmission
from trainer.physics.projection import (
    head_line_integrals,
    line_integrals,
    plain_line_integrals,
    warm_up,
)
from trainer.physics.spectrum import single_energy
from trainer.physics.views import ViewGeometry, project_point

SID_MM, SDD_MM = 400.0, 600.0
STILL = identity(Frame.GANTRY, Frame.SKULL)
# Float32 holds a path of 200 mm to 1e-5 mm.
CLOSE_MM = 1e-4

WATER = Material("water", 1.0, {"H": 0.111898, "O": 0.888102})


def view(pixels: int = 41, pixel_mm: float = 4.0) -> ViewGeometry:
    """A square frontal view whose middle pixel lies on the central ray, axis in the origin."""
    half = (pixels - 1) / 2.0 * pixel_mm
    return ViewGeometry(
        Frame.GANTRY,
        np.array([0.0, SID_MM, 0.0]),
        np.array([-half, SID_MM - SDD_MM, half]),
        np.array([0.0, 0.0, -pixel_mm]),
        np.array([pixel_mm, 0.0, 0.0]),
        (pixels, pixels),
        "right",
    )


def cube(labels: np.ndarray, spacing_mm: float = 1.0, materials: int = 2) -> LabelVolume:
    """A volume with its middle in the origin of the skull frame."""
    size = np.array(labels.shape[::-1])
    names = ("air", "water", "bone", "metal")[:materials]
    return LabelVolume(
        Frame.SKULL, labels.astype(np.uint8), -(size - 1) / 2.0 * spacing_mm, spacing_mm, names
    )


def centres_mm(edge: int, spacing_mm: float) -> list[np.ndarray]:
    """Voxel centres of a cube about the origin, as z, y, x that broadcast."""
    line = (np.arange(edge) - (edge - 1) / 2.0) * spacing_mm
    return [line[:, None, None], line[None, :, None], line[None, None, :]]


def slopes(v: ViewGeometry) -> np.ndarray:
    """Length of each ray against its way along the central ray, (rows, columns)."""
    ways = v.pixel_centres_mm() - v.source_mm
    return np.linalg.norm(ways, axis=-1) / abs(ways[..., 1])


def sphere_mm(v: ViewGeometry, radius_mm: float, centre_mm: np.ndarray) -> np.ndarray:
    """Length of each ray in a sphere: 2 sqrt(r^2 - d^2) at distance d from its middle."""
    ways = v.pixel_centres_mm() - v.source_mm
    ways /= np.linalg.norm(ways, axis=-1, keepdims=True)
    distance = np.linalg.norm(np.cross(centre_mm - v.source_mm, ways), axis=-1)
    return 2.0 * np.sqrt(np.maximum(radius_mm**2 - distance**2, 0.0))


# --- kernel and twin ------------------------------------------------------------------------------


@settings(max_examples=25)
@given(
    hnp.arrays(
        np.uint8,
        st.tuples(*[st.integers(1, 20)] * 3),
        elements=st.integers(0, 2),
        fill=st.integers(0, 2),
    ),
    rigid(Frame.GANTRY, Frame.SKULL),
    st.floats(0.3, 5.0),
)
def test_the_compiled_kernel_finds_what_its_plain_twin_finds(
    labels: np.ndarray, move: RigidTransform, spacing_mm: float
) -> None:
    """Walking from voxel to voxel and sorting all wall crossings give the same lengths."""
    volume = cube(labels, spacing_mm, 3)
    v = view(pixels=9, pixel_mm=20.0)
    fast, plain = line_integrals(volume, v, move), plain_line_integrals(volume, v, move)
    np.testing.assert_allclose(fast, plain, rtol=0, atol=CLOSE_MM)


def test_rays_along_voxel_walls_lose_nothing() -> None:
    """Rays exactly on walls and edges of voxels cross the whole block, in either kernel."""
    volume = cube(np.ones((16, 16, 16)))
    v = view(pixels=3, pixel_mm=3.0)
    for kernel in (line_integrals, plain_line_integrals):
        lengths = kernel(volume, v, STILL)
        np.testing.assert_allclose(lengths[1], 16.0 * slopes(v), atol=CLOSE_MM)


def test_a_source_inside_of_the_volume_counts_from_itself() -> None:
    """Only the way from the source onwards counts."""
    volume = cube(np.ones((40, 40, 40)))
    inside = replace(view(pixels=1), source_mm=np.array([0.0, 7.0, 0.0]))
    for kernel in (line_integrals, plain_line_integrals):
        assert kernel(volume, inside, STILL)[1, 0, 0] == pytest.approx(27.0, abs=CLOSE_MM)


def test_a_detector_inside_of_the_volume_ends_the_way() -> None:
    """Nothing behind a pixel counts, also when the pixel lies in the middle of a mixed brick."""
    labels = np.ones((40, 40, 40))
    labels[:, ::3] = 0
    near = replace(view(pixels=1), first_pixel_mm=np.array([0.2, 2.7, 0.3]))
    volume = cube(labels)
    fast, plain = (k(volume, near, STILL) for k in (line_integrals, plain_line_integrals))
    np.testing.assert_allclose(fast, plain, atol=CLOSE_MM)
    assert fast.sum() == pytest.approx(17.3, abs=1e-2)


def test_warming_up_compiles_what_pictures_use() -> None:
    """A picture after the warm-up uses the kernel that is there, whatever volume comes in."""
    warm_up()
    labels = np.asfortranarray(np.random.default_rng(3).integers(0, 2, (9, 20, 17)))
    line_integrals(cube(labels), view(), STILL)
    frozen = cube(labels)
    frozen.labels.flags.writeable = False
    line_integrals(frozen, view(), STILL)
    assert len(compiled_trace().signatures) == 1


def test_bricks_made_ahead_change_nothing() -> None:
    """A label volume and its bricks give the same picture."""
    labels = np.random.default_rng(3).integers(0, 3, (20, 30, 25))
    volume = cube(labels, 2.0, 3)
    np.testing.assert_array_equal(
        line_integrals(volume, view(), STILL), line_integrals(bricks_of(volume), view(), STILL)
    )


# --- closed forms ---------------------------------------------------------------------------------


@pytest.mark.parametrize("thickness", [1, 5, 8, 23])
def test_slab(thickness: int) -> None:
    """A slab across the central ray is crossed on thickness / cos of the ray's angle."""
    labels = np.zeros((300, 40, 300))
    labels[:, 9 : 9 + thickness] = 1
    v = view()
    found = line_integrals(cube(labels), v, STILL)
    np.testing.assert_allclose(found[1], thickness * slopes(v), rtol=1e-6)
    np.testing.assert_allclose(found.sum(axis=0), 40.0 * slopes(v), rtol=1e-6)


def test_cylinder() -> None:
    """A cylinder along the ray is crossed on its whole length, one across it on its chords.

    Chords across: 2 sqrt(r^2 - d^2), root mean square within 0.5 % of the largest.
    """
    z, y, x = centres_mm(240, 0.25)
    across = cube(np.repeat(x**2 + y**2 < 25.0**2, 8, axis=0), 0.25)
    v = view(pixels=201, pixel_mm=0.4)
    row = line_integrals(across, v, STILL)[1, 100]
    expected = sphere_mm(v, 25.0, np.zeros(3))[100]  # in the middle plane the same
    assert np.sqrt(np.mean((row - expected) ** 2)) < 0.005 * 50.0
    z, y, x = centres_mm(128, 0.5)
    along = cube(((x**2 + z**2) < 10.0**2) & (abs(y) < 20.0), 0.5)
    near = line_integrals(along, view(pixels=1), STILL)[1, 0, 0]
    assert near == pytest.approx(40.0, abs=CLOSE_MM)


def test_sphere() -> None:
    """Chords of a sphere: RMS within 0.5 % of the largest, their total within 0.3 %.

    For comparison, a Joseph projector of an open toolkit has 0.35 % and 1.0003 (computed, with a
    sphere of r = 60 mm in voxels of 1.25 mm).
    """
    radius = 30.0
    z, y, x = centres_mm(160, 0.4)
    volume = cube(x**2 + y**2 + z**2 < radius**2, 0.4)
    v = view(pixels=151, pixel_mm=0.7)
    found, expected = line_integrals(volume, v, STILL)[1], sphere_mm(v, radius, np.zeros(3))
    assert np.sqrt(np.mean((found - expected) ** 2)) < 0.005 * 2.0 * radius
    assert found.sum() == pytest.approx(expected.sum(), rel=0.003)


def test_water_sphere_at_one_energy() -> None:
    """Through the middle of a water sphere of r = 60 mm at 60 keV passes exp(-mu 120 mm), to 1e-3.

    mu = 0.2059 per cm: NIST XAAMDI (SRD 126), Table 4.
    """
    z, y, x = centres_mm(123, 1.0)
    labels = x**2 + y**2 + z**2 < 60.0**2
    volume = cube(labels)
    on_the_line = int(labels[61, :, 61].sum())
    assert on_the_line == 119  # voxels of 1 mm whose centres lie inside on this line
    paths = line_integrals(volume, view(pixels=1), STILL)
    passed = transmission(paths[1:], [WATER], single_energy(60.0))[0, 0]
    assert passed == pytest.approx(np.exp(-0.02059 * 119.0), rel=1e-3)
    # with walls on the sphere's poles the line is 120 mm
    z, y, x = centres_mm(120, 1.0)
    even = cube(x**2 + y**2 + z**2 < 60.0**2)
    paths = line_integrals(even, view(pixels=1), STILL)
    passed = transmission(paths[1:], [WATER], single_energy(60.0))[0, 0]
    assert passed == pytest.approx(np.exp(-0.02059 * 120.0), abs=1e-3)
    assert passed == pytest.approx(np.exp(-0.02059 * 120.0), rel=1e-3)


# --- what moves and what does not -----------------------------------------------------------------


@given(
    st.floats(-60.0, 60.0),
    st.integers(0, 8),
    st.integers(0, 8),
    rigid(Frame.GANTRY, Frame.SKULL),
)
def test_moving_along_a_ray_changes_nothing_on_it(
    way_mm: float, row: int, column: int, move: RigidTransform
) -> None:
    """However far a body moves along a ray, that ray crosses the same lengths."""
    v = view(pixels=9, pixel_mm=15.0)
    turn = replace(move, translation_mm=np.zeros(3))
    labels = np.random.default_rng(5).integers(0, 3, (30, 30, 30))
    volume = cube(labels, 2.0, 3)
    pixel = v.pixel_centres_mm()[row, column]
    along = (pixel - v.source_mm) / np.linalg.norm(pixel - v.source_mm)
    away = replace(turn, translation_mm=-turn.rotation @ (way_mm * along))
    here, there = (line_integrals(volume, v, t)[:, row, column] for t in (turn, away))
    np.testing.assert_allclose(here[1:], there[1:], atol=2e-3)


@given(rigid(Frame.SKULL, Frame.GANTRY))
def test_moving_body_and_view_together_changes_nothing(move: RigidTransform) -> None:
    """A view that is carried along with the body gives the same picture."""
    v = view(pixels=7, pixel_mm=17.3)
    carried = replace(
        v,
        source_mm=apply(move, v.source_mm),
        first_pixel_mm=apply(move, v.first_pixel_mm),
        row_step_mm=move.rotation @ v.row_step_mm,
        column_step_mm=move.rotation @ v.column_step_mm,
    )
    volume = cube(np.random.default_rng(7).integers(0, 2, (15, 18, 21)), 3.7)
    np.testing.assert_allclose(
        plain_line_integrals(volume, v, STILL),
        line_integrals(volume, carried, inverse(move)),
        atol=1e-3,
    )


@given(st.floats(-50.0, 50.0), st.floats(-50.0, 50.0), st.floats(-50.0, 50.0))
def test_a_small_ball_lands_where_its_middle_does(x_mm: float, y_mm: float, z_mm: float) -> None:
    """The weighted middle of a small ball's shadow is its projected centre, to 0.3 pixels."""
    z, y, x = centres_mm(12, 0.5)
    ball = cube(x**2 + y**2 + z**2 < 2.5**2, 0.5)
    v = view(pixels=201, pixel_mm=1.0)
    shadow = line_integrals(ball, v, shift(Frame.GANTRY, Frame.SKULL, [-x_mm, -y_mm, -z_mm]))[1]
    rows, columns = np.indices(v.shape)
    middle = [np.average(i, weights=shadow) for i in (rows, columns)]
    expected = project_point(v, [x_mm, y_mm, z_mm])
    assert np.abs(np.array(middle) - expected).max() < 0.3  # pixels; 1 is asked for


def test_a_ball_on_the_patients_left_is_on_the_right_of_a_frontal_picture() -> None:
    """The shadow of a ball at the patient's left lies in the right half, a high one at the top."""
    z, y, x = centres_mm(12, 1.0)
    ball = cube(x**2 + y**2 + z**2 < 5.0**2)
    to_ball = shift(Frame.GANTRY, Frame.SKULL, [-30.0, 0.0, -20.0])  # 30 mm left, 20 mm up
    shadow = line_integrals(ball, view(), to_ball)[1]
    assert shadow.sum() > 0.0
    assert shadow[:, :21].sum() == 0.0
    assert shadow[20:].sum() == 0.0


def test_frames_must_fit() -> None:
    """A transform that leads elsewhere is refused; the message says what was needed."""
    with pytest.raises(FrameError, match="needs gantry→skull, got gantry→mandible"):
        line_integrals(cube(np.ones((2, 2, 2))), view(), identity(Frame.GANTRY, Frame.MANDIBLE))


# --- the lower jaw --------------------------------------------------------------------------------


def test_the_lower_jaw_takes_the_place_of_soft_tissue() -> None:
    """Head and jaw together give what one volume with the jaw in it gives."""
    labels = np.zeros((24, 30, 26))
    labels[3:21, 4:26, 3:22] = 1
    labels[16:19, 6:22, 8:18] = 2
    head = cube(labels, 2.0, 3)
    part = np.zeros((24, 30, 26))
    part[5:12, 6:20, 7:19] = 2
    part[8:10, 8:18, 9:17] = 3
    jaw = replace(cube(part, 2.0, 4), frame=Frame.MANDIBLE)
    whole = cube(np.where(part > 0, part, labels), 2.0, 4)
    turn = attitude_rotation(0.2, -0.1, 0.1)
    to_view = RigidTransform(Frame.SKULL, Frame.GANTRY, turn, np.array([4.0, -3.0, 2.0]))
    names, found = head_line_integrals(
        bricks_of(head),
        bricks_of(jaw),
        view(),
        to_view,
        replace(to_view, source=Frame.MANDIBLE),
        filler="water",
    )
    assert names == ("air", "water", "bone", "metal")
    expected = line_integrals(whole, view(), inverse(to_view))
    np.testing.assert_allclose(found, expected, atol=1e-3)


def test_an_unknown_filler_is_refused() -> None:
    """The filler must be a material of the skull's volume."""
    head = bricks_of(cube(np.ones((2, 2, 2))))
    back = inverse(STILL)
    with pytest.raises(TrainerError, match="has no 'fat'"):
        head_line_integrals(head, head, view(), back, back, "fat")

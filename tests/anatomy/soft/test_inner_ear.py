"""The left inner ear and the ossicles against published sizes and their places in the bone."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from numpy.typing import NDArray
from scipy import ndimage

from trainer.anatomy.bones.braincase import inner_vault
from trainer.anatomy.bones.cranium import cranium
from trainer.anatomy.bones.skull_base import tympanic_cavity
from trainer.anatomy.people.landmarks import starter_landmarks
from trainer.anatomy.shapes.implicit import Shape
from trainer.anatomy.shapes.meshing import Mesh, surface, volume_mm3
from trainer.anatomy.shapes.sculpt import lfu
from trainer.anatomy.soft.airway import mastoid_cells
from trainer.anatomy.soft.inner_ear import (
    COCHLEA_LFU,
    MESH_STEP_MM,
    STAPES_FOOT_LFU,
    STAPES_HEAD_LFU,
    canals,
    cochlea,
    cochlea_frame,
    incus,
    inner_ear,
    labyrinth,
    malleus,
    stapes,
    vestibule,
)
from trainer.models.subject import MEAN_MAN

Array = NDArray[np.float64]
CONNECTED = (
    "cochlea-left",
    "vestibule-left",
    "semicircular-canals-left",
    "inner-ear-left",
    "auditory-nerve-canal-left",
)


@pytest.fixture(scope="module")
def meshes() -> dict[str, Mesh]:
    return {key: surface(shape, MESH_STEP_MM[key]) for key, shape in inner_ear().items()}


def longest(shape: Shape) -> float:
    """The greatest distance between two points of the solid [mm]."""
    hull = trimesh.convex.convex_hull(surface(shape, 0.12).vertices_mm).vertices
    return float(np.linalg.norm(hull[:, None] - hull[None], axis=2).max())


def test_surfaces_are_closed(meshes: dict[str, Mesh]) -> None:
    """Every space is one closed surface; the ossicles are three."""
    for key, mesh in meshes.items():
        solid = trimesh.Trimesh(mesh.vertices_mm, mesh.faces, process=False)
        assert solid.is_watertight, key
        assert solid.body_count == (1 if key in CONNECTED else 3), key
        assert volume_mm3(mesh) > 0, key


def test_cochlea_size(meshes: dict[str, Mesh]) -> None:
    """Basal turn 8.75 (0.31) long and 6.53 (0.35) wide, height 3.26 (0.24), within two SD.

    CT study of 36 ears from Medan, PMC6449142. The length is also 9.23 (0.53) in Escude et al.,
    Audiol. Neurotol. 2006.
    """
    own = (meshes["cochlea-left"].vertices_mm - lfu(COCHLEA_LFU)) @ cochlea_frame().T
    length, width, height = np.ptp(own, axis=0)
    assert length == pytest.approx(8.75, abs=0.62)
    assert width == pytest.approx(6.53, abs=0.70)
    assert height == pytest.approx(3.26, abs=0.48)


def test_cochlea_has_two_and_a_half_turns() -> None:
    """A cut along the axis meets the tube three times on one side and twice on the other.

    2.57 (0.28) turns: quoted in the inner-ear template paper, Sci. Rep. 2021.
    """
    _, quarter, tip = cochlea_frame()
    across, along = np.arange(-6.0, 6.0, 0.05), np.arange(-2.0, 4.0, 0.05)
    a, b = np.meshgrid(across, along, indexing="ij")
    points = lfu(COCHLEA_LFU) + a[..., None] * quarter + b[..., None] * tip
    hollow = cochlea()(points).reshape(a.shape) < 0
    # half a millimetre beside the axis, past the tube's blunt end
    for side, turns in ((across > 0.5, 3), (across < -0.5, 2)):
        assert ndimage.label(hollow[side])[1] == turns


@pytest.fixture(scope="module")
def loops() -> dict[str, tuple[Array, float]]:
    """For each canal the unit vector square to its plane, and its middle line's radius [mm]."""
    found = {}
    for key, shape in canals().items():
        points = surface(shape, 0.3).vertices_mm
        loop = points[vestibule()(points) > 1.5]
        off = loop - loop.mean(axis=0)
        axes = np.linalg.svd(off, full_matrices=False)[2]
        flat = off @ axes[:2].T
        # the best circle: x^2 + y^2 = 2 a x + 2 b y + c
        terms = np.column_stack([2 * flat, np.ones(len(flat))])
        a, b, c = np.linalg.lstsq(terms, (flat**2).sum(axis=1), rcond=None)[0]
        found[key] = axes[2], float(np.sqrt(c + a * a + b * b))
    return found


def test_canals_stand_square_to_each_other(loops: dict[str, tuple[Array, float]]) -> None:
    """The angles between the canals' planes keep to the published ones within two SD.

    Anterior and posterior 94.0 (4.0), anterior and lateral 90.6 (6.2), lateral and posterior 90.4
    (4.9); the lateral one's axis 19.9 (7.0) from upright. Della Santina et al., JARO 2005.
    """

    def apart_deg(a: Array, b: Array) -> float:
        return float(np.degrees(np.arccos(abs(a @ b))))

    square = {key: axis for key, (axis, _) in loops.items()}
    for (a, b), least in (
        (("anterior", "posterior"), 86.0),
        (("anterior", "lateral"), 78.2),
        (("lateral", "posterior"), 80.6),
    ):
        assert apart_deg(square[a], square[b]) >= least, (a, b)
    assert apart_deg(square["lateral"], np.array([0.0, 0.0, 1.0])) == pytest.approx(19.9, abs=14)


def test_lateral_canal_is_a_fifth_smaller(loops: dict[str, tuple[Array, float]]) -> None:
    """The lateral canal's radius is 20 % below those of the others, give or take 6 points.

    Anat. Rec. 2013, micro-CT of 40 bones.
    """
    others = (loops["anterior"][1] + loops["posterior"][1]) / 2
    assert loops["lateral"][1] / others == pytest.approx(0.80, abs=0.06)


def test_labyrinth_volume(meshes: dict[str, Mesh]) -> None:
    """The labyrinth holds 150 to 260 mm3 (from memory, ear texts)."""
    assert 150.0 <= volume_mm3(meshes["inner-ear-left"]) <= 260.0


def test_labyrinth_lies_in_bone(meshes: dict[str, Mesh]) -> None:
    """The labyrinth is shut in the petrous bone everywhere."""
    assert cranium()(meshes["inner-ear-left"].vertices_mm).max() < -0.2


def test_order_of_the_parts(meshes: dict[str, Mesh]) -> None:
    """The labyrinth lies inwards of the tympanic cavity: cochlea in front, canals behind, above."""
    middle = {key: mesh.vertices_mm.mean(axis=0) for key, mesh in meshes.items()}
    cavity = starter_landmarks(MEAN_MAN)["tympanic-cavity-left"]
    assert meshes["inner-ear-left"].vertices_mm[:, 0].max() < cavity[0]
    assert middle["cochlea-left"][1] < middle["vestibule-left"][1]
    assert middle["vestibule-left"][1] < middle["semicircular-canals-left"][1]
    assert middle["semicircular-canals-left"][2] > middle["vestibule-left"][2]
    assert middle["auditory-nerve-canal-left"][0] < middle["inner-ear-left"][0]


def test_nerve_canal(meshes: dict[str, Mesh]) -> None:
    """9.84 long, 7.10 wide at its opening, 4.47 high (Iran. J. Radiol. 2012), within an eighth.

    Volume 74 to 502 mm3 in men: The Normal Adult Human Internal Auditory Canal, a volumetric CT
    study, 2017 (518 canals).
    """
    mesh = meshes["auditory-nerve-canal-left"]
    v = mesh.vertices_mm
    along = np.linalg.svd(v - v.mean(axis=0), full_matrices=False)[2][0]
    assert np.ptp(v @ along) == pytest.approx(9.84, rel=0.125)
    assert np.ptp(v[:, 2]) == pytest.approx(4.47, rel=0.10)
    flat = np.cross(along, [0.0, 0.0, 1.0])
    assert np.ptp(v @ flat) == pytest.approx(7.10, rel=0.10)
    assert 74.0 <= volume_mm3(mesh) <= 502.0


def test_nerve_canal_leads_from_brain_to_labyrinth(meshes: dict[str, Mesh]) -> None:
    """Its inner end opens into the brain's space, its outer end stops in bone by the labyrinth."""
    v = meshes["auditory-nerve-canal-left"].vertices_mm
    bone = cranium()(v)
    open_end = v[bone > 0.2]
    assert len(open_end)
    assert open_end[:, 0].max() < v[:, 0].min() + 5.0
    assert inner_vault()(v[np.argmax(bone)][None])[0] < 0
    gap = labyrinth()(v).min()
    assert 0.3 <= gap <= 3.0


def test_ossicle_lengths() -> None:
    """Malleus 8.08, incus 5.71, stapes 2.70 long, within a tenth.

    Int. J. Morphol. 2015 (22 bones); J. Anat. Soc. India 2022 (40 sets).
    """
    assert longest(malleus()) == pytest.approx(8.08, rel=0.10)
    assert longest(incus()) == pytest.approx(5.71, rel=0.10)
    points = surface(stapes(), 0.12).vertices_mm
    along = lfu(STAPES_HEAD_LFU) - lfu(STAPES_FOOT_LFU)
    assert np.ptp(points @ along) / np.linalg.norm(along) == pytest.approx(2.70, rel=0.10)


def test_ossicles_lie_in_the_middle_ear(meshes: dict[str, Mesh]) -> None:
    """Nearly all of the ossicles is in the tympanic cavity or the air above and behind it.

    The stapes' plate stands in the wall, beside the vestibule.
    """
    v = meshes["ossicles-left"].vertices_mm
    air = np.minimum(tympanic_cavity()(v), mastoid_cells()(v))
    assert np.mean(air < 0) > 0.9
    assert air.max() < 1.0
    foot = surface(stapes(), 0.12).vertices_mm
    assert abs(vestibule()(foot).min()) < 0.4


def test_sizes_together(meshes: dict[str, Mesh]) -> None:
    """The ossicles together take 20 to 35 mm3.

    38 to 68 mg (J. Anat. Soc. India 2022; Ann. Otol. 2013) of bone, 1.9 g/cm3.
    """
    assert 20.0 <= volume_mm3(meshes["ossicles-left"]) <= 35.0

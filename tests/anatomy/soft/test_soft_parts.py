"""Brain, tongue, soft palate, salivary glands and thyroid against published sizes and places."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from numpy.typing import NDArray

from trainer.anatomy.bones.cranium import cranium
from trainer.anatomy.bones.mandible import mandible
from trainer.anatomy.bones.spine import cervical_column, hyoid
from trainer.anatomy.people.landmarks import starter_landmarks
from trainer.anatomy.shapes.implicit import Shape, union
from trainer.anatomy.shapes.meshing import Mesh, surface, volume_mm3
from trainer.anatomy.shapes.sculpt import lfu
from trainer.anatomy.soft.skin import skin
from trainer.anatomy.soft.soft_parts import MESH_STEP_MM, soft_parts
from trainer.anatomy.teeth.dentition import dentition
from trainer.models.subject import MEAN_MAN

Array = NDArray[np.float64]
# Soft parts may dent a bone by this much at most [mm].
MOST_INTO_BONE_MM = 0.3
# At most so many corners of a part are tried against the others: common practice, no source.
TRIED = 4000

# Volume [mL]: least, most. Masses over densities: ICRP 89 from memory, ICRU 44.
VOLUMES_ML = {
    "brain": (1324.0, 1464.0),  # 1450 g of 1.04 g/cm3, 5 %
    "tongue": (66.0, 73.0),  # 73 g of 1.05 g/cm3, 5 %
    "soft-palate": (2.0, 6.0),  # from memory
    "parotid-left": (19.4, 29.2),  # 25 g of 1.03 g/cm3, 20 %
    "submandibular-gland-left": (4.6, 9.6),  # 7.1 (2.5): ultrasound study, n = 100
    "sublingual-gland-left": (2.0, 3.0),  # ICRP 89 and Gray, from memory
    "thyroid": (15.0, 25.0),  # University of Virginia thyroid ultrasound course, 2013
}


@pytest.fixture(scope="module")
def meshes() -> dict[str, Mesh]:
    return {key: surface(shape, MESH_STEP_MM[key]) for key, shape in soft_parts().items()}


@pytest.fixture(scope="module")
def teeth() -> Shape:
    return union(*(tooth.solid for tooth in dentition(MEAN_MAN)))


def some(mesh: Mesh) -> Array:
    """Corners of the surface, evenly picked."""
    return mesh.vertices_mm[:: max(1, len(mesh.vertices_mm) // TRIED)]


def least_distance(shape: Shape, points: Array) -> float:
    """The least distance [mm] of points to a shape, among those in its box; inf without any."""
    beside = points[np.all((points > shape.lower_mm) & (points < shape.upper_mm), axis=1)]
    # in compact runs, for which blends are quick
    runs = np.array_split(beside, len(beside) // 300 + 1)
    return min((float(shape(run).min()) for run in runs if len(run)), default=np.inf)


def spread(mesh: Mesh) -> Array:
    """Extents along the part's own principal axes [mm], the longest first."""
    v = mesh.vertices_mm
    off = v - v.mean(axis=0)
    return np.asarray(np.ptp(off @ np.linalg.svd(off, full_matrices=False)[2].T, axis=0))


def test_surfaces_are_closed(meshes: dict[str, Mesh]) -> None:
    """Every part is one closed surface."""
    for key, mesh in meshes.items():
        solid = trimesh.Trimesh(mesh.vertices_mm, mesh.faces, process=False)
        assert solid.is_watertight, key
        assert solid.body_count == 1, key


@pytest.mark.parametrize("key", sorted(VOLUMES_ML))
def test_volume(meshes: dict[str, Mesh], key: str) -> None:
    """The part's volume lies in the published range."""
    least, most = VOLUMES_ML[key]
    assert least <= volume_mm3(meshes[key]) / 1000.0 <= most


def test_parts_lie_under_the_skin(meshes: dict[str, Mesh]) -> None:
    """Every tried corner of every part is more than 2 mm inside the skin."""
    for key, mesh in meshes.items():
        assert skin()(some(mesh)).max() < -2.0, key


def test_parts_keep_out_of_bones_and_teeth(meshes: dict[str, Mesh], teeth: Shape) -> None:
    """No part dents skull, lower jaw, neck bones, hyoid or teeth by more than 0.3 mm."""
    hard = {
        "skull": cranium(),
        "lower jaw": mandible(MEAN_MAN),
        "cervical column": cervical_column(),
        "hyoid": hyoid(),
        "teeth": teeth,
    }
    for key, mesh in meshes.items():
        for name, bone in hard.items():
            assert least_distance(bone, some(mesh)) > -MOST_INTO_BONE_MM, f"{key} in {name}"


def test_parts_keep_out_of_each_other(meshes: dict[str, Mesh]) -> None:
    """No corner of a part lies in another part."""
    for key, mesh in meshes.items():
        for other, shape in soft_parts().items():
            if other != key:
                assert least_distance(shape, some(mesh)) > 0.0, f"{key} in {other}"


def test_parotid(meshes: dict[str, Mesh]) -> None:
    """Length 47 (41-53) and 37-38 from front to back, within 3 (ultrasound, n = 400).

    It reaches from the cheekbone's arch to the jaw's angle, and behind the ramus.
    """
    v, marks = meshes["parotid-left"].vertices_mm, starter_landmarks(MEAN_MAN)
    angle, hinge = marks["gonion-left"], marks["hinge-left"]
    assert 41.0 <= np.ptp(v[:, 2]) <= 53.0
    assert np.ptp(v[:, 1]) == pytest.approx(37.5, abs=3.0)
    assert v[:, 2].min() == pytest.approx(angle[2], abs=6.0)
    assert v[:, 2].max() == pytest.approx(hinge[2], abs=6.0)
    assert v[:, 0].min() < angle[0] - 10.0  # the deep part, inwards of the jaw's angle


def test_parotid_over_the_ramus() -> None:
    """Over the ramus the parotid is 8 mm thick, within 2 (ultrasound, n = 400)."""
    across = np.arange(40.0, 75.0, 0.1)
    gland = soft_parts()["parotid-left"]
    for forward, up in ((18, -30), (18, -36), (20, -42)):
        inside = gland(lfu([(x, forward, up) for x in across])) < 0
        assert inside.sum() * 0.1 == pytest.approx(8.0, abs=2.0), (forward, up)


def test_submandibular_gland(meshes: dict[str, Mesh]) -> None:
    """33 x 22 x 17 along its own axes, within 2 (ultrasound, n = 100), inside the jaw's angle."""
    mesh, marks = meshes["submandibular-gland-left"], starter_landmarks(MEAN_MAN)
    np.testing.assert_allclose(spread(mesh), [32.6, 22.3, 17.4], rtol=0, atol=2.0)
    middle = mesh.vertices_mm.mean(axis=0)
    assert middle[0] < marks["gonion-left"][0]
    assert marks["menton"][2] < middle[2] < marks["gonion-left"][2]
    # from the first molar to the angle
    assert marks["upper-first-molar-cusp-left"][1] < middle[1] < marks["gonion-left"][1]


def test_sublingual_gland(meshes: dict[str, Mesh]) -> None:
    """40 long, 12 high, 8 thick, within 2 (from memory: ICRP 89, Gray); above the lower gland."""
    mesh = meshes["sublingual-gland-left"]
    length, height, _ = spread(mesh)
    assert length == pytest.approx(40.0, abs=2.0)
    assert height == pytest.approx(12.0, abs=2.0)
    below = meshes["submandibular-gland-left"].vertices_mm
    assert mesh.vertices_mm[:, 2].mean() > below[:, 2].mean()
    assert mesh.vertices_mm[:, 1].mean() < below[:, 1].mean()


def test_thyroid_below_the_chin(meshes: dict[str, Mesh]) -> None:
    """Upper poles 30 (10), isthmus 65 (12), lower poles 80 (12) below the bony chin.

    Derived from hyoid and larynx, a weak figure.
    """
    v, chin = meshes["thyroid"].vertices_mm, starter_landmarks(MEAN_MAN)["menton"][2]
    assert chin - v[:, 2].max() == pytest.approx(30.0, abs=10.0)
    assert chin - v[:, 2].min() == pytest.approx(80.0, abs=12.0)
    bridge = v[np.abs(v[:, 0]) < 3.0]
    assert chin - bridge[:, 2].mean() == pytest.approx(65.0, abs=12.0)


def test_thyroid_lobes(meshes: dict[str, Mesh]) -> None:
    """Lobe 40-60 long, 15-20 wide, 13-20 deep, isthmus 4-6 thick.

    University of Virginia thyroid ultrasound course, 2013.
    """
    v = meshes["thyroid"].vertices_mm
    left = v[v[:, 0] > 9.0]
    assert 40.0 <= np.ptp(left[:, 2]) <= 60.0
    assert 15.0 <= np.ptp(left[:, 0]) <= 20.0
    assert 13.0 <= np.ptp(left[:, 1]) <= 20.0
    forward = np.arange(20.0, 40.0, 0.05)
    bridge = soft_parts()["thyroid"](lfu([(0.0, f, -161.0) for f in forward])) < 0
    assert 4.0 <= bridge.sum() * 0.05 <= 6.0


def test_soft_palate_hangs_from_the_hard_one(meshes: dict[str, Mesh]) -> None:
    """From the rear nasal spine to the tip it is 35 mm long, within 4, and 8 thick, within 2.

    From memory: cephalometric texts.
    """
    v, spine = (
        meshes["soft-palate"].vertices_mm,
        starter_landmarks(MEAN_MAN)["posterior-nasal-spine"],
    )
    assert np.linalg.norm(v[np.argmin(v[:, 2])] - spine) == pytest.approx(35.0, abs=4.0)
    assert np.linalg.norm(v - spine, axis=1).min() < 3.0
    middle = v[np.abs(v[:, 0]) < 1.0]
    along = np.linalg.svd(middle - middle.mean(axis=0), full_matrices=False)[2]
    across = (middle - middle.mean(axis=0)) @ along.T
    belly = across[np.abs(across[:, 0]) < 1.5]
    assert np.ptp(belly[:, 1]) == pytest.approx(8.0, abs=2.0)


def test_tongue_lies_between_the_teeth(meshes: dict[str, Mesh]) -> None:
    """Its tip is behind the lower incisors, its back just below the hard palate, its root high.

    The root ends above the hyoid.
    """
    v, marks = meshes["tongue"].vertices_mm, starter_landmarks(MEAN_MAN)
    tip = v[np.argmin(v[:, 1])]
    edge = marks["lower-incisor-edge"]
    assert 2.0 < tip[1] - edge[1] < 12.0
    assert abs(tip[2] - edge[2]) < 6.0
    assert 4.0 < marks["posterior-nasal-spine"][2] - v[:, 2].max() < 14.0
    assert v[:, 2].min() > marks["hyoid"][2]


def test_brain_is_alike_on_both_sides(meshes: dict[str, Mesh]) -> None:
    """The brain's middle lies in the midline, above the ear line and behind the saddle."""
    middle = meshes["brain"].vertices_mm.mean(axis=0)
    saddle = starter_landmarks(MEAN_MAN)["sella"]
    assert abs(middle[0]) < 0.5
    assert middle[2] > saddle[2]
    assert middle[1] > saddle[1]

"""The skin of head and neck: sizes against ANSUR II 2012, soft tissue depths, and how it opens.

Sizes: means of the ANSUR II public working databases (US Army 2012; 4082 men, 1986 women), with
the tolerances of this project's list of checks for a mean head. Depths: from memory, Stephan &
Simpson, pooled soft tissue depths, 2008, unless said.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy.spatial import ConvexHull

from trainer.anatomy.bones.cranium import cranium
from trainer.anatomy.bones.mandible import mandible
from trainer.anatomy.people.landmarks import chin_contact, starter_landmarks
from trainer.anatomy.people.warp import head_warp
from trainer.anatomy.shapes.implicit import Shape
from trainer.anatomy.shapes.meshing import Mesh, surface, volume_mm3
from trainer.anatomy.soft.skin import jaw_share, skin, skin_points
from trainer.anatomy.soft.skin_base import CUT_UP_MM
from trainer.anatomy.soft.skin_face import MOUTH_HALF_WIDTH_MM, lip_line, mouth_height
from trainer.models.subject import MEAN_MAN, MEAN_WOMAN, Person

SPACING_MM = 2.0
SEXES = [MEAN_MAN, MEAN_WOMAN]
NAMES = {
    "tragion-left", "tragion-right", "glabella", "sellion", "subnasale", "nose-tip", "pupil-left",
    "pupil-right", "lip-line", "pogonion-skin", "chin-contact", "vertex", "opisthocranion",
}  # fmt: skip


class Head(NamedTuple):
    """Skin of the mean man or woman: vertices (n, 3) and named points [mm]."""

    vertices_mm: np.ndarray
    points: dict[str, np.ndarray]


@pytest.fixture(scope="module")
def mesh() -> Mesh:
    """The man's skin as a mesh."""
    return surface(skin(), SPACING_MM)


@pytest.fixture(scope="module")
def heads(mesh: Mesh) -> dict[Person, Head]:
    """Both mean heads; the woman's through the landmark map."""
    found = {}
    for person in SEXES:
        warp = head_warp(person)
        points = skin_points()
        moved = warp.to_subject(np.array(list(points.values())))
        found[person] = Head(
            warp.to_subject(mesh.vertices_mm), dict(zip(points, moved, strict=True))
        )
    return found


def tape_mm(vertices_mm: np.ndarray, through_mm: np.ndarray, normal: np.ndarray) -> float:
    """Length of a tight tape around the vertices within 2 mm of a plane that holds the x axis."""
    along = np.cross(normal, [1.0, 0.0, 0.0])
    near = vertices_mm[np.abs((vertices_mm - through_mm) @ normal) < SPACING_MM]
    flat = np.stack([near[:, 0], (near - through_mm) @ along], axis=1)
    return float(ConvexHull(flat).area)  # the perimeter, in two dimensions


def width_mm(
    vertices_mm: np.ndarray, forward: tuple[float, float], up: tuple[float, float]
) -> float:
    """Greatest breadth of the vertices between two places forward and two heights."""
    f, u = -vertices_mm[:, 1], vertices_mm[:, 2]
    inside = (f > forward[0]) & (f < forward[1]) & (u > up[0]) & (u < up[1])
    return float(np.ptp(vertices_mm[inside, 0]))


@pytest.mark.parametrize(("person", "mean_mm"), [(MEAN_MAN, 154.3), (MEAN_WOMAN, 147.8)])
def test_head_breadth(heads: dict[Person, Head], person: Person, mean_mm: float) -> None:
    """The head above the ears is as broad as ANSUR II has it, to 5 mm."""
    assert width_mm(heads[person].vertices_mm, (-110, 110), (38, 140)) == pytest.approx(
        mean_mm, abs=5
    )


@pytest.mark.parametrize(("person", "mean_mm"), [(MEAN_MAN, 199.5), (MEAN_WOMAN, 189.8)])
def test_head_length(heads: dict[Person, Head], person: Person, mean_mm: float) -> None:
    """From the glabella to the rearmost point the head is as long as ANSUR II has it, to 7 mm."""
    head = heads[person]
    middle = head.vertices_mm[np.abs(head.vertices_mm[:, 0]) < 5]
    length = np.linalg.norm(middle - head.points["glabella"], axis=1)
    length = length[middle[:, 2] > 0].max()
    assert length == pytest.approx(mean_mm, abs=7)
    marked = np.linalg.norm(head.points["opisthocranion"] - head.points["glabella"])
    assert marked == pytest.approx(length, abs=1.5)


@pytest.mark.parametrize(("person", "mean_mm"), [(MEAN_MAN, 574.4), (MEAN_WOMAN, 561.1)])
def test_head_circumference(heads: dict[Person, Head], person: Person, mean_mm: float) -> None:
    """A tape over glabella and the rearmost point measures what ANSUR II has, to 16 mm."""
    head = heads[person]
    # just above the brow ridges, clear of the ears
    start = head.points["glabella"] + [0, 0, 6]
    along = head.points["opisthocranion"] + [0, 0, 6] - start
    normal = np.cross([1.0, 0.0, 0.0], along / np.linalg.norm(along))
    assert tape_mm(head.vertices_mm, start, normal) == pytest.approx(mean_mm, abs=16)


@pytest.mark.parametrize(("person", "mean_mm"), [(MEAN_MAN, 131.1), (MEAN_WOMAN, 126.5)])
def test_tragion_to_vertex(heads: dict[Person, Head], person: Person, mean_mm: float) -> None:
    """The top stands above the tragion as ANSUR II has it, to 6 mm."""
    head = heads[person]
    height = head.vertices_mm[:, 2].max() - head.points["tragion-left"][2]
    assert height == pytest.approx(mean_mm, abs=6)


@pytest.mark.parametrize(("person", "mean_mm"), [(MEAN_MAN, 142.6), (MEAN_WOMAN, 133.8)])
def test_bizygomatic_breadth(heads: dict[Person, Head], person: Person, mean_mm: float) -> None:
    """The face across the cheekbones is as broad as ANSUR II has it, to 6 mm."""
    assert width_mm(heads[person].vertices_mm, (25, 80), (-25, 8)) == pytest.approx(mean_mm, abs=6)


@pytest.mark.parametrize(("person", "mean_mm"), [(MEAN_MAN, 122.6), (MEAN_WOMAN, 113.1)])
def test_menton_to_sellion(heads: dict[Person, Head], person: Person, mean_mm: float) -> None:
    """The face from the nose's root to under the chin is as long as ANSUR II has it, to 6 mm."""
    points = heads[person].points
    length = np.linalg.norm(points["sellion"] - points["chin-contact"])
    assert length == pytest.approx(mean_mm, abs=6)


@pytest.mark.parametrize(("person", "mean_mm"), [(MEAN_MAN, 64.0), (MEAN_WOMAN, 61.7)])
def test_pupils_apart(heads: dict[Person, Head], person: Person, mean_mm: float) -> None:
    """The pupils stand as far apart as ANSUR II has it, to 3 mm."""
    points = heads[person].points
    apart = points["pupil-left"][0] - points["pupil-right"][0]
    assert apart == pytest.approx(mean_mm, abs=3)


def test_neck_circumference(heads: dict[Person, Head]) -> None:
    """The man's neck below the larynx is within half a standard deviation of ANSUR II's mean."""
    # 397.6 (SD 25.8); the tape lies square to the neck, which leans forward by about 12 degrees
    lean = np.deg2rad(12.0)
    normal = np.array([0.0, -np.sin(lean), np.cos(lean)])
    around = tape_mm(heads[MEAN_MAN].vertices_mm, np.array([0.0, -38.0, -144.0]), normal)
    assert around == pytest.approx(397.6, abs=13)


def test_bigonial_breadth(heads: dict[Person, Head]) -> None:
    """Across the angles of the jaw the man's skin lies between two published samples' means."""
    # 106.6: Maxillofac. Plast. Reconstr. Surg. 2019, table 9; 114.7: Kerman mandible study
    assert 106.6 <= width_mm(heads[MEAN_MAN].vertices_mm, (10, 18), (-66, -60)) <= 114.7


def test_ear_size(heads: dict[Person, Head]) -> None:
    """The man's auricle has ANSUR II's length, breadth and protrusion, to one deviation."""
    from trainer.anatomy.soft.skin_ear import ROOT_MM, ear, ear_frame

    local = (surface(ear(), 1.0).vertices_mm - ROOT_MM) @ ear_frame()
    outer = local[local[:, 2] > -1.5]  # the auricle without its root in the head
    assert np.ptp(outer[:, 1]) == pytest.approx(64.2, abs=4.5)
    assert np.ptp(outer[:, 0]) == pytest.approx(36.1, abs=3.0)
    v = heads[MEAN_MAN].vertices_mm
    beside = v[(v[:, 2] > -10) & (v[:, 2] < 25) & (v[:, 1] > 0) & (v[:, 1] < 45)]
    behind = beside[(beside[:, 1] > 36) & (beside[:, 2] < 0), 0].max()  # the head behind the ear
    assert beside[:, 0].max() - behind == pytest.approx(23.2, abs=3.0)


def test_glabella_and_vertex_are_the_landmarks() -> None:
    """Glabella and vertex of the skin are the landmarks of that name, to 1.5 mm."""
    marks, points = starter_landmarks(MEAN_MAN), skin_points()
    assert points["glabella"] == pytest.approx(marks["glabella-skin"], abs=1.5)
    assert points["vertex"] == pytest.approx(marks["vertex-skin"], abs=1.5)


@pytest.mark.parametrize(
    ("bone", "depth_mm", "tolerance_mm"),
    [("nasion", 6.5, 2.0), ("pogonion", 11.0, 2.0), ("menton", 7.5, 1.0)],
)
def test_soft_tissue_over_bone(bone: str, depth_mm: float, tolerance_mm: float) -> None:
    """Bony points of the midline lie as deep under the skin as published."""
    outward = {"nasion": (0, -1, 0), "pogonion": (0, -1, 0), "menton": (0, 0, -1)}[bone]
    steps = np.arange(0.0, 25.0, 0.05)
    outside = skin()(starter_landmarks(MEAN_MAN)[bone] + steps[:, None] * outward) > 0
    assert steps[np.argmax(outside)] == pytest.approx(depth_mm, abs=tolerance_mm)


def test_all_bony_landmarks_are_covered() -> None:
    """Every bony landmark and both incisor edges lie at least 2 mm under the skin."""
    marks = {n: p for n, p in starter_landmarks(MEAN_MAN).items() if not n.endswith("-skin")}
    depth = dict(zip(marks, -skin()(np.array(list(marks.values()))), strict=True))
    # the incisor edges face the gap between the lips, which ends where the teeth begin
    edges = {"upper-incisor-edge", "lower-incisor-edge"}
    assert min(d for n, d in depth.items() if n not in edges) > 2.0, depth
    assert all(depth[n] > -1.0 for n in edges), depth


def test_bone_lies_under_the_skin() -> None:
    """Skull and lower jaw lie at least 1 mm under the skin everywhere."""
    for bone in (cranium(), mandible(MEAN_MAN)):
        vertices = surface(bone, 4.0).vertices_mm
        left = vertices[vertices[:, 0] >= 0]
        order = np.lexsort(np.floor(left / 15.0).T)  # compact blocks are cheap to ask for
        blocks = np.array_split(left[order], 120)
        depth = -np.concatenate([skin()(block) for block in blocks])
        assert depth.min() > 1.0


def test_base_of_the_nose_and_lips() -> None:
    """Base of the nose and lips lie as far before incisors and spine as published depths ask."""
    # subnasale F 103 to 105 (constructed); lips before the incisors' front at F 94.5
    points = skin_points()
    assert -105.0 <= points["subnasale"][1] <= -102.9
    grid = np.meshgrid(np.arange(95, 115, 0.1), np.arange(-52, -46, 0.5))
    forward, up = (a.ravel() for a in grid)
    inside = skin()(np.stack([0 * up, -forward, up], axis=1)) < 0
    assert 105.0 <= forward[inside].max() <= 108.0
    # the lip line lies 2.5 mm above the upper incisors' edge (derived, section on the eyes)
    edge = starter_landmarks(MEAN_MAN)["upper-incisor-edge"]
    assert points["lip-line"][2] - edge[2] == pytest.approx(2.5, abs=0.5)


@pytest.mark.parametrize("person", SEXES)
def test_chin_contact_is_on_the_skin(heads: dict[Person, Head], person: Person) -> None:
    """The point under the chin that the support touches is on the skin, to 1 mm."""
    assert heads[person].points["chin-contact"] == pytest.approx(chin_contact(person), abs=1.0)


def test_named_points_are_on_the_skin() -> None:
    """Every named point is there and lies on the surface."""
    points = skin_points()
    assert set(points) == NAMES
    off = {n: float(skin()(p[None])[0]) for n, p in points.items() if n != "lip-line"}
    assert max(map(abs, off.values())) < 0.02, off
    for side in ("tragion", "pupil"):
        np.testing.assert_allclose(points[f"{side}-left"] * [-1, 1, 1], points[f"{side}-right"])
    porion = starter_landmarks(MEAN_MAN)["porion-left"]
    assert np.linalg.norm((points["tragion-left"] - porion)[1:]) < 6.0  # beside the ear canal


def test_mesh_is_closed(mesh: Mesh) -> None:
    """The surface is closed, with outward normals, and holds a head's and neck's volume."""
    import trimesh

    shell = trimesh.Trimesh(mesh.vertices_mm, mesh.faces, process=False)
    assert shell.is_watertight and shell.is_winding_consistent
    # head about 4.5 l (from memory, body segment tables), neck to this cut about 1 l
    assert 5.0e6 < volume_mm3(mesh) < 6.5e6


@pytest.mark.parametrize("person", SEXES)
@pytest.mark.parametrize(
    ("lower_mm", "upper_mm"),
    [((-34, -115, -70), (34, -78, -36)), ((50, -15, -45), (105, 45, 45))],
    ids=["mouth", "ear"],
)
def test_thin_parts_are_whole_at_the_display_spacing(
    person: Person, lower_mm: tuple[float, ...], upper_mm: tuple[float, ...]
) -> None:
    """Meshed at 1.3 mm, mouth and ear have no bridge, tunnel or loose piece."""
    import trimesh

    whole = head_warp(person).shape(skin())
    part = Shape(whole.distance, np.array(lower_mm, float), np.array(upper_mm, float))
    mesh = surface(part, 1.3)
    shell = trimesh.Trimesh(mesh.vertices_mm, mesh.faces, process=False)
    assert shell.is_watertight
    assert shell.body_count == 1
    assert shell.euler_number == 2  # like a ball


def test_ends_in_a_flat_cut(mesh: Mesh) -> None:
    """The neck ends in a flat closed face at the cut."""
    low = mesh.vertices_mm[:, 2].min()
    assert low == pytest.approx(CUT_UP_MM, abs=0.1)
    bottom = mesh.vertices_mm[mesh.vertices_mm[:, 2] < low + 0.1]
    assert np.ptp(bottom[:, 0]) > 120.0 and np.ptp(bottom[:, 1]) > 100.0


points_mm = arrays(
    np.float64, (8, 3), elements=st.floats(-200.0, 150.0, allow_nan=False, allow_infinity=False)
)


@settings(max_examples=40, deadline=None)
@given(points_mm)
def test_both_sides_are_alike(p: np.ndarray) -> None:
    """Mirror points are equally far from the skin and follow the jaw alike."""
    mirror = p * [-1.0, 1.0, 1.0]
    np.testing.assert_array_equal(skin()(p) < 0, skin()(mirror) < 0)
    np.testing.assert_array_equal(jaw_share(p), jaw_share(mirror))


@settings(max_examples=60, deadline=None)
@given(points_mm)
def test_jaw_share_is_a_share(p: np.ndarray) -> None:
    """The share lies between 0 and 1, and is 0 above the eyes, low on the neck and far back."""
    share = jaw_share(p)
    assert np.all((share >= 0.0) & (share <= 1.0))
    still = (p[:, 2] > 10.0) | (p[:, 2] < -150.0) | (p[:, 1] > 12.0)
    assert np.all(share[still] == 0.0)


def test_lips_part_at_the_mouth_line() -> None:
    """Across the middle three fifths of the mouth the share leaps from 0 to 1 at the line."""
    x = np.linspace(-0.6, 0.6, 13) * MOUTH_HALF_WIDTH_MM
    forward, up = lip_line(x)
    above = np.stack([x, -forward, up + 0.7], axis=1)
    below = np.stack([x, -forward, up - 0.7], axis=1)
    assert jaw_share(above).max() < 0.05
    assert jaw_share(below).min() > 0.95


def test_upper_face_stays_and_chin_follows() -> None:
    """Nose, eyes and ears stay; chin and the skin under it follow wholly."""
    points = skin_points()
    still = [points[n] for n in NAMES - {"lip-line", "pogonion-skin", "chin-contact"}]
    assert jaw_share(still).max() == 0.0
    assert jaw_share([points["pogonion-skin"], points["chin-contact"]]).min() > 0.99


def test_share_is_smooth_away_from_the_mouth(mesh: Mesh) -> None:
    """Beyond the mouth's corners the share changes by less than a tenth per millimetre."""
    v, f = mesh.vertices_mm, mesh.faces
    share = jaw_share(v)
    edges = np.vstack([f[:, [0, 1]], f[:, [1, 2]], f[:, [2, 0]]])
    a, b = v[edges[:, 0]], v[edges[:, 1]]
    away = np.abs(a[:, 0]) > MOUTH_HALF_WIDTH_MM + 2.0
    length = np.maximum(np.linalg.norm(a - b, axis=1), 0.5)
    slope = np.abs(share[edges[:, 0]] - share[edges[:, 1]]) / length
    assert slope[away].max() < 0.1


def test_gap_between_the_lips_is_open() -> None:
    """The gap is wider than 1.2 mm all through its width and reaches 12 mm in from the lips."""
    x, inward = np.meshgrid(np.linspace(0, 22, 12), np.linspace(0, 3.5, 8))
    front = lip_line(x.ravel())[0]
    forward = front - inward.ravel()
    up = mouth_height(x.ravel(), forward)
    for off in (-0.6, 0.0, 0.6):
        assert skin()(np.stack([x.ravel(), -forward, up + off], axis=1)).min() > 0.0
    middle = front[0] - np.arange(0, 15, 0.1)
    nil = np.zeros_like(middle)
    inside_mm = skin()(np.stack([nil, -middle, mouth_height(nil, middle)], axis=1))
    lips_mm = 106.5  # the lips' front in the midline
    assert lips_mm - middle[inside_mm > 0].min() == pytest.approx(12.0, abs=1.0)

"""The skull without the lower jaw against published lengths and its own landmarks.

Bounds are one standard deviation of the source unless the line says otherwise.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from numpy.typing import ArrayLike, NDArray

from trainer.anatomy.bones.cranium import cranium, cranium_structures
from trainer.anatomy.people.landmarks import starter_landmarks
from trainer.anatomy.shapes.meshing import Mesh, surface, volume_mm3
from trainer.anatomy.shapes.sculpt import lfu
from trainer.models.subject import MEAN_MAN

MESH_STEP_MM = 1.6
PAIRED = ("porion", "orbitale")
MIDLINE = ("nasion", "anterior-nasal-spine", "posterior-nasal-spine", "a-point", "basion")


def value(points_lfu: ArrayLike) -> NDArray[np.float64]:
    """Signed distances of the skull at points left, forward, up [mm]."""
    return cranium()(lfu(points_lfu))


def edge(start_lfu: ArrayLike, toward_lfu: ArrayLike) -> float:
    """How far from the start towards the second point the skull's surface is first met [mm]."""
    a, b = np.asarray(start_lfu, float), np.asarray(toward_lfu, float)
    length = float(np.linalg.norm(b - a))
    steps = np.arange(0.0, length, 0.1)
    bone = value(a + steps[:, None] / length * (b - a)) < 0
    turns = np.flatnonzero(bone != bone[0])
    assert len(turns), f"no surface between {a} and {b}"
    return float(steps[turns[0]])


@pytest.fixture(scope="module")
def mesh() -> Mesh:
    return surface(cranium(), MESH_STEP_MM)


# --- the whole -------------------------------------------------------------------------------


def test_the_surface_is_closed(mesh: Mesh) -> None:
    """The skull's mesh has no open edge, faces outwards all over, and one outer piece of bone."""
    import trimesh

    solid = trimesh.Trimesh(mesh.vertices_mm, mesh.faces, process=False)
    assert solid.is_watertight
    assert solid.is_winding_consistent
    # air spaces shut in bone are inward-facing pieces with negative volume; bone is one piece
    pieces = [p.volume for p in solid.split(only_watertight=False)]
    assert sum(v > 0 for v in pieces) == 1
    assert volume_mm3(mesh) > 0


def test_both_sides_are_alike() -> None:
    """A point and its mirror image are equally far from the bone."""
    points = np.random.default_rng(0).uniform([-75, -105, -40], [75, 95, 130], (400, 3))
    np.testing.assert_array_equal(cranium()(points), cranium()(points * [-1.0, 1.0, 1.0]))


def test_landmarks_lie_on_the_bone(mesh: Mesh) -> None:
    """Every bony landmark of the upper skull is within 3 mm of the surface."""
    marks = starter_landmarks(MEAN_MAN)
    names = [*MIDLINE, *(f"{n}-{s}" for n in PAIRED for s in ("left", "right"))]
    for name in names:
        nearest = np.linalg.norm(mesh.vertices_mm - marks[name], axis=1).min()
        assert nearest <= 3.0, f"{name}: {nearest:.1f} mm"


def test_sella_is_the_middle_of_its_hollow() -> None:
    """Sella lies in air with bone in front, behind and below: a fossa 10-12 long and 8 deep.

    Reference head CT and from memory; the centre itself is on no surface.
    """
    front, back = edge((0, 19, 18), (0, 32, 18)), edge((0, 19, 18), (0, 8, 18))
    below = edge((0, 19, 18), (0, 19, 8))
    assert value([(0, 19, 18)]) > 0
    assert front + back == pytest.approx(11.0, abs=1.5)
    assert below == pytest.approx(4.0, abs=1.0)


def test_length_and_breadth_of_the_braincase(mesh: Mesh) -> None:
    """Bone breadth 142 (5) and length glabella to back 183 (7): from memory, Howells series."""
    v = mesh.vertices_mm
    above_ears = v[v[:, 2] > 20.0]
    assert np.ptp(above_ears[:, 0]) == pytest.approx(142.0, abs=5.0)
    midline = v[np.abs(v[:, 0]) < 2.5]
    brow = midline[(midline[:, 2] > 28) & (midline[:, 2] < 40)]
    glabella = brow[np.argmin(brow[:, 1])]
    length = np.linalg.norm(midline - glabella, axis=1).max()
    assert length == pytest.approx(183.0, abs=7.0)


def test_skin_leaves_room_over_the_bone(mesh: Mesh) -> None:
    """Skin depth over vertex 4.5 (reference head CT) and glabella 5.5 (Stephan & Simpson 2008)."""
    v, marks = mesh.vertices_mm, starter_landmarks(MEAN_MAN)
    assert marks["vertex-skin"][2] - v[:, 2].max() == pytest.approx(4.5, abs=1.5)
    brow = v[(np.abs(v[:, 0]) < 3) & (np.abs(v[:, 2] - 31) < 2)]
    assert brow[:, 1].min() - marks["glabella-skin"][1] == pytest.approx(5.5, abs=1.5)


def test_bizygomatic_breadth(mesh: Mesh) -> None:
    """The arches are 131 (5) apart at their widest: from memory; reference head CT 128."""
    v = mesh.vertices_mm
    arch = v[(v[:, 1] < -20) & (v[:, 1] > -60) & (np.abs(v[:, 2]) < 12)]
    assert np.ptp(arch[:, 0]) == pytest.approx(131.0, abs=5.0)


@pytest.mark.parametrize("direction", [(1, 0, 0.4), (0, -1, 0.3), (0.5, 0.5, 1), (0, 0, 1)])
def test_vault_wall(direction: tuple[float, float, float]) -> None:
    """The vault is a hollow wall of 4 to 8 (reference head CT: 4.3-5.4 at the side)."""
    middle = np.array([0.0, -10.0, 55.0])
    assert value([middle]) > 3.0
    along = np.array(direction) / np.linalg.norm(direction)
    r = np.arange(0.0, 110.0, 0.1)
    bone = value(middle + r[:, None] * along) < 0
    assert 4.0 <= 0.1 * bone.sum() <= 8.0


def test_foramen_magnum_is_open() -> None:
    """The opening behind basion is about 36 long and 30 wide (from memory: osteometry texts)."""
    middle = np.array([0.0, -23.0, -20.0])
    long = edge(middle, middle + [0, 30, 4]) + edge(middle, middle - [0, 30, 4])
    wide = 2.0 * edge(middle, middle + [30, 0, 0])
    assert long == pytest.approx(36.0, abs=3.0)
    assert wide == pytest.approx(30.0, abs=3.0)
    through = middle + np.outer(np.arange(-20.0, 20.0), [0.0, 0.0, 1.0])
    assert np.all(value(through) > 0)


# --- face ------------------------------------------------------------------------------------


def test_orbit_size() -> None:
    """The orbit is 40 wide, 35 high and 42 to 45 deep (from memory; reference head CT 37 x 37)."""
    rim_middle = np.array([31.0, 74.0, 17.5])  # where the mouth's plane meets both side rims
    side = np.array([18.0, -8.0, 0.0])  # along the mouth, which looks a little sideways
    wide = edge(rim_middle, rim_middle + 2 * side) + edge(rim_middle, rim_middle - 2 * side)
    high = edge(rim_middle, rim_middle + [0, 0, 30]) + edge(rim_middle, rim_middle - [0, 0, 30])
    assert wide == pytest.approx(40.0, abs=2.5)
    assert high == pytest.approx(35.0, abs=2.5)
    # depth: from the plane of the rim to where the cone has shrunk to the optic canal
    apex = np.array([14.5, 36.0, 20.0])
    assert 41.0 <= np.linalg.norm(rim_middle + [0, 3.5, 0] - apex) <= 46.0
    assert np.all(value(rim_middle + np.linspace(0, 0.95, 30)[:, None] * (apex - rim_middle)) > 0)


def test_the_eye_has_room_in_its_orbit() -> None:
    """No bone reaches into the eyeball, and the lens lies inside the eyeball's front half."""
    parts = cranium_structures()
    globe = surface(parts["globe-left"], 2.0).vertices_mm
    assert cranium()(globe).min() > 0.0
    lens = surface(parts["lens-left"], 0.8).vertices_mm
    assert parts["globe-left"](lens).max() < 0.0
    assert np.ptp(globe[:, 0]) == pytest.approx(24.0, abs=0.3)  # from memory: eye texts
    assert lens.mean(axis=0)[1] == pytest.approx(-76.0, abs=0.3)  # 6 in front of the centre
    assert np.ptp(lens[:, 0]) == pytest.approx(9.5, abs=0.5)  # 9-10, from memory
    assert np.ptp(lens[:, 1]) == pytest.approx(4.25, abs=0.25)  # 4-4.5, from memory


def test_pear_shaped_nasal_opening() -> None:
    """The opening is about 24 wide low down, narrower above, and closed below the nose floor.

    Nasal breadth 24 (2): from memory, Howells series.
    """
    low = 2.0 * edge((1.8, 86.5, -15), (25, 86.5, -15))
    high = 2.0 * edge((1.8, 90.0, 0), (25, 90.0, 0))
    assert low + 3.6 == pytest.approx(24.0, abs=3.0)
    assert high + 3.6 < low
    assert value([(6, 80, -22)]) > 0 > value([(6, 80, -28)])


def test_septum_and_turbinate() -> None:
    """A thin septum stands in the nose's midline and a lower turbinate on its side wall."""
    assert value([(0, 65, -10)]) < 0
    assert np.all(value([(4, 65, -10), (4, 65, -20)]) > 0)
    assert value([(8.8, 65, -15)]) < 0


def test_arch_stands_free() -> None:
    """Between the zygomatic arch and the temple there is a gap as wide as a finger is thick."""
    across = np.stack([np.arange(40.0, 70.0, 0.1), np.full(300, 36.0), np.full(300, -2.5)], axis=1)
    bone = value(across) < 0
    turns = np.flatnonzero(np.diff(bone.astype(int)))
    assert len(turns) >= 2
    arch_out, arch_in = across[turns[-1], 0], across[turns[-2], 0]
    assert 3.0 <= arch_out - arch_in <= 7.0  # a flat bar
    free = across[(across[:, 0] > arch_in - 10.0) & (across[:, 0] < arch_in - 0.2)]
    assert np.all(value(free) > 0)
    # open from above and below: the muscle runs through
    through = np.stack([np.full(30, 56.0), np.full(30, 36.0), np.linspace(-25, 12, 30)], axis=1)
    assert np.all(value(through) > 0)


def test_sinus_size() -> None:
    """The maxillary sinus is 35 high, 26 wide, 36 deep (3 each), 12 to 18 mL, shut in by bone.

    34.8 x 27.6 x 36.8 Australasian Orthod. J. 2025; 27.0 x 35.6 Ariji et al.; volume from memory.
    """
    sinus = surface(cranium_structures()["sinus-left"], 1.2)
    width, depth, height = np.ptp(sinus.vertices_mm, axis=0)
    assert height == pytest.approx(35.0, abs=3.0)
    assert width == pytest.approx(26.0, abs=3.0)
    assert depth == pytest.approx(36.0, abs=3.0)
    assert 12e3 <= volume_mm3(sinus) <= 18e3
    # floor 3.7 (4.4) below the front spine (Ariji)
    assert -28.0 - sinus.vertices_mm[:, 2].min() == pytest.approx(3.7, abs=4.4)
    outwards = sinus.vertices_mm - sinus.vertices_mm.mean(axis=0)
    outwards /= np.linalg.norm(outwards, axis=1)[:, None]
    assert cranium()(sinus.vertices_mm + 0.9 * outwards).max() < 0.0


def test_hard_palate() -> None:
    """The palate separates nose from mouth from the front spine to the rear one, 45 to 55 long."""
    from_spine = edge((0, 30, -26.6), (0, 60, -26.6))
    rear = 30.0 + from_spine
    assert 45.0 <= 95.0 - rear <= 55.0  # 48.5 (4.7) Varalakshmi 2017; landmarks 52
    line = np.stack([np.full(8, 5.0), np.linspace(50, 82, 8), np.full(8, -27.6)], axis=1)
    assert np.all(value(line) < 0)
    assert np.all(value(line + [0, 0, 5.5]) > 0)
    assert np.all(value(line[:-2] - [0, 0, 6.5]) > 0)


# --- jaw joint and ear -----------------------------------------------------------------------


def test_joint_space_over_the_condyle() -> None:
    """Bone begins 2 to 4 above the condyle's top and 1.5 to 3.5 behind it (from memory)."""
    top = np.array([51.0, 9.0, -1.0])  # condylion of the starter landmarks
    above = edge(top, top + [0, 0, 12])
    assert 2.0 <= above <= 4.0
    rear = np.array([51.0, 11.5 - 4.5, -5.0])  # half of 9 anteroposterior, Saudi Dent. J. 2021
    assert 1.5 <= edge(rear, rear - [0, 12, 0]) <= 3.5
    # the whole condyle stands free: 17 x 9 (Saudi Dent. J. 2021)
    condyle = [(51 + 8.5 * a, 11.5 + 4.5 * b, -5) for a, b in ((1, 0), (-1, 0), (0, 1), (0, -1))]
    assert np.all(value(condyle) > 0.5)


def test_eminence_height() -> None:
    """The crest in front of the socket lies 7 (1.5) below its roof (from memory)."""
    columns = np.arange(4.0, 28.0, 0.5)
    lowest = np.array([-30.0 + edge((51, f, -30), (51, f, 15)) for f in columns])
    socket = (columns > 6) & (columns < 16)
    crest = (columns > 17) & (columns < 26)
    roof, tip = lowest[socket].max(), lowest[crest].min()
    assert roof - tip == pytest.approx(7.0, abs=1.5)
    assert columns[crest][np.argmin(lowest[crest])] == pytest.approx(21.5, abs=2.0)


def test_slope_of_the_eminence() -> None:
    """The steepest part of the eminence's rear slope is 60 (10) degrees: Bilgin et al. 2000."""
    columns = np.arange(12.0, 22.0, 0.5)
    lowest = np.array([-30.0 + edge((51, f, -30), (51, f, 15)) for f in columns])
    steepest_deg = np.degrees(np.arctan(-np.diff(lowest) / 0.5)).max()
    assert steepest_deg == pytest.approx(60.3, abs=10.2)


def test_ear_canal_leads_to_the_middle_ear() -> None:
    """Air runs from the opening under porion to the tympanic cavity, with bone round it."""
    canal = np.array([(57, -1.6, -4.6), (46, -0.6, -3.8), (37, 0.4, -2.4), (33.5, 1.5, -2)])
    ways = [a + np.linspace(0, 1, 12)[:, None] * (b - a) for a, b in pairwise(canal)]
    assert np.all(value(np.concatenate(ways)) > 0)
    round_it = [(46, -0.6, 2), (46, -0.6, -10), (46, -7, -4), (33.5, 1.5, 7), (33.5, 9, -2)]
    assert np.all(value(round_it) < 0)


def test_mastoid_hangs_behind_the_ear() -> None:
    """The mastoid's tip is 24 to 34 below porion and behind it (mastoid height 29 (4), Howells:
    from memory)."""
    v = surface(cranium_structures()["mastoid-left"], 1.2).vertices_mm
    tip = v[np.argmin(v[:, 2])]
    assert 24.0 <= -tip[2] <= 34.0
    assert 5.0 <= tip[1] <= 18.0


# --- parts for placement ---------------------------------------------------------------------

AIR_OR_SOFT = {"sinus-left", "tympanic-cavity-left", "ear-canal-left", "globe-left", "lens-left"}


def test_structures_are_named_and_on_the_left() -> None:
    """Paired parts end in -left and lie at x > 0; midline parts are symmetric."""
    for name, shape in cranium_structures().items():
        v = surface(shape, 1.0).vertices_mm
        assert len(v) > 50, name
        if name.endswith("-left"):
            assert v[:, 0].min() > 0.0, name
        else:
            assert v[:, 0].min() == pytest.approx(-v[:, 0].max(), abs=0.1), name


@pytest.mark.parametrize("name", sorted(set(cranium_structures()) - AIR_OR_SOFT))
def test_bony_parts_are_bone(name: str) -> None:
    """At least four fifths of a bony part's inside lies in bone of the skull."""
    shape = cranium_structures()[name]
    rng = np.random.default_rng(1)
    points = rng.uniform(shape.lower_mm, shape.upper_mm, (6000, 3))
    inside = points[shape(points) < -0.4]
    assert len(inside) > 40
    assert (cranium()(inside) < 0).mean() > 0.8


def test_air_spaces_are_air() -> None:
    """The skull has no bone inside its sinus, ear canal and middle ear."""
    for name in ("sinus-left", "tympanic-cavity-left", "ear-canal-left"):
        shape = cranium_structures()[name]
        points = np.random.default_rng(2).uniform(shape.lower_mm, shape.upper_mm, (4000, 3))
        assert cranium()(points[shape(points) < -0.8]).min() > 0.0, name

"""Air passages and small canals against published sizes and their places between the bones."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from numpy.typing import NDArray
from scipy import ndimage

from trainer.anatomy.bones.alveolus import alveolar_process
from trainer.anatomy.bones.cranium import cranium
from trainer.anatomy.bones.jaw_plate import border_line
from trainer.anatomy.bones.mandible import mandible
from trainer.anatomy.bones.midface import sinus
from trainer.anatomy.bones.skull_base import tympanic_cavity
from trainer.anatomy.bones.spine import cervical_column, hyoid
from trainer.anatomy.people.landmarks import starter_landmarks
from trainer.anatomy.shapes.implicit import Shape
from trainer.anatomy.shapes.meshing import Mesh, surface, volume_mm3
from trainer.anatomy.shapes.sculpt import lfu
from trainer.anatomy.soft.airway import (
    INCISIVE_LFU,
    LINGUAL_LFU,
    MESH_STEP_MM,
    OSTIUM_LFU,
    airway,
)
from trainer.anatomy.soft.inner_ear import labyrinth, nerve_canal
from trainer.anatomy.soft.skin import skin
from trainer.anatomy.soft.soft_parts import soft_palate, thyroid, tongue
from trainer.anatomy.teeth.dentition import dentition
from trainer.models.frames import Frame
from trainer.models.subject import MEAN_MAN, Jaw

Array = NDArray[np.float64]


@pytest.fixture(scope="module")
def meshes() -> dict[str, Mesh]:
    return {key: surface(shape, MESH_STEP_MM[key]) for key, shape in airway().items()}


@pytest.fixture(scope="module")
def areas() -> dict[float, float]:
    """Areas of the throat's level sections [mm2] by height, every 2 mm from -170 to -30."""
    return {float(up): level_area(float(up)) for up in np.arange(-170.0, -29.0, 2.0)}


def distances(shape: Shape, points: Array) -> Array:
    """Distances [mm] of points asked for in compact runs, for which blends are quick."""
    return np.concatenate([shape(run) for run in np.array_split(points, len(points) // 300 + 1)])


def level_area(up_mm: float) -> float:
    """Area of the throat's level section behind the tongue [mm2]."""
    step = 0.4
    x, y = np.meshgrid(np.arange(-20.0, 20.0, step), np.arange(-34.0, 0.0, step))
    points = np.stack([x.ravel(), y.ravel(), np.full(x.size, up_mm)], axis=1)
    return float(np.sum(airway()["airway"](points) < 0) * step**2)


def test_surfaces_are_closed(meshes: dict[str, Mesh]) -> None:
    """Every part is closed and in one piece, but for the air in the mouth, a piece of its own.

    Specks below 0.1 mm3, where the mesh pinches a cell's wall, do not count.
    """
    for key, mesh in meshes.items():
        solid = trimesh.Trimesh(mesh.vertices_mm, mesh.faces, process=False)
        assert solid.is_watertight, key
        pieces = [p for p in solid.split(only_watertight=False) if abs(p.volume) > 0.1]
        assert len(pieces) == (2 if key == "airway" else 1), key
        assert all(p.volume > 0 for p in pieces), key


def test_everything_lies_under_the_skin(meshes: dict[str, Mesh]) -> None:
    """Every third corner is more than 1 mm inside the skin, which closes the nostrils too."""
    for key, mesh in meshes.items():
        assert distances(skin(), mesh.vertices_mm[::3]).max() < -1.0, key


# --- nose, throat, windpipe -----------------------------------------------------------------


def test_air_keeps_out_of_bones_and_organs(meshes: dict[str, Mesh]) -> None:
    """The air touches no bone, and neither tongue, palate nor thyroid."""
    v = meshes["airway"].vertices_mm[::3]
    for name, shape in {
        "skull": cranium(),
        "lower jaw": mandible(MEAN_MAN),
        "cervical column": cervical_column(),
        "hyoid": hyoid(),
        "tongue": tongue(),
        "soft palate": soft_palate(),
        "thyroid": thyroid(),
    }.items():
        beside = v[np.all((v > shape.lower_mm) & (v < shape.upper_mm), axis=1)]
        assert len(beside) == 0 or distances(shape, beside).min() > 0.0, name


def test_throat_between_palate_and_atlas() -> None:
    """Between rear nasal spine and atlas, 32.9 (3.7) apart, lie palate, air and throat wall.

    Bibby & Preston, Am. J. Orthod. 1981.
    """
    spine = starter_landmarks(MEAN_MAN)["posterior-nasal-spine"]
    back = np.arange(spine[1], 0.0, 0.1)
    at_atlas = np.stack([0 * back, back, np.full_like(back, -30.5)], axis=1)
    atlas = at_atlas[np.argmax(cervical_column()(at_atlas) < 0)]
    assert np.linalg.norm(atlas - spine) == pytest.approx(32.9, abs=3.7)
    air = back[airway()["airway"](at_atlas) < 0]
    assert len(air) > 0
    # wall between air and atlas 3 to 8 thick: from memory, cephalometric texts
    assert 3.0 <= atlas[1] - air.max() <= 8.0


def test_smallest_section(areas: dict[float, float]) -> None:
    """The throat's smallest section above the larynx is 323 mm2, within a tenth.

    Class I adults: J. Dent. Sci. 2021.
    """
    least = min(area for up, area in areas.items() if -96.0 <= up <= -34.0)
    assert least == pytest.approx(322.6, rel=0.10)


def test_throat_volume(areas: dict[float, float]) -> None:
    """From the hard palate's level to the tongue's root the air takes 11.9 to 16.7 mL.

    Means of Class II and Class III adults: PLoS One 2016;11:e0148086.
    """
    held = 2.0 * sum(area for up, area in areas.items() if -72.0 <= up <= -30.0)
    assert 11.9 <= held / 1000.0 <= 16.7


def test_voice_box_is_the_narrowest_place(areas: dict[float, float]) -> None:
    """The passage is narrowest in the larynx, below the hyoid and above the windpipe."""
    narrowest = min(areas, key=areas.__getitem__)
    assert -135.0 < narrowest < starter_landmarks(MEAN_MAN)["hyoid"][2]


def test_windpipe(meshes: dict[str, Mesh]) -> None:
    """The windpipe is 18 wide in men (13-25 wide: from memory) and runs down to -185."""
    v = meshes["airway"].vertices_mm
    pipe = v[(v[:, 2] < -145.0) & (v[:, 2] > -180.0)]
    assert np.ptp(pipe[:, 0]) == pytest.approx(18.0, abs=2.0)
    assert v[:, 2].min() == pytest.approx(-185.0, abs=0.5)


def test_nose(meshes: dict[str, Mesh]) -> None:
    """Both nasal passages, nostrils to rear doors, hold 12 to 25 mL (from memory).

    They are shut off from each other in front of the rear doors.
    """
    step = 1.0
    steps = [np.arange(-17.5, 18, step), np.arange(-106, -43, step), np.arange(-28, 20, step)]
    points = np.stack(np.meshgrid(*steps, indexing="ij"), axis=-1)
    held = 0.0
    for layer in points.transpose(2, 0, 1, 3):
        held += float(np.sum(airway()["airway"](layer) < 0)) * step**3
    assert 12_000.0 <= held <= 25_000.0
    forward, up = np.meshgrid(np.arange(48.0, 105.0, 2.0), np.arange(-26.0, 14.0, 2.0))
    in_midline = np.stack([0.0 * up, forward, up], axis=-1)
    assert np.all(airway()["airway"](lfu(in_midline)) > 0)
    nostril = meshes["airway"].vertices_mm[np.argmin(meshes["airway"].vertices_mm[:, 1])]
    assert nostril[1] < starter_landmarks(MEAN_MAN)["anterior-nasal-spine"][1]


def test_mouth_air_is_a_thin_layer(meshes: dict[str, Mesh]) -> None:
    """With the mouth closed the air over the tongue is 1 to 3 mm thick (from memory)."""
    up = np.arange(-45.0, -30.0, 0.05)
    for forward in (54, 60, 66):
        layer = airway()["airway"](lfu([(0.0, forward, u) for u in up])) < 0
        assert 1.0 <= layer.sum() * 0.05 <= 3.0


# --- sinus opening, midline canals ----------------------------------------------------------


def test_ostium_joins_sinus_and_nose() -> None:
    """One end lies in the sinus and the other in nasal air; bone lies between, 4 to 7 mm of it.

    Length 5 to 7, 28.5 above the sinus floor: from memory, surgical texts.
    """
    a, b = lfu(OSTIUM_LFU)
    way = (b - a) / np.linalg.norm(b - a)
    assert sinus()((a - 0.9 * way)[None])[0] < 0
    assert airway()["airway"]((b + 1.1 * way)[None])[0] < 0.4
    steps = np.linspace(-2.0, 8.0, 201)
    through = cranium()(a + steps[:, None] * way) < 0
    assert 4.0 <= through.sum() * 0.05 <= 7.0
    floor = sinus()
    down = np.arange(-40.0, 0.0, 0.1)
    lowest = down[floor(lfu([(26.0, 62.0, u) for u in down])) < 0].min()
    assert (a[2] + b[2]) / 2 - lowest == pytest.approx(28.5, abs=3.0)


def test_ostium_width(meshes: dict[str, Mesh]) -> None:
    """The ostium is 2.4 across (from memory)."""
    v = meshes["ostium-left"].vertices_mm
    a, b = lfu(OSTIUM_LFU)
    way = (b - a) / np.linalg.norm(b - a)
    off = v - a
    off = off - (off @ way)[:, None] * way
    assert 2.0 * np.linalg.norm(off, axis=1).max() == pytest.approx(2.4, abs=0.1)


def test_incisive_canal_size(meshes: dict[str, Mesh]) -> None:
    """11.79 (2.50) long, mouth 3.21 (0.96) wide and 5.13 (1.45) deep, upper end 2.57 (1.25).

    CBCT of 335 people: Med. Sci. Monit. 2024.
    """
    v = meshes["incisive-canal"].vertices_mm
    ends = lfu(INCISIVE_LFU)
    way = (ends[-1] - ends[0]) / np.linalg.norm(ends[-1] - ends[0])
    at = (v - ends[0]) @ way
    assert np.ptp(at) == pytest.approx(11.79, abs=2.5)
    low = v[np.abs(v[:, 2] - ends[-1][2]) < 0.5]
    assert np.ptp(low[:, 0]) == pytest.approx(3.21, abs=0.96)
    assert np.ptp(low[:, 1]) == pytest.approx(5.13, abs=1.45)
    high = v[np.abs(v[:, 2] - ends[0][2]) < 0.5]
    assert np.ptp(high[:, 0]) == pytest.approx(2.57, abs=1.25)


def test_incisive_canal_pierces_the_palate(meshes: dict[str, Mesh]) -> None:
    """It runs through bone behind the incisors' roots and opens towards the mouth."""
    upper = tuple(t for t in dentition(MEAN_MAN) if t.frame is Frame.SKULL)
    v = meshes["incisive-canal"].vertices_mm
    middle = v[np.abs(v[:, 2] + 31.0) < 2.5]
    assert cranium()(middle).max() < 0.0
    # the palate slopes here: the rear lip of the mouth is out of the bone
    low = v[v[:, 2] < -34.0]
    assert np.minimum(cranium()(low), alveolar_process(MEAN_MAN, Jaw.UPPER)(low)).max() > 0.4
    assert min(t.solid(v).min() for t in upper) > 1.0


def test_lingual_canal(meshes: dict[str, Mesh]) -> None:
    """5.81 (2.08) long, 0.87 (0.30) across; from the inner face above the mental spines into bone.

    CBCT of 320 jaws: Int. J. Environ. Res. Public Health 2022.
    """
    v = meshes["lingual-canal"].vertices_mm
    a, b = lfu(LINGUAL_LFU)
    way = (b - a) / np.linalg.norm(b - a)
    assert np.ptp(v @ way) == pytest.approx(5.81, abs=2.08)
    assert np.ptp(v[:, 0]) == pytest.approx(0.87, abs=0.10)
    bone = mandible(MEAN_MAN)(v)
    assert bone[np.argmax(v[:, 1])] == pytest.approx(0.0, abs=0.4)  # its mouth
    assert bone[v[:, 1] < a[1] - 1.0].max() < -0.5
    # mean heights of lingual foramina over the lower border are 7.07 to 11.54 ("Evaluation of
    # location and dimensions of lingual foramina using limited cone-beam CT", 2011)
    height = a[2] - float(border_line(-a[1]))
    assert 7.07 <= height <= 11.54


# --- mastoid cells --------------------------------------------------------------------------


def test_mastoid_volume(meshes: dict[str, Mesh]) -> None:
    """The cells with the antrum hold 7.9 (2.3) mL, within one SD.

    CT of 100 bones: J. Laryngol. Otol. 2003;117:595.
    """
    held = volume_mm3(meshes["mastoid-cells-left"]) / 1000.0
    assert held == pytest.approx(7.9, abs=2.3)


def test_mastoid_cells_stay_in_bone(meshes: dict[str, Mesh]) -> None:
    """Away from the middle ear all cells have bone round them, and none reaches the inner ear."""
    v = meshes["mastoid-cells-left"].vertices_mm[::3]
    cavity = tympanic_cavity()
    apart = v[cavity(v) > 3.0]
    assert distances(cranium(), apart).max() < -0.8
    assert distances(labyrinth(), v).min() > 0.3
    assert distances(nerve_canal(), v).min() > 0.3


def test_mastoid_cells_open_into_the_middle_ear(meshes: dict[str, Mesh]) -> None:
    """The cells' air meets that of the tympanic cavity; the cells lie behind the ear canal."""
    v = meshes["mastoid-cells-left"].vertices_mm
    assert tympanic_cavity()(v).min() < -0.5
    assert v.mean(axis=0)[1] > starter_landmarks(MEAN_MAN)["porion-left"][1] + 5.0


def test_mastoid_cells_are_many() -> None:
    """Kernels deeper than 0.9 mm, which the windows do not join, are at least 40."""
    cells = airway()["mastoid-cells-left"]
    steps = [np.arange(a, b, 0.5) for a, b in zip(cells.lower_mm, cells.upper_mm, strict=True)]
    points = np.stack(np.meshgrid(*steps, indexing="ij"), axis=-1)
    deep = np.stack([(cells(layer) < -0.9).reshape(layer.shape[:-1]) for layer in points])
    assert ndimage.label(deep)[1] >= 40

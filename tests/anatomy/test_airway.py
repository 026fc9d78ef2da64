"""Air passages and small canals against published sizes and their places between the bones."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from numpy.typing import NDArray

from trainer.anatomy.airway import (
    INCISIVE_LFU,
    LINGUAL_LFU,
    MESH_STEP_MM,
    OSTIUM_LFU,
    airway,
)
from trainer.anatomy.alveolus import alveolar_process
from trainer.anatomy.cranium import cranium
from trainer.anatomy.dentition import dentition
from trainer.anatomy.inner_ear import labyrinth, nerve_canal
from trainer.anatomy.jaw_plate import border_line
from trainer.anatomy.landmarks import starter_landmarks
from trainer.anatomy.mandible import mandible
from trainer.anatomy.meshing import Mesh, surface, volume_mm3
from trainer.anatomy.midface import sinus
from trainer.anatomy.sculpt import lfu
from trainer.anatomy.skin import skin
from trainer.anatomy.skull_base import tympanic_cavity
from trainer.anatomy.soft_parts import soft_palate, thyroid, tongue
from trainer.anatomy.spine import cervical_column, hyoid
from trainer.models.frames import Frame
from trainer.models.subject import Sex

Array = NDArray[np.float64]


@pytest.fixture(scope="module")
def meshes() -> dict[str, Mesh]:
    return {key: surface(shape, MESH_STEP_MM[key]) for key, shape in airway().items()}


def level_area(up_mm: float) -> float:
    """Area of the throat's level section behind the tongue [mm2]."""
    step = 0.25
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
    """Every corner is more than 1 mm inside the skin, which closes the nostrils too."""
    for key, mesh in meshes.items():
        assert skin()(mesh.vertices_mm).max() < -1.0, key


# --- nose, throat, windpipe -----------------------------------------------------------------


def test_air_keeps_out_of_bones_and_organs(meshes: dict[str, Mesh]) -> None:
    """The air touches no bone, and neither tongue, palate nor thyroid."""
    v = meshes["airway"].vertices_mm
    for name, shape in {
        "skull": cranium(),
        "lower jaw": mandible(Sex.MALE),
        "cervical column": cervical_column(),
        "hyoid": hyoid(),
        "tongue": tongue(),
        "soft palate": soft_palate(),
        "thyroid": thyroid(),
    }.items():
        beside = v[np.all((v > shape.lower_mm) & (v < shape.upper_mm), axis=1)]
        assert len(beside) == 0 or shape(beside).min() > 0.0, name


def test_throat_between_palate_and_atlas() -> None:
    """Between rear nasal spine and atlas, 32.9 (3.7) apart, lie palate, air and throat wall.

    Bibby & Preston, Am. J. Orthod. 1981.
    """
    spine = starter_landmarks(Sex.MALE)["posterior-nasal-spine"]
    back = np.arange(spine[1], 0.0, 0.1)
    at_atlas = np.stack([0 * back, back, np.full_like(back, -30.5)], axis=1)
    atlas = at_atlas[np.argmax(cervical_column()(at_atlas) < 0)]
    assert np.linalg.norm(atlas - spine) == pytest.approx(32.9, abs=3.7)
    air = back[airway()["airway"](at_atlas) < 0]
    assert len(air) > 0
    # wall between air and atlas 3 to 8 thick: from memory, cephalometric texts
    assert 3.0 <= atlas[1] - air.max() <= 8.0


def test_smallest_section() -> None:
    """The throat's smallest section above the larynx is 323 mm2, within a tenth.

    Class I adults: J. Dent. Sci. 2021.
    """
    least = min(level_area(up) for up in np.arange(-96.0, -34.0, 2.0))
    assert least == pytest.approx(322.6, rel=0.10)


def test_throat_volume() -> None:
    """From the hard palate's level to the tongue's root the air takes 11.9 to 16.7 mL.

    Means of Class II and Class III adults: PLoS One 2016;11:e0148086.
    """
    ups = np.arange(-72.0, -28.0, 1.0)
    assert 11.9 <= sum(level_area(up) for up in ups) / 1000.0 <= 16.7


def test_windpipe(meshes: dict[str, Mesh]) -> None:
    """The windpipe is 18 wide in men (13-25 wide: from memory) and runs down to -185."""
    v = meshes["airway"].vertices_mm
    pipe = v[(v[:, 2] < -145.0) & (v[:, 2] > -180.0)]
    assert np.ptp(pipe[:, 0]) == pytest.approx(18.0, abs=2.0)
    assert v[:, 2].min() == pytest.approx(-185.0, abs=0.5)


def test_voice_box_is_the_narrowest_place() -> None:
    """The passage is narrowest in the larynx, below the hyoid and above the windpipe."""
    ups = np.arange(-170.0, -34.0, 2.0)
    narrowest = ups[np.argmin([level_area(up) for up in ups])]
    assert -135.0 < narrowest < starter_landmarks(Sex.MALE)["hyoid"][2]


def test_nose(meshes: dict[str, Mesh]) -> None:
    """Both nasal passages, nostrils to rear doors, hold 12 to 25 mL (from memory).

    They are shut off from each other in front of the rear doors.
    """
    step = 0.5
    steps = [np.arange(-18, 18, step), np.arange(-106, -43, step), np.arange(-28, 20, step)]
    points = np.stack(np.meshgrid(*steps, indexing="ij"), axis=-1)
    held = 0.0
    for layer in points.transpose(2, 0, 1, 3):
        held += float(np.sum(airway()["airway"](layer) < 0)) * step**3
    assert 12_000.0 <= held <= 25_000.0
    in_midline = [(0.0, f, u) for f in np.arange(48, 105, 2) for u in np.arange(-26, 14, 2)]
    assert np.all(airway()["airway"](lfu(in_midline)) > 0)
    nostril = meshes["airway"].vertices_mm[np.argmin(meshes["airway"].vertices_mm[:, 1])]
    assert nostril[1] < starter_landmarks(Sex.MALE)["anterior-nasal-spine"][1]


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
    upper = tuple(t for t in dentition(Sex.MALE) if t.frame is Frame.SKULL)
    v = meshes["incisive-canal"].vertices_mm
    middle = v[np.abs(v[:, 2] + 31.0) < 2.5]
    assert cranium()(middle).max() < 0.0
    mouth = v[np.argmin(v[:, 2])][None]
    assert min(cranium()(mouth)[0], alveolar_process(upper)(mouth)[0]) > 0.0
    assert min(t.solid(v).min() for t in upper) > 1.0


def test_lingual_canal(meshes: dict[str, Mesh]) -> None:
    """5.81 (2.08) long, 0.87 (0.30) across (CBCT, n = 320: Int. J. Environ. Res. Publ. Health 2022).

    It enters the inner face above the mental spines and stays in bone.
    """
    v = meshes["lingual-canal"].vertices_mm
    a, b = lfu(LINGUAL_LFU)
    way = (b - a) / np.linalg.norm(b - a)
    assert np.ptp(v @ way) == pytest.approx(5.81, abs=2.08)
    assert np.ptp(v[:, 0]) == pytest.approx(0.87, abs=0.10)
    bone = mandible(Sex.MALE)(v)
    assert bone[np.argmax(v[:, 1])] == pytest.approx(0.0, abs=0.4)  # its mouth
    assert bone[v[:, 1] < a[1] - 1.0].max() < -0.5
    # mental foramina's neighbour in height: 7.1 to 11.5 on average over all lingual foramina
    # (J. Oral Maxillofac. Surg. 2011); the upper midline one is the highest of them
    height = a[2] - float(border_line(-a[1]))
    assert 7.1 <= height <= 14.5


# --- mastoid cells --------------------------------------------------------------------------


def test_mastoid_volume(meshes: dict[str, Mesh]) -> None:
    """The cells with the antrum hold 7.9 (2.3) mL, within one SD.

    CT of 100 bones: J. Laryngol. Otol. 2003;117:595.
    """
    held = volume_mm3(meshes["mastoid-cells-left"]) / 1000.0
    assert held == pytest.approx(7.9, abs=2.3)


def test_mastoid_cells_stay_in_bone(meshes: dict[str, Mesh]) -> None:
    """Away from the middle ear all cells have bone round them, and none reaches the inner ear."""
    v = meshes["mastoid-cells-left"].vertices_mm
    cavity = tympanic_cavity()
    apart = v[cavity(v) > 3.0]
    assert cranium()(apart).max() < -0.8
    assert labyrinth()(v).min() > 0.3
    assert nerve_canal()(v).min() > 0.3


def test_mastoid_cells_open_into_the_middle_ear(meshes: dict[str, Mesh]) -> None:
    """The air of the cells meets that of the tympanic cavity; the cells lie behind the ear canal."""
    v = meshes["mastoid-cells-left"].vertices_mm
    assert tympanic_cavity()(v).min() < -0.5
    assert v.mean(axis=0)[1] > starter_landmarks(Sex.MALE)["porion-left"][1] + 5.0


def test_mastoid_cells_are_many() -> None:
    """A level cut through the mastoid shows at least ten cells."""
    from scipy import ndimage

    x, y = np.meshgrid(np.arange(38.0, 66.0, 0.2), np.arange(0.0, 30.0, 0.2), indexing="ij")
    counts = []
    for up in (-6.0, -3.0, 0.0):
        points = np.stack([x.ravel(), y.ravel(), np.full(x.size, up)], axis=1)
        hollow = (airway()["mastoid-cells-left"](points) < 0).reshape(x.shape)
        label, found = ndimage.label(hollow)
        counts.append(int(np.sum(np.bincount(label.ravel())[1:] > 25)) if found else 0)
    assert max(counts) >= 10

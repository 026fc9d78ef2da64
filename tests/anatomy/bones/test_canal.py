"""Tests of the mandibular canal against published sizes and neighbourhood."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from trainer.anatomy.bones.canal import canal, canal_path
from trainer.anatomy.bones.mandible import mandible, mandibular_foramen_mm, mental_foramen_mm
from trainer.anatomy.people.warp import head_warp
from trainer.anatomy.shapes.implicit import Shape
from trainer.anatomy.shapes.meshing import surface, volume_mm3
from trainer.anatomy.teeth.dentition import dentition
from trainer.errors import TrainerError
from trainer.models.frames import Side
from trainer.models.subject import MEAN_MAN, MEAN_WOMAN, Person, Sex

Array = NDArray[np.float64]
SEXES = [MEAN_MAN, MEAN_WOMAN]
SIDES = [Side.LEFT, Side.RIGHT]


def run_mm(path: Array) -> Array:
    """Way along the path at each of its points [mm]."""
    return np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=1))]


def between_foramina(path: Array) -> Array:
    """The path without the mouths at both ends, where the canal opens through the face."""
    s = run_mm(path)
    return path[(s > 4.0) & (s < s[-1] - 4.5)]


def lowest_tip(person: Person, fdi: int) -> Array:
    """The lower of a tooth's root tips [mm]."""
    tooth = next(t for t in dentition(person) if t.fdi == fdi)
    tips = np.array([r.axis_mm[-1] for r in tooth.roots])
    return np.asarray(tips[np.argmin(tips[:, 2])])


def gap_below_mm(person: Person, fdi: int) -> float:
    """From a tooth's lower root tip straight down to the canal's upper wall [mm]."""
    tip, path = lowest_tip(person, fdi), between_foramina(canal_path(person, Side.LEFT))
    assert np.all(np.diff(path[:-3, 1]) < 0), "the canal runs steadily forward below the molars"
    middle = np.interp(-tip[1], -path[:-3, 1], path[:-3, 2])
    return float(tip[2] - middle) - 2.7 / 2


@pytest.mark.parametrize("person", SEXES)
def test_canal_runs_from_foramen_to_foramen(person: Person) -> None:
    """The canal begins at the mandibular and ends at the mental foramen."""
    path, warp = canal_path(person, Side.LEFT), head_warp(person)
    entry = warp.to_subject(mandibular_foramen_mm()[None])[0]
    ends = np.array([entry, mental_foramen_mm(person)])
    np.testing.assert_allclose(path[[0, -1]], ends, rtol=0, atol=0.01)


@pytest.mark.parametrize("person", SEXES)
def test_right_mirrors_left(person: Person) -> None:
    """The right canal is the mirror image of the left one, which has positive x."""
    left, right = canal_path(person, Side.LEFT), canal_path(person, Side.RIGHT)
    assert left[:, 0].min() > 0
    np.testing.assert_array_equal(left * [-1, 1, 1], right)


def test_the_midline_has_no_canal() -> None:
    """Asking for a canal in the midline is an error."""
    with pytest.raises(TrainerError, match="midline"):
        canal_path(MEAN_MAN, Side.MIDLINE)


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("person", SEXES)
def test_canal_lies_in_bone_all_the_way(person: Person, side: Side) -> None:
    """Between its two mouths the whole canal has bone around it."""
    assert mandible(person)(between_foramina(canal_path(person, side))).max() < -2.7 / 2


@pytest.mark.parametrize("person", SEXES)
def test_canal_diameter(person: Person) -> None:
    """The canal is 2.7 (0.5) mm across, by its meshed volume and length.

    2.5-2.6 (0.5): J. Orthod. Sci. 2024; 2.9-3.0: J. Endod. 2016.
    """
    length = run_mm(canal_path(person, Side.LEFT))[-1]
    volume = volume_mm3(surface(canal(person, Side.LEFT), 0.5))
    # a rod with round ends: area times length, and a ball; solve the ball's share by one step
    area = (volume - 4 / 3 * np.pi * 1.35**3) / length
    assert 2 * np.sqrt(area / np.pi) == pytest.approx(2.7, abs=0.5)


@pytest.mark.parametrize(("person", "gap"), [(MEAN_MAN, 4.0), (MEAN_WOMAN, 2.9)])
def test_second_molar_is_just_above_the_canal(person: Person, gap: float) -> None:
    """From the second molar's lower root tip it is 4.0 or 2.9 (2) mm down to the canal.

    Peruvian CBCT study (Odontos); 3-4 mm in general.
    """
    assert gap_below_mm(person, 37) == pytest.approx(gap, abs=2.0)


@pytest.mark.parametrize("person", SEXES)
def test_canal_is_nearest_at_the_second_molar(person: Person) -> None:
    """Going forward the distance from root tip to canal grows: second molar, first, premolar.

    Littner et al., J. Endod. 1987.
    """
    assert gap_below_mm(person, 37) < gap_below_mm(person, 36)


@pytest.mark.parametrize("person", SEXES)
def test_no_root_reaches_the_canal(person: Person) -> None:
    """No root tip comes nearer to the canal's wall than 1 mm."""
    path = canal_path(person, Side.LEFT)
    for tooth in dentition(person):
        if tooth.fdi // 10 == 3:
            for root in tooth.roots:
                away = np.linalg.norm(path - root.axis_mm[-1], axis=1).min() - 1.35
                assert away > 1.0, tooth.fdi


def test_height_above_the_lower_border() -> None:
    """The canal's middle is 8-10 mm above the border at the first molar, within 1 (from memory)."""
    path, bone = canal_path(MEAN_MAN, Side.LEFT), mandible(MEAN_MAN)
    tip = lowest_tip(MEAN_MAN, 36)
    at = path[np.argmin(np.abs(path[:, 1] - tip[1]))]
    assert 7.0 <= _down_to_border(bone, at) <= 11.0


def test_mental_foramen_above_the_lower_border() -> None:
    """The mental foramen is 13 (2.5) mm above the lower border.

    12.3: Int. J. Dent. 2018; 13.3: Int. J. Dent. 2016; 13.7: Medicina 2026.
    """
    foramen = mental_foramen_mm(MEAN_MAN)
    inside = foramen + np.array([-4.0, 3.0, 0.0])
    assert _down_to_border(mandible(MEAN_MAN), inside) == pytest.approx(13.0, abs=2.5)


def _down_to_border(bone: Shape, point_mm: Array) -> float:
    """Way straight down from a point in the bone to its lower border [mm]."""
    depth = np.arange(0.0, 30.0, 0.05)
    column = point_mm - depth[:, None] * np.array([0.0, 0.0, 1.0])
    return float(depth[np.argmax(bone(column) > 0)])


@pytest.mark.parametrize("person", SEXES)
def test_loop_in_front_of_the_foramen(person: Person) -> None:
    """The canal passes the foramen and turns back to it by 2.3 mm, within 1.5.

    von Arx et al., J. Endod. 2013.
    """
    path = canal_path(person, Side.LEFT)
    front = path[run_mm(path) > run_mm(path)[-1] - 12.0]
    # along the outer face, which runs obliquely here
    along = np.array([-0.62, -0.78, 0.0])
    reach = (front @ along).max() - (path[-1] - 3.0 * np.array([0.78, -0.62, 0.0])) @ along
    assert reach == pytest.approx(2.3, abs=1.5)


@pytest.mark.parametrize("sex", list(Sex))
@pytest.mark.parametrize("age", [6, 8, 10, 12, 15])
def test_the_canal_of_a_child(sex: Sex, age: int) -> None:
    """A child's canal keeps 0.5 mm from roots and germs, and has bone all round it."""
    child = Person(sex, age)
    path = canal_path(child, Side.LEFT)
    assert mandible(child)(between_foramina(path)).max() < -1.2
    for tooth in dentition(child):
        if tooth.fdi // 10 in (3, 7):
            assert tooth.solid(path).min() > 1.35 + 0.5, tooth.fdi


@pytest.mark.parametrize("sex", list(Sex))
@pytest.mark.parametrize("age", [6, 9, 12])
def test_mental_foramen_of_a_child(sex: Sex, age: int) -> None:
    """A child's mental foramen opens between the first and second primary molar's places."""
    # below the primary molars: dental anatomy textbooks, from memory
    child = Person(sex, age)
    teeth = {t.fdi: t for t in dentition(child)}
    first = next(teeth[f] for f in (74, 34) if f in teeth and teeth[f].erupted)
    second = next(teeth[f] for f in (75, 35) if f in teeth and teeth[f].erupted)
    at = mental_foramen_mm(child)[1]
    assert first.origin_mm[1] - 2.0 <= at <= second.origin_mm[1] + 4.0

"""Tests of the mandibular canal against published sizes and neighbourhood."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from trainer.anatomy.canal import canal, canal_path
from trainer.anatomy.dentition import dentition
from trainer.anatomy.implicit import Shape
from trainer.anatomy.mandible import mandible, mandibular_foramen_mm, mental_foramen_mm
from trainer.anatomy.meshing import surface, volume_mm3
from trainer.anatomy.warp import head_warp
from trainer.errors import TrainerError
from trainer.models.frames import Side
from trainer.models.subject import Sex

Array = NDArray[np.float64]
SEXES = [Sex.MALE, Sex.FEMALE]
SIDES = [Side.LEFT, Side.RIGHT]


def run_mm(path: Array) -> Array:
    """Way along the path at each of its points [mm]."""
    return np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=1))]


def between_foramina(path: Array) -> Array:
    """The path without the mouths at both ends, where the canal opens through the face."""
    s = run_mm(path)
    return path[(s > 4.0) & (s < s[-1] - 4.5)]


def lowest_tip(sex: Sex, fdi: int) -> Array:
    """The lower of a tooth's root tips [mm]."""
    tooth = next(t for t in dentition(sex) if t.fdi == fdi)
    tips = np.array([r.axis_mm[-1] for r in tooth.roots])
    return np.asarray(tips[np.argmin(tips[:, 2])])


def gap_below_mm(sex: Sex, fdi: int) -> float:
    """From a tooth's lower root tip straight down to the canal's upper wall [mm]."""
    tip, path = lowest_tip(sex, fdi), between_foramina(canal_path(sex, Side.LEFT))
    assert np.all(np.diff(path[:-3, 1]) < 0), "the canal runs steadily forward below the molars"
    middle = np.interp(-tip[1], -path[:-3, 1], path[:-3, 2])
    return float(tip[2] - middle) - 2.7 / 2


@pytest.mark.parametrize("sex", SEXES)
def test_canal_runs_from_foramen_to_foramen(sex: Sex) -> None:
    """The canal begins at the mandibular and ends at the mental foramen."""
    path, warp = canal_path(sex, Side.LEFT), head_warp(sex)
    entry = warp.to_subject(mandibular_foramen_mm()[None])[0]
    ends = np.array([entry, mental_foramen_mm(sex)])
    np.testing.assert_allclose(path[[0, -1]], ends, rtol=0, atol=0.01)


@pytest.mark.parametrize("sex", SEXES)
def test_right_mirrors_left(sex: Sex) -> None:
    """The right canal is the mirror image of the left one, which has positive x."""
    left, right = canal_path(sex, Side.LEFT), canal_path(sex, Side.RIGHT)
    assert left[:, 0].min() > 0
    np.testing.assert_array_equal(left * [-1, 1, 1], right)


def test_the_midline_has_no_canal() -> None:
    """Asking for a canal in the midline is an error."""
    with pytest.raises(TrainerError, match="midline"):
        canal_path(Sex.MALE, Side.MIDLINE)


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("sex", SEXES)
def test_canal_lies_in_bone_all_the_way(sex: Sex, side: Side) -> None:
    """Between its two mouths the whole canal has bone around it."""
    assert mandible(sex)(between_foramina(canal_path(sex, side))).max() < -2.7 / 2


@pytest.mark.parametrize("sex", SEXES)
def test_canal_diameter(sex: Sex) -> None:
    """The canal is 2.7 (0.5) mm across, by its meshed volume and length.

    2.5-2.6 (0.5): J. Orthod. Sci. 2024; 2.9-3.0: J. Endod. 2016.
    """
    length = run_mm(canal_path(sex, Side.LEFT))[-1]
    volume = volume_mm3(surface(canal(sex, Side.LEFT), 0.5))
    # a rod with round ends: area times length, and a ball; solve the ball's share by one step
    area = (volume - 4 / 3 * np.pi * 1.35**3) / length
    assert 2 * np.sqrt(area / np.pi) == pytest.approx(2.7, abs=0.5)


@pytest.mark.parametrize(("sex", "gap"), [(Sex.MALE, 4.0), (Sex.FEMALE, 2.9)])
def test_second_molar_is_just_above_the_canal(sex: Sex, gap: float) -> None:
    """From the second molar's lower root tip it is 4.0 or 2.9 (2) mm down to the canal.

    Peruvian CBCT study (Odontos); 3-4 mm in general.
    """
    assert gap_below_mm(sex, 37) == pytest.approx(gap, abs=2.0)


@pytest.mark.parametrize("sex", SEXES)
def test_canal_is_nearest_at_the_second_molar(sex: Sex) -> None:
    """Going forward the distance from root tip to canal grows: second molar, first, premolar.

    Littner et al., J. Endod. 1987.
    """
    assert gap_below_mm(sex, 37) < gap_below_mm(sex, 36)


@pytest.mark.parametrize("sex", SEXES)
def test_no_root_reaches_the_canal(sex: Sex) -> None:
    """No root tip comes nearer to the canal's wall than 1 mm."""
    path = canal_path(sex, Side.LEFT)
    for tooth in dentition(sex):
        if tooth.fdi // 10 == 3:
            for root in tooth.roots:
                away = np.linalg.norm(path - root.axis_mm[-1], axis=1).min() - 1.35
                assert away > 1.0, tooth.fdi


def test_height_above_the_lower_border() -> None:
    """The canal's middle is 8-10 mm above the border at the first molar, within 1 (from memory)."""
    path, bone = canal_path(Sex.MALE, Side.LEFT), mandible(Sex.MALE)
    tip = lowest_tip(Sex.MALE, 36)
    at = path[np.argmin(np.abs(path[:, 1] - tip[1]))]
    assert 7.0 <= _down_to_border(bone, at) <= 11.0


def test_mental_foramen_above_the_lower_border() -> None:
    """The mental foramen is 13 (2.5) mm above the lower border.

    12.3: Int. J. Dent. 2018; 13.3: Int. J. Dent. 2016; 13.7: Medicina 2026.
    """
    foramen = mental_foramen_mm(Sex.MALE)
    inside = foramen + np.array([-4.0, 3.0, 0.0])
    assert _down_to_border(mandible(Sex.MALE), inside) == pytest.approx(13.0, abs=2.5)


def _down_to_border(bone: Shape, point_mm: Array) -> float:
    """Way straight down from a point in the bone to its lower border [mm]."""
    depth = np.arange(0.0, 30.0, 0.05)
    column = point_mm - depth[:, None] * np.array([0.0, 0.0, 1.0])
    return float(depth[np.argmax(bone(column) > 0)])


@pytest.mark.parametrize("sex", SEXES)
def test_loop_in_front_of_the_foramen(sex: Sex) -> None:
    """The canal passes the foramen and turns back to it by 2.3 mm, within 1.5.

    von Arx et al., J. Endod. 2013.
    """
    path = canal_path(sex, Side.LEFT)
    front = path[run_mm(path) > run_mm(path)[-1] - 12.0]
    # along the outer face, which runs obliquely here
    along = np.array([-0.62, -0.78, 0.0])
    reach = (front @ along).max() - (path[-1] - 3.0 * np.array([0.78, -0.62, 0.0])) @ along
    assert reach == pytest.approx(2.3, abs=1.5)

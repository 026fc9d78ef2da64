"""Tests of the cervical column and the hyoid against published places and sizes."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh

from trainer.anatomy.bones.spine import C3_MIDDLE_MM, C4_MIDDLE_MM, cervical_column, hyoid
from trainer.anatomy.people.landmarks import starter_landmarks
from trainer.anatomy.shapes.meshing import Mesh, surface, volume_mm3
from trainer.models.subject import MEAN_MAN


@pytest.fixture(scope="module")
def column() -> Mesh:
    return surface(cervical_column(), 1.0)


@pytest.fixture(scope="module")
def tongue_bone() -> Mesh:
    return surface(hyoid(), 0.7)


def test_surfaces_are_closed(column: Mesh, tongue_bone: Mesh) -> None:
    """Column and hyoid are closed surfaces: four vertebrae and one hyoid bone."""
    spine = trimesh.Trimesh(column.vertices_mm, column.faces, process=False)
    tongue = trimesh.Trimesh(tongue_bone.vertices_mm, tongue_bone.faces, process=False)
    assert spine.is_watertight
    assert spine.body_count == 4
    assert tongue.is_watertight
    assert tongue.body_count == 1
    assert volume_mm3(column) > 0
    assert volume_mm3(tongue_bone) > 0


def test_dens_tip(column: Mesh) -> None:
    """The dens ends 3 behind and 21.5 below the ear line, within 2 mm.

    Measured on one adult head CT, to 2-3 mm.
    """
    v = column.vertices_mm
    middle = v[(np.abs(v[:, 0]) < 4) & (np.abs(v[:, 1] - 3) < 6)]
    tip = middle[np.argmax(middle[:, 2])]
    np.testing.assert_allclose(tip, [0.0, 3.0, -21.5], rtol=0, atol=2.0)


def test_level_spacing() -> None:
    """The third and the fourth vertebra stand 17-19 mm apart (from memory, men)."""
    assert 17.0 <= np.linalg.norm(C3_MIDDLE_MM - C4_MIDDLE_MM) <= 19.0


def test_hyoid_stands_in_front_of_the_third_vertebra(column: Mesh, tongue_bone: Mesh) -> None:
    """From the front lower edge of C3 to the hyoid it is 31.8 (2.9) mm.

    Bibby & Preston, Am. J. Orthod. 1981.
    """
    v = column.vertices_mm
    body = v[(np.abs(v[:, 0]) < 4) & (v[:, 2] > -82) & (v[:, 2] < -76)]
    corner = body[np.argmin(body[:, 1] + 0.5 * body[:, 2])]
    mark = starter_landmarks(MEAN_MAN)["hyoid"]
    assert np.linalg.norm(mark - corner) == pytest.approx(31.8, abs=2.9)


def test_hyoid_level() -> None:
    """The hyoid is not higher than C3 and not lower than C4 (Tabriz CBCT hyoid study)."""
    z = starter_landmarks(MEAN_MAN)["hyoid"][2]
    assert C4_MIDDLE_MM[2] - 9.0 < z < C3_MIDDLE_MM[2]


def test_hyoid_landmark_is_on_its_front(tongue_bone: Mesh) -> None:
    """The hyoid landmark lies on the bone's front surface, within 1.5 mm."""
    mark = starter_landmarks(MEAN_MAN)["hyoid"]
    assert np.linalg.norm(tongue_bone.vertices_mm - mark, axis=1).min() < 1.5
    assert tongue_bone.vertices_mm[:, 1].min() == pytest.approx(mark[1], abs=1.5)


def test_discs_are_left_open() -> None:
    """On the way down through the bodies there is a gap between C2, C3 and C4."""
    z = np.arange(-55.0, -95.0, -0.1)
    line = np.stack([0 * z, 0 * z - 3.0, z], axis=1)
    solid = cervical_column()(line) < 0
    assert np.sum(np.diff(solid.astype(int)) == -1) == 2
    assert solid.mean() > 0.7


def test_the_spinal_canal_is_open() -> None:
    """Behind the bodies a free canal runs down, 13-17 mm deep at C3 (from memory)."""
    z = np.arange(-26.0, -98.0, -1.0)
    behind = 6.0 - 3.0 + 9.5 * np.ones_like(z)
    assert np.all(cervical_column()(np.stack([0 * z, behind, z], axis=1)) > 0)
    y = np.arange(-8.0, 40.0, 0.1)
    level = cervical_column()(np.stack([0 * y, y, 0 * y + C3_MIDDLE_MM[2]], axis=1)) < 0
    steps = np.diff(level.astype(int))
    rear_of_body = y[np.argmax(steps == -1)]
    front_of_arch = y[1:][(steps == 1) & (y[1:] > rear_of_body)][0]
    assert 13.0 <= front_of_arch - rear_of_body <= 17.0


def test_widths(column: Mesh) -> None:
    """C1 spans 78 mm, C3 about 56 mm, within 5 (from memory: osteology)."""
    v = column.vertices_mm
    first, third = v[v[:, 2] > -37], v[np.abs(v[:, 2] - C3_MIDDLE_MM[2]) < 8]
    assert np.ptp(first[:, 0]) == pytest.approx(78.0, abs=5.0)
    assert np.ptp(third[:, 0]) == pytest.approx(56.0, abs=5.0)

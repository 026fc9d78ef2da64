"""Recorded volumes as NIfTI, read back by nibabel and by ITK."""

from __future__ import annotations

import warnings

import numpy as np
import pytest
from helpers.exported import MARKER_MM, MARKER_VALUE

from trainer.errors import NotReadable, TrainerError
from trainer.services.exports.marking import marked_volume
from trainer.services.volume_io import save_recorded

nibabel = pytest.importorskip("nibabel")


@pytest.fixture(scope="module")
def file(volume, tmp_path_factory):
    """The volume's file."""
    return save_recorded(volume, tmp_path_factory.mktemp("nifti") / "volume.nii.gz")


def test_a_marker_on_the_left_is_on_the_left(file):
    """NIfTI's +x is the patient's right (nifti1.h): the marker, on the left, has a negative x."""
    image = nibabel.load(file)
    values = np.asarray(image.dataobj)
    voxel = np.unravel_index(np.argmax(values), values.shape)
    place = nibabel.affines.apply_affine(image.affine, voxel)
    np.testing.assert_allclose(place, MARKER_MM * [-1.0, -1.0, 1.0], atol=1e-5)
    assert nibabel.aff2axcodes(image.affine) == ("L", "P", "S")
    np.testing.assert_allclose(image.header.get_zooms(), [0.5] * 3)
    assert image.header.get_xyzt_units()[0] == "mm"


def test_values_and_mark_stand_in_the_file(volume, file):
    """Every value comes back bit for bit, the word stands in front, and the header says it."""
    image = nibabel.load(file)
    values = np.asarray(image.dataobj).transpose(2, 1, 0)
    rows = values.shape[1] - volume.values.shape[1]
    np.testing.assert_array_equal(values[:, rows:], volume.values)
    np.testing.assert_array_equal(np.unique(values[:, :rows]), [-1000.0, 2000.0])
    assert bytes(image.header["descrip"]).startswith(b"Simulated. Synthetic head")


@pytest.mark.reference
def test_itk_sees_place_and_side(volume, file):
    """ITK, which thinks in LPS, reads spacing and origin, and finds the marker on the left."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        import itk

        image = itk.imread(str(file), itk.F)
        values = itk.array_from_image(image)
        level, row, column = np.unravel_index(np.argmax(values), values.shape)
        index = [int(column), int(row), int(level)]
        place = np.array(image.TransformIndexToPhysicalPoint(index))
    np.testing.assert_allclose(place, MARKER_MM, atol=1e-5)
    assert values.max() == MARKER_VALUE
    np.testing.assert_allclose(list(image.GetSpacing()), [0.5] * 3)
    np.testing.assert_allclose(list(image.GetOrigin()), marked_volume(volume).origin_mm, atol=1e-5)


def test_what_cannot_be_written_is_told(volume, tmp_path):
    """Another ending and a missing folder are told; nothing is written."""
    with pytest.raises(TrainerError, match="must end in"):
        save_recorded(volume, tmp_path / "volume.dcm")
    with pytest.raises(NotReadable, match="there is no folder"):
        save_recorded(volume, tmp_path / "nowhere" / "volume.nii.gz")
    assert not list(tmp_path.iterdir())

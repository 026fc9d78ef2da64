"""Volumes as DICOM, read back by pydicom, checked by dciodvfy, and seen by ITK."""

from __future__ import annotations

import shutil
import subprocess
import warnings
from dataclasses import replace
from datetime import datetime, timedelta, timezone
from pathlib import Path

import numpy as np
import pytest
from helpers.exported import MARKER_MM, MARKER_VALUE
from hypothesis import given
from hypothesis import strategies as st

from trainer.errors import NotReadable, TrainerError
from trainer.services.exports.dicom_volume import save_volume_dicom, stored_values
from trainer.services.exports.marking import marked_volume

pydicom = pytest.importorskip("pydicom")

VALIDATOR = shutil.which("dciodvfy")
# Elements that carry a dose or an exposure (PS3.3 C.8.7.8, C.8.7.3): none may be there.
DOSE_ELEMENTS = (
    "KVP", "ExposureTime", "XRayTubeCurrent", "Exposure", "ExposureInuAs", "EntranceDose",
    "EntranceDoseInmGy", "ImageAndFluoroscopyAreaDoseProduct", "CTDIvol", "OrganDose",
)  # fmt: skip


@pytest.fixture(scope="module")
def files(volume, study, tmp_path_factory) -> list[Path]:
    """The volume's slices."""
    return save_volume_dicom(volume, study, tmp_path_factory.mktemp("volume") / "slices")


@pytest.fixture(scope="module")
def slices(files):
    """The slices as pydicom reads them."""
    return [pydicom.dcmread(f) for f in files]


def test_values_come_back_at_their_places(volume, slices):
    """Each recorded voxel has its value to half a step at the place that the tags give it."""
    assert len(slices) == volume.values.shape[0]
    rows = slices[0].Rows - volume.values.shape[1]
    for level, d in enumerate(slices):
        found = d.pixel_array * float(d.RescaleSlope) + float(d.RescaleIntercept)
        inside = volume.inside
        np.testing.assert_allclose(found[rows:][inside], volume.values[level][inside], atol=0.5)
        assert np.all(d.pixel_array[rows:][~inside] == d.PixelPaddingValue)
        place = np.array(d.ImagePositionPatient, float) + [0.0, rows * 0.5, 0.0]
        np.testing.assert_allclose(place, volume.origin_mm + [0.0, 0.0, level * 0.5], atol=1e-9)
        assert [float(v) for v in d.PixelSpacing] == [0.5, 0.5]
        assert float(d.SliceThickness) == 0.5


def test_a_marker_on_the_left_is_on_the_left(slices):
    """PS3.3 C.7.6.2.1.1 leads the marker's pixel to +x: the patient's left, behind, above."""
    grid = np.stack([d.pixel_array for d in slices]) + float(slices[0].RescaleIntercept)
    level, row, column = np.unravel_index(np.argmax(grid), grid.shape)
    d = slices[level]
    across, down = np.array(d.ImageOrientationPatient, float).reshape(2, 3)
    place = np.array(d.ImagePositionPatient, float)
    found = place + column * d.PixelSpacing[1] * across + row * d.PixelSpacing[0] * down
    np.testing.assert_allclose(found, MARKER_MM, atol=1e-9)
    assert grid.max() == MARKER_VALUE
    assert column > d.Columns / 2  # the picture's right is the patient's left


def test_every_slice_says_that_it_is_simulated(slices):
    """Tags of every slice: invented person, quality control, derived, burned in; no dose at all."""
    for d in slices:
        assert d.PatientName == "TRAINING^Alder" and d.PatientID == "TRAIN-lower_third_molar"
        assert (d.PatientSex, d.PatientAge, d.PatientBirthDate) == ("M", "028Y", "")
        assert d.QualityControlImage == "YES" and d.QualityControlSubject == "YES"
        assert list(d.ImageType) == ["DERIVED", "SECONDARY", "AXIAL"]
        assert d.BurnedInAnnotation == "YES"
        for words in (d.SeriesDescription, d.StudyDescription, d.PatientComments, d.ImageComments):
            assert words.startswith("SIMULATED")
        assert "invented" in d.InstitutionName
        assert not any(d.get(name) for name in DOSE_ELEMENTS)


def test_every_slice_shows_the_word(volume, slices):
    """The same bright word stands in front of the field in each slice, its letters apart."""
    rows = slices[0].Rows - volume.values.shape[1]
    bands = [d.pixel_array[:rows] for d in slices]
    assert all(np.array_equal(bands[0], band) for band in bands)
    lit = bands[0] > 0
    assert set(np.unique(bands[0][lit] + float(slices[0].RescaleIntercept))) == {2000.0}
    columns = lit.any(axis=0)
    # columns of letters with gaps between: SIMULATED has nine letters
    assert 7 <= np.count_nonzero(np.diff(columns.astype(int)) == 1) <= 9
    assert np.count_nonzero(columns) > 0.6 * lit.shape[1]


def test_uids_are_below_the_root_of_uuids(slices):
    """All UIDs start with 2.25 (PS3.5 B.2), are valid, and tell study, series and slices apart."""
    d = slices[0]
    names = ("StudyInstanceUID", "SeriesInstanceUID", "FrameOfReferenceUID")
    found = [d[name].value for name in names] + [s.SOPInstanceUID for s in slices]
    assert len(set(found)) == len(found)
    assert all(uid.is_valid and uid.startswith("2.25.") for uid in found)
    for name in names:
        assert len({s[name].value for s in slices}) == 1
    assert d.file_meta.ImplementationClassUID.is_valid


def test_the_same_bytes_on_every_run(volume, study, files, tmp_path):
    """The same examination gives the same files; another time of day gives other UIDs."""
    again = save_volume_dicom(volume, study, tmp_path / "again")
    assert [f.read_bytes() for f in again] == [f.read_bytes() for f in files]
    later = replace(study, taken_at=study.taken_at + timedelta(seconds=1))
    assert later.uid("volume") != study.uid("volume")
    elsewhere = replace(study, taken_at=study.taken_at.astimezone(timezone(timedelta(hours=2))))
    assert elsewhere.uid("volume") == study.uid("volume")
    naive = replace(study, taken_at=datetime(2026, 3, 4, 10, 11, 12))
    assert naive.uid("volume") == study.uid("volume")


@pytest.mark.skipif(VALIDATOR is None, reason="dciodvfy (dicom3tools) is not installed")
def test_an_independent_validator_finds_no_error(files):
    """dciodvfy (dicom3tools) takes the first and the last slice as CT images without an error."""
    for file in (files[0], files[-1]):
        ended = subprocess.run([VALIDATOR, file], capture_output=True, text=True, timeout=30)
        assert "CTImage" in ended.stderr + ended.stdout
        assert "Error" not in ended.stderr + ended.stdout
        assert ended.returncode == 0


@pytest.mark.reference
def test_itk_sees_place_direction_and_side(volume, files):
    """ITK (by GDCM) reads spacing, origin and direction, and finds the marker on the left."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        import itk

        names = itk.GDCMSeriesFileNames.New(Directory=str(files[0].parent))
        (series,) = names.GetSeriesUIDs()
        image = itk.imread(list(names.GetFileNames(series)), itk.F)
        values = itk.array_from_image(image)
        level, row, column = np.unravel_index(np.argmax(values), values.shape)
        index = [int(column), int(row), int(level)]
        place = np.array(image.TransformIndexToPhysicalPoint(index))
        direction = itk.array_from_matrix(image.GetDirection())
    np.testing.assert_allclose(place, MARKER_MM, atol=1e-6)
    assert values.max() == MARKER_VALUE
    np.testing.assert_allclose(list(image.GetSpacing()), [0.5] * 3)
    np.testing.assert_allclose(list(image.GetOrigin()), marked_volume(volume).origin_mm, atol=1e-6)
    np.testing.assert_array_equal(direction, np.eye(3))


@given(st.floats(-1e3, 1e3), st.floats(0.0, 5e5), st.integers(0, 2**31))
def test_stored_values_are_off_by_half_a_step(low, span, seed):
    """Any values fit 16 bits to half the slope, 0 stays for what is outside, the slope is least."""
    values = np.random.default_rng(seed).uniform(low, low + span, (2, 3, 3))
    inside = np.ones((3, 3), bool)
    inside[1, 1] = False
    stored = stored_values(values, inside)
    found = stored.pixels * stored.slope + stored.intercept
    assert np.abs(found - values)[:, inside].max() <= stored.slope / 2.0 + 1e-6
    assert np.all(stored.pixels[:, inside] > 0) and np.all(stored.pixels[:, ~inside] == 0)
    width = np.ptp(values[:, inside])
    assert stored.slope == 1.0 or width / (stored.slope / 2.0) > 65533


def test_nothing_is_mixed_or_overwritten(volume, study, tmp_path):
    """A folder with anything in it is refused and left as it is; so is a place that is a file."""
    (tmp_path / "notes.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(TrainerError, match="not empty"):
        save_volume_dicom(volume, study, tmp_path)
    with pytest.raises(NotReadable, match="cannot be used as a folder"):
        save_volume_dicom(volume, study, tmp_path / "notes.txt")
    assert [f.name for f in tmp_path.iterdir()] == ["notes.txt"]


def test_a_full_disk_leaves_no_part_of_a_volume(volume, study, tmp_path, monkeypatch):
    """When the third slice cannot be written, the first two are taken away again."""
    write = Path.write_bytes

    def full_after_two(self, data):
        if "0003" in self.name:
            raise OSError(28, "No space left on device")
        return write(self, data)

    monkeypatch.setattr(Path, "write_bytes", full_after_two)
    with pytest.raises(NotReadable, match=r"slice-0003\.dcm: cannot be written: No space left"):
        save_volume_dicom(volume, study, tmp_path / "slices")
    assert list((tmp_path / "slices").iterdir()) == []


def test_what_was_ordered_and_computed_is_told(volume, study, tmp_path):
    """Where the voxel is coarser than ordered, every slice tells both."""
    coarse = replace(volume, requested_voxel_um=100)
    first, *_ = save_volume_dicom(coarse, study, tmp_path / "slices")
    words = pydicom.dcmread(first).ImageComments
    assert words.endswith("Voxel ordered: 100 um; computed: 500 um.")


@pytest.mark.parametrize(
    ("case_id", "alias", "patient_id", "name"),
    [
        ("a^b\\c=d", "Al^der\n", "TRAIN-a b c d", "TRAINING^Al der"),
        ("", "", "TRAIN-CASE", "TRAINING^INVENTED"),
        ("x" * 100, "Ä" * 100, "TRAIN-" + "x" * 58, "TRAINING^" + "Ä" * 55),
    ],
)
def test_names_stay_within_the_standard(study, case_id, alias, patient_id, name):
    """Signs that part DICOM values are taken out, and 64 letters are not passed (PS3.5 6.2)."""
    other = replace(study, case_id=case_id, alias=alias)
    assert (other.patient_id, other.patient_name) == (patient_id, name)

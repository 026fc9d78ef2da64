"""Scouts and screen pictures as DICOM, read back by pydicom and checked by dciodvfy."""

from __future__ import annotations

import shutil
import subprocess
from dataclasses import replace

import numpy as np
import pytest

from trainer.errors import TrainerError
from trainer.physics.views import project_point
from trainer.services.exports.dicom_images import save_capture_dicom, save_scout_dicom
from trainer.services.exports.marking import marked_picture
from trainer.services.scouts import grey_levels

pydicom = pytest.importorskip("pydicom")

VALIDATOR = shutil.which("dciodvfy")


@pytest.fixture(scope="module")
def files(scouts, study, tmp_path_factory):
    """Both scouts and two screen pictures, grey and coloured, of odd sizes."""
    folder = tmp_path_factory.mktemp("images")
    written = {
        view: save_scout_dicom(picture, study, folder / f"{view}.dcm")
        for view, picture in scouts.items()
    }
    grey = np.full((75, 91), 40, np.uint8)
    written["grey"] = save_capture_dicom(grey, study, folder / "grey.dcm")
    colour = np.full((75, 91, 3), (200, 30, 90), np.uint8)
    written["colour"] = save_capture_dicom(colour, study, folder / "colour.dcm", "The debrief")
    return written


@pytest.mark.skipif(VALIDATOR is None, reason="dciodvfy (dicom3tools) is not installed")
@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("frontal", "DXImageForPresentation"),
        ("lateral", "DXImageForPresentation"),
        ("grey", "SCImage"),
        ("colour", "SCImage"),
    ],
)
def test_an_independent_validator_finds_no_error(files, name, kind):
    """dciodvfy (dicom3tools) takes each file as the kind it says, without error or warning."""
    ended = subprocess.run([VALIDATOR, files[name]], capture_output=True, text=True, timeout=30)
    assert (ended.stdout + ended.stderr).split() == [kind]
    assert ended.returncode == 0


@pytest.mark.parametrize(("view", "directions"), [("frontal", ["L", "F"]), ("lateral", ["A", "F"])])
def test_the_marker_lies_where_the_directions_say(scouts, files, view, directions):
    """A point left of the origin, in front, above lies there by Patient Orientation (C.7.6.1.1.1).

    Rows run to the left (frontal) or to the front (lateral), columns down to the feet.
    """
    d = pydicom.dcmread(files[view])
    assert list(d.PatientOrientation) == directions
    plain = grey_levels(scouts[view].projection.values, scouts[view].photons)
    row, column = np.unravel_index(np.argmax(plain), plain.shape)
    assert d.pixel_array[row, column] == plain[row, column] == plain.max()
    origin_row, origin_column = project_point(scouts[view].view, np.zeros(3))
    assert column > origin_column + 10
    assert row < origin_row - 10


def test_pixels_carry_the_word_and_the_sides(scouts, files):
    """The stored pixels are the shown greys with the marks of every picture that goes out."""
    for view, letters in (("frontal", ("R", "L")), ("lateral", ("BACK", "FRONT"))):
        d = pydicom.dcmread(files[view])
        plain = grey_levels(scouts[view].projection.values, scouts[view].photons)
        np.testing.assert_array_equal(d.pixel_array, marked_picture(plain, *letters))
        assert not np.array_equal(d.pixel_array, plain)


def test_spacing_is_that_on_the_detector(scouts, files):
    """Imager Pixel Spacing is the pixel's edge, and the detector stands where the unit has it."""
    for view, picture in scouts.items():
        d = pydicom.dcmread(files[view])
        found = [float(v) for v in d.ImagerPixelSpacing]
        np.testing.assert_allclose(found, [picture.projection.pixel_mm] * 2, rtol=1e-5)
        gap = picture.view.first_pixel_mm - picture.view.source_mm
        expected = abs(gap @ picture.view.normal)
        assert float(d.DistanceSourceToDetector) == pytest.approx(expected, rel=1e-5)
        assert "PixelSpacing" not in d  # nothing is calibrated at the head


def test_every_picture_says_that_it_is_simulated(files):
    """Tags of every picture: invented person, quality control, derived, burned in."""
    seen = set()
    for file in files.values():
        d = pydicom.dcmread(file)
        assert d.PatientName == "TRAINING^Alder" and d.PatientID.startswith("TRAIN-")
        assert d.QualityControlImage == "YES" and d.BurnedInAnnotation == "YES"
        assert list(d.ImageType)[:2] == ["DERIVED", "SECONDARY"]
        assert d.SeriesDescription.startswith("SIMULATED")
        assert "SIMULATED" in d.ImageComments and "Not a medical device" in d.ImageComments
        seen.add(d.SOPInstanceUID)
    assert len(seen) == len(files)


def test_a_picture_keeps_its_colours(files):
    """A coloured picture is stored as RGB and whole: the word stands in rows above it."""
    d = pydicom.dcmread(files["colour"])
    rows = d.Rows - 75
    assert d.pixel_array.shape == (75 + rows, 91, 3) and rows > 20
    np.testing.assert_array_equal(d.pixel_array[rows:], np.broadcast_to((200, 30, 90), (75, 91, 3)))
    assert d.pixel_array[:rows].max() > 200 and d.pixel_array[:rows].min() == 0
    assert d.ImageComments.startswith("The debrief. SIMULATED")


def test_other_names_and_views_are_refused(scouts, study, tmp_path):
    """A name without .dcm, an unknown view and a tiny picture write nothing."""
    with pytest.raises(TrainerError, match=r"must end in \.dcm"):
        save_scout_dicom(scouts["frontal"], study, tmp_path / "scout.png")
    odd = replace(
        scouts["frontal"],
        projection=replace(scouts["frontal"].projection, left_is_patients="above"),
    )
    with pytest.raises(TrainerError, match="no known view"):
        save_scout_dicom(odd, study, tmp_path / "scout.dcm")
    with pytest.raises(TrainerError, match="too small"):
        save_capture_dicom(np.zeros((20, 200), np.uint8), study, tmp_path / "small.dcm")
    assert not list(tmp_path.iterdir())

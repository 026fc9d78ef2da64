"""Scouts as digital X-ray images, and other pictures as secondary captures."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from trainer.errors import TrainerError
from trainer.services.exports.dicom_parts import (
    DX_IMAGE_FOR_PRESENTATION,
    SECONDARY_CAPTURE,
    file_bytes,
    simulated_dataset,
)
from trainer.services.exports.files import with_ending, write_whole
from trainer.services.exports.marking import marked_above, marked_picture
from trainer.services.exports.study import SimulatedStudy
from trainer.services.scouts import SIDES, ScoutPicture, grey_levels

if TYPE_CHECKING:
    from pydicom.dataset import Dataset

ENDING = ".dcm"
# Patient's directions of a row and of a column (PS3.3 C.7.6.1.1.1: L left, R right, A front,
# P back, F feet), the view's code in SNOMED CT (PS3.16, context group 4010) and its View Position
# (PS3.3 C.8.11.5), by what of the patient lies on the picture's left. Frontal: the tube stands
# behind. Lateral: it stands on the right, the patient's left is nearest to the detector.
VIEWS = {
    "right": ("frontal", ["L", "F"], ("272479007", "postero-anterior"), "PA"),
    "back": ("lateral", ["A", "F"], ("399173006", "left lateral"), "LL"),
}


def save_scout_dicom(picture: ScoutPicture, study: SimulatedStudy, path: Path) -> Path:
    """Writes a scout as Digital X-Ray Image - For Presentation, marked as simulated.

    Grey is as on the screen: dark is little, light is much attenuation. The pixels' spacing is that
    on the detector (Imager Pixel Spacing): what lies nearer to the tube is shown larger.

    Raises
    ------
    TrainerError
        If the name does not end in .dcm, or the picture shows neither of the two known views.
    NotReadable
        If the file cannot be written, or a library is not installed.
    """
    with_ending(path, ENDING)
    projection = picture.projection
    if projection.left_is_patients not in VIEWS:
        raise TrainerError(
            f"no known view has the patient's {projection.left_is_patients} on its left. "
            "Nothing was written."
        )
    name, directions, code, position = VIEWS[projection.left_is_patients]
    grey = grey_levels(projection.values, picture.photons)
    pixels = marked_picture(grey, *SIDES[projection.left_is_patients])
    d = simulated_dataset(
        study, DX_IMAGE_FOR_PRESENTATION, "DX", "scouts", 1, f"{name} {path.name}"
    )
    d.ImageType = ["DERIVED", "SECONDARY"]
    d.PresentationIntentType = "FOR PRESENTATION"
    d.InstanceNumber = list(VIEWS).index(projection.left_is_patients) + 1
    d.PatientOrientation = directions
    d.ImageLaterality = "U"
    d.AnatomicRegionSequence = [_code("69536005", "Head")]
    d.ViewCodeSequence = [_code(*code)]
    d.ViewPosition = position
    d.ImagerPixelSpacing = [f"{projection.pixel_mm:.6g}"] * 2
    view = picture.view
    far = abs(float((view.first_pixel_mm - view.source_mm) @ view.normal))
    d.DistanceSourceToDetector = f"{far:.6g}"
    d.DetectorType = "SCINTILLATOR"
    d.DetectorID = "SIMULATED"
    d.PositionerType = "COLUMN"
    d.PixelIntensityRelationship = "LOG"
    d.PixelIntensityRelationshipSign = 1
    d.RescaleIntercept, d.RescaleSlope, d.RescaleType = 0, 1, "US"
    d.PresentationLUTShape = "IDENTITY"
    d.WindowCenter, d.WindowWidth = 128, 256
    d.AcquisitionContextSequence = []
    _add_pixels(d, pixels)
    return write_whole(path, file_bytes(d))


def save_capture_dicom(
    pixels: NDArray[np.uint8],
    study: SimulatedStudy,
    path: Path,
    text: str = "",
    sides: tuple[str, str] = ("", ""),
) -> Path:
    """Writes a picture of the screen, (h, w, 3) RGB or (h, w) grey, as a secondary capture.

    ``text`` says in a few words what it shows. "SIMULATED" stands in rows added above it. ``sides``
    are the patient's sides on the picture's left and right, as letters, where it has them.

    Raises
    ------
    TrainerError
        If the name does not end in .dcm, or the picture is too small to be marked.
    NotReadable
        If the file cannot be written, or a library is not installed.
    """
    with_ending(path, ENDING)
    marked = marked_above(pixels, *sides)
    d = simulated_dataset(study, SECONDARY_CAPTURE, "OT", "pictures", 2, path.name)
    d.ImageType = ["DERIVED", "SECONDARY"]
    d.ConversionType = "WSD"
    d.InstanceNumber = 1
    d.PatientOrientation = ""
    if text:
        d.ImageComments = f"{text}. {d.ImageComments}"
    _add_pixels(d, marked)
    return write_whole(path, file_bytes(d))


def _add_pixels(d: Dataset, pixels: NDArray[np.uint8]) -> None:
    colour = pixels.ndim == 3
    d.SamplesPerPixel = 3 if colour else 1
    d.PhotometricInterpretation = "RGB" if colour else "MONOCHROME2"
    if colour:
        d.PlanarConfiguration = 0
    d.Rows, d.Columns = pixels.shape[:2]
    d.BitsAllocated, d.BitsStored, d.HighBit = 8, 8, 7
    d.PixelRepresentation = 0
    data = pixels.tobytes()
    d.PixelData = data + b"\0" * (len(data) % 2)


def _code(value: str, meaning: str) -> Dataset:
    from pydicom.dataset import Dataset

    item = Dataset()
    item.CodeValue = value
    item.CodingSchemeDesignator = "SCT"
    item.CodeMeaning = meaning
    return item

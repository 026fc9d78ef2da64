"""A recorded volume as CT images, one file a slice: the kind that most viewers open."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from trainer.errors import NotReadable
from trainer.models.images import RecordedVolume
from trainer.services.exports.dicom_parts import CT_IMAGE, file_bytes, simulated_dataset
from trainer.services.exports.files import empty_folder, write_whole
from trainer.services.exports.marking import marked_volume
from trainer.services.exports.study import SimulatedStudy

if TYPE_CHECKING:
    from pydicom.dataset import Dataset

SERIES = "volume"
# First grey window shown: bone and teeth. Own working values on an uncalibrated scale.
WINDOW_CENTRE, WINDOW_WIDTH = 700.0, 3400.0
LARGEST_STORED = 65535


class Stored(NamedTuple):
    """Values as they stand in the files: value = slope * stored + intercept; 0 is outside."""

    pixels: NDArray[np.uint16]
    slope: float
    intercept: float


def stored_values(values: NDArray[np.floating], inside: NDArray[np.bool_]) -> Stored:
    """The values [z, y, x] as whole numbers of 16 bits, off by half the slope at most.

    The slope is 1 unless metal makes the span too wide, then the next power of two that fits. What
    lies outside ``inside`` (y, x) is stored as 0, which no value inside takes.
    """
    kept = values[:, inside].astype(np.float64)
    low, high = float(kept.min()), float(kept.max())
    slope = 1.0
    while (high - low) / slope > LARGEST_STORED - 2:
        slope *= 2.0
    intercept = float(np.floor(low)) - slope
    pixels = np.zeros(values.shape, np.uint16)
    pixels[:, inside] = np.rint((kept - intercept) / slope)
    return Stored(pixels, slope, intercept)


def save_volume_dicom(volume: RecordedVolume, study: SimulatedStudy, folder: Path) -> list[Path]:
    """Writes the volume into a new or empty folder, lowest slice first; returns the files.

    Values are not calibrated in Hounsfield units, as on most dental units, and the files say so
    (Rescale Type US, unspecified). Place and direction are those of the field frame, whose axes are
    DICOM's own (PS3.3 C.7.6.2.1.1), so nothing is turned or mirrored. "SIMULATED" stands in every
    slice, in rows added in front of the field. All slices carry one Frame of Reference.

    Raises
    ------
    TrainerError
        If the folder is not empty.
    NotReadable
        If a file cannot be written, and then none is left; or the library for DICOM is not
        installed.
    """
    marked = marked_volume(volume)
    stored = stored_values(marked.values, marked.inside)
    empty_folder(folder)
    written: list[Path] = []
    try:
        for number in range(stored.pixels.shape[0]):
            data = file_bytes(_slice(marked, stored, number, study))
            written.append(write_whole(folder / f"slice-{number + 1:04d}.dcm", data))
    except NotReadable:
        for path in written:  # a part of a volume would be taken for a whole one
            path.unlink(missing_ok=True)
        raise
    return written


def _slice(marked: RecordedVolume, stored: Stored, number: int, study: SimulatedStudy) -> Dataset:
    d = simulated_dataset(study, CT_IMAGE, "CT", SERIES, 3, f"slice {number + 1}")
    d.ImageType = ["DERIVED", "SECONDARY", "AXIAL"]
    d.FrameOfReferenceUID = study.uid("frame of reference")
    d.PositionReferenceIndicator = ""
    d.PatientPosition = "HFS"
    d.AcquisitionNumber = 1
    d.InstanceNumber = number + 1
    d.KVP = None
    spacing = marked.spacing_mm
    x, y, z = marked.origin_mm + [0.0, 0.0, number * spacing]
    d.ImagePositionPatient = [_decimal(x), _decimal(y), _decimal(z)]
    d.ImageOrientationPatient = [1, 0, 0, 0, 1, 0]
    d.SliceLocation = _decimal(z)
    d.SliceThickness = _decimal(spacing)
    d.PixelSpacing = [_decimal(spacing), _decimal(spacing)]
    if marked.requested_voxel_um:
        ordered, computed = marked.requested_voxel_um, round(1000.0 * spacing)
        d.ImageComments += f" Voxel ordered: {ordered} um; computed: {computed} um."
    d.SamplesPerPixel = 1
    d.PhotometricInterpretation = "MONOCHROME2"
    d.Rows, d.Columns = stored.pixels.shape[1:]
    d.BitsAllocated, d.BitsStored, d.HighBit = 16, 16, 15
    d.PixelRepresentation = 0
    d.PixelPaddingValue = 0
    d.RescaleSlope, d.RescaleIntercept = _decimal(stored.slope), _decimal(stored.intercept)
    d.RescaleType = "US"
    d.WindowCenter, d.WindowWidth = WINDOW_CENTRE, WINDOW_WIDTH
    d.PixelData = stored.pixels[number].astype("<u2").tobytes()
    return d


def _decimal(value: float) -> str:
    """A number as a decimal string of at most 16 letters (PS3.5 6.2, DS)."""
    return f"{value:.10g}"[:16]

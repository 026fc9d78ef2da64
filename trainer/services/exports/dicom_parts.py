"""What all DICOM files of the program say: an invented person, quality control, simulated.

There is no network in it: a data set is made and written to a file, by pydicom. Dose and exposure
are left out on purpose, so that no simulated dose can enter a dose register.
"""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

from trainer.errors import NotReadable
from trainer.services.cautions import SHORT_CAUTION
from trainer.services.exports.study import PRACTICE, SimulatedStudy

if TYPE_CHECKING:
    from pydicom.dataset import Dataset

CT_IMAGE = "1.2.840.10008.5.1.4.1.1.2"
DX_IMAGE_FOR_PRESENTATION = "1.2.840.10008.5.1.4.1.1.1.1"
SECONDARY_CAPTURE = "1.2.840.10008.5.1.4.1.1.7"
# The program as the writer of files (PS3.7 D.3.3.2), below the root of UUIDs like all other UIDs.
IMPLEMENTATION_UID = "2.25.175406135976290118486554681604143724909"
IMPLEMENTATION_NAME = "TRAINER_SIMULATE"
COMMENT = f"SIMULATED. No real patient. {SHORT_CAUTION}"


def simulated_dataset(
    study: SimulatedStudy, sop_class: str, modality: str, series: str, number: int, instance: str
) -> Dataset:
    """A data set with patient, study, series, equipment and SOP common modules (PS3.3 C.7, C.12).

    ``series`` and ``instance`` name the series and the image inside the study: their UIDs follow
    from that. ``number`` is the series' number.

    Raises
    ------
    NotReadable
        If the library for DICOM is not installed.
    """
    try:
        from pydicom.dataset import Dataset
    except ImportError as error:
        raise NotReadable(
            f"The library for DICOM files is not installed ({error}). Run 'python3 start.py', "
            "which installs it."
        ) from error
    day, time = study.taken_utc.strftime("%Y%m%d"), study.taken_utc.strftime("%H%M%S")
    d = Dataset()
    d.SpecificCharacterSet = "ISO_IR 192"
    d.SOPClassUID = sop_class
    d.SOPInstanceUID = study.uid(series, instance)
    d.TimezoneOffsetFromUTC = "+0000"
    # patient and study
    d.PatientName = study.patient_name
    d.PatientID = study.patient_id
    d.PatientBirthDate = ""
    d.PatientSex = study.sex.value[0].upper()
    d.PatientAge = f"{study.age_years:03d}Y"
    d.PatientComments = COMMENT
    d.QualityControlSubject = "YES"
    d.StudyInstanceUID = study.uid("study")
    d.StudyID = "SIMULATED"
    d.StudyDescription = "SIMULATED - training only"
    d.StudyDate, d.StudyTime = day, time
    d.AccessionNumber = ""
    d.ReferringPhysicianName = ""
    # series and equipment
    d.Modality = modality
    d.SeriesInstanceUID = study.uid(series)
    d.SeriesNumber = number
    d.SeriesDescription = f"SIMULATED {series} - training only"[:64]
    d.SeriesDate, d.SeriesTime = day, time
    d.BodyPartExamined = "HEAD"
    d.Manufacturer = "Simulated by a training program"
    d.InstitutionName = PRACTICE
    d.ManufacturerModelName = "Invented unit"
    d.DeviceSerialNumber = "SIMULATED"
    d.SoftwareVersions = study.program or "unknown"
    # image
    d.ContentDate, d.ContentTime = day, time
    d.AcquisitionDate, d.AcquisitionTime = day, time
    d.QualityControlImage = "YES"
    d.BurnedInAnnotation = "YES"
    d.LossyImageCompression = "00"
    d.ImageComments = COMMENT
    d.DerivationDescription = "Computed from a synthetic head; no X-rays were used."
    return d


def file_bytes(dataset: Dataset) -> bytes:
    """The data set as a DICOM file (PS3.10), explicit VR, little endian; checked by pydicom."""
    import pydicom
    from pydicom.dataset import FileMetaDataset
    from pydicom.uid import UID, ExplicitVRLittleEndian

    meta = FileMetaDataset()
    meta.MediaStorageSOPClassUID = dataset.SOPClassUID
    meta.MediaStorageSOPInstanceUID = dataset.SOPInstanceUID
    meta.TransferSyntaxUID = ExplicitVRLittleEndian
    meta.ImplementationClassUID = UID(IMPLEMENTATION_UID)
    meta.ImplementationVersionName = IMPLEMENTATION_NAME
    dataset.file_meta = meta
    stream = io.BytesIO()
    pydicom.dcmwrite(stream, dataset, enforce_file_format=True)
    return stream.getvalue()

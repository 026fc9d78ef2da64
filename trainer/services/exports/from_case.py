"""What goes out of a case: its scouts and its recorded volume as DICOM."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import numpy as np

from trainer.models.setup import Setup
from trainer.services.appointment import PROGRAM_VERSION
from trainer.services.exports.dicom_images import save_capture_dicom, save_scout_dicom
from trainer.services.exports.dicom_volume import save_volume_dicom
from trainer.services.exports.files import empty_folder, with_ending
from trainer.services.exports.study import SimulatedStudy
from trainer.services.panorama import (
    SHOWN_DEPTHS,
    grey_of_depths,
    shown_depths,
    take_panorama,
)
from trainer.services.scouts import WORKING_TUBE, person_head, require_cone_beam, scout_pair
from trainer.services.volumes.record import (
    default_programme,
    record_volume,
    still_ask,
)
from trainer.services.workbench import Workbench


def study_of(bench: Workbench, setup: Setup, seed: int, taken_at: datetime) -> SimulatedStudy:
    """The invented examination of a case's person at that setup."""
    person = bench.case.subject.person
    facts = json.dumps([bench.case.id, setup.as_dict(), seed], sort_keys=True)
    return SimulatedStudy(
        key=hashlib.sha256(facts.encode()).hexdigest(),
        case_id=bench.case.id,
        alias=bench.case.subject.display_name,
        sex=person.sex,
        age_years=person.age_years,
        taken_at=taken_at,
        program=PROGRAM_VERSION,
    )


def save_case_scouts(
    bench: Workbench,
    setup: Setup,
    folder: Path,
    taken_at: datetime,
    seed: int,
    spacing_mm: float,
    tell: Callable[[str], None] = lambda _: None,
) -> list[Path]:
    """Simulates both scouts and writes them as DICOM into a new folder.

    Parameters
    ----------
    bench : Workbench
        Case, unit and head.
    setup : Setup
        What stands how.
    folder : Path
        New or empty.
    taken_at : datetime
        When, for the files.
    seed : int
        Of the photon noise.
    spacing_mm : float
        Voxel of the head.
    tell : callable
        Called with what is being done.

    Raises
    ------
    TrainerError
        If the folder is not empty, or the unit makes no scouts.
    NotReadable
        If a file cannot be written, or a library is not installed.
    """
    require_cone_beam(bench.unit)
    empty_folder(folder)
    study = study_of(bench, setup, seed, taken_at)
    head = person_head(bench.case.subject.person, spacing_mm, tell)
    tell("previews")
    tube = bench.unit.tube or WORKING_TUBE
    pair = scout_pair(bench, setup, head, np.random.default_rng(seed), tube=tube)
    return [save_scout_dicom(p, study, folder / f"{view}.dcm") for view, p in pair.items()]


def save_case_panorama(
    bench: Workbench,
    setup: Setup,
    path: Path,
    taken_at: datetime,
    seed: int,
    tell: Callable[[str, float], None] = lambda part, share: None,
) -> Path:
    """Takes a panoramic picture of a person who keeps still, and writes it as DICOM.

    As a secondary capture: the list of views for digital X-ray images (PS3.16, context group 4010,
    in pydicom 3.0.2) has none for a panoramic picture.

    Parameters
    ----------
    bench : Workbench
        Case, unit and head.
    setup : Setup
        What stands how.
    path : Path
        A name that ends in .dcm.
    taken_at : datetime
        When, for the file.
    seed : int
        Of the photon noise.
    tell : callable
        Called with what is being done and the share that is over.

    Raises
    ------
    TrainerError
        If the unit makes no panoramic pictures, or the name does not end in .dcm.
    NotReadable
        If the file cannot be written, or a library is not installed.
    """
    with_ending(path, ".dcm")
    ask = still_ask(bench, setup, default_programme(bench, setup), seed)
    picture = take_panorama(bench, ask, tell)
    grey = grey_of_depths(shown_depths(picture), *SHOWN_DEPTHS)
    study = study_of(bench, setup, seed, taken_at)
    return save_capture_dicom(grey, study, path, "Panoramic picture", ("R", "L"))


def save_case_volume(
    bench: Workbench,
    setup: Setup,
    folder: Path,
    taken_at: datetime,
    seed: int,
    tell: Callable[[str], None] = lambda _: None,
) -> list[Path]:
    """Records a whole run in which the person keeps still, and writes its slices as DICOM.

    Parameters
    ----------
    bench : Workbench
        Case, unit and head.
    setup : Setup
        What stands how.
    folder : Path
        New or empty.
    taken_at : datetime
        When, for the files.
    seed : int
        Of the photon noise.
    tell : callable
        Called with what is being done.

    Raises
    ------
    TrainerError
        If the folder is not empty, or the unit makes no volumes.
    NotReadable
        If a file cannot be written, or a library is not installed.
    """
    require_cone_beam(bench.unit)
    empty_folder(folder)
    ask = still_ask(bench, setup, default_programme(bench, setup), seed)
    told: list[str] = []

    def part(name: str, _share: float) -> None:
        if name not in told:
            told.append(name)
            tell(name)

    volume = record_volume(bench, ask, part)
    return save_volume_dicom(volume, study_of(bench, setup, seed, taken_at), folder)

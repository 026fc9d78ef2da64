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
from trainer.services.exports.dicom_images import save_scout_dicom
from trainer.services.exports.dicom_volume import save_volume_dicom
from trainer.services.exports.files import empty_folder
from trainer.services.exports.study import SimulatedStudy
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

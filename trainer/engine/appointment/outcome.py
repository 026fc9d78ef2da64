"""What an appointment came to: every use of radiation, and all slips (E01 to E25) run by run."""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

from trainer.engine.appointment.state import AppointmentState
from trainer.engine.appointment.verdict import (
    answered_before,
    judged_runs,
    judged_slips,
    spoiling_causes,
)
from trainer.models.appointment import Run
from trainer.models.appointment_events import PersonFreed
from trainer.models.appointment_words import ImagePoint, RetakeCause, RunKind, ScoutKind
from trainer.models.motion import MotionCause, SpacerGrip
from trainer.models.protocol import Exposure, ExposureKind
from trainer.models.slips import ImageEffect, Slip, SlipCode

SCOUTS = {
    ScoutKind.FRONTAL: ExposureKind.FRONTAL_SCOUT,
    ScoutKind.LATERAL: ExposureKind.LATERAL_SCOUT,
}


class FoundSlip(NamedTuple):
    """A slip and the number of the run it happened in."""

    run: int
    slip: Slip


class Radiation(NamedTuple):
    """One use of radiation, for whoever adds up the dose.

    ``share`` is the part of the run that took place; ``preview``: a run in few views.
    """

    field: str
    exposure: Exposure
    share: float
    preview: bool


def radiation(state: AppointmentState) -> tuple[Radiation, ...]:
    """Every scout and every run, in order of time, rejected ones included."""
    found = [(s.at_s, s.conditions, SCOUTS[s.kind], 1.0) for s in state.scouts]
    found += [(r.started_s, r.conditions, ExposureKind.FULL, r.recorded_share) for r in state.runs]
    uses = []
    for _, now, kind, share in sorted(found, key=lambda f: f[0]):
        used = now.programme
        exposure = Exposure(kind, used.protocol, used.voxel_um, used.low_dose)
        preview = kind is ExposureKind.FULL and used.run_kind is RunKind.PREVIEW
        uses.append(Radiation(now.setup.field, exposure, share, preview))
    return tuple(uses)


def slips_of_appointment(state: AppointmentState) -> tuple[FoundSlip, ...]:
    """Every slip of every run that counts, in order of runs and codes."""
    found = []
    for run in judged_runs(state):
        found += [FoundSlip(run.number, slip) for slip in judged_slips(state, run)]
        found += [FoundSlip(run.number, slip) for slip in _unchecked_or_needless(state, run)]
    return tuple(found)


def is_unchecked(state: AppointmentState, run: Run) -> bool:
    """Whether the person left, or the appointment ended, before every point was checked."""
    left = state.last(PersonFreed)
    over = state.finished or (left is not None and left >= run.started_s)
    return over and run.checked != frozenset(ImagePoint)


def repeats_needlessly(state: AppointmentState, run: Run) -> bool:
    """Whether the run repeats what had been answered."""
    return answered_before(state, run)


def repeats_same_cause(state: AppointmentState, run: Run) -> bool:
    """Whether the run repeats another with a cause that was not mended.

    People move by chance: motion counts only when nothing was done against it, or the spacer that
    tipped tips again.
    """
    before = [r for r in judged_runs(state) if r.number < run.number]
    if not before:
        return False
    same = set(spoiling_causes(state, before[-1])) & set(spoiling_causes(state, run))
    if not _moves_for_the_same_reason(before[-1], run):
        same -= {RetakeCause.MOTION}
    if state.true_prescription.runs > 1:
        same -= {RetakeCause.COVERAGE}  # another part of the same examination
    return bool(same)


def _moves_for_the_same_reason(a: Run, b: Run) -> bool:
    loose = all(r.cause.spacer is SpacerGrip.UNSTEADY for r in (a, b))
    return loose or _steadiness(a) == _steadiness(b)


def _steadiness(run: Run) -> MotionCause:
    """What can be done against motion, as it was."""
    return replace(run.cause, scripted=None, jerk_at_share=None)


def _unchecked_or_needless(state: AppointmentState, run: Run) -> list[Slip]:
    code, found = SlipCode.NOT_CHECKED_OR_NEEDLESS, []
    if is_unchecked(state, run):
        missed = [p for p in ImagePoint if p not in run.checked]
        found.append(Slip(code, f"Not checked before the end: {', '.join(missed)}.", ImageEffect()))
    if repeats_needlessly(state, run):
        words = "The image before answered the question; this run was needless."
        found.append(Slip(code, words, ImageEffect(dose_factor=2.0)))
    return found

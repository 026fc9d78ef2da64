"""The image: opening, checking and grading it, and deciding on a repeat."""

from __future__ import annotations

from dataclasses import replace

from trainer.engine.appointment.state import AppointmentState, Handlers, Step
from trainer.errors import NotAllowedNow
from trainer.models.appointment import Run
from trainer.models.appointment_commands import CheckImage, DecideRetake, GradeImage, OpenImage
from trainer.models.appointment_events import (
    ImageChecked,
    ImageGraded,
    ImageOpened,
    RetakeDecided,
    ShowImage,
)


def last_run(state: AppointmentState) -> Run:
    """The last run.

    Raises
    ------
    NotAllowedNow
        If there is none.
    """
    if not state.runs:
        raise NotAllowedNow("There is no image yet.")
    return state.runs[-1]


def _with_last(state: AppointmentState, run: Run) -> AppointmentState:
    return replace(state, exposure=replace(state.exposure, runs=(*state.exposure.runs[:-1], run)))


def open_image(state: AppointmentState, command: OpenImage) -> Step:
    """The last image is on the screen."""
    run = last_run(state)
    opened = ImageOpened(run.number, run.conditions.console_person)
    new = _with_last(state, replace(run, opened=True))
    return Step(new, (opened,), (ShowImage(run.number),))


def check_image(state: AppointmentState, command: CheckImage) -> Step:
    """One point of the open image is checked."""
    run = last_run(state)
    if not run.opened:
        raise NotAllowedNow("Open the image first.")
    new = _with_last(state, replace(run, checked=run.checked | {command.point}))
    return Step(new, (ImageChecked(run.number, command.point),))


def grade_image(state: AppointmentState, command: GradeImage) -> Step:
    """The image is graded, looked at or not."""
    run = last_run(state)
    new = _with_last(state, replace(run, grade=command.grade, causes=command.causes))
    return Step(new, (ImageGraded(run.number, command.grade, command.causes),))


def decide_retake(state: AppointmentState, command: DecideRetake) -> Step:
    """Whether the run is repeated, and for which cause."""
    run = last_run(state)
    new = _with_last(state, replace(run, retake=command.retake, retake_cause=command.cause))
    return Step(new, (RetakeDecided(run.number, command.retake, command.cause),))


HANDLERS: Handlers = {
    OpenImage: open_image,
    CheckImage: check_image,
    GradeImage: grade_image,
    DecideRetake: decide_retake,
}

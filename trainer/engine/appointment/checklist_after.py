"""Steps 22 to 29: exposing, reacting, freeing, image, record, cleaning."""

from __future__ import annotations

import math
from itertools import pairwise

from trainer.engine.appointment.checklist_marks import NOT_NEEDED, Mark, by, unless
from trainer.engine.appointment.critical import WATCHED_SHARE
from trainer.engine.appointment.history import first_radiation_s, last_record
from trainer.engine.appointment.outcome import (
    repeats_needlessly,
    repeats_same_cause,
)
from trainer.engine.appointment.state import AppointmentState, spoken
from trainer.engine.appointment.verdict import answers_question, judged_runs
from trainer.engine.motion import DOUBLE_MM, movements
from trainer.engine.wording import sentence_start
from trainer.models.appointment import Run
from trainer.models.appointment_events import (
    BelongingsGivenBack,
    Bumped,
    Cleaned,
    ImageChecked,
    PersonFreed,
    PersonMoved,
    PractitionerAnswered,
    QualityChecked,
    StandingWatched,
)
from trainer.models.appointment_words import (
    Done,
    Grade,
    Hygiene,
    ImagePoint,
    QualityCheck,
    RunEnd,
    Topic,
)

# A movement in this share of the run is early: releasing then saves most of the dose. Own value.
EARLY_SHARE = 0.5
_NO_RUN = {"exposing": None}


def exposing(state: AppointmentState) -> Mark:
    """22: nobody else inside, eyes on the patient."""
    if not state.runs:
        return by(math.inf, _NO_RUN)
    faults = []
    for run in state.runs:
        if run.conditions.others_inside and not state.context.rules.companion_may_stay:
            faults.append(f"Still in the room: {', '.join(run.conditions.others_inside)}.")
        if run.watched_share < WATCHED_SHARE:
            faults.append("The eyes were not on the patient for the whole run.")
    return unless(Mark(Done.DONE), *faults)


def reacting(state: AppointmentState) -> Mark:
    """23: let go when a large movement comes early; go on when it is small or late."""
    marks = [m for run in state.runs for m in [_reaction(state, run)] if m is not NOT_NEEDED]
    wrong = [m for m in marks if m.done is not Done.DONE]
    if wrong:
        return wrong[0]
    return marks[0] if marks else NOT_NEEDED


def _reaction(state: AppointmentState, run: Run) -> Mark:
    """The mark for one run. Large: what would double the edges."""
    large_s = [
        m.start_s
        for m in movements(run.cause, run.planned_s, run.seed)
        if m.size_mm > DOUBLE_MM and m.start_s < EARLY_SHARE * run.planned_s
    ]
    released = run.end is RunEnd.RELEASED
    if large_s and not (released and run.recorded_s > min(large_s)):
        seen = state.times(PersonMoved, number=run.number)
        words = "seen" if seen else "not seen"
        return Mark(Done.SKIPPED, f"A large movement early in the run, {words}, went on.")
    if large_s:
        return Mark(Done.DONE)
    if released:
        return Mark(Done.PARTLY, "The switch was let go although no large movement had come early.")
    return NOT_NEEDED


def freeing(state: AppointmentState) -> Mark:
    """24: supports first, unit away, stay beside the person, belongings back."""
    if not state.runs:
        return by(math.inf, _NO_RUN)
    mark = by(
        math.inf,
        {
            "letting the person out": state.first(PersonFreed),
            "watching for dizziness": state.first(StandingWatched),
            "giving the belongings back": state.first(BelongingsGivenBack),
        },
    )
    since = state.runs[-1].started_s
    bumped = [e.event.words for e in state.log if isinstance(e.event, Bumped) and e.at_s >= since]
    return unless(mark, *bumped[:1])


def checking(state: AppointmentState) -> Mark:
    """25: all points checked before the person leaves, and the grade is right."""
    runs = judged_runs(state)
    if not runs:
        return by(math.inf, _NO_RUN)
    faults, any_checked = [], False
    left = state.last(PersonFreed)
    for run in runs:
        checked = run.checked
        any_checked = any_checked or bool(checked)
        missed = [p for p in ImagePoint if p not in checked]
        if missed:
            faults.append(f"Not checked: {', '.join(missed)}.")
        right = Grade.A if answers_question(state, run) else Grade.N
        if run.grade is None:
            faults.append(f"Run {run.number} was not graded.")
        elif run.grade is not right:
            faults.append(f"Run {run.number} was graded {run.grade}; it is {right}.")
    if not any_checked:
        return Mark(Done.SKIPPED, "No image was checked.")
    opened = state.first(ImageChecked)
    if left is not None and opened is not None and opened > left:
        return Mark(Done.LATE, "The image was checked only after the person had left the unit.")
    return unless(Mark(Done.DONE), *faults)


def retake(state: AppointmentState) -> Mark:
    """26: repeated only when the question cannot be answered, with the cause mended first."""
    runs = judged_runs(state)
    if not runs:
        return by(math.inf, _NO_RUN)
    faults = []
    for run in runs:
        if repeats_needlessly(state, run):
            faults.append(f"Run {run.number} was needless.")
        elif repeats_same_cause(state, run):
            faults.append(f"Run {run.number} repeated the same fault.")
    for before, run in pairwise(runs):
        asked = state.times(PractitionerAnswered, topic=Topic.RETAKE)
        granted = any(before.started_s < t < run.started_s for t in asked)
        if state.true_prescription.runs == 1 and not granted:
            who = sentence_start(state.context.rules.retake_decided_by)
            faults.append(f"{who} was not asked before run {run.number}.")
    if runs[-1].retake is None and not answers_question(state, runs[-1]):
        faults.append("Nobody decided what becomes of an image that does not answer.")
    return unless(Mark(Done.DONE), *faults)


def record(state: AppointmentState) -> Mark:
    """27: written after the last exposure and grade, and true."""
    if not state.runs:
        return by(math.inf, _NO_RUN)
    written = last_record(state)
    if written is None:
        return Mark(Done.SKIPPED, "No record was written after the last exposure and its grade.")
    wrong = ", ".join(map(spoken, written.wrong))
    return unless(Mark(Done.DONE), f"Not what happened: {wrong}." if wrong else "")


def cleaning(state: AppointmentState) -> Mark:
    """28: barriers off, contact parts, hands, after the person has left the unit."""
    freed = state.last(PersonFreed)
    if freed is None:
        return by(math.inf, {"letting the person out": None})
    wanted = {}
    for what in (Hygiene.BARRIERS_OFF, Hygiene.SURFACES, Hygiene.HANDS):
        done = [t for t in state.times(Cleaned, what=what) if t >= freed]
        wanted[spoken(what)] = min(done, default=None)
    return by(math.inf, wanted)


def quality(state: AppointmentState) -> Mark:
    """29: the daily check before the first radiation, and rejects noted."""
    wanted = {"the daily check": state.first(QualityChecked, what=QualityCheck.DAILY_CHECK)}
    if any(r.grade is Grade.N for r in state.runs):
        noted = state.first(QualityChecked, what=QualityCheck.REJECT_LOG)
        wanted["noting the reject"] = noted
    mark = by(math.inf, wanted)
    if mark.done is not Done.DONE:
        return mark
    return by(first_radiation_s(state), {"the daily check": wanted["the daily check"]})


MARKERS = {
    22: exposing,
    23: reacting,
    24: freeing,
    25: checking,
    26: retake,
    27: record,
    28: cleaning,
    29: quality,
}

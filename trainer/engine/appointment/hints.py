"""The one hint that serves now: what to move, or which step is still to be done."""

from __future__ import annotations

from trainer.engine.appointment.checklist import MARKERS, NAMES
from trainer.engine.appointment.state import AppointmentState
from trainer.models.appointment_words import Done

# Steps that can be done, and are worth a hint, in each part of an appointment.
BEFORE_ANYBODY = (1, 2, 3)
WITH_THE_PERSON = (1, 2, 4, 5, 6, 7, 8, 10)
AT_THE_UNIT = (11, 12, 15, 16, 18, 19, 20)
AFTER_THE_RUN = (25, 26, 24, 27, 28, 29)
READY = "Nothing is left to prepare: say the last words and expose."
OVER = "Nothing is left to do but to finish."


def hint_words(state: AppointmentState) -> str:
    """The hint: at the unit the smallest movement that helps, else the first step that lacks."""
    person, runs = state.person, state.runs
    if not runs and person is not None and person.stance is not None:
        advising = state.context.advising
        advice = advising(state.setup) if advising is not None else ""
        return advice or _first_lacking(state, AT_THE_UNIT) or READY
    if runs:
        return _first_lacking(state, AFTER_THE_RUN) or OVER
    if person is None:
        return _first_lacking(state, BEFORE_ANYBODY) or "Call the person."
    return _first_lacking(state, WITH_THE_PERSON) or "Have the person take their place."


def _first_lacking(state: AppointmentState, numbers: tuple[int, ...]) -> str:
    for number in numbers:
        mark = MARKERS[number](state)
        if mark.done not in (Done.DONE, Done.NOT_NEEDED):
            return f"{NAMES[number - 1]}. {mark.sentence}"
    return ""

"""The operator's 29 steps: what was done, in part, late or not at all.

The list is that of the training reference (from memory; sources there). Before or late counts
from the first radiation, scouts included, unless a step says otherwise.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import NamedTuple

from trainer.engine.appointment import checklist_after, checklist_before, checklist_unit
from trainer.engine.appointment.checklist_marks import Mark
from trainer.engine.appointment.result import is_rightly_withheld
from trainer.engine.appointment.state import AppointmentState
from trainer.models.appointment_events import PersonCame
from trainer.models.appointment_words import Done


class StepReport(NamedTuple):
    """One of the 29 steps: number, name, what became of it, and a sentence on what lacks."""

    number: int
    name: str
    done: Done
    sentence: str


NAMES = (
    "Request read",
    "Justification and authorisation",
    "Room prepared",
    "Called and greeted",
    "Identity",
    "Pregnancy, by the local rule",
    "History that matters now",
    "Metal taken off",
    "Shielding, by the local rule",
    "Explained",
    "Programme",
    "Standing or sitting",
    "Height of the unit",
    "Bite, chin, spacer",
    "Midsagittal plane, from the front",
    "Reference plane, from the side",
    "Target centred",
    "Held steady",
    "Free path",
    "Scouts",
    "Last words",
    "Left, closed, exposed, watched",
    "Reacted",
    "Person freed",
    "Image checked",
    "Repeat decided",
    "Recorded",
    "Cleaned",
    "Quality programme",
)
MARKERS: Mapping[int, Callable[[AppointmentState], Mark]] = {
    **checklist_before.MARKERS,
    **checklist_unit.MARKERS,
    **checklist_after.MARKERS,
}
# What an appointment that was rightly stopped does not come to, and what it does not come to when
# nobody has been called yet.
AFTER_STOPPING, BEFORE_CALLING = range(7, 29), range(3, 29)


def checklist(state: AppointmentState) -> tuple[StepReport, ...]:
    """All 29 steps, in their order."""
    left_out = range(0)
    if is_rightly_withheld(state):
        left_out = AFTER_STOPPING if state.times(PersonCame) else BEFORE_CALLING
    found = []
    for number, name in enumerate(NAMES, start=1):
        mark = MARKERS[number](state)
        if number in left_out and mark.done is not Done.DONE:
            mark = Mark(Done.NOT_NEEDED, "The examination was not carried out.")
        found.append(StepReport(number, name, mark.done, mark.sentence))
    return tuple(found)

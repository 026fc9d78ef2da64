"""Whether the appointment did what it was for: the examination, or a stop that was right."""

from __future__ import annotations

from trainer.engine.appointment.history import (
    authorised_from_s,
    pregnancy_asked_of,
    pregnancy_cleared,
    private_answers,
    radiation_times,
)
from trainer.engine.appointment.state import AppointmentState, held_by
from trainer.engine.appointment.verdict import answers_question, judged_runs
from trainer.models.appointment import Run
from trainer.models.appointment_events import PractitionerAnswered, Withheld
from trainer.models.appointment_words import Topic, WithholdReason


def counted_runs(state: AppointmentState) -> tuple[Run, ...]:
    """The runs whose images make up the examination."""
    runs = judged_runs(state)
    return runs if state.true_prescription.runs > 1 else runs[-1:]


def held_structures(state: AppointmentState) -> frozenset[str]:
    """Required structures that the runs that count hold with their margins."""
    runs = counted_runs(state)
    setups = tuple(r.conditions.setup for r in runs)
    return held_by(state.context, setups) if runs else frozenset()


def answers(state: AppointmentState) -> bool:
    """Whether the images that count answer the question."""
    runs = counted_runs(state)
    return bool(runs) and all(answers_question(state, run) for run in runs)


def is_withheld(state: AppointmentState) -> bool:
    """Whether the operator stopped before any radiation."""
    return not radiation_times(state) and bool(state.times(Withheld))


def is_rightly_withheld(state: AppointmentState) -> bool:
    """Whether what the operator had found out left no way to go on, and is the reason given.

    Not authorised: an entitled person was asked and refused. Pregnancy: an answer in private that
    is no plain no, and nobody entitled decided to go on.
    """
    if not is_withheld(state):
        return False
    end_s, reason = [(e.at_s, e.event.reason) for e in state.log if isinstance(e.event, Withheld)][
        -1
    ]
    if reason is WithholdReason.NOT_AUTHORISED:
        refused = state.first(PractitionerAnswered, topic=Topic.AUTHORISATION, go_on=False)
        return refused is not None and refused <= end_s and end_s < authorised_from_s(state)
    return (
        reason is WithholdReason.PREGNANCY
        and pregnancy_asked_of(state)
        and bool(private_answers(state, end_s))
        and not pregnancy_cleared(state, end_s)
    )


def is_completed(state: AppointmentState) -> bool:
    """Whether everything required is held and answers the question, or it was right to stop."""
    asked = {r.structure for r in state.context.case.required}
    return (answers(state) and asked <= held_structures(state)) or is_rightly_withheld(state)

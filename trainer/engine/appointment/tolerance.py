"""Which tolerance an attempt is judged by: the local rules', by level and help."""

from __future__ import annotations

from trainer.engine.appointment.state import AppointmentState
from trainer.models.learning import HelpLevel, Tolerance

GUIDED_LEVEL, ROUTINE_LEVEL = 1, 2


def is_adapted(state: AppointmentState) -> bool:
    """Whether the case goes by its own limits of attitude: by its level, or a tilt on purpose."""
    case = state.context.case
    return case.level > ROUTINE_LEVEL or case.attitude.tilt_allowed


def tolerance_of(state: AppointmentState) -> Tolerance:
    """The column of the local rules that counts: the exam's without help, else the level's."""
    found, level = state.context.rules.tolerances, state.context.case.level
    if state.help is HelpLevel.NONE:
        return found.exam
    if level <= GUIDED_LEVEL:
        return found.guided
    return found.routine if level <= ROUTINE_LEVEL else found.adapted

"""All acts, phase by phase."""

from __future__ import annotations

from trainer.app.appointment import acts_at_unit, acts_before
from trainer.app.appointment.acts import ActGroup, Phase
from trainer.engine.appointment.state import AppointmentState


def acts_of(phase: Phase, state: AppointmentState) -> tuple[ActGroup, ...]:
    """The acts of a phase as the state offers them; the words may follow the state."""
    return GROUPS[phase](state)


GROUPS = {
    Phase.REQUEST: acts_before.request_acts,
    Phase.PERSON: acts_before.person_acts,
    Phase.METAL: acts_before.metal_acts,
    Phase.EXPLAIN: acts_before.explain_acts,
    Phase.ENTRY: acts_before.entry_acts,
    Phase.PLACE: acts_at_unit.place_acts,
    Phase.SUPPORT: acts_at_unit.supporting_acts,
    Phase.SCOUT: acts_at_unit.scout_acts,
    Phase.RUN: acts_at_unit.run_acts,
    Phase.IMAGE: acts_at_unit.image_acts,
    Phase.LEAVE: acts_at_unit.leave_acts,
}

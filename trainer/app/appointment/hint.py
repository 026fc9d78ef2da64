"""What the program tells while the person is being placed, as far as the help goes."""

from __future__ import annotations

from trainer.app.appointment.help_level import tells
from trainer.engine.appointment.state import AppointmentState
from trainer.engine.criteria import judge
from trainer.engine.placement import Placement
from trainer.engine.wording import amount, sentence_start, where
from trainer.models.clearance import Clearance
from trainer.models.learning import HelpLevel

# So near to the person a moving part is told before it touches [mm]: own working value.
NEAR_MM = 20.0


def hint(state: AppointmentState, placement: Placement, helped: HelpLevel) -> str:
    """How the required structures lie and what would be hit; empty when there is nothing to say."""
    at_unit = state.person is not None and state.person.stance is not None
    if not (tells(helped) and at_unit):
        return ""
    told = []
    if helped.looks_inside:
        missed = [s for s in placement.required if not s.holds]
        told.append(
            f"{sentence_start(where(missed[0]))}."
            if missed
            else _beside_the_layer(state, placement)
            or f"All {len(placement.required)} required structures lie inside."
        )
    told.append(clearance_words(placement.clearance))
    return " ".join(t for t in told if t)


def _beside_the_layer(state: AppointmentState, placement: Placement) -> str:
    """The first limit that a head in a sharp layer does not keep; empty when it keeps all."""
    found = judge(state.context.case, placement) if placement.layer is not None else ()
    return next((f.sentence for f in found if f.weighs and not f.met), "")


def clearance_words(near: Clearance | None) -> str:
    """Whether what turns would come near to the person; empty when it stays away."""
    if near is None or near.distance_mm >= NEAR_MM:
        return ""
    part = sentence_start(near.part)
    if near.touches:
        return f"! {part} would hit the {near.place} as it turns."
    return f"! {part} would pass the {near.place} at {amount(near.distance_mm, 'mm')}."

"""Attempts that went wrong in one way each, for the tests of debriefs."""

from __future__ import annotations

from functools import cache

from tests.helpers.appointments import (
    CLEAN_RUN,
    Act,
    act,
    before,
    doing,
    instead,
    play,
    real_case,
    without,
)
from trainer.engine.appointment.state import AppointmentState
from trainer.models import appointment_commands as do
from trainer.models.appointment_words import IdentityItem, Stance, WithholdReason

HEIGHT = doing(do.Adjust, values={"chin_height_mm": -28.0})
SIDEWAYS = doing(do.Adjust, values={"field_sideways_mm": -30.0})
ATTITUDE = doing(do.Adjust, values={"pitch_deg": 0.0, "yaw_deg": 0.0, "roll_deg": 0.0})


def moved(height_mm: float = -28.0, sideways_mm: float = -30.0, **turned: float) -> list[Act]:
    """The clean run with support, field and head elsewhere."""
    acts = instead(CLEAN_RUN, HEIGHT, act(do.Adjust, values={"chin_height_mm": height_mm}))
    acts = instead(acts, SIDEWAYS, act(do.Adjust, values={"field_sideways_mm": sideways_mm}))
    straight = {"pitch_deg": 0.0, "yaw_deg": 0.0, "roll_deg": 0.0}
    return instead(acts, ATTITUDE, act(do.Adjust, values={**straight, **turned}))


BAD: dict[str, list[Act]] = {
    "low": moved(-45.0),
    "very low": moved(-60.0),
    "a little low": moved(-35.5),
    "other side": moved(sideways_mm=30.0),
    "low and aside": moved(-45.0, -12.0),
    "turned": moved(pitch_deg=12.0, yaw_deg=15.0, roll_deg=-6.0),
    "large field": before(
        CLEAN_RUN,
        doing(do.TakePlace, stance=Stance.STANDING),
        act(do.Adjust, values={"field": "80x50"}),
    ),
    "let go early": instead(CLEAN_RUN, doing(do.Wait), act(do.Wait, after_s=3.0)),
    "nobody asked or watched": without(
        CLEAN_RUN,
        *(doing(do.AskIdentity, item=i) for i in IdentityItem),
        doing(do.Greet),
        doing(do.LookAt),
        doing(do.WriteRecord),
    ),
    "nothing done": [act(do.ReadRequest), act(do.Finish)],
    "stopped": [act(do.Withhold, reason=WithholdReason.OTHER), act(do.Finish)],
}


@cache
def attempt(name: str) -> AppointmentState:
    """The state after one of them, or after the clean run ("clean")."""
    return play(CLEAN_RUN if name == "clean" else BAD[name])[0]


def head_of_attempts():
    """The head in all of them."""
    return real_case()[2]

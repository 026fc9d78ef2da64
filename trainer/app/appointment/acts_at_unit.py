"""The acts at the unit and after: placing, supports, exposure, image, leaving."""

from __future__ import annotations

from trainer.app.appointment import act_words as words
from trainer.app.appointment.acts import (
    LAST_WORDS,
    Act,
    ActGroup,
    cleaning,
    companion_out,
    each,
    instruction,
    move_unit,
    outside,
    quality,
)
from trainer.engine.appointment.state import AppointmentState
from trainer.models import appointment_commands as do
from trainer.models.appointment_words import (
    BANDS,
    Firmness,
    QualityCheck,
    Stance,
    UnitPosition,
    View,
)


def place_acts(state: AppointmentState) -> tuple[ActGroup, ...]:
    """Into the unit, looking, measuring."""
    stances = [Act(f"stance-{s}", words.STANCES[s], do.TakePlace, {"stance": s}) for s in Stance]
    brakes = {"stance": Stance.OWN_WHEELCHAIR, "brakes_on": True}
    stances.append(Act("stance-brakes", "… with the brakes on", do.TakePlace, brakes))
    on = state.room.lights_on
    looks = (
        Act(
            "lights",
            "Switch the light lines off" if on else "Switch the light lines on",
            do.SwitchLights,
            {"on": not on},
        ),
        Act("look-front", "Look from the front", do.Look, {"view": View.FRONT}),
        Act("look-side", "Look from the side", do.Look, {"view": View.SIDE}),
        Act("tape", "Measure with the tape", do.MeasureWithTape),
    )
    return (
        ActGroup("Into the unit", (*stances, move_unit(UnitPosition.WORK))),
        ActGroup("Looking and measuring", looks, 2),
    )


def supporting_acts(state: AppointmentState) -> tuple[ActGroup, ...]:
    """Bands and the trial run."""
    groups = []
    for band in BANDS:
        now = state.room.firmness(band)
        acts = tuple(
            Act(
                f"band-{band}-{firmness}",
                f"✓ {words.FIRMNESS[firmness]}" if now is firmness else words.FIRMNESS[firmness],
                do.SetBand,
                {"support": band, "firmness": firmness},
            )
            for firmness in Firmness
        )
        fitted = "" if band in state.room.supports else " (not on the unit)"
        groups.append(ActGroup(words.SUPPORTS[band].capitalize() + fitted, acts, 3))
    trial = Act("trial", "Let the unit turn once without radiation", do.TrialRun)
    return (*groups, ActGroup("Free path", (trial,)))


def scout_acts(state: AppointmentState) -> tuple[ActGroup, ...]:
    """Out to the switch."""
    return (ActGroup("Out and ready", outside()),)


def run_acts(state: AppointmentState) -> tuple[ActGroup, ...]:
    """Last words, and out to the switch."""
    said = tuple(instruction(i) for i in LAST_WORDS)
    return (
        ActGroup("Last words", (*said, *companion_out(state.context.visit))),
        ActGroup("Out and ready", outside()),
    )


def image_acts(state: AppointmentState) -> tuple[ActGroup, ...]:
    """Opening and checking the image."""
    return (
        ActGroup("Look", (Act("open-image", "Open the image", do.OpenImage),)),
        ActGroup("Check", each(do.CheckImage, "point", words.IMAGE_POINTS)),
    )


def leave_acts(state: AppointmentState) -> tuple[ActGroup, ...]:
    """Freeing the person, cleaning, quality, stopping."""
    opened = tuple(
        Act(
            f"open-{band}",
            f"Open the {words.SUPPORTS[band]}",
            do.SetBand,
            {"support": band, "firmness": Firmness.LOOSE},
        )
        for band, firmness in state.room.bands
        if firmness is not Firmness.LOOSE
    )
    freeing = (
        Act("enter", "Go into the room", do.EnterRoom),
        *opened,
        move_unit(UnitPosition.EXIT),
        Act("let-go", "“You can step out now.”", do.LetGo),
        Act("watch", "Stay beside the person for a moment", do.WatchStanding),
        Act("give-back", "Give belongings back, say goodbye", do.GiveBack),
    )
    return (
        ActGroup("Freeing the person", freeing),
        ActGroup("Cleaning", cleaning()),
        ActGroup("Quality programme", tuple(quality(q) for q in QualityCheck)),
        ActGroup("Stop without (further) exposure", each(do.Withhold, "reason", words.WITHHOLDING)),
    )

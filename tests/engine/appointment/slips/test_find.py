"""Each of the 25 slips: from the operator's own acts, with its consequence, else absent."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import pytest
from helpers.appointments import (
    CLEAN_RUN,
    ORDER,
    OTHER_ROWAN,
    ROWAN,
    VISIT,
    Act,
    act,
    before,
    context,
    doing,
    instead,
    play,
    without,
)

from trainer.engine.appointment.outcome import slips_of_appointment
from trainer.engine.appointment.slips.find import image_effect, slips_of_run
from trainer.engine.appointment.slips.words import PANORAMIC_TEXTS, SLIP_TEXTS
from trainer.models import appointment_commands as do
from trainer.models.appointment_visit import Prescription, RequestCard, WornItem
from trainer.models.appointment_words import (
    ArchPlace,
    CallBy,
    Firmness,
    Instruction,
    RetakeCause,
    RunEnd,
    Shield,
    SpacerKind,
    Support,
    Trait,
    WornPlace,
)
from trainer.models.motion import Movement, MovementKind
from trainer.models.scenario import Requirement
from trainer.models.slips import SlipCode

STUD = WornItem("stud", "a tongue stud", WornPlace.TONGUE, hidden=True)
GUIDE = WornItem("guide", "the scan guide", WornPlace.LOWER_TEETH, metal=False, prescribed_in=True)
DENTURE = WornItem("denture", "the upper denture", WornPlace.UPPER_TEETH)
NOD = Movement(MovementKind.NOD, 4.0, 1.0, 5.0, (0.0, 0.0, 0.0, 1.0, 0.0, 0.0), False, True)
LOOK_AFTER = doing(do.Adjust, values={"pitch_deg": 0.0, "yaw_deg": 0.0, "roll_deg": 0.0})
HEIGHT = doing(do.Adjust, values={"chin_height_mm": -28.0})
SIDEWAYS = doing(do.Adjust, values={"field_sideways_mm": -30.0})
FORWARD = doing(do.Adjust, values={"field_forward_mm": -34.0})
FIELD = doing(do.Adjust, values={"region": "lower-jaw", "field": "40x40"})
LEAVE = doing(do.LeaveRoom)


@dataclass(frozen=True)
class Slipping:
    """A way to one slip: changed acts, a changed visit, and what it does to the image."""

    code: SlipCode
    acts: Sequence[Act]
    effect: dict[str, Any]
    visit: dict[str, Any] = field(default_factory=dict)
    spoils: RetakeCause | None = None
    order: Prescription = ORDER
    case: dict[str, Any] = field(default_factory=dict)


def head(**values: float) -> list[Act]:
    """The clean run with the head turned in the end."""
    final = {"pitch_deg": 0.0, "yaw_deg": 0.0, "roll_deg": 0.0, **values}
    return instead(CLEAN_RUN, LOOK_AFTER, act(do.Adjust, values=final))


def spacer(kind: SpacerKind, place: ArchPlace, both: bool) -> list[Act]:
    """The clean run with a spacer."""
    placed = act(do.PlaceSpacer, kind=kind, place=place, both_sides=both, gap_mm=4.0)
    return before(CLEAN_RUN, doing(do.SwitchLights), placed)


# The image effect names the fields that must differ from a perfect image, and how.
SLIPPINGS = [
    Slipping(
        SlipCode.TOO_HIGH_OR_LOW,
        without(CLEAN_RUN, HEIGHT),
        {"cut": ("canal-at-48", "tooth-48", "tooth-48-apex-distal", "tooth-48-apex-mesial")},
        spoils=RetakeCause.COVERAGE,
    ),
    Slipping(
        SlipCode.OFF_TO_A_SIDE,
        instead(CLEAN_RUN, SIDEWAYS, act(do.Adjust, values={"field_sideways_mm": -46.0})),
        {"cut": None},
        spoils=RetakeCause.COVERAGE,
    ),
    Slipping(
        SlipCode.TOO_FAR_FORWARD_OR_BACK,
        instead(CLEAN_RUN, FORWARD, act(do.Adjust, values={"field_forward_mm": -19.0}, after_s=6)),
        {"cut": None},
        spoils=RetakeCause.COVERAGE,
    ),
    Slipping(SlipCode.CHIN_UP, head(pitch_deg=17.0), {"tilt_deg": None}),
    Slipping(SlipCode.CHIN_DOWN, head(pitch_deg=-8.0), {"tilt_deg": None}),
    Slipping(SlipCode.HEAD_TURNED, head(yaw_deg=9.0), {"tilt_deg": None}),
    Slipping(SlipCode.HEAD_LEANING, head(roll_deg=-9.0), {"tilt_deg": None}),
    Slipping(
        SlipCode.WRONG_SIDE_OR_TOOTH,
        instead(CLEAN_RUN, SIDEWAYS, act(do.Adjust, values={"field_sideways_mm": 30.0})),
        {"cut": None},
        spoils=RetakeCause.PLACE_OR_PERSON,
    ),
    Slipping(
        SlipCode.FIELD_TOO_SMALL,
        CLEAN_RUN,
        {"cut": None},
        spoils=RetakeCause.COVERAGE,
        case={"required": (Requirement("tooth-48", 2.0), Requirement("canal-right", 2.0))},
    ),
    Slipping(
        SlipCode.FIELD_TOO_LARGE,
        instead(
            without(CLEAN_RUN, doing(do.EnterProgramme)),
            FIELD,
            act(do.Adjust, values={"region": "lower-jaw", "field": "80x50"}),
        ),
        {"dose_factor": 2.5},
        order=replace(ORDER, programme=replace(ORDER.programme, voxel_um=160)),
    ),
    Slipping(
        SlipCode.WRONG_PROTOCOL,
        instead(
            CLEAN_RUN,
            doing(do.EnterProgramme),
            act(do.EnterProgramme, programme=replace(ORDER.programme, voxel_um=75, low_dose=True)),
        ),
        {"noise_factor": 2.177, "dose_factor": 0.5},
        spoils=RetakeCause.PROTOCOL,
    ),
    Slipping(
        SlipCode.MOVED,
        CLEAN_RUN,
        {"plays_motion": True},
        visit={"scripted_motion": (NOD,)},
        spoils=RetakeCause.MOTION,
    ),
    Slipping(
        SlipCode.TREMOR_OR_SWALLOW,
        CLEAN_RUN,
        {"plays_motion": True, "plays_jaw_drift": True},
        visit={"scripted_motion": None, "traits": frozenset({Trait.TREMOR})},
    ),
    Slipping(
        SlipCode.METAL_LEFT,
        without(CLEAN_RUN, doing(do.LookForMetal, place=WornPlace.TONGUE)),
        {"in_beam": ("stud",)},
        visit={"items": (STUD,)},
        spoils=RetakeCause.METAL,
    ),
    Slipping(
        SlipCode.DENTURE_OR_GUIDE,
        before(CLEAN_RUN, LEAVE, act(do.TakeItemOut, item="guide")),
        {"missing_items": ("guide",)},
        visit={"items": (GUIDE,)},
        spoils=RetakeCause.METAL,
    ),
    Slipping(
        SlipCode.DENTURE_OR_GUIDE,
        CLEAN_RUN,
        {"in_beam": ("denture",)},
        visit={"items": (DENTURE,)},
        spoils=RetakeCause.METAL,
    ),
    Slipping(
        SlipCode.BITE_NOT_AS_ORDERED,
        CLEAN_RUN,
        {"arches_touch": True},
        order=replace(ORDER, arches_apart=True),
    ),
    Slipping(
        SlipCode.BITE_NOT_AS_ORDERED,
        spacer(SpacerKind.ROLL, ArchPlace.MOLARS, True),
        {},
    ),
    Slipping(
        SlipCode.SPACER_UNSTEADY,
        spacer(SpacerKind.ROLL, ArchPlace.MOLARS, False),
        {"plays_jaw_drift": True},
        spoils=RetakeCause.MOTION,
        order=replace(ORDER, arches_apart=True),
    ),
    Slipping(
        SlipCode.TONGUE_OR_LIPS,
        without(CLEAN_RUN, doing(do.Instruct, what=Instruction.TONGUE_UP)),
        {"soft_parts_free": True},
    ),
    Slipping(
        SlipCode.SUPPORT_PRESSES,
        instead(
            CLEAN_RUN,
            doing(do.SetBand, firmness=Firmness.SNUG),
            act(do.SetBand, support=Support.FOREHEAD_REST, firmness=Firmness.HARD),
        ),
        {"pressed_by": (Support.FOREHEAD_REST,)},
    ),
    Slipping(
        SlipCode.TOUCHED,
        without(CLEAN_RUN, doing(do.Instruct, what=Instruction.HAIR_BACK)),
        {"plays_motion": True},
        visit={"traits": frozenset({Trait.LONG_HAIR})},
        spoils=RetakeCause.MOTION,
    ),
    Slipping(
        SlipCode.TOUCHED,
        without(CLEAN_RUN, doing(do.Instruct, what=Instruction.SHOULDERS_LOW)),
        {"recorded_share": 0.35},
        visit={"traits": frozenset({Trait.SHORT_NECK})},
        spoils=RetakeCause.MOTION,
    ),
    Slipping(
        SlipCode.RELEASED_EARLY,
        instead(CLEAN_RUN, doing(do.Wait), act(do.Wait, after_s=8.0)),
        {"recorded_share": 0.5},
        spoils=RetakeCause.TECHNICAL,
    ),
    Slipping(
        SlipCode.SHIELD_IN_BEAM,
        instead(
            before(CLEAN_RUN, LEAVE, act(do.WearShield, shield=Shield.COLLAR_HIGH)),
            HEIGHT,
            act(do.Adjust, values={"chin_height_mm": -24.0}),
        ),
        {"shield": Shield.COLLAR_HIGH},
    ),
    Slipping(
        SlipCode.WRONG_NAME,
        without(CLEAN_RUN, doing(do.OpenAtConsole)),
        {"filed_as": "rowan-senior"},
        visit={"waiting": (OTHER_ROWAN, ROWAN), "console_left_over": "rowan-senior"},
    ),
    Slipping(
        SlipCode.WRONG_NAME,
        instead(CLEAN_RUN, doing(do.Call), act(do.Call, by=CallBy.SURNAME)),
        {"filed_as": "rowan"},
        visit={"waiting": (OTHER_ROWAN, ROWAN)},
        spoils=RetakeCause.PLACE_OR_PERSON,
    ),
    Slipping(
        SlipCode.BANDS_AFTER_ALIGNING,
        before(
            without(CLEAN_RUN, doing(do.SetBand, firmness=Firmness.SNUG)),
            LEAVE,
            act(do.SetBand, support=Support.FOREHEAD_REST, firmness=Firmness.SNUG),
        ),
        {"tilt_deg": None},
    ),
    Slipping(
        SlipCode.NOT_CHECKED_OR_NEEDLESS,
        without(CLEAN_RUN, doing(do.CheckImage)),
        {},
    ),
    Slipping(
        SlipCode.NOT_CHECKED_OR_NEEDLESS,
        before(
            CLEAN_RUN,
            doing(do.OpenImage),
            *(a for a in CLEAN_RUN if a.kind is do.OpenImage),
            *(a for a in CLEAN_RUN if a.kind is do.CheckImage),
            act(do.MakeReady),
            act(do.PressSwitch, after_s=4.0),
            act(do.Wait, after_s=19.0),
        ),
        {"dose_factor": 2.0},
    ),
]


@pytest.fixture(scope="module")
def clean():
    """The clean run's end."""
    return play(CLEAN_RUN)[0]


def test_a_clean_run_has_no_slip(clean):
    """With every step done rightly and a person who keeps still, none of the 25 is found."""
    assert slips_of_appointment(clean) == ()


def test_every_slip_has_a_way_to_it_and_words():
    """All 25 codes are reached below, and each has title, cause, consequence and fix."""
    assert {s.code for s in SLIPPINGS} == set(SlipCode)
    assert set(SLIP_TEXTS) == set(SlipCode)
    assert len(SlipCode) == 25
    for text in (*SLIP_TEXTS.values(), *PANORAMIC_TEXTS.values()):
        assert min(map(len, (text.title, text.cause, text.consequence, text.fix))) > 6


def played(way: Slipping, acts: Sequence[Act]):
    """The end of a run in the slip's visit."""
    visit = replace(VISIT, card=RequestCard(way.order), **way.visit)
    return play(acts, context(visit, **way.case), seed=3)[0]


@pytest.mark.parametrize("way", SLIPPINGS, ids=lambda w: w.code.value)
def test_the_slip_follows_from_what_was_done(way: Slipping):
    """The acts lead to the slip, it tells what was found, and says what spoils the image."""
    found = [s for _, s in slips_of_appointment(played(way, way.acts)) if s.code is way.code]
    assert len(found) >= 1
    assert found[0].found[0].isupper()
    assert found[0].found.endswith(".")
    assert found[0].spoils is way.spoils


@pytest.mark.parametrize("way", SLIPPINGS, ids=lambda w: w.code.value)
def test_the_slip_reaches_the_image_as_data(way: Slipping):
    """The image's effect names what the slip changes, and in the clean run nothing is changed."""
    slips = [s for _, s in slips_of_appointment(played(way, way.acts))]
    whole = image_effect(slips)
    perfect = image_effect([])
    for key, expected in way.effect.items():
        assert getattr(whole, key) != getattr(perfect, key)
        if expected is not None:
            assert getattr(whole, key) == expected


# Slips that the person brings along are undone by another person, not by another act.
BROUGHT = (SlipCode.MOVED, SlipCode.TREMOR_OR_SWALLOW, SlipCode.FIELD_TOO_SMALL)


@pytest.mark.parametrize(
    "way",
    [s for s in SLIPPINGS if s.visit and s.code not in BROUGHT],
    ids=lambda w: w.code.value,
)
def test_the_same_person_done_right_has_no_such_slip(way: Slipping):
    """With the same visit, the acts that were left out or changed keep the slip away."""
    right = CLEAN_RUN
    if "items" in way.visit:
        item = way.visit["items"][0]
        if not item.prescribed_in:
            right = before(right, doing(do.Explain), act(do.TakeItemOut, item=item.id))
    codes = {s.code for _, s in slips_of_appointment(played(way, right))}
    assert way.code not in codes


def test_a_slip_of_place_agrees_with_the_placement(clean):
    """Structures that the slip calls cut are those whose margin the placement finds lacking."""
    state = play(without(CLEAN_RUN, HEIGHT))[0]
    run = state.runs[0]
    cut = image_effect(slips_of_run(state.context, ORDER, run)).cut
    placement = state.context.placing(run.conditions.setup)
    assert cut == tuple(sorted(s.structure.id for s in placement.required if not s.holds))
    assert clean.runs[0].end is RunEnd.COMPLETE

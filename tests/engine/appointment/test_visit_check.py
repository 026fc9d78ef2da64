"""A visit is checked against its case and unit."""

from __future__ import annotations

from dataclasses import replace

import pytest
from helpers.appointments import CASE, ORDER, VISIT, context

from trainer.engine.appointment.visit_check import visit_faults
from trainer.models.appointment_visit import Answers, NeckRange, Programme, RequestCard
from trainer.models.appointment_words import Support
from trainer.models.device import Region
from trainer.models.motion import Movement, MovementKind

NOD = Movement(MovementKind.NOD, 4.0, 1.0, 5.0, (0.0, 0.0, 0.0, 1.0, 0.0, 0.0), False, True)


def card(**order):
    """A card with another order."""
    return {"card": RequestCard(replace(ORDER, **order))}


def test_a_sound_visit_has_no_faults():
    """The visit of the tests fits its case and unit."""
    assert context().case.id == CASE
    assert visit_faults(context()) == []


@pytest.mark.parametrize(
    ("change", "key", "words"),
    [
        (card(field="9x9"), "card.prescription.field", "has no '9x9'; it has 40x40"),
        (card(region=Region.JOINTS), "card.prescription.field", "serves lower-jaw, upper-jaw"),
        (
            card(programme=Programme(voxel_um=77)),
            "card.prescription.programme.voxel_um",
            "offers 75, 100, 150, got 77",
        ),
        (
            {"answers": Answers(clears=replace(ORDER, field="big"))},
            "answers.clears.field",
            "has no 'big'",
        ),
        ({"console_left_over": "oak"}, "console_left_over", "'oak' is not among rowan"),
        ({"supports_wanted": (Support.FOREHEAD_REST,)}, "supports_wanted", "chin-rest"),
        ({"supports_wanted": (Support.CHIN_REST,)}, "supports_wanted", "forehead-rest"),
        ({"neck": NeckRange(pitch_deg=(5.0, -5.0))}, "neck.pitch_deg", "is above highest"),
        ({"neck": NeckRange(yaw_deg=(40.0, 50.0))}, "neck.yaw_deg", "outside the unit's"),
        ({"neck": NeckRange(pitch_deg=(-18.0, -12.0))}, "neck.pitch_deg", "the start 0 is outside"),
        (
            {"scripted_motion": (replace(NOD, start_s=18.0),)},
            "scripted_motion[0].start_s",
            "must lie in the run of 18 s",
        ),
        ({"scripted_motion": (replace(NOD, moving_s=0.0),)}, "scripted_motion[0]", "above 0"),
        (
            {"scripted_motion": (replace(NOD, direction=(0.0, 0.0, 0.0, 2.0, 0.0, 0.0)),)},
            "scripted_motion[0].direction",
            "length 1, has 2",
        ),
    ],
)
def test_each_fault_names_its_key(change, key, words):
    """What cannot be is told with its key, what was found and what is expected."""
    (fault,) = visit_faults(context(replace(VISIT, **change)), "case.yaml", 3)
    assert (fault.path, fault.line, fault.key) == ("case.yaml", 3, key)
    assert words in fault.text


def test_protocols_are_those_of_the_unit():
    """With the unit's presets known, another name is a fault."""
    offered = replace(context(), protocols=("child", "large-adult"))
    (fault,) = visit_faults(offered)
    assert fault.key == "card.prescription.programme.protocol"
    assert "child, large-adult" in fault.text


def test_all_faults_are_told_at_once():
    """Two faults are two entries."""
    change = {**card(field="9x9"), "console_left_over": "oak", "scripted_motion": (NOD, NOD)}
    assert len(visit_faults(context(replace(VISIT, **change)))) == 2

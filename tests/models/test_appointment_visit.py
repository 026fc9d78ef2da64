"""A visit's script is checked beside its fields."""

from __future__ import annotations

import pytest

from trainer.errors import NotValid
from trainer.models.appointment_commands import COMMANDS, Command, PlaceSpacer, Wait
from trainer.models.appointment_visit import (
    Prescription,
    Programme,
    RequestCard,
    Visit,
    Waiting,
    WornItem,
)
from trainer.models.appointment_words import (
    USEFUL_SENTENCES,
    ArchPlace,
    IdentityItem,
    Sentence,
    SpacerKind,
    WornPlace,
)
from trainer.models.device import Region

CARD = RequestCard(Prescription(Region.LOWER_JAW, "40x40", Programme()))
ASH = Waiting("ash", "Ash", "Ann", "1980-01-02", "1 Hill Road")


def test_the_patient_has_to_be_waiting():
    """A request for somebody who is not there is told, with who is."""
    with pytest.raises(NotValid, match="patient: 'elm' is not among ash"):
        Visit(CARD, "elm", (ASH,))


def test_ids_are_used_once():
    """Two people or two items of one id are told, all at once."""
    item = WornItem("ring", "a ring", WornPlace.NOSE)
    with pytest.raises(NotValid) as caught:
        Visit(CARD, "ash", (ASH, ASH), items=(item, item))
    assert [f.key for f in caught.value.faults] == ["waiting", "items"]


@pytest.mark.parametrize("voxel", [49, 601])
def test_a_voxel_is_within_what_units_offer(voxel):
    """Voxel edges are 50 to 600 um."""
    with pytest.raises(NotValid, match="50 to 600"):
        Programme(voxel_um=voxel)


@pytest.mark.parametrize("at_s", [-0.1, float("inf"), float("nan")])
def test_a_command_has_a_time(at_s):
    """Times count from the beginning and are finite."""
    with pytest.raises(NotValid, match="at_s: must be 0 or more"):
        Wait(at_s)


@pytest.mark.parametrize("gap_mm", [0.0, 20.1])
def test_a_spacer_has_a_thickness(gap_mm):
    """A spacer opens the jaw by more than nothing and at most 20 mm."""
    with pytest.raises(NotValid, match="gap_mm"):
        PlaceSpacer(1.0, SpacerKind.ROLL, ArchPlace.MOLARS, True, gap_mm)


def test_five_of_nine_sentences_serve():
    """The explanation is chosen from nine sentences, of which five serve the person."""
    assert len(Sentence) == 9
    assert len(set(USEFUL_SENTENCES)) == 5


def test_people_state_each_item():
    """Name, birth date and address are what the person says of themselves."""
    assert [ASH.states(i) for i in IdentityItem] == ["Ann Ash", "1980-01-02", "1 Hill Road"]


def test_commands_are_listed_once_and_say_what_they_are():
    """Every command is a kind of `Command` with a sentence of its own."""
    assert len(set(COMMANDS)) == len(COMMANDS)
    for kind in COMMANDS:
        assert issubclass(kind, Command)
        assert kind.__doc__ and kind.__doc__ != Command.__doc__

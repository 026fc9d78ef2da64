"""Commands as plain data and back: nothing lost, nothing unexpected let in."""

from __future__ import annotations

import json
from dataclasses import MISSING, fields, is_dataclass, replace

import pytest
from helpers.appointment_strategies import commands
from helpers.appointments import CLEAN_RUN, ORDER, VISIT, play, timed
from hypothesis import given
from hypothesis import strategies as st

from trainer.engine.appointment.plain_data import (
    KINDS,
    canonical,
    command_from_data,
    command_to_data,
    event_to_data,
    events_digest,
    from_data,
    name_of,
    to_data,
)
from trainer.errors import NotValid
from trainer.models import appointment_commands as do
from trainer.models.appointment_commands import COMMANDS, Adjust, Command
from trainer.models.appointment_visit import (
    Answers,
    LocalRules,
    NeckRange,
    Visit,
    WornItem,
)
from trainer.models.appointment_words import HistoryTopic, IdentityItem, Trait, WornPlace
from trainer.models.device import Region
from trainer.models.motion import Movement, MovementKind
from trainer.models.subject import Worn


@given(commands())
def test_there_and_back(command: Command):
    """A command written as JSON and read again is the same command."""
    text = canonical(command_to_data(command))
    again = command_from_data(json.loads(text))
    assert again == command
    assert type(again) is type(command)
    assert canonical(command_to_data(again)) == text


@given(commands(), st.data())
def test_an_unknown_key_is_refused_by_name(command: Command, data):
    """A key that does not belong is named, with those that do."""
    plain = {**command_to_data(command), "at_ms": 1}
    with pytest.raises(NotValid, match="at_ms: unknown; expected at_s"):
        command_from_data(plain)


@given(commands(), st.data())
def test_a_missing_key_is_told_or_has_a_default(command: Command, data):
    """Leaving a key out is told with what is expected, unless the field has a default."""
    plain = command_to_data(command)
    key = data.draw(st.sampled_from([f.name for f in fields(command)]))
    del plain[key]
    known = {f.name: f for f in fields(command)}[key]
    if known.default is not MISSING:
        assert getattr(command_from_data(plain), key) == known.default
        return
    with pytest.raises(NotValid, match=f"{key}: missing; must be "):
        command_from_data(plain)


WRONG = [None, True, 1, 1.5, "word", [], ["word"], {}, {"word": 1}]


@given(commands(), st.data())
def test_a_wrong_kind_of_value_is_refused_by_name(command: Command, data):
    """A value of another kind is refused with its key, or reads as the same value again."""
    plain = command_to_data(command)
    key = data.draw(st.sampled_from([f.name for f in fields(command)]))
    plain[key] = data.draw(st.sampled_from(WRONG))
    faults, again = [], None
    try:
        again = command_from_data(plain)
    except NotValid as error:
        faults = [fault.key for fault in error.faults]
    assert all(name.startswith(key) for name in faults)
    assert (again is None) is bool(faults)
    if again is not None and not isinstance(plain[key], dict):  # a nested one may fill in defaults
        assert command_to_data(again)[key] == plain[key]


@pytest.mark.parametrize(
    ("plain", "words"),
    [
        ({}, "do: must be one of read-request"),
        ({"do": "jump", "at_s": 1}, "got 'jump'"),
        ({"do": ["wait"], "at_s": 1}, "do: must be one of"),
        ([], "must be an object, got a list"),
        (None, "must be an object, got null"),
        ({"do": "wait", "at_s": -1}, "at_s: must be 0 or more"),
        ({"do": "wait", "at_s": float("nan")}, "at_s: must be a finite number"),
        ({"do": "wait", "at_s": 10**400}, "at_s: must be a finite number"),
        ({"do": "wait", "at_s": True}, "at_s: must be a finite number, got True"),
        ({"do": "look-at", "at_s": 1, "gaze": "moon"}, "one of patient, screen, elsewhere"),
        ({"do": "adjust", "at_s": 1, "values": {}}, "values: must name at least one control"),
        ({"do": "adjust", "at_s": 1, "values": {"chin": 1}}, "values.chin: no control 'chin'"),
        (
            {"do": "adjust", "at_s": 1, "values": {"yaw_deg": "x"}},
            "values.yaw_deg: must be a number",
        ),
        (
            {"do": "adjust", "at_s": 1, "values": {"region": "nose"}},
            "values.region: must be one of",
        ),
        (
            {"do": "adjust", "at_s": 1, "values": {"arm_turned": 1}},
            "values.arm_turned: must be true or false",
        ),
        (
            {"do": "enter-programme", "at_s": 1, "programme": {"voxel_um": 7}},
            "programme.voxel_um: must be 50 to 600, got 7",
        ),
        (
            {"do": "explain", "at_s": 1, "sentences": ["noise", "poem"]},
            "sentences[1]: must be one of",
        ),
        (
            {"do": "decide-retake", "at_s": 1, "retake": True, "cause": 3},
            "cause: must be one of coverage",
        ),
    ],
)
def test_faults_say_key_and_what_is_expected(plain, words):
    """Each fault names its key, what is expected, and what was found."""
    with pytest.raises(NotValid) as caught:
        command_from_data(plain)
    assert words in str(caught.value)


def test_all_faults_are_told_at_once():
    """Three faults in one command are three lines."""
    plain = {"do": "ask-identity", "at_s": "x", "item": "shoe", "opn": True}
    with pytest.raises(NotValid) as caught:
        command_from_data(plain, path="log", line=7)
    assert [f.key for f in caught.value.faults] == ["opn", "at_s", "item", "open_question"]
    assert str(caught.value).startswith("log:7  opn: unknown")


def test_names_are_the_classes_in_small_letters():
    """Every command has a name of its own."""
    assert name_of(do.AskIdentity) == "ask-identity"
    assert len(KINDS) == len(COMMANDS)


def test_a_command_without_its_optional_fields_is_read():
    """Defaults may be left out."""
    assert command_from_data({"do": "press-switch", "at_s": 3}) == do.PressSwitch(3.0)


def test_values_come_back_as_the_controls_hold_them():
    """A region comes back as one, a whole number as a number."""
    plain = {"do": "adjust", "at_s": 0, "values": {"region": "upper-jaw", "yaw_deg": 2}}
    command = command_from_data(plain)
    assert isinstance(command, Adjust)
    assert isinstance(command.values["region"], Region)
    assert isinstance(command.values["yaw_deg"], float)


def test_the_clean_run_goes_through_files():
    """A whole attempt written and read leads to the same events."""
    there = [command_to_data(c) for c in timed(CLEAN_RUN)]
    assert [command_from_data(json.loads(canonical(d))) for d in there] == timed(CLEAN_RUN)


def test_events_are_plain_and_their_digest_follows_their_order():
    """Every event of an attempt is plain data; another order has another digest."""
    _, steps = play(CLEAN_RUN)
    events = [e for s in steps for e in s.events]
    for event in events:
        assert is_dataclass(event)
        assert json.loads(canonical(event_to_data(event)))["happened"] == name_of(type(event))
    assert events_digest("", events) == events_digest("", list(events))
    assert events_digest("", events) != events_digest("", events[::-1])
    effects = [e for s in steps for e in s.effects]
    assert {event_to_data(e)["happened"] for e in effects} == {
        "show-scout",
        "play-motion",
        "compute-image",
        "show-image",
    }


def test_identity_items_are_words():
    """Choices are written as their words, not as their names in the program."""
    command = do.AskIdentity(at_s=1.0, item=IdentityItem.BIRTH_DATE, open_question=True)
    assert command_to_data(command) == {
        "do": "ask-identity",
        "at_s": 1.0,
        "item": "birth-date",
        "open_question": True,
    }


FULL_VISIT = replace(
    VISIT,
    traits=frozenset({Trait.TREMOR, Trait.GAG_REFLEX}),
    items=(WornItem("stud", "a nose stud", WornPlace.NOSE, shown_as=Worn.NOSE_STUD),),
    neck=NeckRange(pitch_deg=(-18.0, -12.0)),
    scripted_motion=(
        Movement(MovementKind.NOD, 4.0, 1.0, 5.0, (0.0, 0.0, 0.0, 1.0, 0.0, 0.0), False, True),
    ),
    history={HistoryTopic.NECK: "Since the accident."},
    answers=Answers(clears=ORDER),
    image_answers=True,
)


@pytest.mark.parametrize(
    "value",
    [VISIT, FULL_VISIT, LocalRules(), LocalRules(pregnancy_ages=None)],
    ids=["plain-visit", "full-visit", "rules", "rules-without-pregnancy"],
)
def test_a_visit_and_local_rules_go_through_files(value):
    """The script of a visit and the local rules come back from plain data as they were."""
    text = canonical(to_data(value))
    assert from_data(type(value), json.loads(text), "case.yaml") == value


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"patient": "oak"}, "patient: 'oak' is not among rowan"),
        ({"neck": {"pitch_deg": [1.0]}}, "neck.pitch_deg: must be a list of 2, got a list"),
        ({"traits": ["tall"]}, "traits[0]: must be one of tremor"),
        ({"history": {"moon": "x"}}, "history.moon: must be one of shaking"),
        ({"card": {"prescription": 3}}, "card.prescription: must be an object, got 3"),
        ({"items": [{"id": "x"}]}, "items[0].name: missing; must be a text"),
    ],
)
def test_faults_in_a_visit_say_where(change, words):
    """Each fault names its key down to the part of a list."""
    with pytest.raises(NotValid) as caught:
        from_data(Visit, {**to_data(VISIT), **change}, "case.yaml", 12)
    assert f"case.yaml:12  {words}" in str(caught.value)

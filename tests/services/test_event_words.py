"""Every event of an appointment in words."""

from __future__ import annotations

from dataclasses import MISSING, fields
from enum import Enum
from typing import Any, get_type_hints

import pytest

from trainer.models import appointment_events as happened
from trainer.models.appointment_events import Effect, Event
from trainer.models.appointment_visit import Programme, Visit
from trainer.models.appointment_words import PregnancyAnswer, RunEnd, Support
from trainer.models.learning import Prediction
from trainer.models.setup import Setup
from trainer.services.assets import SCENARIOS, UNITS
from trainer.services.event_words import event_text, programme_text
from trainer.services.scenario_io import load_case

CASE = load_case(SCENARIOS / "namesake.yaml", UNITS)
KINDS = [
    kind
    for kind in vars(happened).values()
    if isinstance(kind, type) and issubclass(kind, Event) and kind is not Event
]


def visit() -> Visit:
    """The visit that names people and items."""
    assert CASE.visit is not None
    return CASE.visit


def some(hint: Any) -> Any:
    """A value of the hinted type."""
    if isinstance(hint, type) and issubclass(hint, Enum):
        return next(iter(hint))
    plain = {str: "acacia", float: 2.0, int: 2, bool: True, Programme: Programme()}
    plain[Prediction] = Prediction(frozenset({"tooth-48"}), 80, True)
    if hint in plain:
        return plain[hint]
    if hint is Setup:
        return CASE.start
    return () if getattr(hint, "__origin__", None) is tuple else None


@pytest.mark.parametrize("kind", KINDS, ids=lambda k: k.__name__)
def test_every_event_has_a_sentence(kind: type[Event]) -> None:
    """It begins with a capital letter, ends as a sentence does, and shows nothing of the code."""
    hints = get_type_hints(kind)
    values = {f.name: some(hints[f.name]) for f in fields(kind) if f.default is MISSING}
    values |= {name: "Some words." for name in ("unclear", "note", "words") if name in values}
    if kind is happened.SetupMoved:
        values["keys"] = tuple(CASE.start.as_dict())
    if kind is happened.NeckResisted:
        values["key"] = "pitch_deg"
    text = event_text(kind(**values), visit())
    assert text[0].isupper()
    assert text[-1] in '.")'
    assert "_" not in text and "{" not in text and "(<" not in text


def test_events_and_effects_are_told_apart() -> None:
    """There are more than fifty events, and no effect is among them."""
    assert len(KINDS) > 50
    assert not any(issubclass(kind, Effect) for kind in KINDS)


@pytest.mark.parametrize(
    ("event", "text"),
    [
        (happened.PersonCame("acacia-senior"), "Jakob Acacia came in."),
        (happened.OpenedAtConsole(""), "Open at the console: nobody."),
        (
            happened.PregnancyAnswered(True, PregnancyAnswer.NOT_SURE),
            "Asked about pregnancy in private: not sure.",
        ),
        (happened.ItemTakenOut("hair-clip"), "Taken off or out: a clip in the hair."),
        (
            happened.HeadNudged(Support.FOREHEAD_REST, 0.0, -2.4, 0.0),
            "The forehead rest turned the head by 2.4°.",
        ),
        (
            happened.RunEnded(1, RunEnd.RELEASED, 7.25),
            "Radiation off: run 1 after 7.2 s, the switch was let go.",
        ),
        (
            happened.SetupMoved(CASE.start, ("field_sideways_mm", "arm_turned")),
            "Moved. Field sideways: 27 mm right; Arm turned by 90°: no.",
        ),
        (happened.RecordWritten(("kap_noted",)), "Record written. Not what happened: kap noted."),
    ],
)
def test_sentences_use_names_units_and_the_patients_sides(event: Event, text: str) -> None:
    """People and items are named, numbers carry their unit, sides are the patient's."""
    assert event_text(event, visit()) == text


def test_a_programme_is_told_in_a_few_words() -> None:
    """Preset, voxel, low dose, correction and kind of run."""
    told = programme_text(Programme("large-adult", 75, low_dose=True))
    assert told == "large adult, 75 µm, low dose, metal correction off, full run"

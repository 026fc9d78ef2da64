"""Forms of supervised work: every missing or wrong field is told by its key."""

from __future__ import annotations

from datetime import date

import pytest
from helpers.records import NOW, observation_of, supervised_of

from trainer.models.records import Learner
from trainer.services.records.forms import (
    DOMAINS,
    LONGEST_TEXT,
    SUPERVISION_WORDS,
    observation_faults,
    supervised_faults,
)

HERON = Learner("ab" * 16, "Heron 12", made_at=NOW)


def test_forms_that_are_filled_in_have_no_faults():
    """The usual case and observation pass, and so does every level of supervision."""
    for level in SUPERVISION_WORDS:
        assert supervised_faults(supervised_of(HERON, supervision=level)) == ()
        assert observation_faults(observation_of(HERON, supervision=level)) == ()
    assert supervised_faults(supervised_of(HERON, grade="N", cause="moved")) == ()
    everything = dict.fromkeys(DOMAINS, 3)
    assert observation_faults(observation_of(HERON, ratings=everything)) == ()


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("on", date(1926, 3, 2)),
        ("supervisor", ""),
        ("region", "elbow"),
        ("field_class", " "),
        ("patient_group", "Mr Birch"),
        ("positioned_by", "nobody"),
        ("prompts", -1),
        ("scouts", 100),
        ("exposures", -3),
        ("grade", "B"),
        ("supervision", 0),
        ("supervision", 6),
        ("done_well", ""),
        ("aim", "x" * (LONGEST_TEXT + 1)),
        ("cause", "moved"),
        ("case_number", "Birch"),
        ("case_number", "1" * 21),
    ],
)
def test_a_wrong_field_of_a_supervised_case_is_told(key, value):
    """Exactly that field is named."""
    faults = supervised_faults(supervised_of(HERON, **{key: value}))
    assert [fault.key for fault in faults] == [key]


def test_an_image_that_is_not_acceptable_needs_its_cause():
    """Without a cause the form is not complete."""
    (fault,) = supervised_faults(supervised_of(HERON, grade="N"))
    assert (fault.key, fault.text) == ("cause", "must not be empty")


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("on", date(1999, 12, 31)),
        ("observer", ""),
        ("setting", "dream"),
        ("ratings", {}),
        ("ratings", {"handwriting": 3}),
        ("ratings", {"professionalism": 6}),
        ("overall", 0),
        ("supervision", 9),
        ("done_well", ""),
        ("aim", ""),
    ],
)
def test_a_wrong_field_of_an_observation_is_told(key, value):
    """Exactly that field is named."""
    faults = observation_faults(observation_of(HERON, **{key: value}))
    assert [fault.key for fault in faults] == [key]

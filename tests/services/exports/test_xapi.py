"""Statements against a schema of what the Experience API's specification demands."""

from __future__ import annotations

import copy
import hashlib
import json
import re
import uuid
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from helpers.exported import attempt, real_attempt
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from trainer.errors import NotValid
from trainer.models.learning import HelpLevel, Task
from trainer.services.exports.xapi import HOME_PAGE, attempts_of, duration, statements

SCHEMA = json.loads(
    Path(__file__).with_name("xapi_statement.schema.json").read_text(encoding="utf-8")
)
CHECK = Draft202012Validator(SCHEMA)
MANY = [
    attempt(1),
    attempt(2, critical=("target-outside",), mastered=False, percent=0.0, hints=2),
    attempt(3, help=HelpLevel.OPEN, task=Task.EAR, percent=100.0, prediction={}, score={}),
    attempt(4, case_id="own case/é", duration_s=0.004),
]


def lines(text: str) -> list[dict]:
    """The statements, one a line."""
    assert text.endswith("\n")
    return [json.loads(line) for line in text.splitlines()]


def test_the_schema_is_a_schema():
    """The schema itself is valid, and closed: it refuses what the specification does not name."""
    Draft202012Validator.check_schema(SCHEMA)
    assert SCHEMA["additionalProperties"] is False


def test_every_statement_is_valid():
    """Each statement meets the demands of sections 2.2 to 2.4 of the specification."""
    for statement in lines(statements(MANY, {"case-1": "Lower third molar"})):
        assert [e.message for e in CHECK.iter_errors(statement)] == []


BREAKS = {
    "no actor": lambda s: s.pop("actor"),
    "no verb": lambda s: s.pop("verb"),
    "no object": lambda s: s.pop("object"),
    "null": lambda s: s["result"].update(success=None),
    "text for a truth": lambda s: s["result"].update(success="true"),
    "text for a number": lambda s: s["result"]["score"].update(scaled="0.9"),
    "scaled above 1": lambda s: s["result"]["score"].update(scaled=1.01),
    "account without home page": lambda s: s["actor"]["account"].pop("homePage"),
    "home page without scheme": lambda s: s["actor"]["account"].update(homePage="trainer"),
    "two identifiers": lambda s: s["actor"].update(mbox="mailto:a@trainer.example"),
    "verb without scheme": lambda s: s["verb"].update(id="completed"),
    "id is no UUID": lambda s: s.update(id="1"),
    "unknown property": lambda s: s.update(name="x"),
    "wrong case of a key": lambda s: s.update(Result=s.pop("result")),
    "language no tag": lambda s: s["verb"].update(display={"en_US": "x"}),
    "duration": lambda s: s["result"].update(duration="431 s"),
    "timestamp": lambda s: s.update(timestamp="2026-01-02 09:30"),
    "extension without scheme": lambda s: s["result"]["extensions"].update(percent=1),
}


@pytest.mark.parametrize("name", BREAKS)
def test_the_schema_sees_a_break(name):
    """Each break of a rule of section 2.2 or 2.4 is found, so the check above can fail."""
    (statement,) = lines(statements([attempt(1)], {}))
    broken = copy.deepcopy(statement)
    BREAKS[name](broken)
    assert CHECK.is_valid(statement) and not CHECK.is_valid(broken)


def test_nothing_is_lost_but_the_log():
    """Read back, every attempt is equal to what went out, without the log itself."""
    text = statements(MANY, {})
    assert attempts_of(text) == [replace(a, log=b"") for a in MANY]
    (found,) = {
        s["result"]["extensions"][f"{HOME_PAGE}positioning/log-sha256"] for s in lines(text)
    }
    # as coreutils' sha256sum tells it of the same bytes
    assert found == "e8a2e95ce375a4d3955692f637f3a0d509403328cb05cc3e1b1546ca389c42c5"


def test_a_real_attempt_comes_back_whole():
    """A shipped solution with its real score is valid and comes back but for its log."""
    solved = real_attempt()
    text = statements([solved], {})
    assert [e.message for e in CHECK.iter_errors(lines(text)[0])] == []
    assert attempts_of(text) == [replace(solved, log=b"")]
    assert (
        lines(text)[0]["result"]["extensions"][f"{HOME_PAGE}positioning/log-sha256"]
        == hashlib.sha256(solved.log).hexdigest()
    )


def test_ids_are_stable_and_apart():
    """An attempt has the same UUID (version 5) in every file, and another attempt another one."""
    one, two = (lines(statements(MANY, titles)) for titles in ({}, {"case-1": "x"}))
    ids = [uuid.UUID(s["id"]) for s in one]
    assert ids == [uuid.UUID(s["id"]) for s in two] and len(set(ids)) == len(MANY)
    assert {i.version for i in ids} == {5} and {i.variant for i in ids} == {uuid.RFC_4122}
    assert statements(MANY, {}) == statements(MANY, {})


def test_people_are_accounts_without_names():
    """The actor is the learner's id at a home page that is no real host, or at the school's own."""
    (statement,) = lines(statements([attempt(1)], {}))
    assert statement["actor"] == {
        "objectType": "Agent",
        "account": {"homePage": "https://trainer.example/", "name": "5c0e9f8e-learner"},
    }
    (statement,) = lines(statements([attempt(1)], {}, "https://school.example/lrs"))
    assert statement["actor"]["account"]["homePage"] == "https://school.example/lrs"
    for bad in ("school.example", "", "https://a b"):
        with pytest.raises(NotValid, match="home page"):
            statements([], {}, bad)


def test_success_claims_no_more_than_the_simulation():
    """The verb is "completed", never "passed"; the caution stands with the activity."""
    for statement, a in zip(lines(statements(MANY, {})), MANY, strict=True):
        assert statement["verb"]["id"] == "http://adlnet.gov/expapi/verbs/completed"
        assert statement["result"]["success"] is a.mastered
        assert statement["result"]["score"]["scaled"] == pytest.approx(a.percent / 100.0)
        words = statement["object"]["definition"]["description"]["en"]
        assert "not evidence of clinical competence" in words
        assert statement["context"]["extensions"][f"{HOME_PAGE}positioning/simulated"] is True


@pytest.mark.parametrize(
    ("seconds", "expected"),
    [
        (0.0, "PT0S"),
        (431.27, "PT7M11.27S"),
        (3600.0, "PT1H0S"),
        (59.999, "PT1M0S"),
        (5.5, "PT5.5S"),
    ],
)
def test_durations_by_hand(seconds, expected):
    """Seconds are written as ISO 8601 has durations: hours, minutes, seconds to the hundredth."""
    assert duration(seconds) == expected


@given(st.floats(0, 1e6))
def test_durations_add_up(seconds):
    """The parts of a duration add up to the seconds, to the hundredth."""
    hours, minutes, rest = re.fullmatch(
        r"PT(?:(\d+)H)?(?:(\d+)M)?(\d+(?:\.\d+)?)S", duration(seconds)
    ).groups("0")
    found = timedelta(hours=int(hours), minutes=int(minutes), seconds=float(rest))
    assert found.total_seconds() == pytest.approx(seconds, abs=0.0051)


def test_a_foreign_line_is_named():
    """A line that is no statement of ours is refused with its number."""
    text = statements([attempt(1)], {})
    for foreign in ("nonsense", "{}", "[]"):
        with pytest.raises(NotValid, match=r"statements:2 .*no statement"):
            attempts_of(text + foreign + "\n")

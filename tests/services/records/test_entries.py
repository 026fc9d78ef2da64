"""Entries as rows and back."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from helpers.records import NOW, attempt_of, estimate_of, observation_of, supervised_of
from hypothesis import given
from hypothesis import strategies as st

from trainer.errors import NotValid
from trainer.models.learning import HelpLevel, Task
from trainer.models.records import Learner, StoredAttempt
from trainer.services.records.entries import content_of, entry_of

HERON = Learner("ab" * 16, "Heron 12", made_at=NOW)
WORDS = st.text(max_size=20)
# As JSON has it: no infinity (RFC 8259).
PLAIN = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats(allow_nan=False, allow_infinity=False)
    | WORDS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(WORDS, inner, max_size=3),
    max_leaves=8,
)
NUMBERS = st.integers(0, 10**6)


@st.composite
def attempts(draw: st.DrawFn) -> StoredAttempt:
    """Any attempt that could be kept."""
    return StoredAttempt(
        id=draw(st.uuids()).hex,
        learner_id=HERON.id,
        case_id=draw(WORDS),
        case_sha256=draw(WORDS),
        task=draw(st.sampled_from(Task)),
        help=draw(st.sampled_from(HelpLevel)),
        hints=draw(NUMBERS),
        seed=draw(NUMBERS),
        program=draw(WORDS),
        finished_at=draw(st.datetimes(timezones=st.just(UTC))),
        percent=draw(st.floats(0, 100)),
        critical=tuple(draw(st.lists(WORDS, max_size=3))),
        mastered=draw(st.booleans()),
        needless_retake=draw(st.booleans()),
        scout_pairs=draw(NUMBERS),
        runs=draw(NUMBERS),
        duration_s=draw(st.floats(0, 1e6)),
        score=draw(st.dictionaries(WORDS, PLAIN, max_size=3)),
        log=draw(st.binary(max_size=40)),
        prediction=draw(st.dictionaries(WORDS, PLAIN, max_size=2)),
    )


def row_of(entry, **other):
    """The row that holds an entry."""
    content = content_of(entry)
    row = {"learner_id": content.owner, "number": 1, "id": content.id, "kind": content.kind}
    return {**row, "body": content.body, "log": content.log, **other}


@given(attempts())
def test_any_attempt_comes_back_from_its_row(attempt):
    """Content and log give the attempt again, whatever its texts and numbers."""
    assert entry_of(StoredAttempt, row_of(attempt)) == attempt


@pytest.mark.parametrize(
    "entry", [attempt_of(HERON), supervised_of(HERON), observation_of(HERON), estimate_of(HERON)]
)
def test_every_kind_comes_back_and_is_written_one_way(entry):
    """Rows are ASCII; written again from what was read they are the same."""
    row = row_of(entry)
    again = entry_of(type(entry), row)
    assert again == entry
    assert content_of(again) == content_of(entry)
    assert row["body"].isascii()


def test_fields_that_came_later_take_their_defaults():
    """A row of a program that knew no case numbers or predictions is still read."""
    case = supervised_of(HERON, case_number="")
    old = row_of(case)["body"].replace('"case_number":"",', "")
    assert entry_of(type(case), row_of(case, body=old)) == case
    attempt = replace(attempt_of(HERON), prediction={})
    old = row_of(attempt)["body"].replace('"prediction":{},', "")
    assert "prediction" not in old
    assert entry_of(StoredAttempt, row_of(attempt, body=old)) == attempt


@pytest.mark.parametrize(
    "body", ["", "[]", "3", "{}", "nonsense", '{"percent": 3}', '{"task": "no task"}']
)
def test_a_content_that_nobody_wrote_is_told(body):
    """The message names entry and learner and points to `trainer verify`."""
    with pytest.raises(NotValid, match=r"entry 1 of learner abab.*cannot be read.*trainer verify"):
        entry_of(StoredAttempt, row_of(attempt_of(HERON), body=body))


def test_a_moment_keeps_its_zone():
    """Times come back in UTC, to the microsecond."""
    attempt = replace(attempt_of(HERON), finished_at=datetime(2026, 1, 2, 3, 4, 5, 678901, UTC))
    assert entry_of(StoredAttempt, row_of(attempt)).finished_at == attempt.finished_at

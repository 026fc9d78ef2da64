"""Tables, read back by Python's csv module, an independent reader of RFC 4180."""

from __future__ import annotations

import csv
import io
from dataclasses import fields

import pytest
from helpers.exported import attempt, observation, real_attempt, supervised
from hypothesis import given
from hypothesis import strategies as st

from trainer.models.records import StoredAttempt
from trainer.services.exports.csv_out import (
    FORMULA_STARTS,
    NOTE,
    Separator,
    attempts_csv,
    guarded,
    items_csv,
    observations_csv,
    supervised_csv,
)


def read(data: bytes, separator: str = ",") -> list[dict[str, str]]:
    """The table's rows by column, read strictly."""
    text = data.decode("utf-8-sig")
    rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True))
    assert all(len(row) == len(rows[0]) for row in rows)
    assert len(set(rows[0])) == len(rows[0])
    return [dict(zip(rows[0], row, strict=True)) for row in rows[1:]]


def test_one_row_an_attempt():
    """Every figure of an attempt comes back, units stand in the header, the note in each row."""
    first, second = read(attempts_csv([attempt(1), attempt(2, critical=("a", "b"), prediction={})]))
    assert first["attempt_id"] == "attempt-0001"
    assert first["finished_at_utc"] == "2026-01-02T09:30:15+00:00"
    assert float(first["percent"]) == 91.5 and float(first["duration_s"]) == 431.27
    assert (first["mastered"], first["needless_retake"]) == ("yes", "no")
    assert first["predicted_percent"] == "85" and first["predicted_cut"] == "canal-right"
    assert (second["critical_count"], second["critical"]) == ("2", "a b")
    assert second["predicted_percent"] == second["predicted_acceptable"] == ""
    assert {first["note"], second["note"]} == {NOTE}
    left_out = {"score", "log", "prediction", "id", "finished_at"}
    assert {f.name for f in fields(StoredAttempt)} - left_out <= set(first)


def test_one_row_an_item():
    """Each item of the score has its row with value, limit, unit and sentence; numbers are bare."""
    (row,) = read(items_csv([attempt(1)]))
    assert row["attempt_id"] == "attempt-0001" and row["block"] == "position"
    assert (row["item"], row["item_name"]) == ("margin", "Margin kept")
    assert (row["value"], row["limit"], row["unit"]) == ("-2.5", "3.0", "mm")
    assert (row["points"], row["most_points"]) == ("4.0", "8.0")
    assert row["sentence"] == "The canal is cut, 2.5 mm are missing."
    assert read(items_csv([attempt(1, score={})])) == []


def test_a_real_score_is_listed_whole():
    """All items of a solution's score are there, and their points add up to its percent."""
    solved = real_attempt()
    rows = read(items_csv([solved]))
    blocks = solved.score["blocks"]
    assert [row["item"] for row in rows] == [i["key"] for b in blocks for i in b["items"]]
    assert len(rows) > 20
    assert sum(float(row["points"]) for row in rows) == pytest.approx(solved.percent, abs=0.2)


def test_the_semicolon_goes_with_the_decimal_comma():
    """With semicolons numbers have a decimal comma, and only numbers."""
    (row,) = read(items_csv([attempt(1)], Separator.SEMICOLON), ";")
    assert row["value"] == "-2,5"
    assert row["sentence"] == "The canal is cut, 2.5 mm are missing."


def test_sign_off_is_apart_from_simulation():
    """Supervised cases and observations hold every field of theirs and no score of a simulation."""
    (case,) = read(supervised_csv([supervised(cause="=moved")]))
    (seen,) = read(observations_csv([observation(1)]))
    assert (case["date"], case["grade"], case["cause"]) == ("2026-03-04", "A", "'=moved")
    assert case["supervision_1_to_5"] == "4" and case["aim"] == "Chin earlier."
    assert (
        seen["ratings_1_to_5"] == "aligns and stabilises=4; uses the scout=3"
        and seen["overall_1_to_5"] == "4"
    )
    for row in (case, seen):
        assert not {"percent", "mastered", "critical", "score"} & set(row)


def test_lines_end_as_the_standard_says():
    """Lines end in CR LF (RFC 4180, 2.1), cells with breaks are quoted (2.6), UTF-8 is marked."""
    data = attempts_csv([attempt(1, case_id='two "words"\r\nand a break')])
    assert data.startswith("\ufeff".encode()) and data.endswith(b"\r\n")
    assert b'"two ""words""\r\nand a break"' in data
    assert read(data)[0]["case_id"] == 'two "words"\r\nand a break'


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "'=1"])
def test_formulas_are_made_harmless(text):
    """Texts that an office program would run get an apostrophe (OWASP's list of starts)."""
    (row,) = read(attempts_csv([attempt(1, case_id=text)]))
    assert row["case_id"] == f"'{text}"


@given(st.text(st.characters(exclude_categories=["Cs"])), st.sampled_from(list(Separator)))
def test_any_text_comes_back(text, separator):
    """What is read, less the apostrophe, is the text itself; no cell starts as a formula."""
    data = attempts_csv([attempt(1, case_id=text)], separator)
    (row,) = read(data, separator.value)
    found = row["case_id"]
    assert found == guarded(text)
    assert not found.startswith(tuple(s for s in FORMULA_STARTS if s != "'"))
    assert found.removeprefix("'") == text if found.startswith("'") else found == text

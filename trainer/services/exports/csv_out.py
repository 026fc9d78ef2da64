"""Tables for office programs: comma-separated values (RFC 4180), UTF-8 with its mark.

A text that an office program would take for a formula gets an apostrophe in front ("CSV injection",
OWASP: cells starting with = + - @, tab or carriage return). A text that starts with an apostrophe
gets one too, so that the sign can be taken off again without doubt. Numbers stay numbers.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Mapping, Sequence
from enum import StrEnum
from typing import Any

from trainer.models.records import Observation, StoredAttempt, SupervisedCase
from trainer.services.exports.moments import utc

Cell = str | int | float | bool | None

NOTE = "simulation, not clinical sign-off"
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "'")
ATTEMPT_COLUMNS = (
    "attempt_id", "learner_id", "case_id", "case_sha256", "task", "help", "hints", "seed",
    "program", "finished_at_utc", "percent", "critical_count", "critical", "mastered",
    "needless_retake", "scout_pairs", "runs", "duration_s", "predicted_percent",
    "predicted_acceptable", "predicted_cut", "note",
)  # fmt: skip
ITEM_COLUMNS = (
    "attempt_id", "block", "block_weight_percent", "block_earned_share", "item", "item_name",
    "value", "limit", "unit", "points", "most_points", "sentence", "note",
)  # fmt: skip
SUPERVISED_COLUMNS = (
    "id", "learner_id", "date", "supervisor", "region", "field_class", "patient_group",
    "positioned_by", "prompts", "scouts", "exposures", "grade", "cause", "supervision_1_to_5",
    "done_well", "aim", "case_number",
)  # fmt: skip
OBSERVATION_COLUMNS = (
    "id", "learner_id", "date", "observer", "setting", "ratings_1_to_5", "overall_1_to_5",
    "supervision_1_to_5", "done_well", "aim",
)  # fmt: skip


class Separator(StrEnum):
    """What stands between two cells.

    ``SEMICOLON`` goes with a decimal comma: office programs want both where the comma is the
    decimal sign.
    """

    COMMA = ","
    SEMICOLON = ";"


def attempts_csv(
    attempts: Iterable[StoredAttempt], separator: Separator = Separator.COMMA
) -> bytes:
    """One row an attempt; people appear by id only."""
    return _table(ATTEMPT_COLUMNS, map(_attempt_row, attempts), separator)


def items_csv(attempts: Iterable[StoredAttempt], separator: Separator = Separator.COMMA) -> bytes:
    """One row an item of each attempt's score; the attempt's id leads to `attempts_csv`."""
    rows = (row for attempt in attempts for row in _item_rows(attempt))
    return _table(ITEM_COLUMNS, rows, separator)


def supervised_csv(
    cases: Iterable[SupervisedCase], separator: Separator = Separator.COMMA
) -> bytes:
    """One row a supervised case; nothing of a simulation is in it."""
    rows = (
        (c.id, c.learner_id, c.on.isoformat(), c.supervisor, c.region, c.field_class,
         c.patient_group, c.positioned_by, c.prompts, c.scouts, c.exposures, c.grade, c.cause,
         c.supervision, c.done_well, c.aim, c.case_number)
        for c in cases
    )  # fmt: skip
    return _table(SUPERVISED_COLUMNS, rows, separator)


def observations_csv(
    observations: Iterable[Observation], separator: Separator = Separator.COMMA
) -> bytes:
    """One row an observation, as the supervisor gave it; nothing of a score is in it."""
    rows = (
        (o.id, o.learner_id, o.on.isoformat(), o.observer, o.setting, _pairs(o.ratings), o.overall,
         o.supervision, o.done_well, o.aim)
        for o in observations
    )  # fmt: skip
    return _table(OBSERVATION_COLUMNS, rows, separator)


def guarded(text: str) -> str:
    """The text, with an apostrophe in front if an office program would take it for a formula."""
    return f"'{text}" if text.startswith(FORMULA_STARTS) else text


def _attempt_row(a: StoredAttempt) -> Sequence[Cell]:
    said = a.prediction
    return (
        a.id, a.learner_id, a.case_id, a.case_sha256, a.task.value, a.help.value, a.hints, a.seed,
        a.program, utc(a.finished_at).isoformat(timespec="seconds"), a.percent, len(a.critical),
        " ".join(a.critical), a.mastered, a.needless_retake, a.scout_pairs, a.runs, a.duration_s,
        said.get("percent"), said.get("acceptable"), " ".join(sorted(said.get("cut", ()))), NOTE,
    )  # fmt: skip


def _item_rows(attempt: StoredAttempt) -> Iterator[Sequence[Cell]]:
    for block in attempt.score.get("blocks", ()):
        for item in block["items"]:
            yield (
                attempt.id, block["block"], block["weight"], block["earned"], item["key"],
                item["name"], item["value"], item["limit"], item["unit"], item["points"],
                item["most"], item["sentence"], NOTE,
            )  # fmt: skip


def _pairs(values: Mapping[str, Any]) -> str:
    return "; ".join(f"{key}={value}" for key, value in values.items())


def _table(columns: Sequence[str], rows: Iterable[Sequence[Cell]], separator: Separator) -> bytes:
    text = io.StringIO(newline="")
    writer = csv.writer(text, delimiter=separator.value, lineterminator="\r\n")
    writer.writerow(columns)
    comma = separator is Separator.SEMICOLON
    for row in rows:
        writer.writerow([_cell(value, comma) for value in row])
    return text.getvalue().encode("utf-8-sig")


def _cell(value: Cell, decimal_comma: bool) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        words = repr(value)
        return words.replace(".", ",") if decimal_comma else words
    return guarded(value)

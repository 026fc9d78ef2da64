"""A learner's chain proved: every digest, and every score from its log."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from trainer.errors import NotValid, TrainerError
from trainer.models.records import StoredAttempt
from trainer.services.records import chain
from trainer.services.records.entries import KIND_OF, Kind, content_of, entry_of
from trainer.services.records.findings import Finding
from trainer.services.records.scorer import CannotRecompute, Scorer

DISTRUST = "Do not rely on it. Compare with the last backup, and ask who had access."
RESTORE = "Put the last backup in place, or ask who had access."
OTHER_CASE = (
    "Verify with the program and the case files of that time; name a case of your own with --case."
)


@dataclass(frozen=True, slots=True)
class Proved:
    """What a chain's proof came to."""

    findings: tuple[Finding, ...]
    attempts: int
    recomputed: int


def prove_chain(
    learner: chain.Row, sign_in: str, entries: Sequence[Mapping[str, Any]], scorer: Scorer
) -> Proved:
    """Everything wrong with a learner's row and entries, which stand in order of their numbers."""
    named = f"learner {learner['pseudonym']} ({learner['id']})"
    findings = [*_row_findings(named, learner, sign_in), *_chain_findings(named, learner, entries)]
    attempts = recomputed = 0
    for entry in entries:
        where = f"{named}, entry {entry['number']}"
        kind = next((k for k, name in KIND_OF.items() if name == entry["kind"]), None)
        if kind is None:
            findings.append(Finding(where, f"is of no known kind: {entry['kind']!r}", DISTRUST))
            continue
        try:
            kept = entry_of(kind, entry)
            if content_of(kept).body != entry["body"]:
                raise NotValid([])
        except NotValid:
            text = "its content is not as this program writes it"
            findings.append(Finding(where, text, DISTRUST))
            continue
        if isinstance(kept, StoredAttempt):
            attempts += 1
            found = attempt_finding(where, kept, scorer)
            findings += [found] if found else []
            recomputed += found is None
    return Proved(tuple(findings), attempts, recomputed)


def _row_findings(named: str, learner: chain.Row, sign_in: str) -> Iterator[Finding]:
    if learner["seal"] != chain.seal(learner, sign_in):
        text = "the profile has been changed behind the program's back"
        yield Finding(named, text, "Compare name, group and PIN with the last backup.")


def _chain_findings(
    named: str, learner: chain.Row, entries: Sequence[Mapping[str, Any]]
) -> Iterator[Finding]:
    before, expected = chain.START, 1
    for entry in entries:
        where = f"{named}, entry {entry['number']}"
        if entry["number"] != expected:
            text = f"entries {expected} to {entry['number'] - 1} are missing, or numbers changed"
            yield Finding(where, text, RESTORE)
        if entry["digest"] != chain.entry_digest(before, entry, chain.sha256(entry["log"])):
            text = "has been changed, or does not follow the entry before"
            yield Finding(where, text, DISTRUST)
        before, expected = entry["digest"], entry["number"] + 1
    if learner["entries"] != expected - 1:
        text = f"{learner['entries']} entries were written, and the last is number {expected - 1}"
        yield Finding(named, text, RESTORE)
    elif learner["head"] != before:
        yield Finding(named, "the last entry is not the one that was written last", RESTORE)


def attempt_finding(where: str, kept: StoredAttempt, scorer: Scorer) -> Finding | None:
    """What is wrong with an attempt's log or score; ``None`` when the log gives the same score."""
    where = f"{where} (attempt {kept.id} at {kept.case_id})"
    try:
        facts = {"attempt_id": kept.id, "learner_id": kept.learner_id}
        again = scorer(kept.log, finished_at=kept.finished_at, **facts)
    except CannotRecompute as error:
        text = f"its score cannot be recomputed: {error}"
        return Finding(where, text, OTHER_CASE, cannot_tell=True)
    except TrainerError as error:
        return Finding(where, f"its log gives no score: {error}", DISTRUST)
    stored, computed = (json.loads(content_of(a).body) for a in (kept, again))
    other = [key for key in computed if stored.get(key) != computed[key]]
    other += [key for key in stored if key not in computed]
    if not other:
        return None
    told = "; ".join(
        f"{key} is {_short(stored.get(key))}, but the log gives {_short(computed.get(key))}"
        for key in other
    )
    return Finding(where, f"its stored score is not what its log gives: {told}", DISTRUST)


def entry_rows(lines: Sequence[str], logs: Mapping[str, bytes]) -> list[dict[str, Any]]:
    """Entries from an export's lines, each with its log.

    Raises
    ------
    ValueError, KeyError, TypeError
        If a line is no entry.
    """
    rows = []
    for line in lines:
        row = json.loads(line)
        keys = (*chain.ENTRY_KEYS, "digest", "log_file")
        if sorted(row) != sorted(keys):
            raise ValueError(f"expected the keys {', '.join(keys)}")
        rows.append({**row, "log": logs[row["log_file"]] if row["log_file"] else b""})
    return rows


def is_attempt(entry: Mapping[str, Any]) -> bool:
    """Whether the entry is a simulated attempt."""
    return entry["kind"] == Kind.ATTEMPT


def _short(value: Any) -> str:
    text = json.dumps(value)
    return text if len(text) <= 40 else f"{text[:37]}..."

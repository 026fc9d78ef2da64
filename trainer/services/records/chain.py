"""Digests that chain a learner's entries and seal the learner's own row.

    digest(n) = SHA-256(digest(n-1), learner, n, kind, id, time, content, SHA-256 of the log)
    seal      = SHA-256(the row's values, among them the chain's length and last digest)

A changed value, a removed, added or exchanged entry shows, and so does one missing at the end. What
a chain cannot prove: that nobody who knows how has written the whole of it anew, with all digests,
nor that a learner who is gone altogether was erased by the rules. It guards against accidents and
idle changes, not against forgery. Only a copy that somebody else keeps does that.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from typing import Any

from trainer.engine.appointment.plain_data import canonical

START = "0" * 64  # what the first entry is chained to
ENTRY_KEYS = ("learner_id", "number", "kind", "id", "made_at", "body")
PROFILE_KEYS = ("id", "pseudonym", "name", "group_name", "is_instructor", "made_at")
SIGN_IN_KEYS = ("pin_hash", "wrong_pins", "wait_until")
Row = Mapping[str, Any]  # a row by its columns


def sha256(data: bytes) -> str:
    """The SHA-256 of the bytes as hexadecimal digits."""
    return hashlib.sha256(data).hexdigest()


def entry_digest(before: str, entry: Row, log_sha256: str) -> str:
    """The digest of an entry that follows the one with digest ``before``."""
    values = [before, *(entry[key] for key in ENTRY_KEYS), log_sha256]
    return sha256(canonical(values).encode("ascii"))


def sign_in_sha256(learner: Row) -> str:
    """One digest for what signing in needs, so that a seal can be checked without it."""
    return sha256(canonical([learner[key] for key in SIGN_IN_KEYS]).encode("ascii"))


def seal(learner: Row, sign_in: str) -> str:
    """The seal of a learner's row whose values for signing in have the digest ``sign_in``."""
    keys = (*PROFILE_KEYS, "entries", "head")
    return sha256(canonical([*(learner[key] for key in keys), sign_in]).encode("ascii"))


def sealed(learner: Row) -> dict[str, Any]:
    """The row with the seal that belongs to it."""
    return {**learner, "seal": seal(learner, sign_in_sha256(learner))}

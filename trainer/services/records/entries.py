"""Entries of the chain: attempts, supervised cases, observations, estimates; as rows and back.

The kinds stand apart. Nothing here or elsewhere adds a simulated attempt to a supervisor's word.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import MISSING, dataclass, fields
from datetime import date, datetime
from enum import StrEnum
from types import UnionType
from typing import Any, TypeVar, get_args, get_origin, get_type_hints

from trainer.engine.appointment.plain_data import canonical, to_data
from trainer.errors import Fault, NotValid
from trainer.models.records import Observation, PanelEstimate, StoredAttempt, SupervisedCase

Entry = StoredAttempt | SupervisedCase | Observation | PanelEstimate
Kept = TypeVar("Kept", bound=Entry)


class Kind(StrEnum):
    """What an entry is."""

    ATTEMPT = "attempt"
    SUPERVISED = "supervised-case"
    OBSERVATION = "observation"
    ESTIMATE = "panel-estimate"


KIND_OF: dict[type[Entry], Kind] = {
    StoredAttempt: Kind.ATTEMPT,
    SupervisedCase: Kind.SUPERVISED,
    Observation: Kind.OBSERVATION,
    PanelEstimate: Kind.ESTIMATE,
}
# Fields that a row holds beside the content.
BESIDE = ("id", "learner_id", "judge_id", "log")


def kind_of(kind: type[Any]) -> str:
    """What entries of that class are called in rows."""
    return str(KIND_OF[kind])


@dataclass(frozen=True, slots=True)
class Content:
    """What a row holds of an entry; ``owner`` is the learner in whose chain it stands."""

    owner: str
    kind: str
    id: str
    body: str
    log: bytes


def content_of(entry: Entry) -> Content:
    """The entry as its row holds it: content as JSON that is written in one way only."""
    values = {f.name: _plain(getattr(entry, f.name)) for f in fields(entry) if f.name not in BESIDE}
    owner = entry.judge_id if isinstance(entry, PanelEstimate) else entry.learner_id
    log = entry.log if isinstance(entry, StoredAttempt) else b""
    return Content(owner, kind_of(type(entry)), entry.id, canonical(values), log)


def entry_of(kind: type[Kept], row: Mapping[str, Any]) -> Kept:
    """The entry that a row holds.

    Raises
    ------
    NotValid
        If the row's content is not one that this program has written.
    """
    owner = "judge_id" if kind is PanelEstimate else "learner_id"
    values: dict[str, Any] = {"id": row["id"], owner: row["learner_id"]}
    if kind is StoredAttempt:
        values["log"] = row.get("log", b"")
    hints = get_type_hints(kind)
    try:
        body = json.loads(row["body"])
        for f in fields(kind):
            if f.name in BESIDE:
                continue
            if f.name in body or (f.default is MISSING and f.default_factory is MISSING):
                values[f.name] = _revived(hints[f.name], body[f.name])
        return kind(**values)
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        where = f"entry {row['number']} of learner {row['learner_id']}"
        text = f"cannot be read ({error!r}); run 'trainer verify' on the records"
        raise NotValid([Fault("records", 0, where, text)]) from None


def _plain(value: Any) -> Any:
    return value.isoformat() if isinstance(value, date | datetime) else to_data(value)


def _revived(hint: Any, data: Any) -> Any:
    """The value of the hinted type that the plain data stand for."""
    origin = get_origin(hint)
    if origin is UnionType:
        return None if data is None else _revived(get_args(hint)[0], data)
    if origin is tuple:
        return tuple(_revived(get_args(hint)[0], part) for part in data)
    if hint in (date, datetime):
        return hint.fromisoformat(data)
    if isinstance(hint, type) and issubclass(hint, StrEnum):
        return hint(data)
    if hint is float:
        return float(data)
    return data

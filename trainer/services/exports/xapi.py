"""Attempts as statements of the Experience API (IEEE 9274.1.1), one JSON object a line.

Only a file: nothing is ever sent. Whoever has a learning record store uploads it there. Names of
properties and their rules are those of the published specification (Experience API 1.0.3, part
two, sections 2.2 to 2.4 and 4.1 to 4.6); verb and kind of activity are the published vocabulary
of ADL. A learner appears as an account whose name is the learner's id, as 2.4.2.4 recommends where
a person is not to be told.
"""

from __future__ import annotations

import hashlib
import json
import uuid
from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any
from urllib.parse import quote, unquote

from trainer.errors import Fault, NotValid
from trainer.models.learning import HelpLevel, Task
from trainer.models.records import StoredAttempt
from trainer.services.cautions import SHORT_CAUTION
from trainer.services.exports.moments import utc

# No real host: the name is reserved for examples (RFC 2606). A school gives its own.
HOME_PAGE = "https://trainer.example/"
NAMES = "https://trainer.example/positioning/"
COMPLETED = "http://adlnet.gov/expapi/verbs/completed"
SIMULATION = "http://adlnet.gov/expapi/activities/simulation"
NAMESPACE = uuid.UUID("2f7d2f43-6f1c-4d0f-8a07-6d2d8f6a3e55")  # ours, for statement ids
# What no property of the specification holds: kept under these names, as it is.
KEPT = (
    "id", "case_sha256", "hints", "seed", "program", "percent", "critical", "needless_retake",
    "scout_pairs", "runs", "duration_s", "score", "prediction",
)  # fmt: skip


def statements(
    attempts: Iterable[StoredAttempt],
    titles: Mapping[str, str],
    home_page: str = HOME_PAGE,
    language: str = "en",
) -> str:
    """The attempts as JSON Lines, one statement each, the same bytes on every run.

    Everything of an attempt is in its statement but the log, of which only the SHA-256 is there.
    ``success`` means that the case's mastery mark was reached in the simulation, no more.

    Parameters
    ----------
    attempts : iterable of StoredAttempt
        In the order in which they are written.
    titles : mapping
        Case id to the case's title; the id stands in where it is missing.
    home_page : str
        The system that gave out the learners' ids, as an address with a scheme.
    language : str
        Of the titles, as a tag of RFC 5646.

    Raises
    ------
    NotValid
        If the address has no scheme.
    """
    if "://" not in home_page or any(c.isspace() for c in home_page):
        text = f"must be an address such as {HOME_PAGE}, got {home_page!r}"
        raise NotValid([Fault("statements", 0, "home page", text)])
    return "".join(
        json.dumps(
            _statement(a, titles, home_page, language),
            ensure_ascii=False,
            sort_keys=True,
            allow_nan=False,
        )
        + "\n"
        for a in attempts
    )


def attempts_of(text: str) -> list[StoredAttempt]:
    """The attempts that `statements` was given, without their logs.

    Raises
    ------
    NotValid
        If a line is none of our statements; names the line.
    """
    found = []
    for number, line in enumerate(text.splitlines(), 1):
        try:
            found.append(_attempt(json.loads(line)))
        except (ValueError, KeyError, TypeError, AttributeError) as error:
            text = f"is no statement that this program wrote ({error})"
            raise NotValid([Fault("statements", number, "", text)]) from error
    return found


def _statement(
    a: StoredAttempt, titles: Mapping[str, str], home_page: str, language: str
) -> dict[str, Any]:
    kept = {name: getattr(a, name) for name in KEPT}
    return {
        "id": str(uuid.uuid5(NAMESPACE, a.id)),
        "actor": {
            "objectType": "Agent",
            "account": {"homePage": home_page, "name": a.learner_id},
        },
        "verb": {"id": COMPLETED, "display": {"en": "completed"}},
        "object": {
            "objectType": "Activity",
            "id": f"{NAMES}cases/{quote(a.case_id, safe='')}",
            "definition": {
                "type": SIMULATION,
                "name": {language: titles.get(a.case_id, a.case_id)},
                "description": {"en": SHORT_CAUTION},
            },
        },
        "result": {
            "score": {"scaled": a.percent / 100.0, "raw": a.percent, "min": 0, "max": 100},
            "success": a.mastered,
            "completion": True,
            "duration": duration(a.duration_s),
            "extensions": {f"{NAMES}kept/{name}": value for name, value in kept.items()}
            | {f"{NAMES}log-sha256": hashlib.sha256(a.log).hexdigest()},
        },
        "context": {
            "platform": f"CBCT positioning trainer {a.program}",
            "language": language,
            "extensions": {
                f"{NAMES}simulated": True,
                f"{NAMES}task": a.task.value,
                f"{NAMES}help": a.help.value,
            },
        },
        "timestamp": utc(a.finished_at).isoformat().replace("+00:00", "Z"),
    }


def duration(seconds: float) -> str:
    """Seconds as an ISO 8601 duration, to the hundredth (specification 4.6)."""
    hundredths = round(seconds * 100)
    minutes, rest = divmod(hundredths, 6000)
    hours, minutes = divmod(minutes, 60)
    words = f"{rest / 100:.2f}".rstrip("0").rstrip(".")
    return "PT" + (f"{hours}H" if hours else "") + (f"{minutes}M" if minutes else "") + f"{words}S"


def _attempt(statement: dict[str, Any]) -> StoredAttempt:
    result, context = statement["result"], statement["context"]["extensions"]
    kept = {name: result["extensions"][f"{NAMES}kept/{name}"] for name in KEPT}
    kept["critical"] = tuple(kept["critical"])
    return StoredAttempt(
        **kept,
        learner_id=statement["actor"]["account"]["name"],
        case_id=unquote(statement["object"]["id"].removeprefix(f"{NAMES}cases/")),
        task=Task(context[f"{NAMES}task"]),
        help=HelpLevel(context[f"{NAMES}help"]),
        mastered=result["success"],
        finished_at=datetime.fromisoformat(statement["timestamp"]),
        log=b"",
    )

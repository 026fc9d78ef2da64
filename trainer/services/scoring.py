"""Scores as plain data and as text, and finished attempts made ready to be kept."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Any

from trainer.engine.appointment.learner import prediction_of
from trainer.engine.appointment.plain_data import from_data, to_data
from trainer.engine.appointment.state import AppointmentState, spoken
from trainer.engine.judgement.calibration import Compared, compared
from trainer.engine.judgement.score import Score, score
from trainer.errors import TrainerError
from trainer.models.learning import HelpLevel, Prediction
from trainer.models.records import StoredAttempt
from trainer.services.appointment import context_of, stranger
from trainer.services.attempt_log import Replay, parse_log, replay
from trainer.services.event_words import clock
from trainer.services.workbench import Workbench

HELP_WORDS = {
    HelpLevel.DEMONSTRATION: "a worked solution was shown",
    HelpLevel.OPEN: "bone and field were shown",
    HelpLevel.LINES: "lights and landmarks only",
    HelpLevel.ON_REQUEST: "hints on request",
    HelpLevel.NONE: "none, as in an exam",
}


def score_of(done: AppointmentState | Replay) -> Score:
    """The score of a state, or of what a log leads to."""
    return score(done.state if isinstance(done, Replay) else done)


def score_data(found: Score) -> dict[str, Any]:
    """The score, ready for JSON: keys by the words of the models, numbers rounded.

    The same for the same log on every machine.
    """
    data: dict[str, Any] = to_data(found)
    blocks = [
        {
            "block": str(b.block),
            "weight": b.weight,
            "points": round(b.weight * b.earned, 2),
            "earned": round(b.earned, 4),
            "items": [
                {
                    **to_data(item),
                    "value": round(item.value, 3),
                    "limit": round(item.limit, 3),
                    "points": round(item.points, 2),
                    "most": round(item.most, 2),
                }
                for item in b.items
            ],
        }
        for b in found.blocks
    ]
    critical = [{"item": str(c.item), "sentence": c.sentence} for c in found.critical]
    return {
        **data,
        "blocks": blocks,
        "critical": critical,
        "mastered": found.mastered,
        "success": found.success,
    }


def score_text(found: Score) -> str:
    """The score for reading: the three things side by side, then what cost points."""
    return "\n".join(_lines(found))


def _lines(found: Score) -> Iterator[str]:
    number = len(found.critical)
    yield f"Critical items failed: {number if number else 'none'}"
    yield f"Points: {found.percent:g} of 100 (mark {found.mastery_percent:g})"
    yield "Global rating: the supervisor's, never the program's"
    yield _verdict(found)
    yield f"Help: {HELP_WORDS[found.help]}; hints asked for: {found.hints}"
    yield f"Time (shown, never scored): {clock(found.duration_s)}"
    for block in found.blocks:
        if not block.items:
            yield f"  {spoken(block.block)}: did not apply"
            continue
        points = round(block.weight * block.earned, 1)
        yield f"  {spoken(block.block)}: {points:g} of {block.weight}"
        for item in block.items:
            if item.points < item.most:
                lost = f"{item.points:.1f} of {item.most:.1f}"
                yield f"    {item.name}: {lost}. {item.sentence}"


def _verdict(found: Score) -> str:
    """One sentence on the whole."""
    if not found.finished:
        return "Not yet: the appointment is not finished."
    if found.critical:
        return "Not yet: a critical item failed, and no points make up for one."
    if not found.completed:
        return "Not yet: the examination does not answer its question."
    if not found.mastered:
        return "Not yet: the mark is not reached."
    return "The mark is reached in this simulated attempt."


def stored_attempt(
    data: bytes,
    bench: Workbench,
    *,
    attempt_id: str,
    learner_id: str,
    finished_at: datetime,
) -> StoredAttempt:
    """A finished attempt made ready to be kept, with the score that its log gives.

    Parameters
    ----------
    data : bytes
        The attempt's log.
    bench : Workbench
        The case that it is an attempt at.
    attempt_id, learner_id : str
        Under which names it is kept, and whose it is.
    finished_at : datetime
        When it was finished, in UTC.

    Raises
    ------
    NotReadable, NotValid
        If the log is none, or of an older format.
    TrainerError
        If it is at fault, belongs to another case or to the case before a change, or the
        appointment is not finished.
    """
    log = parse_log(data, f"attempt {attempt_id}")
    done = replay(log, context_of(bench))
    fault = stranger(log.header, bench) or done.fault
    if fault is not None:
        raise TrainerError(f"attempt {attempt_id}: {fault}")
    if not done.state.finished:
        raise TrainerError(f"attempt {attempt_id}: is not finished; it can be gone on with")
    found, said = score(done.state), prediction_of(done.state)
    return StoredAttempt(
        id=attempt_id,
        learner_id=learner_id,
        case_id=log.header.case,
        case_sha256=log.header.case_sha256,
        task=found.task,
        help=found.help,
        hints=found.hints,
        seed=log.header.seed,
        program=log.header.program,
        finished_at=finished_at,
        percent=found.percent,
        critical=tuple(dict.fromkeys(str(c.item) for c in found.critical)),
        mastered=found.mastered,
        needless_retake=found.needless_retake,
        scout_pairs=found.scout_pairs,
        runs=found.runs,
        duration_s=found.duration_s,
        score=score_data(found),
        log=data,
        prediction={} if said is None else to_data(said),
    )


def compared_of(kept: StoredAttempt) -> Compared | None:
    """The prediction of a kept attempt beside its score; ``None`` when none was made."""
    if not kept.prediction:
        return None
    said = from_data(Prediction, dict(kept.prediction), f"attempt {kept.id}")
    found: Mapping[str, Any] = kept.score
    return compared(
        said, kept.percent, found["required"], frozenset(found["held"]), found["acceptable"]
    )

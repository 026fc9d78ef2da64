"""How well learners know how well they did: what was predicted beside what came of it.

A prediction is for the learner's own use. It never has a say in a score, a pass or a fail
(training reference, 5.6: self-assessment is poor, and poorest in the weakest).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from trainer.engine.judgement.score import Score
from trainer.models.learning import Prediction


@dataclass(frozen=True, slots=True)
class Compared:
    """One prediction beside its attempt.

    ``off_points``: percent predicted less percent reached, above 0 when too hopeful. ``right`` of
    ``asked`` structures were rightly said to be in or cut; none are asked without an image.
    ``acceptable_right``: whether the image was rightly called acceptable or not; ``None`` without
    one.
    """

    off_points: float
    right: int
    asked: int
    acceptable_right: bool | None


@dataclass(frozen=True, slots=True)
class Calibration:
    """A series of predictions: how far off on average, and how often right.

    ``mean_off_points``: mean of predicted less actual [points]. ``right_share``: share of right
    predictions of in or cut over all structures asked; ``acceptable_share``: of images rightly
    called acceptable or not; ``None`` where there was none.
    """

    attempts: int
    mean_off_points: float
    right_share: float | None
    acceptable_share: float | None


def compare(prediction: Prediction, score: Score) -> Compared:
    """The prediction beside the attempt's score."""
    return compared(prediction, score.percent, score.required, score.held, score.acceptable)


def compared(
    prediction: Prediction,
    percent: float,
    required: Collection[str],
    held: frozenset[str],
    acceptable: bool | None,
) -> Compared:
    """The prediction beside what came of it; ``acceptable`` ``None``: there was no image."""
    off = round(prediction.percent - percent, 1)
    if acceptable is None:
        return Compared(off, 0, 0, None)
    right = sum((s in prediction.cut) is (s not in held) for s in required)
    return Compared(off, right, len(required), prediction.acceptable is acceptable)


def calibration(series: Iterable[Compared]) -> Calibration | None:
    """What a series of predictions shows; ``None`` when there is none."""
    found = tuple(series)
    if not found:
        return None
    asked = sum(c.asked for c in found)
    graded = [c.acceptable_right for c in found if c.acceptable_right is not None]
    return Calibration(
        attempts=len(found),
        mean_off_points=sum(c.off_points for c in found) / len(found),
        right_share=sum(c.right for c in found) / asked if asked else None,
        acceptable_share=sum(graded) / len(graded) if graded else None,
    )

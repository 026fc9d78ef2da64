"""A learner's charts as pictures, each with the words that say the same."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from statistics import fmean

from trainer.engine.learning.curves import CurveFit, fit_exponential
from trainer.engine.learning.next_case import TASK_TEXT
from trainer.engine.learning.progress import LEARNING_LIMIT, in_order, progress
from trainer.engine.statistics.rejects import Rejects
from trainer.engine.wording import sentence_start
from trainer.models.learning import Task
from trainer.models.records import StoredAttempt
from trainer.services.learning.reject_words import published_lines, reject_lines
from trainer.services.learning.report import foretold_of, foretold_sentence, mastery_mark
from trainer.services.scoring import compared_of

LATEST = 5  # attempts that are told one by one
DPI = 110


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart: PNG for the screen, SVG for a file, and a text that says the same."""

    title: str
    png: bytes
    svg: bytes
    words: str


def learner_charts(
    attempts: Sequence[StoredAttempt], task: Task | None = None
) -> tuple[Chart, ...]:
    """Points, learning, maintenance and predictions of one learner.

    With ``task`` points and predictions are those of that task; the two charts of successes
    always go by all tasks in mixed order.
    """
    from trainer.services.plots.charts import learning_plot, maintenance_plot
    from trainer.services.plots.over_time import calibration_plot, percent_plot

    own = [a for a in attempts if task is None or a.task is task]
    charts = progress(attempts)
    of = "" if task is None else f", {TASK_TEXT[task]}"
    learning = f"{charts.sentence} {len(charts.learning)} counted attempts are drawn."
    if len(charts.learning):
        learning += (
            f" The sum stands at {charts.learning[-1]:.2f}; the limit is {LEARNING_LIMIT:g}."
        )
    kept = f"{charts.sentence} {len(charts.maintenance)} attempts since the signal are drawn."
    return (
        _chart(f"Points by attempt{of}", percent_plot(own, mastery_mark(attempts)), _points(own)),
        _chart("Learning chart", learning_plot(charts), learning),
        _chart("Maintenance chart", maintenance_plot(charts), kept),
        _chart(f"Predictions{of}", calibration_plot(own), _foretold(own)),
    )


def rejects_chart(found: Rejects, more: Iterable[str] = ()) -> Chart:
    """Rejects and their causes beside published ones; ``more`` is said about what was counted."""
    from trainer.services.plots.reject_causes import rejects_plot

    own = dict.fromkeys(line.strip() for line in (*reject_lines(found), *more))
    words = "\n".join([*own, "", *published_lines()])  # a warning stands there once
    return _chart(sentence_start(found.what), rejects_plot(found), words)


def _chart(title: str, figure: object, words: str) -> Chart:
    from trainer.services.plots.style import png_bytes, svg_bytes

    return Chart(title, png_bytes(figure, DPI), svg_bytes(figure), words)  # type: ignore[arg-type]


def _points(attempts: Sequence[StoredAttempt]) -> str:
    return " ".join(_point_sentences(in_order(attempts)))


def _point_sentences(ordered: Sequence[StoredAttempt]) -> Iterator[str]:
    if not ordered:
        yield "No attempt yet."
        return
    yield f"{len(ordered)} attempt{'' if len(ordered) == 1 else 's'}."
    latest = ordered[-LATEST:]
    points = ", ".join(f"{a.percent:.0f}{_mark(a)}" for a in latest)
    yield f"The latest {len(latest)} by time: {points} % (mark {mastery_mark(ordered):g} %)."
    fit = fit_exponential([a.percent for a in ordered if a.help.is_unassisted])
    if isinstance(fit, CurveFit):
        yield f"The curve of the unassisted ones settles at {fit.level:.0f} %."
    else:
        yield f"No curve is drawn. {fit.reason}"


def _mark(attempt: StoredAttempt) -> str:
    if attempt.critical:
        return " (critical item failed)"
    return "" if attempt.help.is_unassisted else " (helped)"


def _foretold(attempts: Sequence[StoredAttempt]) -> str:
    found = foretold_of(attempts)
    if found is None:
        return "No prediction yet."
    return " ".join((foretold_sentence(found), *_nearer(in_order(attempts))))


def _nearer(ordered: Sequence[StoredAttempt]) -> Iterator[str]:
    """How near the first and the latest predictions came; errors of both ways do not cancel."""
    compared = [c for c in map(compared_of, ordered) if c is not None]
    off = [abs(c.off_points) for c in compared]
    if len(off) < 2 * LATEST:
        yield f"From {2 * LATEST} predictions on, the first and the latest stand side by side here."
        return
    first, latest = fmean(off[:LATEST]), fmean(off[-LATEST:])
    yield (
        f"Whichever way, the first {LATEST} were off by {first:.0f} points on average, the latest "
        f"{LATEST} by {latest:.0f}."
    )

"""One learner over time: both charts in words, what to practise next, what is due, plots."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from trainer.engine.judgement.calibration import Calibration, calibration
from trainer.engine.learning.next_case import Suggestion, next_case
from trainer.engine.learning.practice import PracticeCase, practice_case
from trainer.engine.learning.progress import Progress, in_order, progress
from trainer.errors import TrainerError
from trainer.models.records import StoredAttempt
from trainer.services.cautions import SHORT_CAUTION
from trainer.services.learning.spacing import FamilyDue, Upkeep, families_due, upkeep
from trainer.services.library import case_folders, units_for
from trainer.services.scenario_io import case_files, load_case
from trainer.services.scoring import compared_of

USUAL_MARK = 90.0  # mark of the local rules' defaults, before there is an attempt


@dataclass(frozen=True, slots=True)
class LearnerReport:
    """What a learner's attempts say. ``families`` are tasks, the one due first at the top."""

    attempts: int
    progress: Progress
    next: Suggestion
    families: tuple[FamilyDue, ...]
    upkeep: Upkeep
    foretold: Calibration | None


def library(folder: Path | None = None) -> tuple[PracticeCase, ...]:
    """Every case of the folder, or of all, that can be practised; a faulty file is left out.

    'trainer check' tells what is wrong with it.
    """
    found = []
    for path in case_files(folder or case_folders()).values():
        try:
            found.append(practice_case(load_case(path, units_for(path))))
        except TrainerError:
            continue
    return tuple(found)


def learner_report(
    cases: Sequence[PracticeCase], attempts: Sequence[StoredAttempt], now: datetime
) -> LearnerReport:
    """The report of one learner's attempts at ``now`` (UTC).

    Raises
    ------
    NotFound
        If there is no case to practise.
    """
    return LearnerReport(
        len(attempts),
        progress(attempts),
        next_case(cases, attempts),
        families_due(cases, attempts, now),
        upkeep(attempts, now),
        foretold_of(attempts),
    )


def foretold_of(attempts: Sequence[StoredAttempt]) -> Calibration | None:
    """How well the learner foretold these attempts; None without a prediction."""
    compared = (compared_of(a) for a in attempts)
    return calibration(c for c in compared if c is not None)


def learner_data(report: LearnerReport) -> dict[str, Any]:
    """The report, ready for JSON."""
    charts = report.progress
    return {
        "caution": SHORT_CAUTION,
        "attempts": report.attempts,
        "charts": {
            "counted": [a.id for a in charts.counted],
            "successes": list(charts.successes),
            "learning": [round(v, 4) for v in charts.learning.tolist()],
            "signal": charts.signal,
            "maintenance": [round(v, 4) for v in charts.maintenance.tolist()],
            "alarms": list(charts.alarms),
            "sentence": charts.sentence,
        },
        "next": {"case": report.next.case.id, "reason": report.next.reason},
        "due": [
            {
                "task": str(f.task),
                "last": f.last.isoformat(),
                "due": f.due.isoformat(),
                "is_due": f.is_due,
                "retention": round(f.retention, 4),
                "case": f.case.id,
                "sentence": f.sentence,
            }
            for f in report.families
        ],
        "refresh_on": _day(report.upkeep.refresh_on),
        "recheck_on": _day(report.upkeep.recheck_on),
        "foretold": None
        if report.foretold is None
        else {
            "attempts": report.foretold.attempts,
            "mean_off_points": round(report.foretold.mean_off_points, 2),
            "right_share": report.foretold.right_share,
            "acceptable_share": report.foretold.acceptable_share,
        },
    }


def learner_text(report: LearnerReport) -> str:
    """The report for reading."""
    return "\n".join(_lines(report))


def mastery_mark(attempts: Sequence[StoredAttempt]) -> float:
    """The mastery mark, in percent, that the latest attempt was held to."""
    return float(in_order(attempts)[-1].score["mastery_percent"]) if attempts else USUAL_MARK


def save_plots(attempts: Sequence[StoredAttempt], folder: Path) -> list[Path]:
    """Writes the learner's four plots into the folder as PNG, and returns their paths.

    Raises
    ------
    OSError
        If a file cannot be written.
    """
    from trainer.services.plots.charts import learning_plot, maintenance_plot
    from trainer.services.plots.over_time import calibration_plot, percent_plot
    from trainer.services.plots.style import png_bytes

    charts = progress(attempts)
    figures = {
        "learning": learning_plot(charts),
        "maintenance": maintenance_plot(charts),
        "points": percent_plot(attempts, mastery_mark(attempts)),
        "foretold": calibration_plot(attempts),
    }
    folder.mkdir(parents=True, exist_ok=True)
    paths = []
    for name, figure in figures.items():
        paths.append(folder / f"{name}.png")
        paths[-1].write_bytes(png_bytes(figure, dpi=150))
    return paths


def _lines(report: LearnerReport) -> Iterator[str]:
    yield report.progress.sentence
    yield f"Next: {report.next.case.id}. {report.next.reason}"
    for family in report.families:
        yield f"  {family.sentence} Case: {family.case.id}"
    yield report.upkeep.sentence
    if report.foretold is not None:
        yield foretold_sentence(report.foretold)
    yield SHORT_CAUTION


def foretold_sentence(found: Calibration) -> str:
    """How well results were foretold, as a sentence."""
    off = found.mean_off_points
    way = "too hopeful" if off > 0 else "too cautious"
    text = f"Results were foretold {abs(off):.0f} points {way} on average"
    if abs(off) < 0.5:
        text = "Results were foretold to the point on average"
    if found.right_share is not None:
        text += f", and {100 * found.right_share:.0f} % of structures rightly as in or cut"
    return f"{text} ({found.attempts} predictions)."


def _day(day: Any) -> str | None:
    return None if day is None else day.isoformat()

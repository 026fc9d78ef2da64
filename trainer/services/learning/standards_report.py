"""Pass marks, agreement, reliability and supervised rejects of a group, for its instructor."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from trainer.engine.learning.progress import in_order
from trainer.engine.statistics.agreement import Kappa, Weights, kappa, rating_table
from trainer.engine.statistics.panels import paired_ratings, panel_cut, rated_scores
from trainer.engine.statistics.rates import clean_bound
from trainer.engine.statistics.rejects import ACCEPTABLE_TARGET, Rejects, supervised_rejects
from trainer.engine.statistics.reliability import Alpha, alpha, length_needed
from trainer.engine.statistics.standards import BorderlineCut, PanelCut, borderline_regression
from trainer.errors import NotValid
from trainer.models.learning import HelpLevel
from trainer.models.records import Observation, PanelEstimate, StoredAttempt, SupervisedCase
from trainer.services.cautions import SHORT_CAUTION
from trainer.services.learning.group_report import FEWEST_PEOPLE

RATINGS = (1, 2, 3, 4, 5)
FEWEST_CASES = 2  # alpha needs them
WANTED_RELIABILITY = 0.8  # common practice, no source


@dataclass(frozen=True, slots=True)
class StandardsReport:
    """What can be said; each part is the result, or the reason why there is none.

    ``panels`` by their names, ``borderline`` by case id.
    """

    panels: Mapping[str, PanelCut | str]
    borderline: Mapping[str, BorderlineCut | str]
    agreement: Kappa | str
    exam: Alpha | str
    exam_cases: tuple[str, ...]
    rejects: Rejects


def standards_report(
    attempts: Sequence[StoredAttempt],
    observations: Sequence[Observation],
    estimates: Sequence[PanelEstimate],
    supervised: Sequence[SupervisedCase],
) -> StandardsReport:
    """The report of a group's attempts, observations, panel estimates and supervised cases."""
    watched = {o.attempt_id for o in observations}
    rated_cases = sorted({a.case_id for a in attempts if a.id in watched})
    cases, table = exam_table(attempts)
    return StandardsReport(
        {name: _panel(estimates, name) for name in sorted({e.panel for e in estimates})},
        {case: _borderline(observations, attempts, case) for case in rated_cases},
        _agreement(observations),
        _exam(cases, table),
        cases,
        supervised_rejects(supervised),
    )


def exam_table(
    attempts: Sequence[StoredAttempt],
) -> tuple[tuple[str, ...], list[list[float]]]:
    """Cases that at least five people did without any help, and those people's first percents.

    People who did not do all of these cases are left out; (people, cases).
    """
    first: dict[tuple[str, str], float] = {}
    for a in in_order(attempts):
        if a.help is HelpLevel.NONE:
            first.setdefault((a.case_id, a.learner_id), a.percent)
    people = sorted({person for _, person in first})
    cases = tuple(
        case
        for case in sorted({case for case, _ in first})
        if sum((case, person) in first for person in people) >= FEWEST_PEOPLE
    )
    rows = [
        [first[case, person] for case in cases]
        for person in people
        if all((case, person) in first for case in cases)
    ]
    return cases, rows


def standards_text(
    report: StandardsReport, with_supervised: bool = True, title: Callable[[str], str] = str
) -> str:
    """The report for reading; supervised examinations may stand elsewhere.

    ``title`` gives the words for a case id.
    """
    return "\n".join(_lines(report, with_supervised, title))


def _panel(estimates: Sequence[PanelEstimate], name: str) -> PanelCut | str:
    try:
        return panel_cut([e for e in estimates if e.panel == name])
    except NotValid as error:
        return _reason(error)


def _borderline(
    observations: Sequence[Observation], attempts: Sequence[StoredAttempt], case_id: str
) -> BorderlineCut | str:
    ratings, scores = rated_scores(observations, [a for a in attempts if a.case_id == case_id])
    try:
        return borderline_regression(ratings, scores)
    except NotValid as error:
        return _reason(error)


def _agreement(observations: Sequence[Observation]) -> Kappa | str:
    first, second = paired_ratings(observations)
    if not first:
        return "no attempt was watched by two people"
    return kappa(rating_table(first, second, RATINGS), Weights.QUADRATIC)


def _exam(cases: Sequence[str], table: Sequence[Sequence[float]]) -> Alpha | str:
    if len(cases) < FEWEST_CASES:
        return f"fewer than {FEWEST_PEOPLE} people did {FEWEST_CASES} cases without help"
    if len(table) < FEWEST_PEOPLE:
        return f"fewer than {FEWEST_PEOPLE} people did the same cases without help"
    try:
        return alpha(table)
    except NotValid as error:
        return _reason(error)


def _reason(error: NotValid) -> str:
    return "; ".join(f"{f.key}: {f.text}" for f in error.faults)


def _lines(
    report: StandardsReport, with_supervised: bool, title: Callable[[str], str]
) -> Iterator[str]:
    yield "Pass marks by panels:" if report.panels else "Pass marks by panels: no estimates"
    for name, cut in report.panels.items():
        if isinstance(cut, str):
            yield f"  {name}: none yet ({cut})"
            continue
        error = 100.0 * cut.error / len(cut.item_means)
        yield f"  {name}: {cut.percent:.1f} % (standard error {error:.1f})"
        yield from _indented(cut.warnings)
    yield from _borderline_lines(report.borderline, title)
    yield from _agreement_lines(report.agreement)
    yield from _exam_lines(report)
    if with_supervised:
        yield from supervised_lines(report.rejects)
    yield SHORT_CAUTION


def _borderline_lines(
    found: Mapping[str, BorderlineCut | str], title: Callable[[str], str]
) -> Iterator[str]:
    """A line for each case with a cut; below them, once for each reason, the cases without."""
    if not found:
        yield "Borderline regression: no attempt was watched and rated"
        return
    yield "Borderline regression, by case:"
    without: dict[str, list[str]] = {}
    for case, line in found.items():
        if isinstance(line, str):
            without.setdefault(line, []).append(title(case))
            continue
        yield (
            f"  {title(case)}: {line.cut:.1f} % (standard error {line.error:.1f}, "
            f"R2 {line.r2:.2f}, {line.attempts} attempts)"
        )
        yield from _indented(line.warnings)
    for reason, cases in without.items():
        yield f"  None yet ({reason}): {'; '.join(cases)}"


def _agreement_lines(found: Kappa | str) -> Iterator[str]:
    if isinstance(found, str):
        yield f"Agreement of observers: {found}"
        return
    yield f"Agreement of observers (quadratic kappa): {found.kappa:.2f} of {found.pairs} pairs"
    yield from _indented(found.warnings)


def _exam_lines(report: StandardsReport) -> Iterator[str]:
    found = report.exam
    if isinstance(found, str):
        yield f"Reliability across cases: {found}"
        return
    n = len(report.exam_cases)
    error = found.error_of_score / n
    yield f"Reliability across {n} cases (alpha), {found.people} people: {found.alpha:.2f}"
    yield f"  Standard error of one person's mean: {error:.1f} points"
    if 0.0 < found.alpha < WANTED_RELIABILITY:
        cases = n * length_needed(found.alpha, WANTED_RELIABILITY)
        yield f"  For {WANTED_RELIABILITY:g} it would take about {cases:.0f} such cases"
    yield from _indented(found.warnings)


def supervised_lines(found: Rejects) -> Iterator[str]:
    """What the grades of supervised examinations show, and what they cannot show."""
    if not found.images:
        yield "Supervised examinations: none written down"
        return
    good = 100.0 * (1.0 - found.rate.rate)
    yield (
        f"Supervised examinations: {found.images - found.rejected} of {found.images} acceptable "
        f"({good:.0f} %; target {100 * ACCEPTABLE_TARGET:.0f} %, SDCEP)"
    )
    if not found.rejected:
        yield (
            f"  None was rejected; the true rate may still be up to "
            f"{100.0 * clean_bound(found.images):.1f} % (95 %, one-sided)."
        )
    yield from _indented(found.warnings)


def _indented(lines: Sequence[str]) -> Iterator[str]:
    yield from (f"    {line}" for line in lines)

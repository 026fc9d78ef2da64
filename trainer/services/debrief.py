"""The debrief of a finished attempt, and its words: to be read in a minute and a half."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from trainer.engine.appointment.learner import prediction_of
from trainer.engine.appointment.result import counted_runs
from trainer.engine.appointment.state import AppointmentState, spoken
from trainer.engine.debrief.best import Best, best_of_run
from trainer.engine.debrief.course import Moment, course_of
from trainer.engine.debrief.facts import TOLD_FACTS, Fact, aim_of, facts_of
from trainer.engine.debrief.movement import Movement, helpful_movement
from trainer.engine.judgement.calibration import Compared, compare
from trainer.engine.judgement.score import Score, score
from trainer.engine.wording import sentence_start, two_digits
from trainer.errors import TrainerError
from trainer.models.field_class import field_class
from trainer.models.learning import HelpLevel, Prediction
from trainer.models.protocol import age_group
from trainer.models.setup import Setup
from trainer.physics.dose_tables import panoramic_dose, published_dose
from trainer.services.appointment import replay_file
from trainer.services.appointment_report import ending, headline
from trainer.services.cautions import SHORT_CAUTION
from trainer.services.scoring import HELP_WORDS
from trainer.services.solutions import log_of, solution_files
from trainer.services.workbench import Workbench

# Reading speed the length is held to (common practice for silent reading of plain text is 200 to
# 250 words a minute; no source), and the time for the whole [s].
WORDS_PER_MINUTE, READ_IN_S = 200.0, 90.0
NO_PREDICTION = "You made none."
NO_RUN = "No image was made, so there is nothing to move."
NO_TUBE = "This unit's file names no tube, so no dose can be estimated."
ESTIMATE = "Estimates for learning; no patient's dose or risk."


@dataclass(frozen=True, slots=True)
class Debrief:
    """Everything a debrief shows of a finished attempt.

    ``best`` holds one entry for each run that counts; ``worked`` the setups of the shipped
    solution's runs, empty where there is none that fits the case as it is. ``passed`` goes with
    the headline; ``compared`` is None without a prediction.
    """

    headline: str
    passed: bool
    score: Score
    facts: tuple[Fact, ...]
    aim: str
    movement: Movement | None
    best: tuple[Best, ...]
    worked: tuple[Setup, ...]
    prediction: Prediction | None
    compared: Compared | None
    dose: str
    course: tuple[Moment, ...]


class Section(NamedTuple):
    """A title and the lines below it."""

    title: str
    lines: tuple[str, ...]


def debrief(state: AppointmentState, bench: Workbench, worked: tuple[Setup, ...] = ()) -> Debrief:
    """The debrief of an attempt, with `worked_setups` to compare with if wanted.

    Takes up to a second, most of it for advice.
    """
    head, found, result = bench.meshes.head, ending(state), score(state)
    facts, prediction = facts_of(state), prediction_of(state)
    every = [best_of_run(state, head, run) for run in counted_runs(state)]
    return Debrief(
        headline=headline(found),
        passed=found.passed,
        score=result,
        facts=facts[:TOLD_FACTS],
        aim=aim_of(facts, state.help),
        movement=helpful_movement(state, head),
        best=tuple(b for b in every if b is not None),
        worked=worked,
        prediction=prediction,
        compared=compare(prediction, result) if prediction is not None else None,
        dose=dose_line(state),
        course=course_of(state),
    )


def worked_solution(bench: Workbench) -> AppointmentState | None:
    """The state after the case's shipped solution; None where none fits the case as it is."""
    listed = solution_files().get(bench.case.id)
    if listed is None or not log_of(listed).exists():
        return None
    try:
        done = replay_file(log_of(listed), bench)
    except TrainerError:
        return None
    return done.state if done.fault is None else None


def worked_setups(bench: Workbench) -> tuple[Setup, ...]:
    """The setups of the runs in the case's shipped solution, empty where none fits the case."""
    state = worked_solution(bench)
    return tuple(r.conditions.setup for r in counted_runs(state)) if state is not None else ()


def worked_course(bench: Workbench) -> tuple[Moment, ...]:
    """The course of the case's shipped solution, empty where none fits the case."""
    state = worked_solution(bench)
    return course_of(state) if state is not None else ()


def dose_line(state: AppointmentState) -> str:
    """What the whole attempt cost, beside the range published for fields of that class."""
    found = ending(state)
    if not found.exposures:
        return "None was used."
    runs = [e.use for e in found.exposures if not e.use.exposure.kind.is_scout]
    scouts = len(found.exposures) - len(runs)
    used = f"{_number(scouts, 'scout')} and {_number(len(runs), 'run')}"
    if found.dose is None:
        return f"{used}. {NO_TUBE}"
    field = state.context.unit.field((runs or [found.exposures[-1].use])[-1].field)
    group = age_group(state.context.age_years)
    if field.layer is None:
        size = field_class(field)
        known, what = published_dose(size, group), f"scan with a {size} field"
    else:
        known, what = panoramic_dose(group), "panoramic picture"
    low, high = (two_digits(v) for v in (found.dose.low_usv, found.dose.high_usv))
    who = "children" if group.value == "child" else "adults"
    return (
        f"{used} together: about {low} to {high} µSv. Published for one {what}, {who}: "
        f"{known.low:g} to {known.high:g} µSv ({known.source}). "
        f"{ESTIMATE}"
    )


def sections(found: Debrief) -> tuple[Section, ...]:
    """The words of a debrief, in the order they are read."""
    return (
        Section("Result", tuple(_result(found))),
        Section("Points by block", tuple(_blocks(found.score))),
        Section("Your prediction", tuple(_prediction(found))),
        Section("Three facts", tuple(f.sentence for f in found.facts)),
        Section("One aim", (found.aim,)),
        Section("The movement that would have helped", (movement_line(found),)),
        Section("Radiation", (found.dose,)),
        Section("", (SHORT_CAUTION,)),
    )


def debrief_text(found: Debrief) -> str:
    """The debrief for reading."""
    parts = []
    for title, lines in sections(found):
        parts += [title] if title else []
        parts += [f"  {line}" for line in lines] if title else list(lines)
        parts.append("")
    return "\n".join(parts).strip()


def reading_s(text: str) -> float:
    """How long the text takes to read [s], at `WORDS_PER_MINUTE`."""
    return 60.0 * len(text.split()) / WORDS_PER_MINUTE


def critical_line(result: Score) -> str:
    """Whether critical items failed; it stands beside the points and is never counted into them."""
    number = len({f.item for f in result.critical})
    if not number:
        return "Critical items: none failed."
    what = "One critical item" if number == 1 else f"{number} critical items"
    return f"{what} failed: not yet, whatever the points."


def points_line(result: Score) -> str:
    """The points, and the mark to be reached."""
    return f"{result.percent:g} of 100 points; the mark is {result.mastery_percent:g}."


def movement_line(found: Debrief) -> str:
    """What would have helped, in one or two sentences."""
    return found.movement.sentence if found.movement is not None else NO_RUN


def _result(found: Debrief) -> Iterator[str]:
    result = found.score
    yield found.headline
    yield critical_line(result)
    yield points_line(result)
    hints = f", {_number(result.hints, 'hint')}" if result.help is HelpLevel.ON_REQUEST else ""
    yield f"Help: {HELP_WORDS[result.help]}{hints}."


def _blocks(result: Score) -> Iterator[str]:
    for block in result.blocks:
        name = sentence_start(spoken(block.block))
        if block.items:
            yield f"{name}: {round(block.weight * block.earned, 1):g} of {block.weight}"
        else:
            yield f"{name}: did not apply"


def _prediction(found: Debrief) -> Iterator[str]:
    said, came = found.prediction, found.compared
    if said is None or came is None:
        yield NO_PREDICTION
        return
    yield f"Points: you said {said.percent}, it is {found.score.percent:g}."
    if came.asked:
        yield f"Inside or cut: {came.right} of {came.asked} right."
    if came.acceptable_right is not None:
        words = "Answers the question: you said {}, it {}."
        yes = found.score.acceptable
        yield words.format("yes" if said.acceptable else "no", "does" if yes else "does not")


def _number(count: int, name: str) -> str:
    return f"{count} {name}" if count == 1 else f"{count} {name}s"

"""What the rows of a score look at, found once: steps, slips, runs that count, placements."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import NamedTuple

from trainer.engine.appointment.checklist import StepReport, checklist
from trainer.engine.appointment.checklist_marks import Mark
from trainer.engine.appointment.checklist_unit import looked
from trainer.engine.appointment.outcome import FoundSlip, slips_of_appointment
from trainer.engine.appointment.result import (
    counted_runs,
    held_structures,
    is_rightly_withheld,
)
from trainer.engine.appointment.state import AppointmentState
from trainer.engine.appointment.tolerance import tolerance_of
from trainer.engine.placement import Placement
from trainer.models.appointment import Run
from trainer.models.appointment_words import Done, View
from trainer.models.learning import Tolerance
from trainer.models.slips import SlipCode

# What a step earns: own working values. Late is worth as little as half done.
CREDITS = {Done.DONE: 1.0, Done.PARTLY: 0.5, Done.LATE: 0.5, Done.SKIPPED: 0.0}
NOBODY = "Nobody was exposed."


class Measure(NamedTuple):
    """What one row found: a value against its limit, and the share of its points it earns."""

    value: float
    limit: float
    unit: str
    share: float
    sentence: str


@dataclass(frozen=True, slots=True)
class Basis:
    """An attempt, looked over.

    ``placements`` are those of the runs that count. ``stopped``: rightly, so that what belongs to
    an exposure does not apply.
    """

    state: AppointmentState
    tolerance: Tolerance
    steps: Mapping[int, StepReport]
    slips: tuple[FoundSlip, ...]
    runs: tuple[Run, ...]
    placements: tuple[Placement, ...]
    held: frozenset[str]
    stopped: bool

    def found(self, *codes: SlipCode) -> tuple[FoundSlip, ...]:
        """Slips of these codes."""
        return tuple(s for s in self.slips if s.slip.code in codes)


# A row's question to an attempt; None when it does not apply to it.
Finder = Callable[[Basis], Measure | None]


def basis_of(state: AppointmentState) -> Basis:
    """The attempt, looked over."""
    runs = counted_runs(state)
    return Basis(
        state=state,
        tolerance=tolerance_of(state),
        steps={s.number: s for s in checklist(state)},
        slips=slips_of_appointment(state),
        runs=runs,
        placements=tuple(state.context.placing(r.conditions.setup) for r in runs),
        held=held_structures(state),
        stopped=is_rightly_withheld(state),
    )


def step(number: int) -> Finder:
    """What the step of that number of the checklist earns."""

    def find(basis: Basis) -> Measure | None:
        report = basis.steps[number]
        return credited(Mark(report.done, report.sentence))

    return find


def looked_from(view: View) -> Finder:
    """What looking from there earns. How the head then stood has rows of its own."""

    def find(basis: Basis) -> Measure | None:
        return None if basis.stopped else credited(looked(basis.state, view))

    return find


def credited(mark: Mark) -> Measure | None:
    """What a mark earns; nothing to measure when the step was not needed."""
    if mark.done is Done.NOT_NEEDED:
        return None
    credit = CREDITS[mark.done]
    return Measure(credit, 1.0, "", credit, mark.sentence or "Done.")


def without_slips(*codes: SlipCode) -> Finder:
    """All of it when no run that counts has such a slip, else nothing."""

    def find(basis: Basis) -> Measure | None:
        if basis.stopped:
            return None
        if not basis.runs:
            return Measure(0.0, 1.0, "", 0.0, NOBODY)
        wrong = basis.found(*codes)
        if wrong:
            return Measure(0.0, 1.0, "", 0.0, wrong[0].slip.found)
        return Measure(1.0, 1.0, "", 1.0, "As it should be.")

    return find

"""The score of an attempt: points by blocks, beside what no points make up for. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from trainer.engine.appointment.critical import CriticalFail, critical_fails
from trainer.engine.appointment.outcome import repeats_needlessly
from trainer.engine.appointment.result import answers, is_completed, is_withheld
from trainer.engine.appointment.state import AppointmentState
from trainer.engine.appointment.verdict import judged_runs, spoiling_causes
from trainer.engine.judgement.basis import Basis, Measure, basis_of
from trainer.engine.judgement.table import ROWS, Row
from trainer.engine.judgement.tasks import task_of
from trainer.models.appointment_events import Finished, HintGiven
from trainer.models.appointment_words import RetakeCause, ScoutKind
from trainer.models.learning import Block, HelpLevel, Task


@dataclass(frozen=True, slots=True)
class ScoreItem:
    """One row of a score: what was found, and the points it earned of ``most``.

    ``value`` against ``limit`` in ``unit`` (empty for a step: 1 done, 0.5 in part, 0 not done).
    """

    key: str
    name: str
    value: float
    limit: float
    unit: str
    points: float
    most: float
    sentence: str


@dataclass(frozen=True, slots=True)
class ScoreBlock:
    """One part of a score: its weight and the share of it that was earned, 0 to 1.

    A block to which nothing applied has no items, earns nothing and is left out of the percent.
    """

    block: Block
    weight: int
    earned: float
    items: tuple[ScoreItem, ...]


@dataclass(frozen=True, slots=True)
class Score:
    """What an attempt earned.

    Attributes
    ----------
    task, help, hints
        The kind of target, how much the attempt was helped, and hints asked for.
    blocks : tuple of ScoreBlock
        In the order of `Block`.
    percent : float
        Points of all blocks that applied, 0 to 100, to one decimal.
    mastery_percent : float
        The local rules' mark.
    critical : tuple of CriticalFail
        Critical items that count and failed: no points make up for one.
    needless_retake : bool
        A run repeated what had been answered.
    finished, completed, withheld : bool
        Whether it is over; whether the examination answers its question (or was rightly not
        carried out); whether it was stopped before any radiation.
    acceptable : bool or None
        Whether the images answer the question; ``None`` without an image.
    spoiled_by : tuple of RetakeCause
        The causes for which they do not, those of all images that count together.
    required, held : of str
        Ids of the required structures, in the case's order, and of those held with their margins.
    scout_pairs, runs, duration_s
        How many pairs of scouts and runs were made, and how long it took: shown, never scored.
    """

    task: Task
    help: HelpLevel
    hints: int
    blocks: tuple[ScoreBlock, ...]
    percent: float
    mastery_percent: float
    critical: tuple[CriticalFail, ...]
    needless_retake: bool
    finished: bool
    completed: bool
    withheld: bool
    acceptable: bool | None
    spoiled_by: tuple[RetakeCause, ...]
    required: tuple[str, ...]
    held: frozenset[str]
    scout_pairs: int
    runs: int
    duration_s: float

    @property
    def mastered(self) -> bool:
        """Finished, completed, nothing critical failed, and the mark is reached.

        Coverage and stillness are pass or fail (training reference, 2.3), so an examination that
        does not answer its question is not mastered however many points it has.
        """
        return (
            self.finished
            and self.completed
            and not self.critical
            and self.percent >= self.mastery_percent
        )

    @property
    def success(self) -> bool:
        """What counts for a learning curve: mastered without help and without a needless repeat."""
        return self.mastered and not self.needless_retake and self.help.is_unassisted


def score(state: AppointmentState) -> Score:
    """The score of an attempt as far as it has come."""
    basis, rules = basis_of(state), state.context.rules
    blocks = tuple(_block(basis, block, rules.block_weights.of(block)) for block in Block)
    applied = sum(b.weight for b in blocks if b.items)
    points = sum(b.weight * b.earned for b in blocks)
    finished = state.first(Finished)
    kinds = [s.kind for s in state.scouts]
    spoiling = {c for run in basis.runs for c in spoiling_causes(state, run)}
    return Score(
        task=task_of(state.context.case),
        help=state.help,
        hints=len(state.times(HintGiven)),
        blocks=blocks,
        percent=round(100.0 * points / applied, 1) if applied else 0.0,
        mastery_percent=rules.mastery_percent,
        critical=critical_fails(state),
        needless_retake=any(repeats_needlessly(state, run) for run in judged_runs(state)),
        finished=state.finished,
        completed=is_completed(state),
        withheld=is_withheld(state),
        acceptable=answers(state) if state.runs else None,
        spoiled_by=tuple(c for c in RetakeCause if c in spoiling),
        required=tuple(r.structure for r in state.context.case.required),
        held=basis.held,
        scout_pairs=max(kinds.count(kind) for kind in ScoutKind),
        runs=len(state.runs),
        duration_s=round(state.at_s if finished is None else finished, 3),
    )


def _block(basis: Basis, block: Block, weight: int) -> ScoreBlock:
    """One block: its weight is shared among the rows that apply."""
    rows = [(row, row.find(basis)) for row in ROWS if row.block is block]
    found = [(row, measure) for row, measure in rows if measure is not None]
    whole = sum(row.counts for row, _ in found)
    items = tuple(_item(row, measure, weight * row.counts / whole) for row, measure in found)
    earned = sum(row.counts * measure.share for row, measure in found)
    return ScoreBlock(block, weight, earned / whole if whole else 0.0, items)


def _item(row: Row, measure: Measure, most: float) -> ScoreItem:
    return ScoreItem(
        row.key,
        row.name,
        measure.value,
        measure.limit,
        measure.unit,
        most * measure.share,
        most,
        measure.sentence,
    )

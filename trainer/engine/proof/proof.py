"""The whole proof: can the case be solved, does it start wrong, does its field fit, how hard."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from trainer.engine.collisions import BodyPoints, clearance
from trainer.engine.placement import chain_of
from trainer.engine.proof.best import FieldFit, best_setup, clear_setup, field_fits
from trainer.engine.proof.faults import (
    arches_fault,
    hit_fault,
    hold_fault,
    order_faults,
    start_fault,
    strain_fault,
    too_near,
)
from trainer.engine.proof.limits import at_ease, limits_of, ordered, ordered_setup
from trainer.engine.proof.play import Play, free_play
from trainer.engine.proof.scatter import PRESETS, Scatter, fitting, normal_numbers
from trainer.engine.proof.success import Difficulty, Success, difficulty_of, success
from trainer.engine.proof.target import Target, least_slack, outline, target_of
from trainer.engine.strain import Strain
from trainer.errors import TrainerError
from trainer.models.clearance import Clearance
from trainer.models.device import Unit
from trainer.models.frames import Side
from trainer.models.scenario import Case
from trainer.models.setup import Setup
from trainer.models.structures import Head

DRAWS, SEED = 2000, 1
SIDES = (Side.LEFT, Side.RIGHT)


@dataclass(frozen=True, slots=True)
class Proof:
    """What was found out about a case.

    Attributes
    ----------
    case_id, unit_id : str
        Which case, on which unit.
    setups : tuple of Setup
        The best setup for each run of the examination.
    slack_mm : float
        Least distance over what is asked in them; negative: not held.
    start_slack_mm : float
        The same in the start; negative as it should be.
    strain : Strain
        How the person stands or sits in the best setup.
    clearances : tuple of Clearance or None
        What the moving parts come near to, for each run.
    plays : tuple of tuple of Play
        Free play of every control, for each run; empty when nothing is held.
    fits : tuple of FieldFit
        Every field of the unit, the smallest first; for several runs the run that fits worst.
    successes : tuple of Success
        Scattered placings about the best setups, for each scatter asked; empty when not held.
    faults : tuple of str
        Why the case is no fair exercise; empty when it is proved.
    """

    case_id: str
    unit_id: str
    setups: tuple[Setup, ...]
    slack_mm: float
    start_slack_mm: float
    strain: Strain
    clearances: tuple[Clearance | None, ...]
    plays: tuple[tuple[Play, ...], ...]
    fits: tuple[FieldFit, ...]
    successes: tuple[Success, ...]
    faults: tuple[str, ...]

    @property
    def proved(self) -> bool:
        """Whether the case can be solved, starts wrong, and its field fits."""
        return not self.faults

    @property
    def smallest(self) -> FieldFit | None:
        """The smallest field that would hold everything; ``None`` when none does."""
        return next((fit for fit in self.fits if fit.best.holds), None)

    @property
    def difficulty(self) -> Difficulty | None:
        """How hard the case is by the first scatter; ``None`` when nothing is held."""
        return difficulty_of(self.successes[0].probability) if self.successes else None


def prove(
    case: Case,
    head: Head,
    unit: Unit,
    *,
    body: BodyPoints | None = None,
    scatters: Sequence[Scatter] = PRESETS,
    draws: int = DRAWS,
    seed: int = SEED,
    go_on: Callable[[], None] = lambda: None,
) -> Proof:
    """The proof of a case.

    ``body``: for what the moving parts could hit. ``go_on`` is called between the steps; it may
    raise to end the work.

    Raises
    ------
    TrainerError
        If the number of draws is below 1, or the case takes several fields and its structures do
        not part by side.
    NotFound
        If the head lacks a required structure.
    """
    if draws < 1:
        raise TrainerError(f"draws {draws}: must be 1 or more")
    limits = limits_of(case, unit)
    meant = ordered_setup(case, limits)
    targets = run_targets(case, head, unit)
    start_slack = min(least_slack(t, case.start) for t in targets)
    impossible = order_faults(meant, unit)
    if impossible:
        none = (), (), (), ()
        return Proof(case.id, unit.id, (), -math.inf, start_slack, Strain.NONE, *none, impossible)

    def near(setup: Setup) -> Clearance | None:
        return clearance(body, unit, chain_of(head, unit, setup)) if body is not None else None

    outlines = [outline(t) for t in targets]
    best = []
    for target in outlines:
        go_on()
        found = best_setup(case, target, meant, limits)
        best.append(clear_setup(target, found, limits, lambda s: too_near(near(s))))
    setups, strains = zip(*(at_ease(case, b.setup, limits) for b in best), strict=True)
    strain = next((s for s in strains if s is not Strain.NONE), Strain.NONE)
    go_on()
    fits = _worst_fits([field_fits(case, t, meant, limits) for t in outlines])
    slack_mm = min(b.slack_mm for b in best)
    clearances = tuple(map(near, setups))
    faults = (
        start_fault(start_slack),
        hold_fault(case, slack_mm, outlines, meant, limits, fits),
        arches_fault(case, meant, limits),
        strain_fault(strain),
        *map(hit_fault, clearances),
    )
    plays, successes = [], []
    if all(b.holds for b in best):
        for target, setup in zip(outlines, setups, strict=True):
            go_on()
            plays.append(free_play(target, setup, limits))
        normal = normal_numbers(draws, seed)
        for scatter in fitting(scatters, unit):
            go_on()
            successes.append(success(targets, setups, scatter, normal))
    return Proof(
        case_id=case.id,
        unit_id=unit.id,
        setups=setups,
        slack_mm=slack_mm,
        start_slack_mm=start_slack,
        strain=strain,
        clearances=clearances,
        plays=tuple(plays),
        fits=fits,
        successes=tuple(successes),
        faults=tuple(f for f in faults if f),
    )


def run_targets(case: Case, head: Head, unit: Unit) -> tuple[Target, ...]:
    """What each run of the examination has to hold: all of it, or one side after the other.

    Raises
    ------
    TrainerError
        If the case takes several fields and its structures do not part by side.
    """
    order = ordered(case)
    if order is None or order.runs == 1:
        return (target_of(case, head, unit),)
    names = [[r.structure for r in case.required if head.structure(r.structure).side is side]
             for side in SIDES]  # fmt: skip
    if order.runs != len(SIDES) or not all(names) or sum(map(len, names)) != len(case.required):
        raise TrainerError(
            f"case {case.id} takes {order.runs} fields, and its required structures do not part "
            "into those on the left and those on the right: it cannot be proved. Let it take one "
            "field, or two with structures of both sides and none in the middle."
        )
    return tuple(target_of(case, head, unit, only) for only in names)


def _worst_fits(by_run: Sequence[tuple[FieldFit, ...]]) -> tuple[FieldFit, ...]:
    """For each field the run that fits worst."""
    return tuple(min(same, key=lambda fit: fit.best.slack_mm) for same in zip(*by_run, strict=True))

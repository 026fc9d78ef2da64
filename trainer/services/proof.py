"""Proving cases: one, or a library in parallel through any standard executor.

A sweep sends one job a case to a `concurrent.futures.Executor`: threads, processes, or what a
cluster's library offers under that interface. A job takes plain data and opens the case itself, so
the cases' files must be where it runs. The result does not depend on who did the work.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import FIRST_COMPLETED, Executor, Future, wait
from dataclasses import dataclass

from trainer.engine.collisions import body_points
from trainer.engine.proof.proof import DRAWS, SEED, Proof, prove
from trainer.engine.proof.scatter import PRESETS, Scatter
from trainer.errors import NotFound, NotReadable, NotValid, TrainerError
from trainer.services.workbench import Workbench, open_workbench

# How often a sweep looks whether it was called off [s].
LOOK_S = 0.2


@dataclass(frozen=True, slots=True)
class ProofOrder:
    """How cases are to be proved: the scatters, the number of draws, and the seed of chance."""

    scatters: tuple[Scatter, ...] = PRESETS
    draws: int = DRAWS
    seed: int = SEED


@dataclass(frozen=True, slots=True)
class ProvedCase:
    """A case and its proof, or why there is none.

    ``name`` is what was asked for; ``level`` is 0 and ``title`` empty when the case cannot be
    opened. ``error``: what went wrong; ``missing``: because a file or name could not be found or
    read.
    """

    name: str
    level: int = 0
    title: str = ""
    proof: Proof | None = None
    error: str = ""
    missing: bool = False

    @property
    def proved(self) -> bool:
        """Whether there is a proof without faults."""
        return self.proof is not None and self.proof.proved


class CalledOff(TrainerError):
    """The work was ended on request; nothing was written."""


def prove_bench(
    bench: Workbench, order: ProofOrder, go_on: Callable[[], None] = lambda: None
) -> Proof:
    """The proof of an open case; ``go_on`` and errors as in `engine.proof.proof.prove`."""
    return prove(
        bench.case,
        bench.meshes.head,
        bench.unit,
        body=body_points(bench.meshes),
        scatters=order.scatters,
        draws=order.draws,
        seed=order.seed,
        go_on=go_on,
    )


def prove_named(
    name: str, order: ProofOrder, go_on: Callable[[], None] = lambda: None
) -> ProvedCase:
    """The proof of a case by its name or file; what goes wrong is told in the result.

    Raises
    ------
    CalledOff
        If ``go_on`` raises it.
    """
    try:
        bench = open_workbench(name)
    except TrainerError as error:
        missing = isinstance(error, NotFound | NotReadable)
        return ProvedCase(name, error=_words(error), missing=missing)
    title = bench.case.text(bench.case.title)
    try:
        return ProvedCase(name, bench.case.level, title, prove_bench(bench, order, go_on))
    except CalledOff:
        raise
    except TrainerError as error:
        return ProvedCase(name, bench.case.level, title, error=_words(error))


def prove_library(
    names: Sequence[str],
    order: ProofOrder,
    executor: Executor | None = None,
    tell: Callable[[int, int], None] = lambda done, of: None,
    called_off: Callable[[], bool] = lambda: False,
) -> tuple[ProvedCase, ...]:
    """The proofs of cases, in the order of their names as given.

    Without an executor the cases are proved here, one after the other. ``tell`` is called with how
    many are done, of how many.

    Raises
    ------
    CalledOff
        If ``called_off`` turned true before the end; jobs not begun are taken back.
    """

    def go_on() -> None:
        if called_off():
            raise CalledOff("The proof was called off; nothing was written.")

    tell(0, len(names))
    if executor is None:
        found = []
        for done, name in enumerate(names, 1):
            go_on()
            found.append(prove_named(name, order, go_on))
            tell(done, len(names))
        return tuple(found)
    jobs = [executor.submit(prove_named, name, order) for name in names]
    pending: set[Future[ProvedCase]] = set(jobs)
    try:
        while pending:
            go_on()
            done_now, pending = wait(pending, LOOK_S, FIRST_COMPLETED)
            if done_now:
                tell(len(jobs) - len(pending), len(jobs))
    finally:
        for job in pending:
            job.cancel()
    return tuple(job.result() for job in jobs)


def _words(error: TrainerError) -> str:
    """The message of an error; those of a missing thing keep it in their first argument."""
    if isinstance(error, NotValid):
        return str(error)
    return str(error.args[0] if error.args else error)

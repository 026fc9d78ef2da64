"""Between the widgets and the engine: input becomes commands, events become signals."""

from __future__ import annotations

import logging
from collections.abc import Mapping
from dataclasses import replace

from PySide6.QtCore import QObject, QRunnable, QThreadPool, QTimer, Signal

from trainer.app.words import refusal
from trainer.engine.advice import advise
from trainer.engine.collisions import BodyPoints, body_points, clearance
from trainer.engine.criteria import is_well_placed
from trainer.engine.placement import Placement, chain_of, place
from trainer.engine.points import HeadPoints, pack
from trainer.engine.session import (
    BenchState,
    Change,
    Command,
    Redo,
    StartOver,
    Undo,
    open_case,
    step,
)
from trainer.errors import NotAllowedNow, NotValid, TrainerError
from trainer.models.device import Region, Unit
from trainer.models.setup import Setup
from trainer.services.workbench import Workbench

log = logging.getLogger("trainer.app")

# After this long without a change a movement of the hand has ended.
REST_MS = 250


class SessionController(QObject):
    """One case on the bench, and what follows from every change of its setup.

    Signals
    -------
    case_opened : Workbench
        A case lies on the bench; ``setup_changed`` and ``placement_changed`` follow.
    setup_changed : Setup
        The setup that holds now. Also sent when a change was refused, so that widgets go back.
    placement_changed : Placement
        The placement of that setup.
    rested : no value
        Nothing has been changed for `REST_MS`.
    advice_ready : tuple of Advice
        What to change, for the setup at rest; empty when all is inside.
    steps_changed : bool, bool
        Whether there is something to undo, and to redo.
    refused : str
        A sentence on what could not be done; nothing has changed.
    """

    case_opened = Signal(Workbench)
    setup_changed = Signal(Setup)
    placement_changed = Signal(Placement)
    rested = Signal()
    advice_ready = Signal(tuple)
    steps_changed = Signal(bool, bool)
    refused = Signal(str)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.bench: Workbench | None = None
        self.state: BenchState | None = None
        self.placement: Placement | None = None
        self._points: HeadPoints | None = None
        self._body: BodyPoints | None = None
        self._rest = QTimer(self)
        self._rest.setSingleShot(True)
        self._rest.setInterval(REST_MS)
        self._rest.timeout.connect(self._on_rest)
        self._pool = QThreadPool(self)
        self._pool.setMaxThreadCount(1)
        self._answers = _Answers(self)
        self._answers.found.connect(self._on_advice)
        self._asked = 0

    @property
    def moving(self) -> bool:
        """Whether a movement of the hand is going on."""
        return self._rest.isActive()

    def open(self, bench: Workbench) -> None:
        """Put a case on the bench in its starting setup.

        Raises
        ------
        NotValid
            If the unit cannot do the starting setup; the case before stays.
        """
        state = open_case(bench.case, bench.unit)
        # the live result needs only what the case names
        named = dict.fromkeys([*(r.structure for r in bench.case.required), *bench.case.wanted])
        self._points = pack(bench.meshes.head.structure(key) for key in named)
        self._body = body_points(bench.meshes)
        self.bench, self.state = bench, state
        self.case_opened.emit(bench)
        self._after_change(moving=False)

    def change(self, values: Mapping[str, object]) -> None:
        """Set controls; changes of the same ones without a rest between are undone in one go."""
        if self.state is None:
            return
        whole = complete(values, self.state.setup, self.state.unit)
        self._do(Change(whole, joins_last=self.moving), moving=True)

    def take(self, values: Mapping[str, object]) -> None:
        """Set controls as one step of its own, such as an advice that is followed."""
        self._do(Change(dict(values)), moving=False)

    def start_over(self) -> None:
        """Back to the case's starting setup."""
        self._do(StartOver(), moving=False)

    def undo(self) -> None:
        """Back to the setup before."""
        self._do(Undo(), moving=False)

    def redo(self) -> None:
        """On to the setup that was undone."""
        self._do(Redo(), moving=False)

    def close(self) -> None:
        """Stop timers and wait for the work that is going on."""
        self._rest.stop()
        self._asked += 1
        self._pool.clear()
        self._pool.waitForDone()

    def _do(self, command: Command, moving: bool) -> None:
        if self.state is None:
            return
        try:
            done = step(self.state, command)
        except NotAllowedNow as error:
            self.refused.emit(str(error))
            return
        except NotValid as error:
            values = command.values if isinstance(command, Change) else {}
            says = refusal(error.faults, values, self.state.unit)
            self.refused.emit(f"The unit cannot do that. {says}. Nothing was changed.")
            self.setup_changed.emit(self.state.setup)
            return
        self.state = done.state
        if done.events:
            self._after_change(moving)

    def _after_change(self, moving: bool) -> None:
        assert self.state is not None
        assert self.bench is not None
        assert self._points is not None
        assert self._body is not None
        self._asked += 1
        if moving:
            self._rest.start()
        else:
            self._rest.stop()
        bench = self.bench
        setup, head = self.state.setup, bench.meshes.head
        placement = place(bench.case, head, self._points, bench.unit, setup)
        near = clearance(self._body, bench.unit, chain_of(head, bench.unit, setup))
        self.placement = replace(placement, clearance=near)
        self.setup_changed.emit(self.state.setup)
        self.placement_changed.emit(self.placement)
        self.steps_changed.emit(bool(self.state.earlier), bool(self.state.later))
        if not moving:
            self._on_rest()

    def _on_rest(self) -> None:
        self.rested.emit()
        bench = self.bench
        if bench is None or self.state is None or self.placement is None:
            return
        if is_well_placed(bench.case, self.placement):
            self.advice_ready.emit(())
            return
        self._pool.clear()
        self._pool.start(_AskAdvice(self._answers, self._asked, bench, self.state.setup))

    def _on_advice(self, asked: int, advice: tuple[object, ...]) -> None:
        if asked == self._asked:  # else the setup has changed since
            self.advice_ready.emit(advice)


def complete(values: Mapping[str, object], setup: Setup, unit: Unit) -> dict[str, object]:
    """The values, and with a new region a field that serves it if the present one does not."""
    found = dict(values)
    region, field_id = found.get("region"), str(found.get("field", setup.field))
    if isinstance(region, Region) and region not in unit.field(field_id).regions:
        serving = [f for f in unit.fields if region in f.regions]
        if serving:
            found["field"] = min(serving, key=lambda f: f.volume_mm3).id
    return found


class _Answers(QObject):
    found = Signal(int, tuple)


class _AskAdvice(QRunnable):
    """Works out the advice off the window's thread; touches no widget."""

    def __init__(self, answers: _Answers, asked: int, bench: Workbench, setup: Setup) -> None:
        super().__init__()
        self._answers, self._asked, self._bench, self._setup = answers, asked, bench, setup

    def run(self) -> None:
        bench = self._bench
        try:
            advice = advise(bench.case, bench.meshes.head, bench.unit, self._setup)
        except TrainerError:
            log.exception("no advice")
            advice = ()
        self._answers.found.emit(self._asked, advice)

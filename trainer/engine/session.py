"""The bench: one case, one setup that changes, a way back. A pure step from state to state."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from trainer.errors import NotAllowedNow
from trainer.models.device import Unit
from trainer.models.scenario import Case
from trainer.models.setup import Setup, require_valid


@dataclass(frozen=True, slots=True)
class BenchState:
    """A case on the bench. ``earlier`` and ``later`` are the setups to go back and on to."""

    case: Case
    unit: Unit
    setup: Setup
    earlier: tuple[Setup, ...] = ()
    later: tuple[Setup, ...] = ()
    last_keys: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Change:
    """Set some controls. ``joins_last``: part of one movement of the hand, undone in one go."""

    values: Mapping[str, object]
    joins_last: bool = False


@dataclass(frozen=True, slots=True)
class StartOver:
    """Back to the case's starting setup; can be undone."""


@dataclass(frozen=True, slots=True)
class Undo:
    """Back to the setup before."""


@dataclass(frozen=True, slots=True)
class Redo:
    """On to the setup that was undone."""


Command = Change | StartOver | Undo | Redo


@dataclass(frozen=True, slots=True)
class SetupChanged:
    """The setup is another one now; ``keys`` names the controls that differ."""

    setup: Setup
    keys: frozenset[str]


@dataclass(frozen=True, slots=True)
class Step:
    """What a command led to."""

    state: BenchState
    events: tuple[SetupChanged, ...] = field(default=())


def open_case(case: Case, unit: Unit) -> BenchState:
    """The case on the bench in its starting setup.

    Raises
    ------
    NotValid
        If the unit cannot do the starting setup.
    """
    require_valid(case.start, unit)
    return BenchState(case, unit, case.start)


def step(state: BenchState, command: Command) -> Step:
    """The state after a command, and what changed.

    Raises
    ------
    NotValid
        If the unit cannot do the new setup; the state stays as it was.
    NotAllowedNow
        If there is nothing to undo or redo.
    """
    match command:
        case Change(values, joins_last):
            return _go_to(state, state.setup.with_values(values), frozenset(values), joins_last)
        case StartOver():
            return _go_to(state, state.case.start, frozenset(), False)
        case Undo():
            if not state.earlier:
                raise NotAllowedNow("There is nothing to undo.")
            back = state.earlier[-1]
            new = replace(
                state,
                setup=back,
                earlier=state.earlier[:-1],
                later=(state.setup, *state.later),
                last_keys=frozenset(),
            )
            return Step(new, (_changed(state.setup, back),))
        case Redo():
            if not state.later:
                raise NotAllowedNow("There is nothing to redo.")
            on = state.later[0]
            new = replace(
                state,
                setup=on,
                earlier=(*state.earlier, state.setup),
                later=state.later[1:],
                last_keys=frozenset(),
            )
            return Step(new, (_changed(state.setup, on),))


def _go_to(state: BenchState, setup: Setup, keys: frozenset[str], joins_last: bool) -> Step:
    require_valid(setup, state.unit)
    if setup == state.setup:
        return Step(state)
    joins = joins_last and bool(keys) and keys == state.last_keys
    earlier = state.earlier if joins else (*state.earlier, state.setup)
    new = replace(state, setup=setup, earlier=earlier, later=(), last_keys=keys)
    return Step(new, (_changed(state.setup, setup),))


def _changed(before: Setup, after: Setup) -> SetupChanged:
    a, b = before.as_dict(), after.as_dict()
    return SetupChanged(after, frozenset(k for k in a if a[k] != b[k]))

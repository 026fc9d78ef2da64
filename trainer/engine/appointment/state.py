"""The state of an appointment, what stays fixed in it, and small questions to it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any, Protocol

from trainer.engine.placement import Placement
from trainer.engine.stitched import FEWEST_PARTS, MOST_PARTS, StitchedPlacement
from trainer.errors import NotAllowedNow, TrainerError
from trainer.models.appointment import (
    ExposureState,
    Logged,
    PersonState,
    RoomState,
    Run,
    Scout,
)
from trainer.models.appointment_commands import Command
from trainer.models.appointment_events import Effect, Event
from trainer.models.appointment_visit import LocalRules, Prescription, Programme, Visit, WornItem
from trainer.models.appointment_words import RunKind, Topic, Trait
from trainer.models.device import Unit
from trainer.models.learning import HelpLevel
from trainer.models.scenario import Case
from trainer.models.setup import Setup, require_valid

# Length of a run where the unit's data do not say: the middle of 6-36 s (BMC Oral Health 2017),
# half of it for a preview. Own working values.
FULL_RUN_S, PREVIEW_RUN_S = 18.0, 9.0


class Placing(Protocol):
    """Setup → placement: `engine.placement.place` with case, head, points and unit filled in.

    It is asked for the same setup again and again, so one that remembers (`functools.lru_cache`)
    saves most of the time; the answers have to be the same with and without.
    """

    def __call__(self, setup: Setup, /) -> Placement:
        """The placement of a setup."""
        ...


def usual_run_s(programme: Programme) -> float:
    """Length of a run where the unit's data do not say [s]."""
    return PREVIEW_RUN_S if programme.run_kind is RunKind.PREVIEW else FULL_RUN_S


@dataclass(frozen=True, slots=True)
class Context:
    """What stays fixed: case, visit, unit, local rules, and how a setup is placed.

    ``run_s`` gives the length of a run for a programme. ``protocols`` are the presets that the
    unit offers; empty: any name is taken. ``stitching`` places the structures in several setups
    together (`engine.stitched.stitch`); without it each has to lie in one of them. ``advising``
    gives the hint for a setup (empty: everything is inside); without it no hint on placing is had.
    """

    case: Case
    visit: Visit
    unit: Unit
    rules: LocalRules
    placing: Placing
    run_s: Callable[[Programme], float] = usual_run_s
    protocols: tuple[str, ...] = ()
    stitching: Callable[[tuple[Setup, ...]], StitchedPlacement] | None = None
    advising: Callable[[Setup], str] | None = None

    @property
    def age_years(self) -> int:
        """Age of the patient."""
        return self.case.subject.person.age_years


def held_by(context: Context, setups: tuple[Setup, ...]) -> frozenset[str]:
    """Required structures that keep their margins in one of the setups, or in all together."""
    found = {s.structure.id for p in map(context.placing, setups) for s in p.required if s.holds}
    if context.stitching is not None and FEWEST_PARTS <= len(setups) <= MOST_PARTS:
        found |= {s.structure.id for s in context.stitching(setups).required if s.holds}
    return frozenset(found)


@dataclass(frozen=True, slots=True)
class AppointmentState:
    """All of an appointment at one moment.

    Attributes
    ----------
    context : Context
        What stays fixed.
    seed : int
        What chance follows from.
    at_s : float
        Time of the last command.
    setup : Setup
        Every control.
    programme, console_person
        What is entered at the console.
    room, exposure
        Parts of the state.
    person : PersonState or None
        Who is in the room.
    authorised : bool
        Whether an entitled person has authorised the exposure.
    clear : bool
        Whether request and order agree, as far as the operator has asked.
    asked : frozenset of Topic
        What the practitioner was asked.
    finished : bool
        The appointment is over.
    log : tuple of Logged
        All events so far.
    help : HelpLevel
        How much the attempt is helped.
    """

    context: Context
    seed: int
    at_s: float
    setup: Setup
    programme: Programme
    console_person: str
    room: RoomState
    exposure: ExposureState
    person: PersonState | None
    authorised: bool
    clear: bool
    asked: frozenset[Topic] = frozenset()
    finished: bool = False
    log: tuple[Logged, ...] = ()
    help: HelpLevel = HelpLevel.NONE

    @property
    def prescription(self) -> Prescription:
        """What is ordered, as far as it has been cleared up."""
        visit = self.context.visit
        return visit.answers.clears if self.clear and visit.answers.clears else self.on_card

    @property
    def on_card(self) -> Prescription:
        """What the card says."""
        return self.context.visit.card.prescription

    @property
    def true_prescription(self) -> Prescription:
        """What the practitioner means, asked or not."""
        return self.context.visit.answers.clears or self.on_card

    @property
    def runs(self) -> tuple[Run, ...]:
        """Runs that are over."""
        return self.exposure.runs

    @property
    def scouts(self) -> tuple[Scout, ...]:
        """Scouts that were taken."""
        return self.exposure.scouts

    @property
    def traits(self) -> frozenset[Trait]:
        """Traits of the person in the room; a namesake has none."""
        visit = self.context.visit
        there = self.person is not None and self.person.id == visit.patient
        return visit.traits if there else frozenset()

    @property
    def worn_items(self) -> tuple[WornItem, ...]:
        """What the person in the room wears."""
        worn = self.person.worn if self.person else ()
        return tuple(i for i in self.context.visit.items if i.id in worn)

    def times(self, *kinds: type[Event], **facts: object) -> list[float]:
        """When events of these kinds happened, of those whose fields have these values."""
        return [
            entry.at_s
            for entry in self.log
            if isinstance(entry.event, kinds)
            and all(getattr(entry.event, key) == value for key, value in facts.items())
        ]

    def first(self, *kinds: type[Event], **facts: object) -> float | None:
        """When such an event first happened, or None."""
        return min(self.times(*kinds, **facts), default=None)

    def last(self, *kinds: type[Event], **facts: object) -> float | None:
        """When such an event last happened, or None."""
        return max(self.times(*kinds, **facts), default=None)

    def told(self, at_s: float, *events: Event) -> AppointmentState:
        """The state with events in its log."""
        return replace(self, log=self.log + tuple(Logged(at_s, e) for e in events))


@dataclass(frozen=True, slots=True)
class Step:
    """What a command led to: the new state, what happened, and what the world is to do."""

    state: AppointmentState
    events: tuple[Event, ...] = ()
    effects: tuple[Effect, ...] = ()


# What each kind of command does.
Handlers = Mapping[type[Command], Callable[[AppointmentState, Any], Step]]


def open_appointment(
    context: Context, seed: int, help: HelpLevel = HelpLevel.NONE
) -> AppointmentState:
    """The appointment before anything is done: the room as the last examination has left it.

    Raises
    ------
    NotValid
        If the unit cannot do the case's starting setup.
    TrainerError
        If the seed is negative.
    """
    if seed < 0:
        raise TrainerError(f"seed {seed}: must be 0 or more")
    visit = context.visit
    start = context.case.start.with_values({"jaw_gap_mm": 0.0})
    require_valid(start, context.unit)
    left_on = visit.supports_left_on
    return AppointmentState(
        context=context,
        seed=seed,
        at_s=0.0,
        setup=start,
        programme=visit.programme_left_over,
        console_person=visit.console_left_over,
        room=RoomState(supports=left_on, companion_inside=False),
        exposure=ExposureState(),
        person=None,
        authorised=visit.card.authorised,
        clear=visit.answers.clears is None,
        help=help,
    )


def spoken(word: str) -> str:
    """A word of the closed lists as it is said: ``forehead-rest`` is "forehead rest"."""
    return word.replace("-", " ").replace("_", " ")


def somebody(state: AppointmentState) -> PersonState:
    """The person in the room.

    Raises
    ------
    NotAllowedNow
        If nobody is there.
    """
    if state.person is None:
        raise NotAllowedNow("Nobody is in the room; call the person first.")
    return state.person


def at_the_unit(state: AppointmentState) -> PersonState:
    """The person who has taken their place at the unit.

    Raises
    ------
    NotAllowedNow
        If nobody has.
    """
    person = somebody(state)
    if person.stance is None:
        raise NotAllowedNow("Nobody stands or sits at the unit; have the person take their place.")
    return person


def inside_the_room(state: AppointmentState) -> None:
    """Return when the operator is in the room.

    Raises
    ------
    NotAllowedNow
        If the operator is outside.
    """
    if state.room.operator_outside:
        raise NotAllowedNow("You are outside at the switch; enter the room first.")


def no_longer_ready(state: AppointmentState) -> AppointmentState:
    """The state with the unit out of its ready state: something has moved."""
    return replace(state, room=replace(state.room, ready_from_s=None))

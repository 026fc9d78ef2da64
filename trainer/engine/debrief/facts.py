"""Facts of an attempt, the most consequential first, and the one aim that follows from them.

The order: critical items, coverage, motion, other slips, steps left out; and where nothing of that
happened, what went well. Facts only, each with a number; no praise or blame of the person.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import IntEnum

from trainer.engine.appointment.checklist import checklist
from trainer.engine.appointment.critical import CriticalFail, critical_fails
from trainer.engine.appointment.history import first_radiation_s
from trainer.engine.appointment.outcome import slips_of_appointment
from trainer.engine.appointment.result import counted_runs, is_rightly_withheld, is_withheld
from trainer.engine.appointment.slips.words import SLIP_TEXTS, text_of
from trainer.engine.appointment.state import AppointmentState
from trainer.engine.debrief.runs import cut_structures, required_ids
from trainer.engine.placement import StructurePlacement
from trainer.engine.wording import amount, share, where
from trainer.models.appointment_events import Withheld
from trainer.models.appointment_words import CriticalItem, Done
from trainer.models.learning import HelpLevel
from trainer.models.slips import SlipCode

# How many facts a debrief tells: more are not kept in mind (own working value).
TOLD_FACTS = 3


class FactKind(IntEnum):
    """What a fact is about; the lower, the more it matters."""

    CRITICAL = 1
    COVERAGE = 2
    MOTION = 3
    SLIP = 4
    STEP = 5
    GOOD = 6


@dataclass(frozen=True, slots=True)
class Fact:
    """One sentence with its number, and what to do about it next time (empty for what is well)."""

    kind: FactKind
    sentence: str
    aim: str = ""


CUT_CODES = (
    SlipCode.TOO_HIGH_OR_LOW,
    SlipCode.OFF_TO_A_SIDE,
    SlipCode.TOO_FAR_FORWARD_OR_BACK,
    SlipCode.WRONG_SIDE_OR_TOOTH,
    SlipCode.FIELD_TOO_SMALL,
)
MOTION_CODES = (
    SlipCode.MOVED,
    SlipCode.TREMOR_OR_SWALLOW,
    SlipCode.SPACER_UNSTEADY,
    SlipCode.TOUCHED,
)
# The step that a slip belongs to: what was told as the one is not told again as the other.
STEP_OF = {
    SlipCode.OFF_TO_A_SIDE: 17,
    SlipCode.TOO_FAR_FORWARD_OR_BACK: 17,
    SlipCode.CHIN_UP: 16,
    SlipCode.CHIN_DOWN: 16,
    SlipCode.HEAD_TURNED: 15,
    SlipCode.HEAD_LEANING: 15,
    SlipCode.FIELD_TOO_LARGE: 11,
    SlipCode.FIELD_TOO_SMALL: 11,
    SlipCode.WRONG_PROTOCOL: 11,
    SlipCode.METAL_LEFT: 8,
    SlipCode.SHIELD_IN_BEAM: 9,
    SlipCode.WRONG_NAME: 11,
    SlipCode.BANDS_AFTER_ALIGNING: 18,
    SlipCode.RELEASED_EARLY: 23,
    SlipCode.TOUCHED: 19,
    SlipCode.NOT_CHECKED_OR_NEEDLESS: 25,
}
CENTRING_STEP = 17  # told by coverage
# What has been told as critical is not told again as a slip or as a step (its number).
TOLD_BY: dict[CriticalItem, tuple[tuple[SlipCode, ...], tuple[int, ...]]] = {
    CriticalItem.NOT_AUTHORISED: ((), (1, 2)),
    CriticalItem.IDENTITY: ((), (5,)),
    CriticalItem.PREGNANCY_RULE: ((), (6,)),
    CriticalItem.WRONG_PLACE_OR_PERSON: ((*CUT_CODES, SlipCode.WRONG_NAME), (11,)),
    CriticalItem.TARGET_OUTSIDE: (CUT_CODES, ()),
    CriticalItem.METAL: ((SlipCode.METAL_LEFT,), (8,)),
    CriticalItem.OTHERS_INSIDE: ((), (22,)),
    CriticalItem.NOT_WATCHED: ((), (22,)),
    CriticalItem.RETAKE: ((SlipCode.NOT_CHECKED_OR_NEEDLESS,), (26,)),
    CriticalItem.NOT_RECORDED: ((), (27,)),
}
AIMS = {
    CriticalItem.NOT_AUTHORISED: "See the authorisation and clear up the request first of all.",
    CriticalItem.IDENTITY: "Have the person state name, birth date and address before anything.",
    CriticalItem.PREGNANCY_RULE: "Ask in private as the local rule says, and act on the answer.",
    CriticalItem.WRONG_PLACE_OR_PERSON: SLIP_TEXTS[SlipCode.WRONG_SIDE_OR_TOOTH].fix,
    CriticalItem.METAL: SLIP_TEXTS[SlipCode.METAL_LEFT].fix,
    CriticalItem.OTHERS_INSIDE: "Send everybody else out before you close the door.",
    CriticalItem.NOT_WATCHED: "Keep your eyes on the person for the whole run.",
    CriticalItem.RETAKE: "Name the cause and mend it before a repeat; repeat nothing readable.",
    CriticalItem.NOT_RECORDED: "Write down every exposure, rejected ones included.",
}
CENTRE_AIM = "Check the target's place with a scout pair before the run."
STOP_AIM = "Before you stop, ask the practitioner; stop only for what nobody can clear up."
BEGIN_AIM = "Go through the phases in their order, from the request card to the record."
GO_ON_AIM = "Do another case of this kind as cleanly; then take one step less of help."
NEXT_KIND_AIM = "You worked without help, and cleanly: do a case of another kind."


def facts_of(state: AppointmentState) -> tuple[Fact, ...]:
    """All facts, the most consequential first; at least `TOLD_FACTS`, filled up by what is well."""
    critical = critical_fails(state)
    bad = sorted(
        [*_critical(state, critical), *_coverage(state, critical), *_slips(state, critical)],
        key=lambda f: f.kind,
    )
    return (*bad, *_steps(state, critical), *_good(state))


def aim_of(facts: tuple[Fact, ...], help: HelpLevel) -> str:
    """The one aim for the next attempt: that of the first fact that has one."""
    clean = NEXT_KIND_AIM if help is HelpLevel.NONE else GO_ON_AIM
    return next((f.aim for f in facts if f.aim), clean)


def _minutes(at_s: float) -> str:
    return f"{int(at_s) // 60}:{int(at_s) % 60:02d}"


def _critical(state: AppointmentState, fails: tuple[CriticalFail, ...]) -> Iterator[Fact]:
    """One fact for each item that failed."""
    titles = {f.slip.found: text_of(f.slip).title for f in slips_of_appointment(state)}
    for item in dict.fromkeys(f.item for f in fails):
        if item is CriticalItem.TARGET_OUTSIDE:
            yield Fact(FactKind.CRITICAL, _coverage_sentence(state), _coverage_aim(state))
            continue
        sentence = next(f.sentence for f in fails if f.item is item)
        title = titles.get(sentence)
        sentence = f"{title}: {sentence}" if title else sentence
        if not any(c.isdigit() for c in sentence):
            sentence += _number_for(state, item)
        yield Fact(FactKind.CRITICAL, sentence, AIMS[item])


def _number_for(state: AppointmentState, item: CriticalItem) -> str:
    """The number that goes with a critical item whose sentence has none."""
    if item in (CriticalItem.NOT_RECORDED, CriticalItem.RETAKE):
        return f" Exposures: {len(state.runs)} runs, {len(state.scouts)} scouts."
    return f" First radiation at {_minutes(first_radiation_s(state))}."


def _coverage(state: AppointmentState, fails: tuple[CriticalFail, ...]) -> Iterator[Fact]:
    """What is held without the margin asked, where nothing worse is told of coverage."""
    told = CriticalItem.TARGET_OUTSIDE in {f.item for f in fails}
    if not counted_runs(state) and not is_rightly_withheld(state):
        at = _minutes(state.at_s)
        if is_withheld(state):
            text = f"The examination was stopped at {at} without need; there are 0 images."
            yield Fact(FactKind.COVERAGE, text, STOP_AIM)
        else:
            text = f"The appointment ended at {at} with 0 images and without a reason."
            yield Fact(FactKind.COVERAGE, text, BEGIN_AIM)
    if not told and counted_runs(state) and cut_structures(state):
        yield Fact(FactKind.COVERAGE, _coverage_sentence(state), _coverage_aim(state))


def _coverage_sentence(state: AppointmentState) -> str:
    cut, of = cut_structures(state), len(required_ids(state))
    worst = max(_nearest(state, cut), key=lambda s: round(s.lack_mm, 6))
    part = share(worst)
    told = "" if part == "whole inside" else f" ({part})"
    return f"{of - len(cut)} of {of} required structures are held: {where(worst)}{told}."


def _nearest(state: AppointmentState, wanted: frozenset[str]) -> list[StructurePlacement]:
    """These structures in the run that holds most of each."""
    placements = [state.context.placing(r.conditions.setup) for r in counted_runs(state)]
    return [
        max((s for p in placements for s in p.required if s.structure.id == name),
            key=lambda s: s.margin_mm)
        for name in sorted(wanted)
    ]  # fmt: skip


def _coverage_aim(state: AppointmentState) -> str:
    slips = [f.slip for f in slips_of_appointment(state) if f.slip.code in CUT_CODES]
    return text_of(slips[0]).fix if slips else CENTRE_AIM


def _slips(state: AppointmentState, fails: tuple[CriticalFail, ...]) -> Iterator[Fact]:
    told = {code for f in fails for code in TOLD_BY[f.item][0]}
    if cut_structures(state):
        told |= set(CUT_CODES)
    for found in sorted(slips_of_appointment(state), key=lambda f: f.slip.spoils is None):
        slip = found.slip
        if slip.code in told:
            continue
        told.add(slip.code)
        kind = FactKind.MOTION if slip.code in MOTION_CODES else FactKind.SLIP
        text = text_of(slip)
        yield Fact(kind, f"{text.title} (run {found.run}): {slip.found}", text.fix)


ORDER = (Done.SKIPPED, Done.LATE, Done.PARTLY)
DONE_WORDS = {Done.SKIPPED: "left out", Done.LATE: "done late", Done.PARTLY: "done in part"}


def _steps(state: AppointmentState, fails: tuple[CriticalFail, ...]) -> Iterator[Fact]:
    told = {number for f in fails for number in TOLD_BY[f.item][1]}
    told |= {STEP_OF.get(f.slip.code, 0) for f in slips_of_appointment(state)}
    told |= {CENTRING_STEP} if counted_runs(state) and cut_structures(state) else set()
    steps = [s for s in checklist(state) if s.done in ORDER and s.number not in told]
    for step in sorted(steps, key=lambda s: (ORDER.index(s.done), s.number)):
        name = step.name[0].lower() + step.name[1:]
        why = "" if step.done is Done.SKIPPED else f" {step.sentence}"
        text = f"Step {step.number}, {name}: {DONE_WORDS[step.done]}.{why}"
        yield Fact(FactKind.STEP, text, f"Do step {step.number}, {name}, whole and in its place.")


def _good(state: AppointmentState) -> Iterator[Fact]:
    """What went well, or was at least so: coverage, stillness, steps, radiation, time."""
    runs, of = counted_runs(state), len(required_ids(state))
    if runs and not cut_structures(state):
        tightest = max(_nearest(state, frozenset(required_ids(state))), key=lambda s: s.lack_mm)
        yield Fact(
            FactKind.GOOD,
            f"All {of} required structures are held. The tightest: {where(tightest)}.",
        )
    if runs:
        largest = max(r.motion.largest_mm for r in runs)
        yield Fact(FactKind.GOOD, f"The head moved by at most {amount(largest, 'mm')} in the run.")
    steps = checklist(state)
    done = sum(s.done in (Done.DONE, Done.NOT_NEEDED) for s in steps)
    yield Fact(FactKind.GOOD, f"{done} of {len(steps)} steps were done or not needed.")
    told = f"Radiation was used {len(state.scouts)} times for scouts, {len(state.runs)} for runs."
    stopped = state.last(Withheld)
    if stopped is not None and not runs:
        told = f"The examination was stopped at {_minutes(stopped)}; radiation was used 0 times."
    yield Fact(FactKind.GOOD, told)
    yield Fact(FactKind.GOOD, f"The appointment took {_minutes(state.at_s)} minutes.")

"""What an appointment came to: as plain data and as text, with the course of events in words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

from trainer.engine.appointment.checklist import StepReport, checklist
from trainer.engine.appointment.critical import CriticalFail, critical_fails
from trainer.engine.appointment.outcome import (
    FoundSlip,
    Radiation,
    radiation,
    slips_of_appointment,
)
from trainer.engine.appointment.result import held_structures, is_completed, is_withheld
from trainer.engine.appointment.slips.prepared import PREVIEW_DOSE
from trainer.engine.appointment.slips.words import text_of
from trainer.engine.appointment.state import AppointmentState, spoken
from trainer.engine.wording import two_digits
from trainer.models.appointment_words import Done
from trainer.models.device import Unit
from trainer.models.protocol import age_group
from trainer.physics.dose import DOSE_CAUTION, DoseEstimate, dose_of, total_dose
from trainer.services.cautions import SHORT_CAUTION
from trainer.services.event_words import clock, event_text
from trainer.services.scoring import score_data, score_of, score_text
from trainer.services.tooth_names import numbered

DONE_WORDS = {
    Done.DONE: "done",
    Done.PARTLY: "in part",
    Done.LATE: "late",
    Done.SKIPPED: "not done",
    Done.NOT_NEEDED: "not needed",
}


class Held(NamedTuple):
    """A required structure, and whether the runs that count hold it with its margin."""

    structure: str
    name: str
    holds: bool


class Exposed(NamedTuple):
    """One use of radiation and what it cost, where the unit's data tell."""

    use: Radiation
    dose: DoseEstimate | None


@dataclass(frozen=True, slots=True)
class Ending:
    """What an appointment came to.

    ``passed`` means: finished, no critical item failed, and either every required structure is held
    and the images that count answer the question, or the examination was rightly not carried out.
    """

    steps: tuple[StepReport, ...]
    critical: tuple[CriticalFail, ...]
    slips: tuple[FoundSlip, ...]
    held: tuple[Held, ...]
    exposures: tuple[Exposed, ...]
    dose: DoseEstimate | None
    withheld: bool
    passed: bool


def ending(state: AppointmentState) -> Ending:
    """What the appointment came to so far."""
    critical = critical_fails(state)
    held = tuple(_held(state))
    exposures = tuple(Exposed(use, _dose(state, use)) for use in radiation(state))
    doses = [e.dose for e in exposures if e.dose is not None]
    return Ending(
        steps=checklist(state),
        critical=critical,
        slips=slips_of_appointment(state),
        held=held,
        exposures=exposures,
        dose=total_dose(doses) if len(doses) == len(exposures) else None,
        withheld=is_withheld(state),
        passed=state.finished and not critical and is_completed(state),
    )


def _held(state: AppointmentState) -> Iterator[Held]:
    found = held_structures(state)
    for s in state.context.placing(state.setup).required:
        yield Held(s.structure.id, s.structure.name, s.structure.id in found)


def _dose(state: AppointmentState, use: Radiation) -> DoseEstimate | None:
    """What one use of radiation cost; a run that ended early costs its share."""
    unit: Unit = state.context.unit
    if unit.tube is None:
        return None
    group = age_group(state.context.age_years)
    whole = dose_of(unit, unit.tube, unit.field(use.field), use.exposure, group)
    share = use.share * (PREVIEW_DOSE if use.preview else 1.0)
    return replace(
        whole,
        kap_mgy_cm2=share * whole.kap_mgy_cm2,
        low_usv=share * whole.low_usv,
        middle_usv=share * whole.middle_usv,
        high_usv=share * whole.high_usv,
    )


def appointment_data(state: AppointmentState) -> dict[str, Any]:
    """The ending summary, ready for JSON."""
    found = ending(state)
    return {
        "caution": SHORT_CAUTION,
        "case": state.context.case.id,
        "unit": state.context.unit.id,
        "seed": state.seed,
        "finished": state.finished,
        "passed": found.passed,
        "withheld": found.withheld,
        "required": [h._asdict() for h in found.held],
        "critical": [{"item": str(c.item), "sentence": c.sentence} for c in found.critical],
        "checklist": [
            {"number": s.number, "name": s.name, "done": str(s.done), "sentence": s.sentence}
            for s in found.steps
        ],
        "score": score_data(score_of(state)),
        "slips": [_slip_data(s) for s in found.slips],
        "exposures": [_exposure_data(e) for e in found.exposures],
        "dose": _dose_data(found.dose)
        and {
            **_dose_data(found.dose),
            "caution": DOSE_CAUTION,
            "sources": list(found.dose.sources) if found.dose else [],
        },
    }


def _slip_data(found: FoundSlip) -> dict[str, Any]:
    text = text_of(found.slip)
    return {
        "code": str(found.slip.code),
        "title": text.title,
        "run": found.run,
        "found": found.slip.found,
        "consequence": text.consequence,
        "fix": text.fix,
        "spoils": found.slip.spoils and str(found.slip.spoils),
    }


def _exposure_data(exposed: Exposed) -> dict[str, Any]:
    use = exposed.use
    return {
        "kind": str(use.exposure.kind),
        "field": use.field,
        "protocol": use.exposure.protocol,
        "voxel_um": use.exposure.voxel_um,
        "low_dose": use.exposure.low_dose,
        "preview": use.preview,
        "share": round(use.share, 3),
        **(_dose_data(exposed.dose) or {}),
    }


def _dose_data(dose: DoseEstimate | None) -> dict[str, float]:
    if dose is None:
        return {}
    return {
        "kap_mgy_cm2": round(dose.kap_mgy_cm2, 2),
        "effective_low_usv": round(dose.low_usv, 2),
        "effective_middle_usv": round(dose.middle_usv, 2),
        "effective_high_usv": round(dose.high_usv, 2),
    }


def course_text(state: AppointmentState) -> str:
    """Everything that happened, a line each, with its time."""
    visit = state.context.visit
    return "\n".join(
        f"{clock(entry.at_s):>8}  {event_text(entry.event, visit)}" for entry in state.log
    )


def appointment_text(state: AppointmentState) -> str:
    """The ending summary for reading."""
    case, rules, found = state.context.case, state.context.rules, ending(state)
    over = headline(found) if state.finished else "The appointment is not finished."
    lines = [case.text(case.title, rules.language), over, ""]
    lines += ["What had to be inside:"]
    missed = "!!" if found.exposures else "--"  # without an image nothing was missed either
    lines += [
        f"  [{'ok' if h.holds else missed}] {numbered(h.name, rules.tooth_numbering)}"
        for h in found.held
    ]
    lines += ["", "Critical items:"]
    lines += [f"  [!!] {spoken(c.item)}: {c.sentence}" for c in found.critical] or ["  none failed"]
    lines += ["", "Score:", *(f"  {line}" for line in score_text(score_of(state)).splitlines())]
    lines += ["", "Slips in the images:"]
    lines += [line for s in found.slips for line in _slip_lines(s)] or ["  none"]
    lines += ["", "The operator's 29 steps:"]
    lines += [
        f"  {s.number:2d} {s.name}: {DONE_WORDS[s.done]}.{' ' if s.sentence else ''}{s.sentence}"
        for s in found.steps
    ]
    lines += ["", "Radiation:", *(_dose_lines(found))]
    return "\n".join([*lines, "", SHORT_CAUTION])


def headline(found: Ending) -> str:
    """One sentence on the whole of an appointment that is over."""
    if found.withheld:
        way = "Rightly stopped" if found.passed else "Stopped without need"
        return f"{way}: no radiation was used."
    if not found.exposures:
        return "The appointment ended without an image and without a reason."
    told = f"{sum(h.holds for h in found.held)} of {len(found.held)} required structures are held"
    if found.passed:
        return f"{told}, and the question can be answered."
    if found.critical:
        number = len({fail.item for fail in found.critical})
        items = "critical item" if number == 1 else "critical items"
        return f"{told}; {number} {items} failed."
    return f"{told}; the question cannot be answered from this."


def _slip_lines(found: FoundSlip) -> Iterator[str]:
    text, slip = text_of(found.slip), found.slip
    yield f"  {slip.code} {text.title} (run {found.run}): {slip.found}"
    yield f"      In the image: {text.consequence}"
    yield f"      Next time: {text.fix}"


def _dose_lines(found: Ending) -> Iterator[str]:
    if not found.exposures:
        yield "  none was used"
        return
    for e in found.exposures:
        use = e.use
        run = "preview run" if use.preview else "full run"
        kind = spoken(use.exposure.kind) if use.exposure.kind.is_scout else run
        part = "" if use.share >= 1.0 else f", {100.0 * use.share:.0f} % of it"
        low = ", low dose" if use.exposure.low_dose else ""
        words = f"  {kind}, field {use.field}, {use.exposure.voxel_um} µm{low}{part}"
        yield words + (f": {dose_words(e.dose)}" if e.dose is not None else "")
    if found.dose is None:
        yield "  This unit's file names no tube, so no dose can be estimated."
        return
    yield f"  Together: {dose_words(found.dose)}"
    yield f"  {DOSE_CAUTION}"
    for source in found.dose.sources:
        yield f"  Source: {source}"


def dose_words(dose: DoseEstimate) -> str:
    """Kerma-area product and effective dose as a range, to two digits: they are no better known."""
    kap, low, high = map(two_digits, (dose.kap_mgy_cm2, dose.low_usv, dose.high_usv))
    return f"about {kap} mGy·cm², effective dose about {low} to {high} µSv"

"""What a score says of position and prescription, measured on the runs that count."""

from __future__ import annotations

import math

from trainer.engine.appointment.signs import asked_faults, named_signs
from trainer.engine.appointment.state import spoken
from trainer.engine.appointment.tolerance import is_adapted
from trainer.engine.judgement.basis import NOBODY, Basis, Finder, Measure
from trainer.engine.judgement.tasks import task_of
from trainer.engine.panoramic.signs import FAULT_WORDS, SIGN_OF, SIGN_WORDS
from trainer.engine.placement import StructurePlacement, worst
from trainer.engine.wording import amount, sentence_start, where

PITCH, YAW, ROLL = "pitch", "yaw", "roll"


def eased(value: float, limit: float) -> float:
    """1 up to the limit, from there down to 0 at twice the limit: own working value."""
    return 1.0 if value <= limit else max(0.0, 2.0 - value / limit)


def structures(basis: Basis) -> Measure | None:
    """How many required structures are held; inside without its margin counts in part."""
    if basis.stopped:
        return None
    asked = basis.state.context.case.required
    number = float(len(asked))
    if not basis.placements:
        return Measure(0.0, number, "structures", 0.0, NOBODY)
    best: dict[str, StructurePlacement] = {}
    for s in (s for p in basis.placements for s in p.required):
        known = best.get(s.structure.id)
        best[s.structure.id] = s if known is None or s.margin_mm > known.margin_mm else known
    lacking = [s for s in best.values() if s.structure.id not in basis.held]
    inside = sum(round(s.margin_mm, 1) >= 0.0 for s in lacking)
    value = len(basis.held) + basis.tolerance.inside_credit * inside
    text = f"{sentence_start(where(worst(lacking)))}." if lacking else "All are held."
    return Measure(value, number, "structures", value / number, text)


def centring(basis: Basis) -> Measure | None:
    """How far apart target and field centre stand, as a share of the free play.

    Of an examination in several runs each holds a part, and a field that fits its target tightly
    by the largest of all margins has no play to share: there is nothing to measure then. Nor for a
    panoramic picture, where the head belongs in the layer (`in_groove`).
    """
    if basis.stopped or basis.state.true_prescription.runs > 1:
        return None
    if basis.state.context.unit.is_panoramic:
        return None
    limit = basis.tolerance.centre_share
    if not basis.placements:
        return Measure(0.0, limit, "of the play", 0.0, NOBODY)
    target, play = basis.placements[-1].target, basis.placements[-1].free_play
    if target is None or play is None or min(play.radial_mm, play.vertical_mm) <= 0.0:
        return None
    x, y, z = (float(v) for v in target.centre_mm)
    used = round(max(math.hypot(x, y) / play.radial_mm, abs(z) / play.vertical_mm), 2)
    text = f"Target and field centre use {100.0 * used:.0f} % of the free play."
    return Measure(used, limit, "of the play", eased(used, limit), text)


def in_groove(basis: Basis) -> Measure | None:
    """How far the front teeth stand from the groove of a panoramic unit, and from the midline."""
    limit = basis.state.context.case.groove_off_mm
    if basis.stopped or limit is None:
        return None
    stands = [p.layer for p in basis.placements if p.layer is not None]
    if not stands:
        return Measure(0.0, limit, "mm", 0.0, NOBODY)
    off = round(max(max(abs(s.ahead_mm), abs(s.left_mm)) for s in stands), 1)
    text = f"The front teeth stand {amount(off, 'mm')} off; up to {limit:g} mm is in order."
    return Measure(off, limit, "mm", eased(off, limit), text)


def signs(basis: Basis) -> Measure | None:
    """How many of the start's faults were told by their sign in a panoramic picture."""
    asked = asked_faults(basis.state)
    if basis.stopped or not asked:
        return None
    named = named_signs(basis.state)
    wrong = [f for f in asked if named.get(f) is not SIGN_OF[f]]
    right = float(len(asked) - len(wrong))
    parts = [f"{FAULT_WORDS[f]}: {SIGN_WORDS[SIGN_OF[f]]}" for f in wrong]
    text = f"{sentence_start('; '.join(parts))}." if parts else "All are named."
    return Measure(right, float(len(asked)), "signs", right / len(asked), text)


def turned(axis: str) -> Finder:
    """How far the head is from the task's plane about one axis, the worst of the runs."""

    def find(basis: Basis) -> Measure | None:
        if basis.stopped:
            return None
        limit = limit_deg(basis, axis)
        if not basis.placements:
            return Measure(0.0, limit, "deg", 0.0, NOBODY)
        found = [p.attitude for p in basis.placements]
        off = round(max(abs(getattr(a, f"{axis}_off_deg")) for a in found), 1)
        text = f"{sentence_start(axis)} is {amount(off, 'deg')} off; up to {limit:g}° is in order."
        return Measure(off, limit, "deg", eased(off, limit), text)

    return find


def limit_deg(basis: Basis, axis: str) -> float:
    """The limit of one angle [deg]: the local rules', or the case's own where those count."""
    case, tolerance = basis.state.context.case, basis.tolerance
    own = float(getattr(case.attitude, f"{axis}_deg"))
    if is_adapted(basis.state) or case.groove_off_mm is not None:
        return own
    strict = task_of(case) in basis.state.context.rules.strict_tasks
    turn = tolerance.strict_turn_deg if strict else tolerance.turn_deg
    limit = tolerance.pitch_deg if axis == PITCH else turn
    return own if limit is None else limit


def field_as_ordered(basis: Basis) -> Measure | None:
    """Whether every run that counts was made with the ordered field."""
    if basis.stopped:
        return None
    if not basis.runs:
        return Measure(0.0, 1.0, "", 0.0, NOBODY)
    ordered = basis.state.true_prescription.field
    other = [f for r in basis.runs if (f := r.conditions.setup.field) != ordered]
    if other:
        text = f"The field was {spoken(other[0])}, ordered was {spoken(ordered)}."
        return Measure(0.0, 1.0, "", 0.0, text)
    return Measure(1.0, 1.0, "", 1.0, "As it should be.")

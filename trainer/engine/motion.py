"""How people move: a motion trace from age, traits, explanation, supports, spacer and a seed.

Movements of at least 0.5 mm come as a Poisson process whose rate is fitted to how many
examinations show one; their sizes follow a power law (Pareto from 0.5 mm) fitted to how many
examinations are repeated for motion. Fitted to:

- 160 of 206 examinations (77.7 %) with at least 0.5 mm by a sensor on the head, 92.3 % below 16
  years; 22.3 % and 64.3 % seen on video; of movements of 4 mm and more 80 % seen (Aarhus,
  video observation against accelerometer-gyroscope tracking). The 77.7 % are for all ages
  together; they are used here for grown-ups.
- repeats for motion in 5.3 % up to 18 years, 3.8 % at 19 to 65, 10.6 % from 66 (750 lying
  patients, JISPCD 2017), read as movements above 3 mm, "the level above which images usually
  suffer visibly" (from memory, weak). People who sit or stand move more; the figure is kept.
- the same study's head supports, 2.1, 2.0 and 1.3 % of all: their ratio.

A displacement is measured at the forehead: turns count with a lever of 80 mm about the chin
contact. What has no source says so.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from trainer.engine.chance import Chance
from trainer.geometry.transforms import attitude_rotation, turn_about
from trainer.models.appointment_words import Trait
from trainer.models.frames import Frame, RigidTransform
from trainer.models.motion import (
    AgeBand,
    HeadHold,
    MotionCause,
    MotionSign,
    MotionSummary,
    MotionTrace,
    Movement,
    MovementKind,
    SpacerGrip,
    age_band,
)

Array = NDArray[np.float64]

LEVER_MM = 80.0
NOTICED_MM = 0.5  # what the sensor study counts as a movement
DOUBLE_MM, STRIPES_MM = 3.0, 1.0  # own classes, after the distance classes < 3 and 3-10 mm
LARGEST_MM = 25.0  # own limit: beyond it the head has left the support
# Exposure that the published shares are taken for: the middle of 6-36 s (BMC Oral Health 2017).
USUAL_RUN_S = 18.0
SAMPLES_PER_S = 25.0  # several per cycle of a tremor


class Habit(NamedTuple):
    """How an age band moves: mean number, size exponent, exponent of being seen."""

    number: float
    exponent: float
    seen_exponent: float


def _number(share_moving: float) -> float:
    """Mean number of movements when that share of examinations has at least one."""
    return -math.log(1.0 - share_moving)


def _exponent(number: float, share_above: float, above_mm: float = DOUBLE_MM) -> float:
    """Size exponent with which that share of examinations has a movement above a size."""
    return math.log(number / _number(share_above)) / math.log(above_mm / NOTICED_MM)


# Seen with probability 0.8 (size / 4 mm) ** exponent, at most 0.8: 20 % at 4 mm and more are
# missed. The exponents give 22.3 % (grown-ups) and 64.3 % (below 16) of examinations in which a
# movement is seen; for older people, who were not studied apart, the grown-ups' is taken.
SEEN_LARGE, LARGE_MM = 0.8, 4.0
_ADULT, _CHILD = _number(0.777), _number(0.923)
HABITS = {
    AgeBand.CHILD: Habit(_CHILD, _exponent(_CHILD, 0.053), 0.438),
    AgeBand.ADULT: Habit(_ADULT, _exponent(_ADULT, 0.038), 1.074),
    # number of movements of older people: not published, the grown-ups' taken; the size is
    AgeBand.OLDER: Habit(_ADULT, _exponent(_ADULT, 0.106), 1.074),
}
# Share of repeats with foam rest, rest and strap, helmet: 16, 15 and 10 repeats (JISPCD 2017;
# groups taken as equal). Chin only, and nothing at all: own working values.
HOLDING = {
    HeadHold.FREE: 1.8,
    HeadHold.CHIN_ONLY: 1.3,
    HeadHold.REST: 1.0,
    HeadHold.REST_AND_STRAP: 15.0 / 16.0,
    HeadHold.ALL_ROUND: 10.0 / 16.0,
}
# Own working values, no source: the directions are published (a cotton roll was linked to
# movement, OOOO 2015; sitting is steadier than standing, Bontempi et al. 2008), the amounts not.
SPACER = {SpacerGrip.NONE: 1.0, SpacerGrip.STEADY: 1.1, SpacerGrip.UNSTEADY: 1.4}
SEATED, UNEXPLAINED, STRAINED, REHEARSED = 0.9, 1.5, 1.4, 0.85
# People who fidget do so by turns: own working values, also for how long each turn lasts.
FIDGETING, RESTLESS = 1.1, 3.0
TURN_S = (8.0, 20.0)
# Fear alone was not significantly related to motion (BMC Oral Health 2017): it counts only where
# nothing was explained. Own working value.
AFRAID_UNEXPLAINED = 1.3
# Swallows while awake, about one a minute: from memory. After "swallow once now" the next is
# taken to wait for longer than a run.
SWALLOWS_PER_S = 1.0 / 60.0
# Kinds by weight: own working values, no source.
KINDS = (
    (MovementKind.TURN, 0.25, (0, 0, 0, 0, 1, 0)),
    (MovementKind.NOD, 0.25, (0, 0, 0, 1, 0, 0)),
    (MovementKind.LEAN, 0.10, (0, 0, 0, 0, 0, 1)),
    (MovementKind.LIFT, 0.10, (0, 0, 1, 0, 0, 0)),
    (MovementKind.FRONT_BACK, 0.15, (0, 1, 0, 0, 0, 0)),
    (MovementKind.SIDEWAYS, 0.15, (1, 0, 0, 0, 0, 0)),
)
SWALLOW_WAY = (0.0, 0.0, 0.6, 0.8, 0.0, 0.0)
TREMOR_WAY = (0.0, 0.0, 0.0, 0.6, 0.8, 0.0)
JERK_WAY = (0.8, 0.0, 0.0, 0.0, 0.6, 0.0)
STAYS_AWAY = 0.5  # share of movements after which the head does not come back: own working value
# Tremor: sub-millimetre, several times a second (from memory). The sizes of a swallow and of a jerk
# by hair or cloth, and from where on a tremor is seen: own working values.
TREMOR_MM, TREMOR_PER_S, TREMOR_SEEN_MM = (0.5, 0.9), (4.0, 6.0), 0.6
SWALLOW_MM, JERK_MM = (0.5, 1.5), (2.0, 6.0)
# Drift of a jaw on a spacer that tips: own working values.
DRIFT_MM = {SpacerGrip.NONE: (0.0, 0.0), SpacerGrip.STEADY: (0.0, 0.2)}
DRIFT_UNSTEADY_MM = (0.8, 2.5)


def rate_factor(cause: MotionCause) -> float:
    """How much oftener than usual the person moves."""
    factor = HOLDING[cause.hold] * SPACER[cause.spacer]
    if cause.seated:
        factor *= SEATED
    if not cause.explained:
        factor *= UNEXPLAINED * (AFRAID_UNEXPLAINED if Trait.ANXIOUS in cause.traits else 1.0)
    if cause.strained:
        factor *= STRAINED
    if cause.rehearsed:
        factor *= REHEARSED
    if Trait.FIDGETS in cause.traits:
        factor *= RESTLESS if cause.restless else FIDGETING
    return factor


def restless(seed: int, at_s: float) -> bool:
    """Whether somebody who fidgets does so at a time; restless and calm take turns."""
    chance, end_s, now = Chance(seed, 5), 0.0, False
    while end_s <= at_s:
        now = not now
        end_s += chance.uniform(*TURN_S)
    return now


def seen_probability(size_mm: float, habit: Habit) -> float:
    """How likely a watching eye notices a movement of that size."""
    return SEEN_LARGE * min(1.0, size_mm / LARGE_MM) ** habit.seen_exponent


def movements(cause: MotionCause, planned_s: float, seed: int) -> tuple[Movement, ...]:
    """All movements during an exposure of that length, in order of their start.

    A script takes the place of chance; a jerk by something that is touched comes all the same.
    """
    chance = Chance(seed, 1)
    if cause.scripted is not None:
        found = list(cause.scripted)
    else:
        found = _by_chance(cause, planned_s, chance)
    if cause.jerk_at_share is not None:
        start, size = cause.jerk_at_share * planned_s, chance.uniform(*JERK_MM)
        found.append(Movement(MovementKind.JERK, start, 0.4, size, JERK_WAY, False, True))
    return tuple(sorted(found, key=lambda m: m.start_s))


def _by_chance(cause: MotionCause, planned_s: float, chance: Chance) -> list[Movement]:
    habit = HABITS[age_band(cause.age_years)]
    mean = habit.number * rate_factor(cause) * planned_s / USUAL_RUN_S
    found = [_movement(chance, habit, planned_s) for _ in range(chance.count(mean))]
    swallows = 0 if cause.swallowed_first else chance.count(SWALLOWS_PER_S * planned_s)
    for _ in range(swallows):
        start, size = chance.uniform(0.0, planned_s), chance.uniform(*SWALLOW_MM)
        seen = chance.happens(seen_probability(size, habit))
        found.append(Movement(MovementKind.SWALLOW, start, 1.2, size, SWALLOW_WAY, True, seen))
    if Trait.TREMOR in cause.traits:
        size = chance.uniform(*TREMOR_MM) * HOLDING[cause.hold]
        seen = size >= TREMOR_SEEN_MM
        found.append(Movement(MovementKind.TREMOR, 0.0, planned_s, size, TREMOR_WAY, True, seen))
    return found


def _movement(chance: Chance, habit: Habit, planned_s: float) -> Movement:
    kind, _, way = KINDS[chance.pick([k[1] for k in KINDS])]
    direction = np.array(way, float) * chance.sign()
    if chance.happens(0.35):  # several planes at once: own working value
        direction = direction + 0.6 * chance.sign() * np.array(
            KINDS[chance.pick([k[1] for k in KINDS])][2], float
        )
    length = float(np.sqrt((direction * direction).sum()))
    direction = direction / length
    size = chance.pareto(NOTICED_MM, habit.exponent, LARGEST_MM)
    moving_s = min(planned_s, chance.uniform(0.4, 2.5))  # own working values
    return Movement(
        kind,
        chance.uniform(0.0, planned_s - moving_s),
        moving_s,
        size,
        tuple(direction.tolist()),
        not chance.happens(STAYS_AWAY),
        chance.happens(seen_probability(size, habit)),
    )


def motion_trace(cause: MotionCause, planned_s: float, seed: int) -> MotionTrace:
    """Where head and jaw stand over an exposure of ``planned_s`` seconds.

    The same cause, length and seed give the same trace: see `engine.chance`. Between platforms
    the last bits may differ where a sine or power is involved; `summary` rounds them away.
    """
    found = movements(cause, planned_s, seed)
    times = np.arange(0.0, planned_s + 0.5 / SAMPLES_PER_S, 1.0 / SAMPLES_PER_S)
    offsets = np.zeros((len(times), 6))
    jaw = _drift(cause.spacer, times, planned_s, Chance(seed, 2))
    for m in found:
        course = m.size_mm * _course(m, times)
        offsets += course[:, None] * np.array(m.direction)
        if m.kind is MovementKind.SWALLOW:
            jaw = jaw + np.minimum(course, 1.0)
    return MotionTrace(times, offsets[:, :3], offsets[:, 3:] / LEVER_MM, jaw, found)


def _course(m: Movement, times_s: Array) -> Array:
    """Share of a movement's size over time: up and back, or up to stay."""
    since = times_s - m.start_s
    if m.kind is MovementKind.TREMOR:
        rate = TREMOR_PER_S[0] + (TREMOR_PER_S[1] - TREMOR_PER_S[0]) * (m.size_mm % 0.1) * 10.0
        return 0.5 * np.sin(2.0 * np.pi * rate * since)  # its size is from peak to peak
    share = np.clip(since / m.moving_s, 0.0, 1.0)
    if m.returns:
        # the middle third is spent away, so that a sampled trace reaches the full size
        share = np.clip(3.0 * np.minimum(share, 1.0 - share), 0.0, 1.0)
    return np.asarray(share * share * (3.0 - 2.0 * share))


def _drift(grip: SpacerGrip, times_s: Array, planned_s: float, chance: Chance) -> Array:
    least, most = DRIFT_MM.get(grip, DRIFT_UNSTEADY_MM)
    size = chance.uniform(least, most)
    start, end = sorted((chance.uniform(), chance.uniform()))
    share = np.clip((times_s / planned_s - start) / max(end - start, 0.05), 0.0, 1.0)
    return np.asarray(-size * share)  # the arches close on what slips


def moved_head(trace: MotionTrace, at_s: float, chin_contact_mm: Array) -> RigidTransform:
    """Where the skull stands against where it was at the start (skull → skull).

    ``chin_contact_mm`` (3,) is the point that the turns go about, skull frame [mm]. Between two
    samples the nearer one counts; the axes are the skull's, which a tilted head turns a little.
    """
    i = int(np.argmin(np.abs(trace.times_s - at_s)))
    turn = attitude_rotation(*(float(t) for t in trace.turns_rad[i]))
    stands = chin_contact_mm + trace.shifts_mm[i]
    return turn_about(Frame.SKULL, Frame.SKULL, turn, chin_contact_mm, stands)


def displacement_mm(trace: MotionTrace) -> Array:
    """Displacement at the forehead over time, (n,) [mm]."""
    turns = LEVER_MM * trace.turns_rad
    return np.sqrt((trace.shifts_mm**2).sum(axis=1) + (turns**2).sum(axis=1))


def sign_of(largest_mm: float) -> MotionSign:
    """What a displacement does to the image."""
    if largest_mm < STRIPES_MM:
        return MotionSign.NONE
    return MotionSign.STRIPES if largest_mm <= DOUBLE_MM else MotionSign.DOUBLE_EDGES


def summary(trace: MotionTrace, until_s: float) -> MotionSummary:
    """The trace in few numbers, as far as the exposure went."""
    part = trace.times_s <= until_s
    seen = [m for m in trace.movements if m.start_s < until_s and m.size_mm >= NOTICED_MM]
    small = [m.size_mm for m in seen if m.kind in (MovementKind.TREMOR, MovementKind.SWALLOW)]
    largest = round(float(displacement_mm(trace)[part].max(initial=0.0)), 3)
    ways = {i for m in seen for i, x in enumerate(m.direction) if abs(x) > 0.3}
    return MotionSummary(
        largest_mm=largest,
        jaw_drift_mm=round(float(np.abs(trace.jaw_gaps_mm[part]).max(initial=0.0)), 3),
        movements=len(seen),
        moving_s=round(sum(min(m.moving_s, until_s - m.start_s) for m in seen), 3),
        planes=len(ways),
        tremor_or_swallow_mm=round(max(small, default=0.0), 3),
        jerked=any(m.kind is MovementKind.JERK for m in seen),
        sign=sign_of(largest),
    )

"""What to change: the smallest movement that brings everything required inside, computed.

For every control alone, the nearest value at which all required structures keep their margins; if
none does it alone, the smallest pair of controls; else the best setup that can be reached. Every
answer is checked by placing the changed setup again, so an advice that says it helps does.

Sizes are compared as numbers: 1 mm counts as much as 1 degree. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import ConvexHull

from trainer.anatomy.jaw import mandible_to_skull
from trainer.engine.criteria import is_well_placed, judge
from trainer.engine.panoramic.slack import LayerLimits, layer_limits, layer_slacks
from trainer.engine.placement import (
    TOUCHING_MM,
    HeadAttitude,
    Placement,
    place,
    slack,
    worst,
)
from trainer.engine.points import HeadPoints, pack
from trainer.engine.wording import amount, sentence_start, where
from trainer.geometry.pose import field_centre_from_support, region_place
from trainer.geometry.region import RecordedRegion, recorded_region, shift_limits
from trainer.geometry.transforms import apply, attitude_rotation
from trainer.models.controls import CONTROLS, ControlKind, control
from trainer.models.device import Unit
from trainer.models.frames import Frame
from trainer.models.scenario import Case
from trainer.models.setup import Setup
from trainer.models.structures import Head

Array = NDArray[np.float64]
# New values by control key.
Changes = Mapping[str, float | str]

# How many single advices are worth reading.
MOST_SINGLES = 3
# Pairs are looked for with every so-manieth corner; the best so many of each pair of controls are
# then checked with all corners, so many at once.
ROUGH_EVERY, KEPT_OF_A_PAIR, CHECK_AT_ONCE = 4, 6, 32
# What a choice counts beside millimetres and degrees. A larger field costs dose: it counts this
# much for every time that the smaller one fits into it (own working values).
REGION_SIZE, SMALLER_FIELD_SIZE, LARGER_FIELD_SIZE = 1.0, 1.0, 30.0
# Rounds over all controls when only the best reachable setup can be given.
BEST_ROUNDS = 6
# What touching one more control counts there: own working value.
EACH_CHANGE_SIZE = 15.0
# Spare margin at which that search stops.
ENOUGH_MM = 0.5


@dataclass(frozen=True, slots=True)
class Advice:
    """A change of one or more controls: new values, what is reached, and why.

    ``reaches_all`` tells whether all required structures keep their margins afterwards;
    ``short_mm`` is the largest lack that remains (0 when none).
    """

    changes: Changes
    size: float
    reaches_all: bool
    short_mm: float
    sentence: str


@dataclass(frozen=True, slots=True)
class _Bench:
    """The required structures of one case, ready for many setups at once.

    ``skull_mm`` and ``jaw_mm`` are the corners that matter, (n, 3) in their own frames, and
    ``needs_mm`` the margin each has to keep, those of the skull first. ``layer``: what a panoramic
    picture asks beside.
    """

    case: Case
    head: Head
    unit: Unit
    points: HeadPoints
    skull_mm: Array
    jaw_mm: Array
    needs_mm: Array
    attitude: HeadAttitude
    layer: LayerLimits | None = None

    def thinned(self, every: int) -> _Bench:
        """The same with only every so-manieth corner: for a first rough look."""
        n = len(self.skull_mm)
        needs = np.r_[self.needs_mm[:n][::every], self.needs_mm[n:][::every]]
        return replace(
            self, skull_mm=self.skull_mm[::every], jaw_mm=self.jaw_mm[::every], needs_mm=needs
        )

    def slack(self, setup: Setup, changes: Mapping[str, Array]) -> Array:
        """Smallest margin over what is asked [mm], for each of k changed setups: (k,).

        ``changes`` maps number controls to arrays (k,); all other values are the setup's.
        """
        at = self.in_field(setup, changes)
        found = np.asarray(slack(self.region(setup), at, self.needs_mm).min(axis=1))
        if self.layer is None:
            return found
        # the jaw gap is never advised here (`_number_keys`), so it is the setup's
        turned, contacts = self._turned_and_contact(setup, changes)
        over = layer_slacks(self.layer, self.unit, setup, turned, contacts)
        return np.minimum(found, over.min(axis=1))

    def region(self, setup: Setup) -> RecordedRegion:
        """The recorded region of a setup."""
        field = self.unit.field(setup.field)
        return recorded_region(field, region_place(setup, self.unit), self.unit.beam)

    def in_field(self, setup: Setup, changes: Mapping[str, Array]) -> Array:
        """Corners in the field frame for each of k changed setups: (k, n, 3) [mm]."""
        turns, goal = self._turned_and_contact(setup, changes)
        gaps = np.asarray(changes.get("jaw_gap_mm", setup.jaw_gap_mm), float)
        at = self._from_contact(gaps) @ np.swapaxes(turns, -1, -2) + goal[:, None, :]
        return np.asarray(at)

    def _turned_and_contact(
        self, setup: Setup, changes: Mapping[str, Array]
    ) -> tuple[Array, Array]:
        """Rotations (k, 3, 3) or (3, 3), and the chin contact in the field frame (k, 3) [mm]."""
        k = len(next(iter(changes.values()))) if changes else 1

        def value(key: str) -> Array:
            return np.asarray(changes.get(key, getattr(setup, key)), float)

        centre = field_centre_from_support(setup, self.unit, self.unit.field(setup.field))
        goal = np.empty((k, 3))
        goal[:, 0] = (
            value("sideways_mm") - value("field_sideways_mm") + setup.field_sideways_mm - centre[0]
        )
        goal[:, 1] = (
            value("field_forward_mm") - value("forward_mm") - setup.field_forward_mm - centre[1]
        )
        goal[:, 2] = value("chin_height_mm") - centre[2]
        return attitude_rotation(*(np.deg2rad(value(f"{a}_deg")) for a in ATTITUDE)), goal

    def _from_contact(self, gaps_mm: Array) -> Array:
        """Corners counted from the chin contact in skull axes: (n, 3), or (k, n, 3) for k gaps."""
        seen: dict[float, Array] = {}
        for gap in np.unique(gaps_mm):
            jaw = mandible_to_skull(self.head.person, float(gap))
            corners = np.concatenate([self.skull_mm, apply(jaw, self.jaw_mm)])
            seen[float(gap)] = corners - apply(jaw, self.head.chin_contact_mm)
        if len(seen) == 1:
            return next(iter(seen.values()))
        return np.stack([seen[float(g)] for g in gaps_mm])


ATTITUDE = ("pitch", "yaw", "roll")
# Controls that only shift the head against the field: axis, and which way for a larger value.
SHIFTS = {
    "sideways_mm": (0, 1.0),
    "field_sideways_mm": (0, -1.0),
    "forward_mm": (1, -1.0),
    "field_forward_mm": (1, 1.0),
    "chin_height_mm": (2, 1.0),
}


def _bench(case: Case, head: Head, unit: Unit, setup: Setup) -> tuple[_Bench, Placement]:
    """The required structures made ready, and how they lie now."""
    points = pack([head.structure(r.structure) for r in case.required])
    corners: dict[Frame, list[Array]] = {Frame.SKULL: [], Frame.MANDIBLE: []}
    needs: list[Array] = []
    for frame in corners:
        for margin in sorted({r.margin_mm for r in case.required}):
            hulls = [
                s.hull_mm
                for s in (
                    head.structure(r.structure) for r in case.required if r.margin_mm == margin
                )
                if s.frame is frame
            ]
            if hulls:
                # what needs the same margin and moves together counts by its common hull
                outer = np.concatenate(hulls)
                outer = outer[ConvexHull(outer).vertices]
                corners[frame].append(outer)
                needs.append(np.full(len(outer), margin))
    skull, jaw = (
        np.concatenate(parts) if parts else np.zeros((0, 3)) for parts in corners.values()
    )
    now = place(case, head, points, unit, setup)
    needed = np.concatenate(needs) + case.guard_rim_mm
    layer = layer_limits(case, head)
    bench = _Bench(case, head, unit, points, skull, jaw, needed, now.attitude, layer)
    return bench, now


def advise(case: Case, head: Head, unit: Unit, setup: Setup) -> tuple[Advice, ...]:
    """Advice for a setup, the smallest change first; empty when everything is inside.

    Raises
    ------
    NotFound
        If the case asks for a structure that the head does not have.
    """
    bench, now = _bench(case, head, unit, setup)
    if is_well_placed(case, now):
        return ()
    singles = sorted(
        [*_single_numbers(bench, setup), *_single_choices(bench, setup)],
        key=lambda changes: _size(bench.unit, setup, changes),
    )
    found = _checked(bench, setup, now, singles[:MOST_SINGLES])
    if found:
        return found
    found = _checked(bench, setup, now, _pairs(bench, setup))
    if found:
        return found
    return _best_reachable(bench, setup, now)


def play_of_controls(
    case: Case, head: Head, unit: Unit, setup: Setup
) -> dict[str, tuple[float, float] | None]:
    """For every number control, the lowest and highest value that keeps everything inside.

    The stretch round the present value, in whole steps of the control, within the unit's travel
    and the case's attitude; ``None`` where the present value itself does not do.
    """
    bench, _ = _bench(case, head, unit, setup)
    found: dict[str, tuple[float, float] | None] = {}
    for key in _number_keys(unit):
        now = float(getattr(setup, key))
        values = np.unique(np.r_[_steps(bench, key, now), now])
        good = bench.slack(setup, {key: values}) >= -TOUCHING_MM
        at = int(np.flatnonzero(values == now)[0])
        if not good[at]:
            found[key] = None
            continue
        bad = np.flatnonzero(~good)
        low = bad[bad < at].max(initial=-1) + 1
        high = bad[bad > at].min(initial=len(values)) - 1
        found[key] = (float(values[low]), float(values[high]))
    return found


def _number_keys(unit: Unit) -> list[str]:
    """Controls that may be advised; with a groove the bite piece decides how far the jaw opens."""
    kept = {"jaw_gap_mm"} if unit.is_panoramic else set()
    return [
        c.key
        for c in CONTROLS
        if c.kind is ControlKind.NUMBER and c.advised and c.key in unit.travel.keys() - kept
    ]


def _steps(bench: _Bench, key: str, now: float) -> Array:
    """All values the control may be advised to take, in whole steps from the present one."""
    travel = bench.unit.travel[key]
    low, high = _range(bench, key, now)
    down = int(np.floor((now - low) / travel.step + 1e-9))
    up = int(np.floor((high - now) / travel.step + 1e-9))
    return np.asarray(now + np.arange(-down, up + 1) * travel.step)


def _range(bench: _Bench, key: str, now: float) -> tuple[float, float]:
    """Lowest and highest value that may be advised: the unit's travel.

    A head is not advised out of the attitude that the case allows, nor farther out when it stands
    outside already.
    """
    travel = bench.unit.travel[key]
    low, high = travel.lowest, travel.highest
    axis = key.removesuffix("_deg")
    if axis in ATTITUDE:
        off = getattr(bench.attitude, f"{axis}_off_deg")
        limit = getattr(bench.case.attitude, key)
        low = max(low, now + min(0.0, -limit - off))
        high = min(high, now + max(0.0, limit - off))
    return low, high


def _size(unit: Unit, setup: Setup, changes: Changes) -> float:
    """How much is moved: millimetres and degrees added up, and what choices count."""
    total = 0.0
    for key, value in changes.items():
        if key == "region":
            total += REGION_SIZE
        elif key == "field":
            growth = unit.field(str(value)).volume_mm3 / unit.field(setup.field).volume_mm3
            total += LARGER_FIELD_SIZE * growth if growth > 1.0 else SMALLER_FIELD_SIZE
        else:
            total += abs(float(value) - float(getattr(setup, key)))
    return total


def _single_numbers(bench: _Bench, setup: Setup) -> list[Changes]:
    found: list[Changes] = []
    for key in _number_keys(bench.unit):
        now = float(getattr(setup, key))
        values = _steps(bench, key, now)
        good = values[bench.slack(setup, {key: values}) >= -TOUCHING_MM]
        if len(good):
            found.append({key: float(good[np.argmin(np.abs(good - now))])})
    return found


def _choices_beside(unit: Unit, setup: Setup) -> list[Changes]:
    """Every other region that the field serves, and every other field that serves the region."""
    serves = unit.field(setup.field).regions
    found: list[Changes] = [
        {"region": r} for r in unit.regions if r != setup.region and r in serves
    ]
    for field in sorted(unit.fields, key=lambda f: f.volume_mm3):
        if field.id != setup.field and setup.region in field.regions:
            found.append({"field": field.id})
    return found


def _single_choices(bench: _Bench, setup: Setup) -> list[Changes]:
    """Another region or another field that alone would hold everything."""
    return [
        choice
        for choice in _choices_beside(bench.unit, setup)
        if bench.slack(setup.with_values(choice), {})[0] >= -TOUCHING_MM
    ]


def _pairs(bench: _Bench, setup: Setup) -> list[Changes]:
    """The smallest pairs that bring everything inside: at most two, of different controls.

    Pairs are two number controls, or a choice and a number control.
    """
    rough = bench.thinned(ROUGH_EVERY)
    tried = [*_two_numbers(rough, setup)]
    for choice in _choices_beside(bench.unit, setup):
        other = setup.with_values(choice)
        tried += [{**choice, **more} for more in _one_shift(rough, other)]
    tried.sort(key=lambda changes: _size(bench.unit, setup, changes))
    found: list[Changes] = []
    for changes in tried:
        if any(set(f) == set(changes) for f in found):
            continue
        numbers = {k: np.array([v]) for k, v in changes.items() if not isinstance(v, str)}
        choices = {k: v for k, v in changes.items() if isinstance(v, str)}
        if bench.slack(setup.with_values(choices), numbers)[0] >= -TOUCHING_MM:
            found.append(changes)
            if len(found) == 2:
                break
    return found


def _two_numbers(rough: _Bench, setup: Setup) -> list[Changes]:
    """Pairs of number controls that work for the rough corners, the smallest of each pair."""
    found: list[Changes] = []
    keys = _number_keys(rough.unit)
    for a in keys:
        values = _steps(rough, a, float(getattr(setup, a)))
        found += [
            {a: float(values[i]), b: new}
            for b, i, new in _shifts_that_do(rough, setup, {a: values})
            if b != a and values[i] != getattr(setup, a)
        ]
    turning = [k for k in keys if k not in SHIFTS]
    for a, b in combinations(turning, 2):
        grids = (_steps(rough, k, float(getattr(setup, k))) for k in (a, b))
        va, vb = (g.ravel() for g in np.meshgrid(*grids, indexing="ij"))
        moved = np.abs(va - getattr(setup, a)) + np.abs(vb - getattr(setup, b))
        works = np.flatnonzero(rough.slack(setup, {a: va, b: vb}) >= -TOUCHING_MM)
        best = works[np.argsort(moved[works], kind="stable")][:KEPT_OF_A_PAIR]
        found += [{a: float(va[i]), b: float(vb[i])} for i in best]
    return found


def _one_shift(rough: _Bench, setup: Setup) -> list[Changes]:
    """Single shifts that work for the rough corners."""
    return [{key: new} for key, _, new in _shifts_that_do(rough, setup, {})]


def _shifts_that_do(
    rough: _Bench, setup: Setup, changes: Mapping[str, Array]
) -> list[tuple[str, int, float]]:
    """Smallest shifts that bring the rough corners inside, after each of k changes.

    For every shifting control, the best few: its key, the number of the change, its new value. The
    field is convex, so the shifts that do form one stretch, known in closed form.
    """
    at, region = rough.in_field(setup, changes), rough.region(setup)
    before = np.zeros(len(at))
    for key, values in changes.items():
        before = np.abs(values - getattr(setup, key))
    stretches = [shift_limits(region, at, rough.needs_mm, axis) for axis in range(3)]
    found = []
    for key in (k for k in SHIFTS if k in rough.unit.travel and k not in changes):
        axis, sign = SHIFTS[key]
        travel, now = rough.unit.travel[key], float(getattr(setup, key))
        low, high = stretches[axis] if sign > 0 else (-stretches[axis][1], -stretches[axis][0])
        steps = np.where(
            low > TOUCHING_MM,
            np.ceil((low - TOUCHING_MM) / travel.step),
            np.where(high < -TOUCHING_MM, np.floor((high + TOUCHING_MM) / travel.step), 0.0),
        )
        shift = steps * travel.step
        works = np.isfinite(shift) & (shift >= low - TOUCHING_MM) & (shift <= high + TOUCHING_MM)
        works &= (now + shift >= travel.lowest - 1e-9) & (now + shift <= travel.highest + 1e-9)
        works &= shift != 0.0
        rows = np.flatnonzero(works)
        best = rows[np.argsort((before + np.abs(shift))[rows], kind="stable")][:KEPT_OF_A_PAIR]
        found += [(key, int(i), now + float(shift[i])) for i in best]
    return found


def _best_reachable(bench: _Bench, setup: Setup, now: Placement) -> tuple[Advice, ...]:
    """More than two changes: the smallest set found that does, else the one that lacks least.

    For every region and field, control by control towards the largest smallest margin; what turns
    out not to be needed is put back.
    """
    rough = bench.thinned(ROUGH_EVERY)
    start = float(bench.slack(setup, {})[0])
    best: tuple[float, float, Setup] = (max(0.0, -start), 0.0, setup)
    for region, field in _choices(bench.unit, setup):
        trial = setup.with_values({"region": region, "field": field})
        trial = _climb(rough, _centred(rough, trial))
        lack = max(0.0, -float(bench.slack(trial, {})[0]))
        if lack <= TOUCHING_MM:
            trial, lack = _pruned(bench, setup, trial), 0.0
        changes = _differences(setup, trial)
        effort = _size(bench.unit, setup, changes) + EACH_CHANGE_SIZE * len(changes)
        found = (lack, effort, trial)
        if found[:2] < best[:2]:
            best = found
    changes = _differences(setup, best[2])
    if not changes:
        text = f"No change of the controls brings it nearer: {_reason(bench.case, now)}"
        return (Advice({}, 0.0, False, -start, text),)
    return (_advice(bench, setup, now, changes),)


def _centred(rough: _Bench, setup: Setup) -> Setup:
    """The setup with the field moved round the target, as far as the unit's travel goes."""
    corners = rough.in_field(setup, {})[0]
    off = (corners.min(axis=0) + corners.max(axis=0)) / 2.0
    values: dict[str, object] = {}
    for key in ("field_sideways_mm", "field_forward_mm", "chin_height_mm"):
        if key in rough.unit.travel:
            axis, sign = SHIFTS[key]
            steps = _steps(rough, key, float(getattr(setup, key)))
            goal = float(getattr(setup, key)) - sign * off[axis]
            values[key] = float(steps[int(np.argmin(np.abs(steps - goal)))])
    return setup.with_values(values)


def _climb(rough: _Bench, setup: Setup) -> Setup:
    """The setup with the largest smallest margin that changing one control after another finds.

    Stops where the rough corners have all they need and a little more, for those left out.
    """
    slack = float(rough.slack(setup, {})[0])
    for _ in range(BEST_ROUNDS):
        before = slack
        for key in _number_keys(rough.unit):
            values = _steps(rough, key, float(getattr(setup, key)))
            many = rough.slack(setup, {key: values})
            i = int(np.argmax(many))
            if many[i] > slack + 1e-9:
                setup, slack = setup.with_values({key: float(values[i])}), float(many[i])
            if slack >= ENOUGH_MM:
                return setup
        if slack - before < 0.05:
            break
    return setup


def _pruned(bench: _Bench, setup: Setup, reached: Setup) -> Setup:
    """``reached`` with every number put back towards ``setup`` as far as everything still holds."""
    for key in _number_keys(bench.unit):
        old, new = float(getattr(setup, key)), float(getattr(reached, key))
        if old == new:
            continue
        step = bench.unit.travel[key].step * np.sign(new - old)
        values = np.append(np.arange(old, new, step), new)
        holds = bench.slack(reached, {key: values}) >= -TOUCHING_MM
        reached = reached.with_values({key: float(values[int(np.argmax(holds))])})
    return reached


def _differences(before: Setup, after: Setup) -> Changes:
    """New values of the controls that differ, in the order of the controls."""
    return {
        c.key: getattr(after, c.key)
        for c in CONTROLS
        if getattr(after, c.key) != getattr(before, c.key)
    }


def _choices(unit: Unit, setup: Setup) -> list[tuple[str, str]]:
    """Every region with every field that serves it: the present ones first, small fields first."""
    pairs = [(r, f) for r in unit.regions for f in unit.fields if r in f.regions]
    pairs.sort(key=lambda p: (p[0] != setup.region, p[1].id != setup.field, p[1].volume_mm3))
    return [(r, f.id) for r, f in pairs]


def _checked(
    bench: _Bench, setup: Setup, now: Placement, candidates: Sequence[Changes]
) -> tuple[Advice, ...]:
    advices = (_advice(bench, setup, now, c) for c in candidates)
    return tuple(a for a in advices if a.reaches_all)


def _advice(bench: _Bench, setup: Setup, now: Placement, changes: Changes) -> Advice:
    after = place(bench.case, bench.head, bench.points, bench.unit, setup.with_values(changes))
    reaches = is_well_placed(bench.case, after)
    short = max(0.0, worst(after.required).lack_mm)
    actions = " and ".join(action_words(setup, k, v) for k, v in changes.items())
    text = f"{sentence_start(actions)}: {_reason(bench.case, now)}"
    if not reaches and short > 0.0:
        text += f" The best that can be reached still lacks {amount(short, 'mm')}."
    return Advice(dict(changes), _size(bench.unit, setup, changes), reaches, short, text)


def _reason(case: Case, now: Placement) -> str:
    """Why something has to change: what lacks most, else the first limit of a sharp layer."""
    if not now.all_required_inside:
        return f"{where(worst(now.required))}."
    wrong = next(f.sentence for f in judge(case, now) if f.weighs and not f.met)
    return wrong[0].lower() + wrong[1:]


def action_words(setup: Setup, key: str, value: float | str) -> str:
    """What the hand does, with the amount: ``raise the chin support 6 mm``."""
    c = control(key)
    if isinstance(value, str):
        what = "enter the region" if key == "region" else "choose the field"
        return f"{what} {value}"
    by = value - float(getattr(setup, key))
    return f"{c.more if by > 0 else c.less} {amount(by, c.unit)}"

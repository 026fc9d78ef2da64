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
from trainer.engine.placement import HeadAttitude, Placement, StructurePlacement, place, slack
from trainer.engine.points import HeadPoints, pack
from trainer.engine.wording import amount, where
from trainer.geometry.pose import field_centre_from_support, region_place
from trainer.geometry.region import recorded_region
from trainer.geometry.transforms import apply, attitude_rotation
from trainer.models.controls import CONTROLS, ControlKind, control
from trainer.models.device import Unit
from trainer.models.frames import Frame
from trainer.models.scenario import Case
from trainer.models.setup import Setup
from trainer.models.structures import Head

Array = NDArray[np.float64]

# How many single advices are worth reading.
MOST_SINGLES = 3
# Grid points per control when pairs are tried, and how many rough hits are looked at closely.
PAIR_GRID = 13
CLOSE_LOOKS = 8
# The rough look takes every so-manieth corner; the close one checks so many setups at once.
ROUGH_EVERY, CHECK_AT_ONCE = 8, 64
# Rounds over all controls when only the best reachable setup can be given.
BEST_ROUNDS = 6
# A margin short by less than this counts as kept.
TOUCHING_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Advice:
    """A change of one or more controls: new values, what is reached, and why.

    ``reaches_all`` tells whether all required structures keep their margins afterwards;
    ``short_mm`` is the largest lack that remains (0 when none).
    """

    changes: Mapping[str, float | str]
    size: float
    reaches_all: bool
    short_mm: float
    sentence: str


@dataclass(frozen=True, slots=True)
class _Bench:
    """The required structures of one case, ready for many setups at once.

    ``skull_mm`` and ``jaw_mm`` are the corners that matter, (n, 3) in their own frames, and
    ``needs_mm`` the margin each has to keep, those of the skull first.
    """

    case: Case
    head: Head
    unit: Unit
    points: HeadPoints
    skull_mm: Array
    jaw_mm: Array
    needs_mm: Array
    attitude: HeadAttitude

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
        k = len(next(iter(changes.values()))) if changes else 1

        def value(key: str) -> Array:
            return np.asarray(changes.get(key, getattr(setup, key)), float)

        field = self.unit.field(setup.field)
        centre = field_centre_from_support(setup, self.unit, field)
        goal = np.empty((k, 1, 3))
        goal[:, 0, 0] = (
            value("sideways_mm") - value("field_sideways_mm") + setup.field_sideways_mm - centre[0]
        )
        goal[:, 0, 1] = (
            value("field_forward_mm") - value("forward_mm") - setup.field_forward_mm - centre[1]
        )
        goal[:, 0, 2] = value("chin_height_mm") - centre[2]
        turns = attitude_rotation(*(np.deg2rad(value(f"{a}_deg")) for a in ATTITUDE))
        at = self._from_contact(value("jaw_gap_mm")) @ np.swapaxes(turns, -1, -2) + goal
        region = recorded_region(
            field, region_place(setup, self.unit), self.unit.beam, self.case.guard_rim_mm
        )
        return np.asarray(slack(region, at, self.needs_mm).min(axis=1))

    def _from_contact(self, gaps_mm: Array) -> Array:
        """Corners counted from the chin contact in skull axes: (n, 3), or (k, n, 3) for k gaps."""
        seen: dict[float, Array] = {}
        for gap in np.unique(gaps_mm):
            jaw = mandible_to_skull(self.head.sex, float(gap))
            corners = np.concatenate([self.skull_mm, apply(jaw, self.jaw_mm)])
            seen[float(gap)] = corners - apply(jaw, self.head.chin_contact_mm)
        if len(seen) == 1:
            return next(iter(seen.values()))
        return np.stack([seen[float(g)] for g in gaps_mm])


ATTITUDE = ("pitch", "yaw", "roll")


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
    bench = _Bench(case, head, unit, points, skull, jaw, np.concatenate(needs), now.attitude)
    return bench, now


def advise(case: Case, head: Head, unit: Unit, setup: Setup) -> tuple[Advice, ...]:
    """Advice for a setup, the smallest change first; empty when everything is inside.

    Raises
    ------
    NotFound
        If the case asks for a structure that the head does not have.
    """
    bench, now = _bench(case, head, unit, setup)
    if now.all_required_inside:
        return ()
    singles = sorted(
        [*_single_numbers(bench, setup), *_single_choices(bench, setup)],
        key=lambda changes: _size(setup, changes),
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
    return [
        c.key
        for c in CONTROLS
        if c.kind is ControlKind.NUMBER and c.advised and c.key in unit.travel
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


def _size(setup: Setup, changes: Mapping[str, float | str]) -> float:
    """How much is moved: millimetres and degrees added up; a new choice counts as one step."""
    return sum(
        abs(float(v) - float(getattr(setup, k))) if not isinstance(v, str) else 1.0
        for k, v in changes.items()
    )


def _single_numbers(bench: _Bench, setup: Setup) -> list[dict[str, float | str]]:
    found: list[dict[str, float | str]] = []
    for key in _number_keys(bench.unit):
        now = float(getattr(setup, key))
        values = _steps(bench, key, now)
        good = values[bench.slack(setup, {key: values}) >= -TOUCHING_MM]
        if len(good):
            found.append({key: float(good[np.argmin(np.abs(good - now))])})
    return found


def _single_choices(bench: _Bench, setup: Setup) -> list[dict[str, float | str]]:
    """Another region, or the smallest other field, that alone would hold everything."""
    found: list[dict[str, float | str]] = []
    for region in bench.unit.regions:
        if region != setup.region and region in bench.unit.field(setup.field).regions:
            trial = setup.with_values({"region": region})
            if bench.slack(trial, {})[0] >= -TOUCHING_MM:
                found.append({"region": region})
    for field in sorted(bench.unit.fields, key=lambda f: f.volume_mm3):
        other = field.id != setup.field and setup.region in field.regions
        if other and bench.slack(setup.with_values({"field": field.id}), {})[0] >= -TOUCHING_MM:
            found.append({"field": field.id})
            break
    return found


def _pairs(bench: _Bench, setup: Setup) -> list[dict[str, float | str]]:
    """The smallest pairs of number controls that bring everything inside: at most two."""
    rough = bench.thinned(ROUGH_EVERY)
    hits: list[tuple[float, str, str, float, float]] = []
    for a, b in combinations(_number_keys(bench.unit), 2):
        grid_a, grid_b = (_spread(bench, k, float(getattr(setup, k))) for k in (a, b))
        va, vb = (g.ravel() for g in np.meshgrid(grid_a, grid_b, indexing="ij"))
        lack = -rough.slack(setup, {a: va, b: vb})
        moved = np.abs(va - getattr(setup, a)) + np.abs(vb - getattr(setup, b))
        spacing = max(np.diff(grid_a).max(initial=0), np.diff(grid_b).max(initial=0))
        works = lack <= 0.0
        if works.any():
            i = int(np.argmin(np.where(works, moved, np.inf)))
        else:
            # a rough grid may step over a narrow window: look closely where least is lacking
            i = int(np.argmin(lack))
            if lack[i] > spacing:
                continue
        hits.append((float(moved[i] + max(0.0, lack[i])), a, b, float(va[i]), float(vb[i])))
    found = [
        best
        for _, a, b, x, y in sorted(hits)[:CLOSE_LOOKS]
        if (best := _close_look(bench, rough, setup, a, b, x, y)) is not None
    ]
    return sorted(found, key=lambda c: _size(setup, c))[:2]


def _close_look(
    bench: _Bench, rough: _Bench, setup: Setup, a: str, b: str, x: float, y: float
) -> dict[str, float | str] | None:
    """The smallest working pair of values near (x, y), in whole steps."""
    grids = []
    for key, at in ((a, x), (b, y)):
        now = float(getattr(setup, key))
        values = _steps(bench, key, now)
        wide = np.diff(_spread(bench, key, now)).max()
        grids.append(values[np.abs(values - at) <= wide + 1e-9])
    va, vb = (g.ravel() for g in np.meshgrid(*grids, indexing="ij"))
    good = np.flatnonzero(rough.slack(setup, {a: va, b: vb}) >= -TOUCHING_MM)
    moved = np.abs(va[good] - getattr(setup, a)) + np.abs(vb[good] - getattr(setup, b))
    good = good[np.argsort(moved, kind="stable")]
    for few in np.split(good, range(CHECK_AT_ONCE, len(good), CHECK_AT_ONCE)):
        if not len(few):
            break
        holds = few[bench.slack(setup, {a: va[few], b: vb[few]}) >= -TOUCHING_MM]
        if len(holds):
            changes = {a: float(va[holds[0]]), b: float(vb[holds[0]])}
            return {k: v for k, v in changes.items() if v != getattr(setup, k)}
    return None


def _spread(bench: _Bench, key: str, now: float) -> Array:
    """A rough grid over the values that may be advised; holds the present one."""
    return np.unique(np.r_[np.linspace(*_range(bench, key, now), PAIR_GRID), now])


def _best_reachable(bench: _Bench, setup: Setup, now: Placement) -> tuple[Advice, ...]:
    """The setup with the largest smallest margin, found control by control from several starts."""
    best_setup, best = setup, float(bench.slack(setup, {})[0])
    for region, field in _choices(bench.unit, setup):
        trial = setup.with_values({"region": region, "field": field})
        slack = float(bench.slack(trial, {})[0])
        for _ in range(BEST_ROUNDS):
            before = slack
            for key in _number_keys(bench.unit):
                values = _steps(bench, key, float(getattr(trial, key)))
                many = bench.slack(trial, {key: values})
                i = int(np.argmax(many))
                if many[i] > slack + 1e-9:
                    trial, slack = trial.with_values({key: float(values[i])}), float(many[i])
            if slack >= 0.0 or slack - before < 0.05:
                break
        if slack > best + 1e-9:
            best_setup, best = trial, slack
        if best >= 0.0:
            break
    changes = {
        c.key: getattr(best_setup, c.key)
        for c in CONTROLS
        if getattr(best_setup, c.key) != getattr(setup, c.key)
    }
    if not changes:
        text = f"No change of the controls brings it nearer: {where(_worst(now))}."
        return (Advice({}, 0.0, False, -best, text),)
    return (_advice(bench, setup, now, changes),)


def _choices(unit: Unit, setup: Setup) -> list[tuple[str, str]]:
    """The present region and field first, then the region's other fields, small ones first."""
    fields = sorted(unit.fields, key=lambda f: (f.id != setup.field, f.volume_mm3))
    return [(setup.region, f.id) for f in fields if setup.region in f.regions]


def _checked(
    bench: _Bench, setup: Setup, now: Placement, candidates: Sequence[Mapping[str, float | str]]
) -> tuple[Advice, ...]:
    advices = (_advice(bench, setup, now, c) for c in candidates)
    return tuple(a for a in advices if a.reaches_all)


def _advice(
    bench: _Bench, setup: Setup, now: Placement, changes: Mapping[str, float | str]
) -> Advice:
    after = place(bench.case, bench.head, bench.points, bench.unit, setup.with_values(changes))
    lacks = [(s.required_margin_mm or 0.0) - s.margin_mm for s in after.required]
    short = max(0.0, *lacks)
    actions = " and ".join(_action(setup, k, v) for k, v in changes.items())
    text = f"{actions[0].upper()}{actions[1:]}: {where(_worst(now))}."
    if not after.all_required_inside:
        text += f" The best that can be reached still lacks {amount(short, 'mm')}."
    return Advice(dict(changes), _size(setup, changes), after.all_required_inside, short, text)


def _worst(placement: Placement) -> StructurePlacement:
    """The required structure that lacks most."""
    return min(placement.required, key=lambda s: s.margin_mm - (s.required_margin_mm or 0.0))


def _action(setup: Setup, key: str, value: float | str) -> str:
    """What the hand does, with the amount: ``raise the chin support 6 mm``."""
    c = control(key)
    if isinstance(value, str):
        what = "enter the region" if key == "region" else "choose the field"
        return f"{what} {value}"
    by = value - float(getattr(setup, key))
    return f"{c.more if by > 0 else c.less} {amount(by, c.unit)}"

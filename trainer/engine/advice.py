"""What to change: the smallest movement that brings everything required inside, computed.

For every control alone, the nearest value at which all required structures keep their margins; if
none does it alone, the smallest pair of controls; else the best setup that can be reached. Every
answer is checked by placing the changed setup again, so an advice that says it helps does.

Sizes are compared as numbers: 1 mm counts as much as 1 degree. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.jaw import mandible_to_skull
from trainer.engine.placement import Placement, StructurePlacement, place
from trainer.engine.points import HeadPoints, pack
from trainer.engine.wording import amount, where
from trainer.geometry.pose import field_centre_from_support, region_place
from trainer.geometry.region import edge_distances, recorded_region
from trainer.geometry.transforms import attitude_rotation
from trainer.models.controls import CONTROLS, ControlKind, control
from trainer.models.device import Unit
from trainer.models.frames import RigidTransform
from trainer.models.scenario import Case
from trainer.models.setup import Setup
from trainer.models.structures import Head

Array = NDArray[np.float64]

# How many single advices are worth reading.
MOST_SINGLES = 3
# Grid points per control when pairs are tried, and how many rough hits are looked at closely.
PAIR_GRID = 15
PAIR_CLOSE_LOOKS = 3
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
    """The required structures of one case, ready for many setups at once."""

    case: Case
    head: Head
    unit: Unit
    points: HeadPoints
    needs_mm: Array

    def slack(self, setup: Setup, changes: Mapping[str, Array]) -> Array:
        """Smallest margin over what is asked [mm], for each of k changed setups: (k,).

        ``changes`` maps number controls to arrays (k,); all other values are the setup's.
        """
        k = len(next(iter(changes.values()))) if changes else 1

        def value(key: str) -> Array:
            return np.broadcast_to(np.asarray(changes.get(key, getattr(setup, key)), float), (k,))

        rotation = attitude_rotation(*(np.deg2rad(value(f"{a}_deg")) for a in ATTITUDE))
        centre = field_centre_from_support(setup, self.unit, self.unit.field(setup.field))
        goal = np.stack(
            [
                value("sideways_mm") - centre[0] - value("field_sideways_mm")
                + setup.field_sideways_mm,
                -value("forward_mm") - centre[1] + value("field_forward_mm")
                - setup.field_forward_mm,
                value("chin_height_mm") - centre[2],
            ],
            axis=-1,
        )  # fmt: skip
        from_contact = self._from_contact(value("jaw_gap_mm"))
        at = np.einsum("kij,knj->kni", rotation, from_contact) + goal[:, None, :]
        region = recorded_region(
            self.unit.field(setup.field),
            region_place(setup, self.unit),
            self.unit.beam,
            self.case.guard_rim_mm,
        )
        wall, roof, floor = edge_distances(region, at)
        least = np.minimum(np.minimum(wall, roof), floor) - self.needs_mm
        return np.asarray(least.min(axis=1))

    def _from_contact(self, gaps_mm: Array) -> Array:
        """Hull corners counted from the chin contact, skull axes: (k or 1, n, 3)."""
        n = self.points.hull_on_jaw
        fixed, moving = self.points.hull_mm[:n], self.points.hull_mm[n:]
        seen: dict[float, Array] = {}
        for gap in np.unique(gaps_mm):
            jaw: RigidTransform = mandible_to_skull(self.head.sex, float(gap))
            contact = jaw.rotation @ self.head.chin_contact_mm + jaw.translation_mm
            turned = moving @ jaw.rotation.T + jaw.translation_mm
            seen[float(gap)] = np.concatenate([fixed, turned]) - contact
        if len(seen) == 1:
            return next(iter(seen.values()))[None]
        return np.stack([seen[float(g)] for g in gaps_mm])


ATTITUDE = ("pitch", "yaw", "roll")


def advise(case: Case, head: Head, unit: Unit, setup: Setup) -> tuple[Advice, ...]:
    """Advice for a setup, the smallest change first; empty when everything is inside.

    Raises
    ------
    NotFound
        If the case asks for a structure that the head does not have.
    """
    points = pack([head.structure(r.structure) for r in case.required])
    asked = {r.structure: r.margin_mm for r in case.required}
    needs = np.array([asked[points.structures[i].id] for i in points.owner])
    bench = _Bench(case, head, unit, points, needs)
    now = place(case, head, points, unit, setup)
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

    The stretch round the present value, in whole steps of the control; ``None`` where the present
    value itself does not do.
    """
    points = pack([head.structure(r.structure) for r in case.required])
    asked = {r.structure: r.margin_mm for r in case.required}
    needs = np.array([asked[points.structures[i].id] for i in points.owner])
    bench = _Bench(case, head, unit, points, needs)
    found: dict[str, tuple[float, float] | None] = {}
    for key in _number_keys(unit):
        now = float(getattr(setup, key))
        values = np.unique(np.r_[_steps(unit, key, now), now])
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


def _steps(unit: Unit, key: str, now: float) -> Array:
    """All values the control can take, in whole steps from the present one."""
    travel = unit.travel[key]
    down = int(np.floor((now - travel.lowest) / travel.step + 1e-9))
    up = int(np.floor((travel.highest - now) / travel.step + 1e-9))
    return now + np.arange(-down, up + 1) * travel.step


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
        values = _steps(bench.unit, key, now)
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
        if field.id != setup.field and setup.region in field.regions:
            if bench.slack(setup.with_values({"field": field.id}), {})[0] >= -TOUCHING_MM:
                found.append({"field": field.id})
                break
    return found


def _pairs(bench: _Bench, setup: Setup) -> list[dict[str, float | str]]:
    """The smallest pairs of number controls that bring everything inside: at most two."""
    coarse = _coarse_bench(bench)
    hits: list[tuple[float, str, str, float, float]] = []
    for a, b in combinations(_number_keys(bench.unit), 2):
        grid_a, grid_b = (_spread(bench.unit, k, float(getattr(setup, k))) for k in (a, b))
        va, vb = (g.ravel() for g in np.meshgrid(grid_a, grid_b, indexing="ij"))
        slack = coarse.slack(setup, {a: va, b: vb})
        moved = np.abs(va - getattr(setup, a)) + np.abs(vb - getattr(setup, b))
        # a rough grid may step over a narrow window: keep near misses too
        spacing = max(np.diff(grid_a).max(initial=0), np.diff(grid_b).max(initial=0))
        near = slack >= -0.75 * spacing
        if near.any():
            i = int(np.argmin(np.where(near, moved - 0.5 * slack, np.inf)))
            hits.append((float(moved[i]), a, b, float(va[i]), float(vb[i])))
    found = [
        best
        for _, a, b, x, y in sorted(hits)[: 4 * PAIR_CLOSE_LOOKS]
        if (best := _close_look(bench, setup, a, b, x, y)) is not None
    ]
    return sorted(found, key=lambda c: _size(setup, c))[:2]


def _close_look(
    bench: _Bench, setup: Setup, a: str, b: str, x: float, y: float
) -> dict[str, float | str] | None:
    """The smallest working pair of values near (x, y), in whole steps."""
    grids = []
    for key, at in ((a, x), (b, y)):
        now = float(getattr(setup, key))
        values = _steps(bench.unit, key, now)
        wide = np.diff(_spread(bench.unit, key, now)).max()
        grids.append(values[np.abs(values - at) <= wide + 1e-9])
    va, vb = (g.ravel() for g in np.meshgrid(*grids, indexing="ij"))
    good = bench.slack(setup, {a: va, b: vb}) >= -TOUCHING_MM
    if not good.any():
        return None
    moved = np.abs(va - getattr(setup, a)) + np.abs(vb - getattr(setup, b))
    i = int(np.argmin(np.where(good, moved, np.inf)))
    changes = {a: float(va[i]), b: float(vb[i])}
    return {k: v for k, v in changes.items() if v != getattr(setup, k)}


def _spread(unit: Unit, key: str, now: float) -> Array:
    """A rough grid over the control's travel that holds the present value."""
    travel = unit.travel[key]
    grid = np.linspace(travel.lowest, travel.highest, PAIR_GRID)
    return np.unique(np.r_[grid, now])


def _coarse_bench(bench: _Bench) -> _Bench:
    """Every fourth hull corner: enough to see where a pair could work."""
    parts = []
    needs = []
    starts = [*bench.points.hull_starts, len(bench.points.hull_mm)]
    kept: list[int] = []
    for first, end in zip(starts[:-1], starts[1:], strict=True):
        rows = list(range(int(first), int(end), 6))
        parts.append(len(rows))
        kept += rows
    rows_array = np.array(kept)
    needs = bench.needs_mm[rows_array]
    points = HeadPoints(
        bench.points.structures,
        bench.points.hull_mm[rows_array],
        np.r_[0, np.cumsum(parts)[:-1]].astype(np.intp),
        bench.points.owner[rows_array],
        int(np.count_nonzero(rows_array < bench.points.hull_on_jaw)),
        bench.points.extents_mm,
    )
    return _Bench(bench.case, bench.head, bench.unit, points, needs)


def _best_reachable(bench: _Bench, setup: Setup, now: Placement) -> tuple[Advice, ...]:
    """The setup with the largest smallest margin, found control by control from several starts."""
    best_setup, best = setup, float(bench.slack(setup, {})[0])
    for region, field in _choices(bench.unit, setup):
        trial = setup.with_values({"region": region, "field": field})
        slack = float(bench.slack(trial, {})[0])
        for _ in range(BEST_ROUNDS):
            before = slack
            for key in _number_keys(bench.unit):
                values = _steps(bench.unit, key, float(getattr(trial, key)))
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
    after = place(
        bench.case, bench.head, bench.points, bench.unit, setup.with_values(changes)
    )
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

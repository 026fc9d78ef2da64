"""One tooth as a solid, in its own coordinates.

Tooth coordinates [mm]: x mesial, y buccal (labial), z occlusal; origin in the middle of the neck,
the neck on the labial face at z = 0. Sizes come from `tooth_tables`, form from `tooth_forms`.

A tooth is a loft: horizontal sections (ellipses, or boxier) whose reach to mesial, distal, buccal
and lingual changes with height. The biting surface is the highest of a few sloping ridges, so
grooves appear where the flanks of neighbouring cusps meet. Several roots are lofts of their own.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from trainer.anatomy.shapes.implicit import Shape, common, cut, ellipsoid, half_space, tube, union
from trainer.anatomy.teeth.primary_forms import form_of
from trainer.anatomy.teeth.tooth_forms import Ridge, RootForm, ToothForm
from trainer.anatomy.teeth.tooth_tables import SIZES, ToothSize

Array = NDArray[np.float64]

STEP_MM = 0.05  # height step of the loft's table
# Share of the crown's height over which neck sections (plain ellipses) become crown sections.
NECK_BLEND = 0.45
# Width of a single root at shares of its length, as share of the neck.
ROOT_SHARES = np.array([[0.0, 1.0], [0.25, 0.93], [0.5, 0.80], [0.75, 0.58], [0.92, 0.36],
                        [1.0, 0.20]])  # fmt: skip
# The same for one of several roots, from the furcation on.
BRANCH_SHARES = np.array([[0.0, 1.0], [0.3, 0.93], [0.6, 0.74], [0.85, 0.48], [1.0, 0.22]])
ROOT_END_MM = 0.6  # rounding of the apex
# A root that still grows ends open: wall left at its rim, and the least that shows below a crown.
OPEN_RIM_MM, LEAST_ROOT_MM = 0.6, 0.4
# Shares of a root less than this are no root yet: only the crown exists.
LEAST_SHARE = 0.1


@dataclass(frozen=True, slots=True)
class RootAxis:
    """The middle line of a root, (n, 3) from the neck to the apex, and its thickness [mm].

    ``half_mm`` (n, 2) are half widths mesiodistally and buccolingually, ``radii_mm`` (n,) the
    radius of a circle of equal area.
    """

    name: str
    axis_mm: Array
    half_mm: Array
    radii_mm: Array


@dataclass(frozen=True, slots=True)
class ToothModel:
    """The solids of one tooth in tooth coordinates.

    ``contact_mm`` is the height of the contacts and the middle of the section there: the point
    by which the tooth stands on the arch curve. ``tip_mm`` is the tallest buccal cusp or the middle
    of the edge.
    """

    size: ToothSize
    crown: Shape
    solid: Shape
    pulp: Shape
    roots: tuple[RootAxis, ...]
    contact_mm: Array
    tip_mm: Array


# --- lofts -----------------------------------------------------------------------------------


def loft(heights_mm: Array, columns: Array, end_mm: float, top_mm: float | None = None) -> Shape:
    """Horizontal sections stacked along z.

    ``columns`` (n, 7) holds for each of the ascending ``heights_mm`` (n,), evenly spaced: section
    centre x, y, half widths x, y, power, taper (relative change of the x half width from lingual
    to buccal), shear (shift of x per y). The lower end is rounded by ``end_mm``; the upper end is
    flat at ``top_mm``, or rounded likewise when that is None. First order distance.
    """
    z0, step, last = float(heights_mm[0]), float(heights_mm[1] - heights_mm[0]), len(heights_mm) - 2
    z1 = float(heights_mm[-1]) if top_mm is None else top_mm
    table = np.ascontiguousarray(columns.T)

    def distance(p: Array) -> Array:
        px, py, pz = np.ascontiguousarray(p.T)
        at = (pz - z0) / step
        i = np.clip(at.astype(np.int64), 0, last)
        f = np.clip(at - i, 0.0, 1.0)
        found = table.take(i, axis=1) * (1.0 - f) + table.take(i + 1, axis=1) * f
        cx, cy, a, b, power, taper, shear = found
        y = (py - cy) / b
        wide = a * (1.0 + taper * np.clip(y, -1.2, 1.2))
        x = (px - cx - shear * (py - cy)) / wide
        x, y = np.maximum(np.abs(x), 1e-6), np.maximum(np.abs(y), 1e-6)
        xp, yp = x**power, y**power
        s = xp + yp
        norm = s ** (1.0 / power)
        slope = np.hypot(xp / (x * wide), yp / (y * b)) * norm / s
        d = (norm - 1.0) / np.maximum(slope, 1.0 / np.maximum(wide, b))
        d = smooth_max(d, z0 - pz, end_mm)
        return np.maximum(d, pz - z1) if top_mm is not None else smooth_max(d, pz - z1, end_mm)

    cx, cy, a, b, _, taper, shear = columns.T
    wide = a * (1.0 + np.abs(taper)) + np.abs(shear) * b
    lower = np.array([(cx - wide).min(), (cy - b).min(), z0])
    upper = np.array([(cx + wide).max(), (cy + b).max(), z1])
    return Shape(distance, lower, upper)


def smooth_max(a: Array, b: Array, k: float) -> Array:
    """The larger of two, with a rounded change-over ``k`` wide (Quilez, quadratic form)."""
    h = np.maximum(k - np.abs(a - b), 0.0) / max(k, 1e-9)
    return np.maximum(a, b) + h * h * k * 0.25


def section_reach(columns: Array) -> tuple[float, float]:
    """How far the sections reach to +x and to -x (a positive number)."""
    v = np.linspace(-1.0, 1.0, 161)[None, :]
    cx, _, a, b, power, taper, shear = (c[:, None] for c in columns.T)
    half = a * (1.0 + taper * v) * (1.0 - np.abs(v) ** power).clip(0) ** (1.0 / power)
    lean = shear * b * v
    return float((cx + half + lean).max()), float((half - cx - lean).max())


def _levels(low_mm: float, high_mm: float) -> Array:
    return STEP_MM * np.arange(
        round(low_mm / STEP_MM), round(high_mm / STEP_MM) + 1, dtype=np.float64
    )


def _columns(
    size: ToothSize, form: ToothForm, bottom_mm: float, single: bool
) -> tuple[Array, Array]:
    """Heights and loft columns of crown and root (or trunk), ``bottom_mm`` to above the top."""
    h, half_md, half_bl = size.crown_mm, size.md_mm / 2, size.bl_mm / 2
    neck_md, neck_bl = size.md_neck_mm / 2, size.bl_neck_mm / 2
    rows = [(r[0] * h, r[1] * half_md, r[2] * half_md, r[3] * half_bl, r[4] * half_bl, r[5])
            for r in form.rows]  # fmt: skip
    if single:
        root = [(-u * size.root_mm[0], neck_md * w, neck_md * w, neck_bl * w, neck_bl * w, 2.0)
                for u, w in ROOT_SHARES[:0:-1]]  # fmt: skip
    else:
        w = 0.92
        root = [(bottom_mm, neck_md * w, neck_md * w, neck_bl * w, neck_bl * w, 2.3)]
    neck = (0.0, neck_md, neck_md, neck_bl, neck_bl, 2.0 if single else 2.2)
    knots = np.array([*root, neck, *rows])
    z = _levels(bottom_mm, h + 0.5)
    fine = PchipInterpolator(knots[:, 0], knots[:, 1:])(np.clip(z, bottom_mm, h))
    mesial, distal, buccal, lingual, power = fine.T
    up = np.clip(z / (NECK_BLEND * h), 0.0, 1.0)
    up = up * up * (3.0 - 2.0 * up)
    bend = np.zeros_like(z)
    if single:
        bend = -form.bend * np.clip(-z / size.root_mm[0], 0.0, 1.0) ** 2.2

    def columns(widen: float) -> Array:
        grow = 1.0 + (widen - 1.0) * up
        cx = (mesial - distal) / 2 * grow + bend
        a = (mesial + distal) / 2 * grow
        cy, b = (buccal - lingual) / 2, (buccal + lingual) / 2
        return np.column_stack([cx, cy, a, b, power, form.taper * up, form.shear * up])

    # Taper and shear change the reach; widen the sections until the width is the table's again.
    widen = 1.0
    for _ in range(8):
        widen *= size.md_mm / sum(section_reach(columns(widen)[z > 0]))
    return z, columns(widen)


def _branch(
    size: ToothSize, form: ToothForm, root: RootForm, length_mm: float
) -> tuple[Array, Array]:
    """Heights and loft columns of one of several roots, apex to just below the neck."""
    neck = np.array([size.md_neck_mm, size.bl_neck_mm]) / 2
    top, apex = np.array(root.top) * neck, np.array(root.apex) * neck
    z = _levels(-length_mm, -1.0)
    u = np.clip((-z - form.furcation_mm) / (length_mm - form.furcation_mm), 0.0, 1.0)
    shares = PchipInterpolator(BRANCH_SHARES[:, 0], BRANCH_SHARES[:, 1])(u)
    # roots leave the trunk steeply and sweep to distal toward the apex; the buccolingual spread
    # is nearly straight
    x = top[0] + (apex[0] - top[0]) * u**1.6
    y = top[1] + (apex[1] - top[1]) * u**1.1
    # slimmer inside the trunk, so that the fillet does not swell its outside
    shares = shares * np.interp(-z, [1.0, form.furcation_mm], [0.75, 1.0])
    a, b = root.half_mm[0] * shares, root.half_mm[1] * shares
    zero = np.zeros_like(z)
    return z, np.column_stack([x, y, a, b, zero + 2.1, zero, zero])


# --- crown -----------------------------------------------------------------------------------


def biting_surface(ridges: tuple[Ridge, ...], size: ToothSize, pit_mm: float) -> Shape:
    """Everything below the highest of the ridges, pits at most ``pit_mm`` deep (first order)."""
    half = np.array([size.md_mm, size.bl_mm]) / 2
    lines = [
        (np.array(r[0:2]) * half, np.array(r[3:5]) * half, size.crown_mm - r[2],
         size.crown_mm - r[5], r[6])
        for r in ridges
    ]  # fmt: skip
    round_mm, floor_mm = 0.35, size.crown_mm - pit_mm

    def distance(p: Array) -> Array:
        best = np.full(len(p), floor_mm)
        near = p[:, 2] > floor_mm - 2.5  # deeper down the floor tells enough
        if not near.any():
            return (p[:, 2] - best) * 0.8
        (x, y), found = np.ascontiguousarray(p[near, :2].T), best[near]
        for a, b, za, zb, slope in lines:
            ab, dx, dy = b - a, x - a[0], y - a[1]
            t = np.clip((dx * ab[0] + dy * ab[1]) / max(float(ab @ ab), 1e-9), 0.0, 1.0)
            away = np.hypot(dx - t * ab[0], dy - t * ab[1])
            fall = slope * (np.sqrt(away * away + round_mm**2) - round_mm)
            found = smooth_max(found, za + t * (zb - za) - fall, 0.3)
        best[near] = found
        return (p[:, 2] - best) * 0.8

    huge = np.full(3, 1e6)
    return Shape(distance, -huge, huge)


def _lingual_fossa(size: ToothSize, form: ToothForm, z: Array, columns: Array) -> Shape:
    assert form.fossa is not None
    at, half_height, half_width, depth_mm = form.fossa
    h = size.crown_mm
    y_back = columns[:, 1] - columns[:, 3]
    low, mid, high = (float(np.interp(h * s, z, y_back))
                      for s in (at - half_height * 0.7, at, at + half_height * 0.7))  # fmt: skip
    along = np.array([0.0, high - low, 1.4 * half_height * h])
    along /= np.linalg.norm(along)
    across = np.array([1.0, 0.0, 0.0])
    outward = np.cross(along, across)  # towards lingual or labial; the ellipsoid does not care
    outward *= -np.sign(outward[1])
    thick = 2.2
    centre = np.array([0.0, mid, at * h]) + outward * (thick - depth_mm)
    radii = (half_width * size.md_mm / 2, thick, half_height * h)
    return ellipsoid(centre, radii, np.column_stack([across, outward, along]))


def _above_neck(size: ToothSize, form: ToothForm) -> Shape:
    """Everything above the neck line, which climbs on the mesial and distal faces."""
    half = size.md_neck_mm / 2
    huge = np.full(3, 1e6)

    def distance(p: Array) -> Array:
        return (form.cej_mm * np.minimum((p[:, 0] / half) ** 2, 1.0) - p[:, 2]) * 0.7

    return Shape(distance, np.array([-1e6, -1e6, 0.0]), huge)


def _root_axis(name: str, z: Array, columns: Array) -> RootAxis:
    heights = np.linspace(0.0, z[0], 9)
    at = np.array([np.interp(heights, z, c) for c in columns.T])
    return RootAxis(
        name, np.column_stack([at[0], at[1], heights]), at[2:4].T, np.sqrt(at[2] * at[3])
    )


def _pulp(size: ToothSize, roots: list[RootAxis]) -> Shape:
    """The pulp chamber and a canal in each root.

    Chamber about a third of the neck wide, reaching into the crown; canals thin out to the apex.
    Textbook picture, no measured source.
    """
    many = len(roots) > 1
    centre = np.array([0.0, 0.0, 0.08 * size.crown_mm])
    radii = np.array([0.17 * size.md_neck_mm, 0.13 * size.bl_neck_mm, 0.36 * size.crown_mm])
    if many:
        radii = np.array([0.30 * size.md_neck_mm, 0.27 * size.bl_neck_mm, 0.24 * size.crown_mm])
    parts = [ellipsoid(centre, radii)]
    for r in roots:
        start = np.vstack([r.axis_mm[0] * 0.5, r.axis_mm[1:-1], r.axis_mm[-1] * [1, 1, 0.97]])
        parts.append(tube(start, np.linspace(0.7 if not many else 0.5, 0.2, len(start))))
    return union(*parts, blend_mm=0.5)


@cache
def tooth_model(jaw: str, place: int, root_share: float = 1.0) -> ToothModel:
    """The solids of a tooth of a kind (`tooth_tables.kind_of`).

    ``root_share`` is the part of the roots that is formed; below `LEAST_SHARE` there is none, and
    a growing root ends cut off square with a wide canal.
    """
    whole = _whole_model(jaw, place)
    if root_share >= 1.0:
        return whole
    depth_mm = max(root_share * max(whole.size.root_mm), LEAST_ROOT_MM)
    end = half_space([0.0, 0.0, -depth_mm], [0.0, 0.0, -1.0])
    solid = _shortened(common(whole.solid, end, blend_mm=0.3), whole.solid, depth_mm)
    roots = tuple(_grown(r, depth_mm) for r in whole.roots) if root_share >= LEAST_SHARE else ()
    wide = [
        tube(r.axis_mm[2:] if len(whole.roots) > 1 else r.axis_mm, np.maximum(
            0.75 * r.half_mm.min(axis=1) - OPEN_RIM_MM, 0.2)[2 if len(whole.roots) > 1 else 0:])
        for r in roots
    ]  # fmt: skip
    pulp = union(whole.pulp, *wide, blend_mm=0.3) if wide else whole.pulp
    above = half_space([0.0, 0.0, 0.1 - depth_mm], [0.0, 0.0, -1.0])
    pulp = _shortened(common(pulp, above), pulp, depth_mm)
    return ToothModel(whole.size, whole.crown, solid, pulp, roots, whole.contact_mm, whole.tip_mm)


def _shortened(shape: Shape, whole: Shape, depth_mm: float) -> Shape:
    lower = whole.lower_mm.copy()
    lower[2] = max(lower[2], -depth_mm)
    return Shape(shape.distance, lower, whole.upper_mm)


def _grown(root: RootAxis, depth_mm: float) -> RootAxis:
    """The root down to a depth below the neck, as nine points again."""
    z = np.linspace(0.0, max(-depth_mm, float(root.axis_mm[-1, 2])), len(root.axis_mm))

    def at(values: Array) -> Array:
        return np.array([np.interp(-z, -root.axis_mm[:, 2], v) for v in values.T]).T

    axis = np.column_stack([at(root.axis_mm[:, :2]), z])
    return RootAxis(root.name, axis, at(root.half_mm), at(root.radii_mm[:, None])[:, 0])


@cache
def _whole_model(jaw: str, place: int) -> ToothModel:
    size, form = SIZES[jaw, place], form_of(jaw, place)
    single = not form.roots
    z, columns = _columns(size, form, -size.root_mm[0] if single else -form.furcation_mm, single)
    body = loft(z, columns, ROOT_END_MM if single else 2.0, size.crown_mm + 0.4)
    if form.fossa is not None:
        body = cut(body, _lingual_fossa(size, form, z, columns), blend_mm=0.6)
    body = common(body, biting_surface(form.ridges, size, form.pit_mm), blend_mm=form.edge_mm)
    axes: list[RootAxis] = []
    branches: list[Shape] = []
    if single:
        axes.append(_root_axis(size.roots[0], z, columns))
    for name, root, length in zip(size.roots, form.roots, size.root_mm, strict=False):
        rz, rcolumns = _branch(size, form, root, length)
        branches.append(loft(rz, rcolumns, ROOT_END_MM))
        axes.append(_root_axis(name, rz, rcolumns))
    upper = np.array([*body.upper_mm[:2], size.crown_mm])
    body = Shape(body.distance, np.array([*_box(columns, -1), z[0]]), upper)
    solid = union(body, *branches, blend_mm=1.2) if branches else body
    crown = common(body, _above_neck(size, form))
    crown = Shape(crown.distance, np.array([*body.lower_mm[:2], 0.0]), upper)
    widest = max(form.rows, key=lambda r: r[1] + r[2])[0] * size.crown_mm
    at = int(np.argmin(np.abs(z - widest)))
    tip = form.ridges[0]
    return ToothModel(
        size, crown, solid, _pulp(size, axes), tuple(axes),
        np.array([0.0, columns[at, 1], z[at]]),
        np.array([tip[0] * size.md_mm / 2, tip[1] * size.bl_mm / 2, size.crown_mm - tip[2]]),
    )  # fmt: skip


def _box(columns: Array, sign: int) -> Array:
    cx, cy, a, b, _, taper, shear = columns.T
    wide = a * (1.0 + np.abs(taper)) + np.abs(shear) * b
    return np.array([(cx + sign * wide).min(), (cy + sign * b).min()])

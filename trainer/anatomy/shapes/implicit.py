"""Solids given by signed distance, and the ways to blend them.

A `Shape` tells for any point how far it is from the surface: negative inside, positive
outside, millimetres. Distances are exact for the simple solids and near the surface after blends;
further off only the sign holds, which is all that meshing and inside tests need.

Every shape also carries a box that holds it. Blends use the box to leave out parts that are far
from the points asked for; a far part answers with one far value. So a head made of
hundreds of parts stays affordable as long as points are asked for in compact blocks, which is
what `meshing.sample_grid` does.

The blends follow the polynomial smooth minimum: Quilez, "Smooth minimum" (2013), quadratic form.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

# A part whose box is at least this far from every asked point [mm] is not evaluated.
SKIP_BEYOND_MM = 3.0
# A part left out answers with at least this [mm], lest a wider blend further out feel its box.
FAR_MM = 20.0


@dataclass(frozen=True, slots=True)
class Shape:
    """A solid: ``distance`` maps (n, 3) points [mm] to (n,) signed distances [mm].

    ``lower_mm`` and ``upper_mm`` are corners of a box that holds the whole solid.
    """

    distance: Callable[[Array], Array]
    lower_mm: Array
    upper_mm: Array

    def __call__(self, points_mm: ArrayLike) -> Array:
        """Signed distance [mm] of (n, 3) points [mm]."""
        return self.distance(np.asarray(points_mm, dtype=np.float64).reshape(-1, 3))


def _power(x: Array, exponent: float) -> Array:
    """``x ** exponent`` for x >= 0, quick for the exponents that ellipses need."""
    if exponent == 2.0:
        return x * x
    if exponent == 1.0:
        return x
    return np.sqrt(x) if exponent == 0.5 else x**exponent


# --- simple solids ---------------------------------------------------------------------------


def sphere(center_mm: ArrayLike, radius_mm: float) -> Shape:
    """A ball."""
    c = np.asarray(center_mm, float)

    def distance(p: Array) -> Array:
        return np.linalg.norm(p - c, axis=1) - radius_mm

    return Shape(distance, c - radius_mm, c + radius_mm)


def ellipsoid(
    center_mm: ArrayLike,
    radii_mm: ArrayLike,
    rotation: ArrayLike | None = None,
    power: float = 2.0,
) -> Shape:
    """A (super)ellipsoid with half axes ``radii_mm``.

    ``rotation`` is a 3x3 matrix whose columns are the half axes' directions. ``power`` above 2
    makes it boxier. The distance is first order (value over gradient length): right at the
    surface, approximate away from it.
    """
    c, r = np.asarray(center_mm, float), np.asarray(radii_mm, float)
    m = np.eye(3) if rotation is None else np.asarray(rotation, float)

    def distance(p: Array) -> Array:
        q = np.abs((p - c) @ m) / r
        s = _power(q, power) @ np.ones(3)
        norm = _power(s, 1.0 / power)
        # gradient of norm: q**(power-1) * s**(1/power - 1) / r
        g = _power(q, power - 1.0) / r
        slope = np.sqrt(np.einsum("ij,ij->i", g, g)) * norm / np.maximum(s, 1e-12)
        return (norm - 1.0) / np.maximum(slope, 1.0 / r.max())

    reach = np.abs(m) @ r if power <= 2.0 else np.sum(np.abs(m) * r, axis=1)
    return Shape(distance, c - reach, c + reach)


def box(
    center_mm: ArrayLike,
    half_mm: ArrayLike,
    rotation: ArrayLike | None = None,
    round_mm: float = 0.0,
) -> Shape:
    """A box with half edges ``half_mm``; ``round_mm`` rounds its edges without growing it."""
    c, h = np.asarray(center_mm, float), np.asarray(half_mm, float)
    m = np.eye(3) if rotation is None else np.asarray(rotation, float)

    def distance(p: Array) -> Array:
        q = np.abs((p - c) @ m) - (h - round_mm)
        out = np.maximum(q, 0.0)
        deepest = np.maximum(np.maximum(q[:, 0], q[:, 1]), q[:, 2])
        return np.sqrt(np.einsum("ij,ij->i", out, out)) + np.minimum(deepest, 0.0) - round_mm

    reach = np.abs(m) @ h
    return Shape(distance, c - reach, c + reach)


def capsule(a_mm: ArrayLike, b_mm: ArrayLike, ra_mm: float, rb_mm: float | None = None) -> Shape:
    """A rod from ``a`` to ``b`` whose radius runs straight from ``ra_mm`` to ``rb_mm``."""
    rb_mm = ra_mm if rb_mm is None else rb_mm
    return tube(np.array([a_mm, b_mm], float), np.array([ra_mm, rb_mm], float))


def tube(points_mm: ArrayLike, radii_mm: ArrayLike, blend_mm: float = 0.0) -> Shape:
    """A rod along the corners ``points_mm`` (n, 3) with radius ``radii_mm`` (n,) or one number.

    Give many corners (see `smooth_curve`) for a curved rod.
    """
    pts = np.asarray(points_mm, float)
    rad = np.broadcast_to(np.asarray(radii_mm, float), (len(pts),)).copy()

    starts, spans = pts[:-1], np.diff(pts, axis=0)
    lengths2 = np.maximum(np.einsum("ij,ij->i", spans, spans), 1e-12)
    thin, thick = np.minimum(rad[:-1], rad[1:]), np.maximum(rad[:-1], rad[1:])

    def distance(p: Array) -> Array:
        # Links that the points' own ball shows to be farther than another link are left out;
        # this changes no value.
        low, high = _box_of(p)
        middle, spread = (low + high) / 2, float(np.linalg.norm(high - low)) / 2
        q = middle - starts
        t = np.clip(np.einsum("ij,ij->i", q, spans) / lengths2, 0.0, 1.0)
        away = np.linalg.norm(q - t[:, None] * spans, axis=1)
        wanted = away - spread - thick <= (away + spread - thin).min() + blend_mm
        best: Array | None = None
        for i in np.flatnonzero(wanted):
            q = p - starts[i]
            t = np.clip(q @ spans[i] / lengths2[i], 0.0, 1.0)
            q -= t[:, None] * spans[i]
            d = np.sqrt(np.einsum("ij,ij->i", q, q)) - (rad[i] + t * (rad[i + 1] - rad[i]))
            best = d if best is None else _smooth_min(best, d, blend_mm)
        assert best is not None
        return best

    big = rad.max() + blend_mm
    return Shape(distance, pts.min(axis=0) - big, pts.max(axis=0) + big)


def sweep(
    points_mm: ArrayLike,
    half_widths_mm: ArrayLike,
    half_heights_mm: ArrayLike,
    up: ArrayLike,
    power: float = 2.0,
) -> Shape:
    """An elliptic (or boxier, by ``power``) section carried along the corners ``points_mm``.

    ``half_heights_mm`` is measured along ``up`` (one vector, or one per corner), made
    perpendicular to the path; ``half_widths_mm`` across both. Ends are rounded. First order
    distance, as for `ellipsoid`. Suits plates and bars: jaw body, arches, rims.
    """
    pts = np.asarray(points_mm, float)
    n = len(pts)
    w = np.broadcast_to(np.asarray(half_widths_mm, float), (n,)).copy()
    h = np.broadcast_to(np.asarray(half_heights_mm, float), (n,)).copy()
    ups = np.broadcast_to(np.asarray(up, float), (n, 3)).copy()

    def distance(p: Array) -> Array:
        best = np.full(len(p), np.inf)
        for i in range(n - 1):
            a, ab = pts[i], pts[i + 1] - pts[i]
            length = max(float(np.linalg.norm(ab)), 1e-9)
            along = ab / length
            t = np.clip((p - a) @ along / length, 0.0, 1.0)
            u = ups[i] + t[:, None] * (ups[i + 1] - ups[i])
            u = u - (u @ along)[:, None] * along
            u /= np.maximum(np.sqrt(np.einsum("ij,ij->i", u, u)), 1e-9)[:, None]
            # along x u
            v = u[:, [2, 0, 1]] * along[[1, 2, 0]] - u[:, [1, 2, 0]] * along[[2, 0, 1]]
            q = p - a - t[:, None] * ab
            rw, rh = w[i] + t * (w[i + 1] - w[i]), h[i] + t * (h[i + 1] - h[i])
            small = np.minimum(rw, rh)
            x = np.abs(np.einsum("ij,ij->i", q, v)) / rw
            y = np.abs(np.einsum("ij,ij->i", q, u)) / rh
            z = np.abs(q @ along) / small  # beyond the ends
            s = _power(x, power) + _power(y, power) + _power(z, power)
            norm = _power(s, 1.0 / power)
            less = power - 1.0
            gx, gy, gz = _power(x, less) / rw, _power(y, less) / rh, _power(z, less) / small
            slope = np.sqrt(gx * gx + gy * gy + gz * gz) * norm / np.maximum(s, 1e-12)
            d = (norm - 1.0) / np.maximum(slope, 1.0 / np.maximum(rw, rh))
            best = np.minimum(best, d)
        return best

    big = max(w.max(), h.max()) * (1.0 if power <= 2.0 else 1.5)
    return Shape(distance, pts.min(axis=0) - big, pts.max(axis=0) + big)


def half_space(point_mm: ArrayLike, normal: ArrayLike) -> Shape:
    """All points behind the plane through ``point_mm``; ``normal`` points out of the solid."""
    q, n = np.asarray(point_mm, float), np.asarray(normal, float)
    n = n / np.linalg.norm(n)
    huge = np.full(3, 1e6)
    return Shape(lambda p: (p - q) @ n, -huge, huge)


def smooth_curve(points_mm: ArrayLike, count: int) -> Array:
    """``count`` points [mm] on a smooth curve through ``points_mm`` (spline by arc length)."""
    from scipy.interpolate import CubicSpline

    pts = np.asarray(points_mm, float)
    s = np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(pts, axis=0), axis=1))]
    return np.asarray(CubicSpline(s, pts)(np.linspace(0.0, s[-1], count)))


# --- blends ----------------------------------------------------------------------------------


def _smooth_min(a: Array, b: Array, k: float) -> Array:
    if k <= 0.0:
        return np.minimum(a, b)
    h = np.maximum(k - np.abs(a - b), 0.0) / k
    return np.minimum(a, b) - h * h * k * 0.25


def _box_of(p: Array) -> tuple[Array, Array]:
    """Lower and upper corner of the points' box."""
    columns = np.ascontiguousarray(p.T)
    return columns.min(axis=1), columns.max(axis=1)


def _near(shape: Shape, p: Array, corners: tuple[Array, Array], reach_mm: float) -> Array | float:
    """The shape's distances at ``p``, or one far value when its box is beyond ``reach_mm``.

    ``corners`` is the box of ``p``.
    """
    gap = np.maximum(np.maximum(shape.lower_mm - corners[1], corners[0] - shape.upper_mm), 0)
    away = float(np.sqrt(gap @ gap))
    return max(away, FAR_MM) if away > reach_mm else shape.distance(p)


def union(*shapes: Shape, blend_mm: float = 0.0) -> Shape:
    """All of the shapes together; ``blend_mm`` is the width of the fillet where they meet."""
    reach = SKIP_BEYOND_MM + blend_mm

    def distance(p: Array) -> Array:
        best = np.full(len(p), 1e3)
        corners = _box_of(p)
        for s in shapes:
            d = _near(s, p, corners, reach)
            best = np.minimum(best, d) if isinstance(d, float) else _smooth_min(best, d, blend_mm)
        return best

    lower = np.min([s.lower_mm for s in shapes], axis=0) - blend_mm * 0.25
    upper = np.max([s.upper_mm for s in shapes], axis=0) + blend_mm * 0.25
    return Shape(distance, lower, upper)


def cut(shape: Shape, *tools: Shape, blend_mm: float = 0.0) -> Shape:
    """``shape`` with the ``tools`` taken away; ``blend_mm`` rounds the new edges."""
    reach = SKIP_BEYOND_MM + blend_mm

    def distance(p: Array) -> Array:
        d = shape.distance(p)
        corners = _box_of(p)
        for t in tools:
            away = _near(t, p, corners, reach)
            if isinstance(away, float):
                d = np.maximum(d, -away)
            else:
                d = -_smooth_min(-d, away, blend_mm)
        return d

    return Shape(distance, shape.lower_mm, shape.upper_mm)


def common(*shapes: Shape, blend_mm: float = 0.0) -> Shape:
    """Only what all shapes share."""

    def distance(p: Array) -> Array:
        d = shapes[0].distance(p)
        for s in shapes[1:]:
            d = -_smooth_min(-d, -s.distance(p), blend_mm)
        return d

    lower = np.max([s.lower_mm for s in shapes], axis=0)
    upper = np.min([s.upper_mm for s in shapes], axis=0)
    return Shape(distance, lower, upper)


def grow(shape: Shape, by_mm: float) -> Shape:
    """The shape with its surface moved outwards by ``by_mm`` (inwards when negative)."""
    return Shape(
        lambda p: shape.distance(p) - by_mm,
        shape.lower_mm - max(by_mm, 0.0),
        shape.upper_mm + max(by_mm, 0.0),
    )


def hollow(shape: Shape, wall_mm: float) -> Shape:
    """The outer ``wall_mm`` of the shape."""

    def distance(p: Array) -> Array:
        d = shape.distance(p)
        return np.maximum(d, -d - wall_mm)

    return Shape(distance, shape.lower_mm, shape.upper_mm)


def both_sides(shape: Shape) -> Shape:
    """A shape given for the patient's left (+x), and its mirror image on the right."""

    def distance(p: Array) -> Array:
        q = p.copy()
        q[:, 0] = np.abs(q[:, 0])
        return shape.distance(q)

    reach = max(abs(shape.lower_mm[0]), abs(shape.upper_mm[0]))
    return Shape(
        distance,
        np.array([-reach, *shape.lower_mm[1:]]),
        np.array([reach, *shape.upper_mm[1:]]),
    )


def mirrored(shape: Shape) -> Shape:
    """The shape seen in the mirror of the midsagittal plane (x = 0)."""
    flip = np.array([-1.0, 1.0, 1.0])
    lower = np.array([-shape.upper_mm[0], *shape.lower_mm[1:]])
    upper = np.array([-shape.lower_mm[0], *shape.upper_mm[1:]])
    return Shape(lambda p: shape.distance(p * flip), lower, upper)


def placed(shape: Shape, rotation: ArrayLike, origin_mm: ArrayLike) -> Shape:
    """The shape turned by ``rotation`` (3x3) about its own origin, then moved to ``origin_mm``."""
    m, o = np.asarray(rotation, float), np.asarray(origin_mm, float)
    corners = (
        np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)], float)
        * (shape.upper_mm - shape.lower_mm)
        + shape.lower_mm
    )
    moved = corners @ m.T + o
    return Shape(lambda p: shape.distance((p - o) @ m), moved.min(axis=0), moved.max(axis=0))

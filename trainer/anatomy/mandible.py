"""The lower jaw.

The bone without its tooth-bearing rim is one plate, bent along a horseshoe and cut to an outline:
body, angle, ramus, coronoid process and condylar neck are one sheet of bone in life too. A point's
place on the sheet is (s, u, z): ``s`` along the horseshoe from the midline, ``u`` outwards from
it, ``z`` up. Two tables tell how far the outer and the inner face lie from the horseshoe; a
closed line in (s, z) is the border. The condylar heads are added as ellipsoids, the rim around
the teeth comes from `alveolus`.

Everything is modelled in the mean man (mandible frame, teeth together) and led to other heads by
`warp`. Shapes between the sourced measures (faces, outline) follow the general look of the bone:
from memory, no source. Measures with a source stand beside the constants or in the tests.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import CubicSpline, PchipInterpolator
from scipy.ndimage import map_coordinates
from scipy.spatial import cKDTree

from trainer.anatomy.alveolus import alveolar_process
from trainer.anatomy.dentition import dentition
from trainer.anatomy.implicit import (
    Shape,
    box,
    both_sides,
    common,
    cut,
    ellipsoid,
    sphere,
    tube,
    union,
)
from trainer.anatomy.landmarks import starter_landmarks
from trainer.anatomy.warp import head_warp
from trainer.models.subject import Sex

Array = NDArray[np.float64]

# Condylar head: 17.2 along its axis, 8.9 across (CBCT, 800 people: Saudi Dental Journal 2021);
# height so that the volume is that of Tecco et al., BMC Med. Imaging 2010 (691 mm3, men).
CONDYLE_HALF_MM = np.array([8.6, 4.45, 4.3])
CONDYLE_TOP_Z_MM = -1.0  # condylion of the landmark set
CONDYLE_TURN_DEG = 20.0  # medial pole back, 15-25: from memory
BORDER_ROUND_MM = 4.5  # how softly the faces run into the border
SHEET_STEP_MM = 0.25  # between points of the horseshoe
RIM_BLEND_MM = 3.0  # fillet between the body and the tooth-bearing rim
# Mental foramen: 12.3-13.7 above the lower border (Int. J. Dent. 2016 and 2018; Medicina 2026).
MENTAL_FORAMEN_UP_MM = 13.0
MENTAL_FORAMEN_LATERAL_MM = 25.5  # 25.2-25.9: Int. J. Dent. 2016; Medicina 2026
# Lingula: 53 % of the ramus width from the rear border, 65 % of its height from the lower border
# (Head & Face Medicine 2020); the ramus measured from angle to notch and square to its rear border.
LINGULA_WIDTH_SHARE, LINGULA_HEIGHT_SHARE = 0.53, 0.65

# Horseshoe in plan view: lateral, forward [mm], from the midline to behind the ramus.
HORSESHOE = np.array(
    [[0, 81.5], [7, 80.4], [13.5, 77], [18.5, 71.5], [23, 63.5], [28, 54], [33.5, 43.5],
     [39, 33], [43.5, 23], [46.5, 13], [48.5, 3], [49.5, -6]], float
)  # fmt: skip
# Lower border as a straight line in side view through gonion and menton: heights in the face
# tables count from it.
GONION_FU = (12.0, -62.5)
MENTON_FU = (80.5, -95.5)

# Heights above the lower border line [mm] of the columns below.
FACE_HEIGHTS = np.array([-4, 0, 4, 8, 13, 18, 24, 32, 44, 58, 72], float)
# One row for each point of the horseshoe: outwards from it to the outer face [mm].
OUTER_FACE = np.array(
    [[1.5, 3.0, 5.2, 6.0, 6.1, 4.3, 2.6, 4.5, 6, 6, 6],  # midline: chin point, hollow above
     [2.0, 3.8, 6.0, 5.6, 4.6, 3.3, 2.8, 4.0, 6, 6, 6],  # mental tubercle
     [2.0, 3.4, 4.9, 4.4, 3.8, 3.6, 3.8, 4.0, 6, 6, 6],  # canine
     [2.0, 3.2, 4.8, 5.2, 5.2, 5.0, 5.0, 5.0, 6, 6, 6],  # premolars
     [2.0, 3.6, 5.3, 6.0, 6.2, 5.9, 5.2, 5.0, 6, 6, 6],  # first molar
     [2.5, 4.2, 5.9, 6.6, 7.0, 7.5, 7.3, 6.0, 6, 6, 6],  # second molar: oblique line
     [2.5, 4.2, 5.9, 6.8, 7.5, 8.2, 8.8, 9.0, 8.6, 8, 8],  # third molar, front of the ramus
     [2.5, 4.2, 5.7, 6.4, 6.9, 7.1, 7.2, 7.3, 7.8, 8.6, 9],  # ramus, coronoid process
     [3.2, 4.4, 5.2, 5.4, 5.4, 5.2, 5.0, 5.0, 5.6, 7, 8],
     [3.6, 4.4, 4.6, 4.4, 4.2, 4.0, 4.0, 4.6, 6.4, 8, 8],  # gonion; neck above
     [3.0, 3.4, 3.4, 3.2, 3.0, 3.0, 3.4, 4.6, 6.6, 8, 8],
     [3.0, 3.0, 3.0, 3.0, 3.0, 3.0, 3.4, 4.6, 6.6, 8, 8]], float
)  # fmt: skip
# The same to the inner face.
INNER_FACE = np.array(
    [[-3.0, -4.4, -6.0, -6.8, -7.0, -6.4, -5.2, -3, 0, 0, 0],
     [-3.0, -4.2, -5.6, -6.5, -6.6, -6.0, -5.2, -4, 0, 0, 0],
     [-2.5, -3.8, -5.0, -5.6, -5.8, -5.8, -5.6, -5, 0, 0, 0],
     [-2.5, -3.6, -4.6, -5.2, -5.6, -5.9, -6.0, -6, 0, 0, 0],
     [-2.2, -3.4, -4.2, -4.4, -5.0, -6.2, -6.8, -6, 0, 0, 0],
     [-2.0, -3.0, -3.6, -3.6, -4.4, -6.6, -7.6, -6, 0, 0, 0],  # hollow below the mylohyoid line
     [-2.0, -2.6, -3.0, -3.0, -3.6, -5.6, -7.4, -6, -1, 2, 3],
     [-2.2, -2.6, -2.6, -2.4, -2.2, -2.2, -2.4, -2, 0.6, 3.8, 5],
     [-2.4, -2.8, -3.0, -3.0, -2.8, -2.6, -2.4, -2.2, -1, 2, 3],
     [-2.8, -3.2, -3.4, -3.4, -3.4, -3.2, -3.0, -2.6, -1.6, 0, 0],
     [-3.0, -3.4, -3.6, -3.6, -3.6, -3.4, -3.2, -2.6, -1.8, 0, 0],
     [-3.0, -3.4, -3.6, -3.6, -3.6, -3.4, -3.2, -2.6, -1.8, 0, 0]], float
)  # fmt: skip

# Lower border and upper edge of the body: along the horseshoe s, up [mm].
LOWER_BORDER_SU = np.array(
    [[0, -95.9], [6, -96.2], [12, -95.9], [20, -93.0], [31, -88.0], [42, -82.6], [54, -76.9],
     [65, -71.2]], float
)  # fmt: skip
UPPER_EDGE_SU = np.array([[31, -64.5], [20, -67.5], [10, -69.5], [0, -70]], float)
# Angle, rear border, condylar neck, notch, coronoid process, front border, oblique line:
# forward, up [mm] in side view.
RAMUS_FU = np.array(
    [[23, -67.6], [17.5, -65.6], [13.0, -61.6], [10.3, -55], [9.2, -46], [8.0, -34], [6.4, -22],
     [5.0, -14], [5.6, -9], [8.5, -6], [13.5, -6], [14.6, -9], [15.8, -13.5], [19, -18.6],
     [24, -20.8], [29, -18.8], [33, -13.6], [36, -8.2], [38.2, -7.2], [39.6, -10], [40.2, -18],
     [39.6, -27], [39.8, -35], [41.6, -43], [45.2, -51], [50.5, -57.5], [57, -61.5]], float
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Table:
    """A quantity on a flat grid, read with straight interpolation; held fast beyond its edges."""

    values: Array
    start: tuple[float, float]
    step_mm: float

    def __call__(self, a_mm: Array, b_mm: Array) -> Array:
        where = np.array([a_mm - self.start[0], b_mm - self.start[1]]) / self.step_mm
        found = map_coordinates(self.values, where, order=1, mode="nearest")
        return np.asarray(found, np.float64)


@dataclass(frozen=True, slots=True)
class Sheet:
    """The bent plate of the mean man's lower jaw, left half."""

    along: _Table  # (x, y) -> s
    out: _Table  # (x, y) -> u
    outer: _Table  # (s, height above the lower border line) -> u
    inner: _Table
    border: _Table  # (s, z) -> signed distance to the outline
    curve_mm: Array  # (n, 2) x, y of the horseshoe, SHEET_STEP_MM apart
    normal: Array  # (n, 2) outwards

    def locate(self, points_mm: Array) -> tuple[Array, Array, Array]:
        """s, u [mm] and height above the lower border line [mm] of (n, 3) points, side dropped."""
        x, y, z = np.abs(points_mm[:, 0]), points_mm[:, 1], points_mm[:, 2]
        return self.along(x, y), self.out(x, y), z - border_line(-y)

    def point(self, s_mm: ArrayLike, u_mm: ArrayLike, z_mm: ArrayLike) -> Array:
        """(n, 3) points [mm] on the left side for places on the sheet."""
        i = np.clip(np.asarray(s_mm, float) / SHEET_STEP_MM, 0, len(self.curve_mm) - 1)
        k = np.arange(len(self.curve_mm))
        xy = np.stack(
            [
                np.interp(i, k, self.curve_mm[:, j])
                + np.asarray(u_mm, float) * np.interp(i, k, self.normal[:, j])
                for j in (0, 1)
            ],
            axis=-1,
        )
        z = np.broadcast_to(np.asarray(z_mm, float), xy.shape[:-1])
        return np.concatenate([xy, z[..., None]], axis=-1)

    def faces(self, s_mm: ArrayLike, z_mm: ArrayLike) -> tuple[Array, Array]:
        """u [mm] of the inner and the outer face at places on the sheet."""
        s = np.atleast_1d(np.asarray(s_mm, float))
        height = np.asarray(z_mm, float) - border_line(-self.point(s, 0.0, 0.0)[:, 1])
        return self.inner(s, height), self.outer(s, height)



def border_line(forward_mm: ArrayLike) -> Array:
    """Height [mm] of the straight line through gonion and menton, mean man in side view."""
    (f0, u0), (f1, u1) = GONION_FU, MENTON_FU
    return u0 + (u1 - u0) / (f1 - f0) * (np.asarray(forward_mm, float) - f0)


def _face_table(rows: Array, stations_mm: Array) -> _Table:
    """The face rows, made smooth without overshoot (Fritsch & Carlson 1980) and even at s = 0."""
    s = np.r_[-stations_mm[:0:-1], stations_mm]
    full = np.vstack([rows[:0:-1], rows])
    fine_s = np.arange(0.0, stations_mm[-1], 0.5)
    fine_h = np.arange(FACE_HEIGHTS[0], FACE_HEIGHTS[-1], 0.5)
    along = PchipInterpolator(s, full, axis=0)(fine_s)
    return _Table(
        PchipInterpolator(FACE_HEIGHTS, along, axis=1)(fine_h), (0.0, FACE_HEIGHTS[0]), 0.5
    )


def _border_table(loop_mm: Array) -> _Table:
    """Signed distance [mm] to the closed line ``loop_mm`` (n, 2), negative inside."""
    s, z = np.arange(-10.0, 115.0, 0.5), np.arange(-110.0, 12.0, 0.5)
    grid = np.stack(np.meshgrid(s, z, indexing="ij"), axis=-1).reshape(-1, 2)
    best, inside = np.full(len(grid), np.inf), np.zeros(len(grid), bool)
    for a, b in zip(loop_mm, np.roll(loop_mm, -1, axis=0), strict=True):
        ab = b - a
        t = np.clip((grid - a) @ ab / max(float(ab @ ab), 1e-12), 0.0, 1.0)
        best = np.minimum(best, np.linalg.norm(grid - a - t[:, None] * ab, axis=1))
        if a[1] != b[1]:
            crosses = (a[1] > grid[:, 1]) != (b[1] > grid[:, 1])
            inside ^= crosses & (grid[:, 0] < a[0] + (grid[:, 1] - a[1]) / ab[1] * ab[0])
    return _Table(np.where(inside, -best, best).reshape(len(s), len(z)), (s[0], z[0]), 0.5)


@lru_cache(maxsize=1)
def sheet() -> Sheet:
    """The mean man's jaw plate, ready to be asked."""
    plan = HORSESHOE * np.array([1.0, -1.0])
    knots = np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(plan, axis=0), axis=1))]
    # leaves the midline square to it, so that both halves meet without a crease
    spline = CubicSpline(knots, plan, bc_type=((1, np.array([1.0, 0.0])), (2, np.zeros(2))))
    fine = spline(np.linspace(0.0, knots[-1], 2000))
    run = np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(fine, axis=0), axis=1))]
    s = np.arange(0.0, run[-1], SHEET_STEP_MM)
    curve = np.stack([np.interp(s, run, fine[:, j]) for j in (0, 1)], axis=-1)
    tangent = np.gradient(curve, SHEET_STEP_MM, axis=0)
    tangent[0] = (1.0, 0.0)
    tangent /= np.linalg.norm(tangent, axis=1)[:, None]
    normal = np.stack([tangent[:, 1], -tangent[:, 0]], axis=-1)
    stations = np.array([s[np.argmin(np.linalg.norm(curve - p, axis=1))] for p in plan])

    x, y = np.arange(0.0, 76.0, 0.5), np.arange(-104.0, 20.0, 0.5)
    grid = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1)
    _, near = cKDTree(curve).query(grid)
    off = grid - curve[near]
    along = s[near] + np.sum(off * tangent[near], axis=-1)
    out = np.sum(off * normal[near], axis=-1)

    # forward coordinates of the ramus outline become places along the horseshoe
    ramus = RAMUS_FU.copy()
    ramus[:, 0] = np.interp(-RAMUS_FU[:, 0], curve[:, 1], s, right=None)
    behind = RAMUS_FU[:, 0] < -curve[-1, 1]
    ramus[behind, 0] = s[-1] + (-curve[-1, 1] - RAMUS_FU[behind, 0])
    half = np.vstack([LOWER_BORDER_SU, ramus, UPPER_EDGE_SU])
    chord = np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(half, axis=0), axis=1))]
    smooth = PchipInterpolator(chord, half)(np.linspace(0.0, chord[-1], 240))
    loop = np.vstack([smooth, [[-20.0, smooth[-1, 1]], [-20.0, smooth[0, 1]]]])
    return Sheet(
        _Table(along, (x[0], y[0]), 0.5),
        _Table(out, (x[0], y[0]), 0.5),
        _face_table(OUTER_FACE, stations),
        _face_table(INNER_FACE, stations),
        _border_table(loop),
        curve,
        normal,
    )


def _smooth_max(a: Array, b: Array, k: float) -> Array:
    h = np.maximum(k - np.abs(a - b), 0.0) / k
    return np.maximum(a, b) + h * h * k * 0.25


def _plate() -> Shape:
    plate = sheet()

    def distance(p: Array) -> Array:
        s, u, height = plate.locate(p)
        face = np.maximum(u - plate.outer(s, height), plate.inner(s, height) - u)
        return _smooth_max(face, plate.border(s, p[:, 2]), BORDER_ROUND_MM)

    return Shape(distance, np.array([-60.0, -91.0, -99.0]), np.array([60.0, 0.0, 0.0]))


def _condyle() -> Shape:
    """The left condylar head of the mean man."""
    hinge = starter_landmarks(Sex.MALE)["hinge-left"]
    center = np.array([hinge[0], hinge[1], CONDYLE_TOP_Z_MM - CONDYLE_HALF_MM[2]])
    turn = np.radians(CONDYLE_TURN_DEG)
    c, s = np.cos(turn), np.sin(turn)
    axes = np.array([[c, s, 0.0], [-s, c, 0.0], [0.0, 0.0, 1.0]])
    return ellipsoid(center, CONDYLE_HALF_MM, axes)


def mental_foramen_mm() -> Array:
    """Centre of the left mental foramen on the outer face, mean man [mm], (3,)."""
    plate = sheet()
    s = np.arange(18.0, 34.0, 0.05)
    z = border_line(-plate.point(s, 0.0, 0.0)[:, 1]) + MENTAL_FORAMEN_UP_MM
    on_face = plate.point(s, plate.faces(s, z)[1], z)
    return np.asarray(on_face[np.argmin(np.abs(on_face[:, 0] - MENTAL_FORAMEN_LATERAL_MM))])



def mandibular_foramen_mm() -> Array:
    """Entry of the left mandibular canal on the inner face of the ramus, mean man [mm], (3,)."""
    notch_u, forward_mid = RAMUS_FU[:, 1][14], 24.0
    low = float(border_line(forward_mid))
    up = low + LINGULA_HEIGHT_SHARE * (notch_u - low)
    rear = np.interp(up, RAMUS_FU[3:8, 1], RAMUS_FU[3:8, 0])
    front = np.interp(-up, -RAMUS_FU[20:27, 1], RAMUS_FU[20:27, 0])
    forward = rear + LINGULA_WIDTH_SHARE * (front - rear)
    plate = sheet()
    s = np.interp(-forward, plate.curve_mm[:, 1], np.arange(len(plate.curve_mm)) * SHEET_STEP_MM)
    inner, _ = plate.faces(s, up)
    return np.asarray(plate.point(np.array([s]), inner, up)[0])


def mandible_body() -> Shape:
    """The mean man's lower jaw without its tooth-bearing rim, mandible frame [mm]."""
    foramen, entry = mental_foramen_mm(), mandibular_foramen_mm()
    heads = both_sides(_condyle())
    spines = union(sphere([1.6, -74.6, -84.5], 1.5), sphere([1.5, -74.9, -87.5], 1.3), blend_mm=1.5)
    lingula = tube(entry + np.array([[-0.3, -2.6, -3.0], [-1.2, -2.0, 2.5]]), np.array([1.6, 0.9]))
    bone = union(_plate(), heads, blend_mm=5.0)
    bone = union(bone, both_sides(spines), both_sides(lingula), blend_mm=2.0)
    pits = union(sphere(foramen, 1.6), sphere(entry + np.array([-0.6, 0.0, 0.0]), 1.8))
    return cut(bone, both_sides(pits), blend_mm=1.0)


def mandible(sex: Sex) -> Shape:
    """The whole lower jaw bone of the mean man or woman, mandible frame [mm]."""
    lower = tuple(t for t in dentition(sex) if t.fdi // 10 in (3, 4))
    return union(
        head_warp(sex).shape(mandible_body()), alveolar_process(lower), blend_mm=RIM_BLEND_MM
    )


# How high a strip along the lower border reaches above the straight border line [mm].
STRIP_MM = 5.0
# Places along the horseshoe [mm]: front of the first molar, back of the third, front of the angle.
STRIP_MOLARS_MM, STRIP_ANGLE_MM = (29.0, 60.0), 80.0


def mandible_structures(sex: Sex) -> dict[str, Shape]:
    """Parts of the lower jaw that a request may name, as solids in the mandible frame [mm].

    Paired ones are given for the left side only, as ``name-left``. Where a part ends inside the
    bone is common sense, no source.
    """
    warp, bone = head_warp(sex), mandible_body()

    def part(lower: ArrayLike, upper: ArrayLike) -> Shape:
        low, high = np.asarray(lower, float), np.asarray(upper, float)
        return common(bone, box((low + high) / 2, (high - low) / 2))

    parts = {
        "condyle-left": _condyle(),
        "condylar-neck-left": part([40, -18, -20], [60, -2, -9]),
        "coronoid-left": part([38, -44, -22], [54, -27, -5]),
        "gonion-left": common(bone, sphere(starter_landmarks(Sex.MALE)["gonion-left"], 14.0)),
        "mental-foramen-left": sphere(mental_foramen_mm(), 1.5),  # 3.0 x 3.2: von Arx 2013
        "chin": part([-15, -90, -98], [15, -70, -77]),
        "lower-border": _border_strip(bone, -STRIP_ANGLE_MM, STRIP_ANGLE_MM),
        "lower-border-left": _border_strip(bone, *STRIP_MOLARS_MM),
    }
    found = {name: warp.shape(shape) for name, shape in parts.items()}
    found["retromolar-left"] = _retromolar(sex)
    return found


def _border_strip(bone: Shape, from_mm: float, to_mm: float) -> Shape:
    """The bone's lower edge between two places along the horseshoe, right side negative."""
    plate = sheet()

    def distance(p: Array) -> Array:
        s, _, height = plate.locate(p)
        s = np.where(p[:, 0] < 0.0, -s, s)
        ends = np.maximum(from_mm - s, s - to_mm)
        return np.maximum(np.maximum(bone.distance(p), height - STRIP_MM), ends)

    lower, upper = bone.lower_mm.copy(), bone.upper_mm.copy()
    upper[2] = border_line(-plate.point(max(abs(from_mm), to_mm), 0, 0)[1]) + STRIP_MM
    if from_mm >= 0.0:
        ends = plate.point([from_mm, to_mm], 0.0, 0.0)
        lower[0], upper[0] = ends[0, 0] - 10.0, ends[1, 0] + 10.0
        lower[1], upper[1] = ends[0, 1] - 10.0, ends[1, 1] + 10.0
    return Shape(distance, lower, upper)


def _retromolar(sex: Sex) -> Shape:
    """The bone between the left lower third molar and the front of the ramus."""
    third = next(t for t in dentition(sex) if t.fdi == 38).solid
    middle, rear = (third.lower_mm + third.upper_mm) / 2, third.upper_mm[1]
    low = np.array([middle[0] - 8.0, rear - 1.0, third.lower_mm[2] + 2.0])
    high = np.array([middle[0] + 14.0, rear + 9.0, third.upper_mm[2] - 1.0])
    return common(mandible(sex), box((low + high) / 2, (high - low) / 2))

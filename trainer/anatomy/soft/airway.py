"""Air passages and small canals: nose to windpipe, sinus opening, mastoid cells, midline canals.

Mean man's skull frame, teeth together, mouth closed, breathing at rest. All points (L, F, U) in
mm. Where a passage runs follows the bones of this model (anatomy texts from memory, unless a source
is named).
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator
from scipy.spatial import cKDTree

from trainer.anatomy.bones import braincase, midface
from trainer.anatomy.bones.cranium import cranium
from trainer.anatomy.shapes.implicit import (
    Shape,
    both_sides,
    box,
    capsule,
    common,
    cut,
    ellipsoid,
    grow,
    smooth_curve,
    sweep,
    tube,
    union,
)
from trainer.anatomy.shapes.sculpt import lfu, loft
from trainer.anatomy.soft.inner_ear import labyrinth, nerve_canal
from trainer.anatomy.soft.soft_parts import clear_of, soft_palate, tongue

Array = NDArray[np.float64]

# Triangles at which the thinnest walls and bores show [mm].
MESH_STEP_MM = {
    "airway": 1.0,
    "ostium-left": 0.3,
    "incisive-canal": 0.3,
    "mastoid-cells-left": 0.4,
    "lingual-canal": 0.15,
}
# Lining of the nose over its bones [mm]: from memory.
LINING_MM = 0.9
# Air keeps off tongue and palate by this much [mm].
TISSUE_GAP_MM = 0.4
# Thickness of the air left between tongue and hard palate: common practice, no source.
MOUTH_AIR_MM = 1.8

# Throat and windpipe: up, forward, half width, half depth of level sections. The nose's rear doors
# are 32.9 (3.7) from the atlas (Bibby & Preston, Am. J. Orthod. 1981); smallest section above the
# larynx around 320 mm2 (Class I adults: J. Dent. Sci. 2021); windpipe 18 wide in men (from memory).
THROAT = np.array(
    [[-8, 21.5, 11.0, 4.0], [-18, 22.0, 14.0, 7.0], [-26, 21.2, 15.5, 6.6], [-36, 19.0, 16.5, 5.9],
     [-46, 17.2, 17.0, 5.7], [-56, 18.2, 17.0, 6.2], [-68, 19.8, 16.0, 6.2], [-80, 21.0, 16.0, 6.8],
     [-92, 22.5, 14.5, 6.8], [-104, 23.5, 10.0, 7.5], [-114, 22.5, 5.5, 8.5],
     [-122, 21.0, 3.2, 8.8], [-130, 19.5, 7.5, 9.0], [-142, 18.0, 9.0, 9.0],
     [-160, 17.5, 9.0, 9.0], [-190, 14.5, 9.0, 9.0]], float
)  # fmt: skip
AIRWAY_END_UP_MM = -185.0

# Opening of the maxillary sinus: 2.4 across, 5 to 7 long, 28.5 above the sinus floor: from memory.
OSTIUM_LFU, OSTIUM_HALF_MM = ((15.2, 60.3, -3.6), (10.2, 61.1, -4.5)), 1.2
# 11.79 (2.50) long, upper end 2.57 (1.25), lower mouth 3.21 wide and 5.13 deep (CBCT, n = 335: Med.
# Sci. Monit. 2024).
INCISIVE_LFU = ((0, 79.8, -26.0), (0, 81.0, -31.0), (0, 83.3, -36.4))
INCISIVE_HALF_WIDTHS_MM, INCISIVE_HALF_DEPTHS_MM = (1.28, 1.2, 1.6), (1.28, 1.3, 2.3)
# 5.81 (2.08) long, 0.87 (0.30) across, above the mental spines (CBCT, n = 320: Int. J. Environ.
# Res. Public Health 2022).
LINGUAL_LFU, LINGUAL_HALF_MM = ((0, 74.6, -82.0), (0, 80.4, -83.6)), 0.45

# Mastoid cells 7.9 (2.3) mL with the antrum, 4-14 (CT, 100 bones: J. Laryngol. Otol. 2003).
CELL_MM, CELL_WALL_MM, CELL_WINDOW_MM = 5.2, 0.7, 0.8
MASTOID_SHELL_MM = 1.2  # bone left outside the cells: from memory
LABYRINTH_SHELL_MM, OPENING_SHELL_MM = 1.2, 0.5  # likewise round the inner ear
# A cell's middle lies at least this deep in the space for cells, so that no slivers arise.
LEAST_CELL_MM = 0.4


def airway() -> dict[str, Shape]:
    """Air passages and midline canals by id, mean man's skull frame [mm]; of pairs the left only.

    ``lingual-canal`` lies in the lower jaw and moves with it: its frame is the mandible's.
    ``airway`` holds both nasal passages, the throat, the windpipe down to 185 below the ear line
    and, apart from them, the thin air between tongue and hard palate.
    """
    return {
        "airway": air_passages(),
        "ostium-left": ostium(),
        "incisive-canal": incisive_canal(),
        "mastoid-cells-left": mastoid_cells(),
        "lingual-canal": lingual_canal(),
    }


@lru_cache(maxsize=1)
def air_passages() -> Shape:
    """Nose, throat, windpipe and the thin air in the closed mouth."""
    through = union(_nose(), throat(), blend_mm=2.0)
    palate, body = grow(soft_palate(), TISSUE_GAP_MM), grow(tongue(), TISSUE_GAP_MM)
    apart = cut(through, palate, body)
    return union(apart, mouth_air())


def _nose() -> Shape:
    """Both nasal passages between the bones' lining, from the nostrils to the rear doors."""
    inside = box(lfu((0, 67.5, -3)), (13.5, 24.5, 27))
    bony = clear_of(common(midface.nasal_cavity(), inside), cranium(), LINING_MM)
    run = smooth_curve(lfu([(6.2, 85, -17), (6.0, 93, -18.5), (6.4, 99, -21.5),
                            (6.8, 101.8, -26)]), 6)  # fmt: skip
    entry = sweep(run, np.linspace(4.2, 3.0, 6), np.linspace(6.0, 3.8, 6), lfu((0, 0.5, 1)))
    entry = clear_of(entry, cranium(), LINING_MM)
    # the wall between the passages goes on in front of the bony one
    wall = box(lfu((0, 75, -8)), (1.9, 31, 24))
    return cut(union(bony, both_sides(entry), blend_mm=2.0), wall, blend_mm=0.6)


def throat() -> Shape:
    """The space behind nose and mouth, the larynx and the windpipe."""
    behind_nose = loft(
        (0, 46, -14.5), (0, 17, -17), [9.5, 10.5, 13.0, 14.0, 11.0], [8.6, 8.6, 8.4, 8.0, 6.5],
        (0, 0, 1), power=2.3,
    )  # fmt: skip
    return clear_of(union(behind_nose, _column(), blend_mm=4.0), cranium(), LINING_MM)


def _column() -> Shape:
    """The upright part of the throat, by level sections. First order distance."""
    order = np.argsort(THROAT[:, 0])
    up, forward, wide, deep = THROAT[order].T
    sections = PchipInterpolator(up, np.stack([forward, wide, deep], axis=1))
    fine = np.arange(up[0], up[-1] + 0.5, 0.5)
    table = sections(fine)
    power = 2.3

    def distance(p: Array) -> Array:
        z = p[:, 2]
        middle, rx, ry = (np.interp(z, fine, table[:, k]) for k in range(3))
        x, y = np.abs(p[:, 0]) / rx, np.abs(p[:, 1] + middle) / ry
        total = np.maximum(x**power + y**power, 1e-12)
        norm = total ** (1.0 / power)
        slope = np.hypot(x ** (power - 1) / rx, y ** (power - 1) / ry) * norm / total
        side = (norm - 1.0) / np.maximum(slope, 1.0 / np.maximum(rx, ry))
        return np.maximum(side, np.maximum(AIRWAY_END_UP_MM - z, z - up[-1]))

    reach = wide.max(), (forward + deep).max(), (forward - deep).min()
    return Shape(
        distance,
        np.array([-reach[0], -reach[1], AIRWAY_END_UP_MM]),
        np.array([reach[0], -reach[2], up[-1]]),
    )


def mouth_air() -> Shape:
    """The thin layer of air between the tongue's back and the hard palate."""
    layer = cut(grow(tongue(), TISSUE_GAP_MM + MOUTH_AIR_MM), grow(tongue(), TISSUE_GAP_MM))
    region = box(lfu((0, 63, -38)), (12.5, 14.0, 8.0), round_mm=3.0)
    return clear_of(common(layer, region), cranium(), 1.0)


def ostium() -> Shape:
    """The left maxillary sinus's opening into the nose, below the middle scroll's root."""
    a, b = lfu(OSTIUM_LFU)
    return capsule(a, b, OSTIUM_HALF_MM)


def incisive_canal() -> Shape:
    """The canal behind the upper incisors, from the nasal floor to the palate."""
    path = smooth_curve(lfu(INCISIVE_LFU), 9)
    share, given = np.linspace(0, 2, 9), range(3)
    return sweep(
        path, np.interp(share, given, INCISIVE_HALF_WIDTHS_MM),
        np.interp(share, given, INCISIVE_HALF_DEPTHS_MM), lfu((0.0, 1.0, 0.3)),
    )  # fmt: skip


def lingual_canal() -> Shape:
    """The midline canal of the lower jaw, from its inner face forwards; moves with that jaw."""
    a, b = lfu(LINGUAL_LFU)
    return capsule(a, b, LINGUAL_HALF_MM)


@lru_cache(maxsize=1)
def mastoid_cells() -> Shape:
    """Air cells of the left mastoid, with the antrum that leads to the middle ear.

    Cells with thin walls between, joined by small windows and shut in bone; only the antrum opens,
    into the tympanic cavity.
    """
    region = union(
        grow(braincase.mastoid(), -0.5),
        ellipsoid(lfu((51, -14, 4)), (15, 16.0, 14.0)),
        blend_mm=4.0,
    )
    opening = union(
        ellipsoid(lfu((41.0, -9.5, 5.0)), (3.6, 4.6, 4.0)),
        tube(lfu([(34.2, -0.5, 3.6), (37.0, -4.5, 4.6), (41, -9.5, 5)]), [1.7, 1.5, 2.0]),
        ellipsoid(lfu((34.2, 0.6, 3.4)), (1.8, 3.4, 2.9)),
        blend_mm=1.5,
    )
    bone, ear = cranium(), union(labyrinth(), nerve_canal())
    opening = clear_of(opening, ear, OPENING_SHELL_MM)

    def allowed(p: Array) -> Array:
        """Negative where a cell may lie."""
        d = region.distance(p)
        near = np.flatnonzero(d < 1.0)
        if not len(near):
            return d
        q = p[near]
        within = np.maximum(d[near], MASTOID_SHELL_MM + bone.distance(q))
        d[near] = np.maximum(within, LABYRINTH_SHELL_MM - ear.distance(q))
        return d

    seeds = _seeds(region)
    walls = _cell_walls(seeds, allowed(seeds) < -LEAST_CELL_MM)

    def cells(p: Array) -> Array:
        d = allowed(p)
        near = np.flatnonzero(d < 1.0)
        if len(near):
            d[near] = np.maximum(d[near], walls(p[near]))
        return d

    many = Shape(cells, region.lower_mm, region.upper_mm)
    return union(many, opening)


def _seeds(region: Shape) -> Array:
    """Middles (n, 3) of the cells: a cubic grid shaken up, the same at every call [mm]."""
    low, high = region.lower_mm - CELL_MM, region.upper_mm + CELL_MM
    steps = [np.arange(a, b + CELL_MM, CELL_MM) for a, b in zip(low, high, strict=True)]
    grid = np.stack(np.meshgrid(*steps, indexing="ij"), axis=-1).reshape(-1, 3)
    return np.asarray(
        grid + np.random.default_rng(1).uniform(-0.35, 0.35, grid.shape) * CELL_MM, float
    )


def _cell_walls(seeds: Array, hollow: NDArray[np.bool_]) -> Callable[[Array], Array]:
    """Distance to the walls of the cells: negative in a hollow cell, positive elsewhere.

    Every point belongs to the nearest seed; a wall runs where two seeds are equally near, and has a
    round window on the line between two hollow ones.
    """
    tree = cKDTree(seeds)

    def walls(p: Array) -> Array:
        away, number = tree.query(p, k=2)
        near, other = seeds[number[:, 0]], seeds[number[:, 1]]
        apart = np.linalg.norm(other - near, axis=1)
        to_wall = (away[:, 1] ** 2 - away[:, 0] ** 2) / (2.0 * apart)
        cell = CELL_WALL_MM / 2.0 - np.where(hollow[number[:, 0]], to_wall, -to_wall)
        along = apart / 2.0 - to_wall
        off_line = np.sqrt(np.maximum(away[:, 0] ** 2 - along**2, 0.0))
        window = np.where(np.all(hollow[number], axis=1), off_line - CELL_WINDOW_MM, np.inf)
        return np.asarray(np.minimum(cell, window))

    return walls

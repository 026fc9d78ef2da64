"""The face's upper skeleton: orbits, nose, cheekbones and arches, upper jaw. (L, F, U) in mm.

Left half of the mean man; midline parts lie on both sides of the midline.
"""

from __future__ import annotations

import numpy as np

from trainer.anatomy.shapes.implicit import (
    Shape,
    box,
    capsule,
    common,
    ellipsoid,
    grow,
    smooth_curve,
    sphere,
    sweep,
    tube,
    union,
)
from trainer.anatomy.shapes.sculpt import lfu, loft, star

# --- orbit: 40 wide, 35 high, rim to apex 42-45 (from memory) ---------------------------------

ORBIT_APEX = np.array([14.0, 35.0, 20.0])
ORBIT_MOUTH = np.array([31.0, 77.5, 17.5])
# the opening's upper edge tilts down towards the side by about this slope
ORBIT_UP = (0.14, 0.0, 1.0)
RIM_CENTER = (31.0, 17.5)
# the sharp edge, all round from the top
RIM = [
    (31, 85.5, 35.3), (20, 86.5, 33.5), (12.6, 84.5, 27), (11.3, 81.5, 18), (13.4, 79, 8.5),
    (20.5, 77.5, 2.2), (31, 75, 0.0), (41.5, 70.5, 1.8), (47.5, 66, 8.5), (49.2, 63.5, 17.5),
    (47.6, 67.0, 27), (41.0, 78, 33.5),
]  # fmt: skip
RIM_RADII = [3.0, 3.0, 2.8, 2.4, 2.4, 2.6, 2.8, 2.8, 2.6, 2.4, 2.5, 3.0]


def _orbit(beyond_mm: float, grow_mm: float) -> Shape:
    axis = ORBIT_MOUTH - ORBIT_APEX
    length = float(np.linalg.norm(axis))
    end = ORBIT_MOUTH + axis / length * beyond_mm
    reach = np.array([0, 8, 16, 24, 32, 40, length, length + 12, length + 30])
    w = np.array([2.5, 5.2, 8.2, 11.6, 15.6, 19.2, 19.8, 20.8, 23.0]) + grow_mm
    h = np.array([2.5, 6.0, 9.6, 13.0, 16.2, 17.9, 17.5, 18.2, 20.0]) + grow_mm
    at = np.linspace(0.0, length + beyond_mm, 12)
    return loft(ORBIT_APEX, end, np.interp(at, reach, w), np.interp(at, reach, h), ORBIT_UP,
                power=2.9)  # fmt: skip


def orbit() -> Shape:
    """The orbit's space, and on through its mouth into the open."""
    return _orbit(26.0, 0.0)


def orbit_walls() -> Shape:
    """The orbit's walls, filled, up to a little behind the rim."""
    return _orbit(-9.0, 2.3)


def orbit_rim() -> Shape:
    """The rounded bar round the orbit's mouth; `orbit` cuts its inner side to a sharp edge."""
    rim = np.array(RIM)
    off = rim[:, [0, 2]] - RIM_CENTER
    off /= np.linalg.norm(off, axis=1)[:, None]
    middle = rim.copy()
    middle[:, [0, 2]] += off * (np.array(RIM_RADII) - 1.2)[:, None]
    middle[:, 1] -= 1.5
    ring = np.concatenate([middle, middle[:1]])
    radii = np.interp(np.linspace(0, 12, 37), np.arange(13), [*RIM_RADII, RIM_RADII[0]])
    return tube(smooth_curve(lfu(ring), 37), radii)


# --- nose ------------------------------------------------------------------------------------


def nasal_bridge() -> Shape:
    """Nasal bones and the upper jaw's frontal processes: nasion (92, 26) to rhinion (102, 3)."""
    roof = loft(
        (0, 78, 30), (0, 89, 1), [9.5, 7.5, 8.0, 7.5], [13.0, 11.5, 12.5, 13.5], (0, 1, 0.35),
        power=1.6,
    )  # fmt: skip
    border = lfu([(10.5, 83, 27), (12.5, 83, 12), (15.2, 83.5, -2), (16.2, 84.5, -14),
                  (14, 86, -24), (8, 87.5, -29)])  # fmt: skip
    radii = np.interp(np.linspace(0, 5, 16), range(6), [3.2, 3.8, 4.2, 4.2, 3.8, 3.2])
    wall = lfu([(7, 92.5, 10), (9.0, 91, 2), (12, 88, -7), (15, 85.5, -15)])
    side = tube(smooth_curve(wall, 8), 3.4)
    return union(roof, side, tube(smooth_curve(border, 16), radii), blend_mm=6.0)


def between_orbits() -> Shape:
    """The solid block between the orbits before air spaces are cut."""
    return box(lfu((0, 63, 12)), (12.5, 24, 15), round_mm=5.0)


def nasal_cavity() -> Shape:
    """The nose's air space from the pear-shaped opening to its rear doors; 24 wide in front."""
    low = loft((0, 106, -13.5), (0, 30, -12.5), [12.0, 12.2, 13.0, 13.0, 10.8],
               [11.5, 11.6, 11.8, 12.0, 11.5], (0, 0, 1), power=2.3)  # fmt: skip
    high = loft(
        (0, 106, -4), (0, 41, -4), [7.0, 7.0, 6.0, 5.0, 4.5, 4.5], [6.0, 12, 21, 24, 22, 10],
        (0, 0, 1), power=2.0,
    )  # fmt: skip
    return union(low, high, blend_mm=5.0)


def septum() -> Shape:
    """The thin bony wall in the nose's midline, its front edge set back."""
    plate = box(lfu((0, 67, -3)), (1.0, 24, 25))
    front = ellipsoid(lfu((0, 101, -16)), (5, 19, 19))
    low_back = ellipsoid(lfu((0, 34, -18)), (5, 14, 14))
    kept = common(plate, outside(front), outside(low_back))
    return Shape(kept.distance, plate.lower_mm, plate.upper_mm)


def outside(shape: Shape) -> Shape:
    huge = np.full(3, 1e6)
    return Shape(lambda p: -shape.distance(p), -huge, huge)


def turbinates() -> Shape:
    """Lower and middle scrolls on the nose's left side wall."""
    lower = sweep(lfu([(10.2, 84, -17), (8.6, 72, -15), (8.8, 52, -15)]), 1.5, 4.6, (0.35, 0, 1.0))
    lower_root = sweep(lfu([(11.6, 82, -10.5), (11.4, 54, -10.5)]), 2.4, 1.1, (0, 0, 1))
    middle = sweep(lfu([(7.5, 76, -1), (6.2, 64, 0), (6.5, 48, -1)]), 1.3, 5.0, (0.25, 0, 1.0))
    return union(lower, lower_root, middle, blend_mm=1.5)


def nasal_spine() -> Shape:
    """The front spine below the nose's opening; its tip at (95, -28)."""
    return union(
        capsule(lfu((0, 86, -29.5)), lfu((0, 94.3, -28.0)), 3.6, 0.9),
        capsule(lfu((0, 90, -29)), lfu((0, 88, -35.5)), 2.6, 2.2),
        blend_mm=2.0,
    )


def nasal_crest() -> Shape:
    """The sill of the pear-shaped opening, from the spine to its side border."""
    return tube(lfu([(0, 90, -28), (7, 88.8, -27.4), (12.5, 87.3, -22)]), [2.4, 2.2, 2.4],
                blend_mm=1.0)  # fmt: skip


def ethmoid_cells() -> Shape:
    """Air cells between the nose and the orbit."""
    cells = union(*(ellipsoid(lfu((8.6, f, 11)), (2.6, 4.2, 8.0)) for f in (47, 57, 67)))
    return common(cells, outside(_orbit(0.0, 1.2)))


def frontal_sinus() -> Shape:
    """Air space over the nasal root: about 20 high, 21 wide both halves together, 10 deep."""
    return ellipsoid(lfu((6.5, 86.5, 38)), (5.6, 3.6, 9.0))


# --- cheekbone -------------------------------------------------------------------------------


def cheekbone() -> Shape:
    """Body of the cheekbone with its frontal process and the part that joins the upper jaw."""
    body = star((46, 60, -6), [
        (46, 69.3, -6), (41, 71.3, -4), (50, 65, -5), (53.8, 59.5, -7), (52.5, 60, -12),
        (46, 66.3, -13), (38, 67.5, -14), (47, 61, -20), (40, 60, -20), (52, 54, -14), (54, 52, -6),
        (46, 52, -8), (44, 54, -2), (46, 60, 3), (52, 58, 2), (49, 64.5, 4), (34, 66, -8),
        (34, 58, -12),
    ])  # fmt: skip
    process = sweep(
        smooth_curve(lfu([(48, 61.5, -2), (49.2, 60, 8), (49.9, 61, 18), (48.6, 64, 29)]), 9),
        np.linspace(2.7, 2.5, 9), [7.0, 6.0, 5.2, 4.8, 4.6, 4.6, 4.8, 5.2, 5.6],
        lfu((0.15, 1.0, 0.0)),
    )  # fmt: skip
    buttress = tube(lfu([(43, 61, -13), (37, 62, -22), (31, 61.5, -29)]), [5.5, 4.5, 3.2],
                    blend_mm=3.0)  # fmt: skip
    return union(body, process, buttress, blend_mm=5.0)


def arch() -> Shape:
    """The zygomatic arch: a flat bar standing off the temple; 131 across both."""
    path = smooth_curve(
        lfu([(52, 58, -8), (58, 49, -6), (61.4, 39, -3.6), (62.4, 28, -1.2), (61.6, 18, 1.4),
             (60.5, 8, 3.2)]), 14,
    )  # fmt: skip
    along, knots = np.linspace(0, 1, 14), [0, 0.25, 0.5, 0.8, 1]
    spread = np.interp(along, knots, [4.2, 2.9, 2.4, 2.3, 1.5])[:, None] * [0.0, 0.0, 1.0]
    radii = np.interp(along, knots, [2.7, 2.2, 2.1, 2.2, 2.4])
    return union(tube(path + spread, radii), tube(path - spread, radii), blend_mm=4.5)


# --- upper jaw -------------------------------------------------------------------------------

JAW_CENTER = (0.0, 62.0, -16.0)
JAW = [
    (0, 90.5, -33), (0, 90, -38), (0, 82, -38.5), (10, 89.8, -33), (10, 88, -38), (10, 88, -24),
    (14, 86, -14), (13, 84, 0), (0, 82, 4),
    (19.5, 87.2, -31), (20, 86.8, -38), (21.2, 85.0, -25), (22.4, 85.6, -30),
    (20, 84, -15), (26, 78.8, -15),
    (29, 76.5, -4), (26.6, 80.6, -31), (27, 79.8, -38), (35, 70.5, -13),
    (34, 68.5, -24), (29.8, 66, -38), (39, 60, -13), (33, 58, -26),
    (29.5, 56, -38), (28.5, 47, -37.5), (31, 46, -26), (25, 40.5, -30), (24, 39.5, -20),
    (31, 44, -12), (24, 40, -10), (37, 52, -8), (36, 60, 0), (24, 62, 4),
    (24, 46, 3), (0, 60, 8), (0, 42, 0),
    (14, 40, -16), (0, 41, -16), (14, 41, -30), (0, 42, -31), (20, 60, -38), (0, 60, -38),
    (22, 46, -37), (14, 78, -38.5), (24, 70, -38.5), (8, 82, -38.5), (26, 54, -38),
]  # fmt: skip


def upper_jaw() -> Shape:
    """The upper jaw filled, down to the start of the tooth-bearing ridge at about -38."""
    return star(JAW_CENTER, JAW, midline=True)


def palate_vault() -> Shape:
    """The mouth's space under the hard palate."""
    return ellipsoid(lfu((0, 55, -42)), (17.5, 28.5, 11.2), power=2.5)


def hard_palate() -> Shape:
    """The bony plate between nose and mouth: 36 wide, rear spine at (43, -26)."""
    plate = loft((0, 86, -28), (0, 45, -28), [11, 17, 17.5, 17.5, 16.0], [3.4, 2.8, 2.6, 2.4, 1.8],
                 (0, 0, 1), power=3.0)  # fmt: skip
    spine = capsule(lfu((0, 50, -27.5)), lfu((0, 44.0, -26.3)), 2.4, 0.9)
    return union(plate, spine, blend_mm=2.0)


SINUS_CENTER = (25.0, 60.0, -13.0)
SINUS = [
    (25, 60, 1.8), (18, 62, 1.5), (30, 66, -1.0), (24, 77.0, -8), (24, 75.5, -18), (15.2, 65, -8),
    (15.0, 61, -18), (14.8, 48, -8), (40.3, 60, -9), (36, 60, -2.5), (34, 50, -8), (25, 41.2, -12),
    (24, 43, -2), (26, 62, -33), (31, 58, -24), (19, 60, -27), (25, 69, -29), (26, 52, -28),
    (27, 45, -23), (33, 68, -14), (15.2, 55, -12), (15.2, 57, -6), (15.4, 54, -17),
    (15.4, 67, -14),
]  # fmt: skip
SINUS_WALL_MM = 1.8


def sinus() -> Shape:
    """The maxillary sinus: 35 high, 26 wide, 36 deep (Ariji; Australasian Orthod. J. 2025)."""
    return common(star(SINUS_CENTER, SINUS), outside(_orbit(0.0, 1.6)))


def sinus_walls() -> Shape:
    """The sinus with bone all round, filled."""
    return grow(star(SINUS_CENTER, SINUS), SINUS_WALL_MM)


def orbit_floor() -> Shape:
    """The thin bone between orbit and sinus."""
    return common(orbit_walls(), outside(orbit()), box(lfu((29, 61, 0)), (11, 13, 6)))


def infraorbital_foramen() -> Shape:
    """The mouth of the canal 8 below the orbit's rim: a pit, for the canal itself is left out."""
    return ellipsoid(lfu((27.0, 79.8, -8.3)), (2.4, 2.0, 1.7))


def orbit_fissures() -> Shape:
    """The two clefts and the optic canal at the back of the orbit."""
    upper = capsule(lfu((17, 38, 15)), lfu((27, 45, 27)), 2.6, 1.2)
    lower = capsule(lfu((20, 41, 9)), lfu((38, 60, 1)), 2.2, 2.0)
    optic = capsule(lfu((15, 36, 20.5)), lfu((10.5, 27, 23.5)), 1.9)
    return union(upper, lower, optic)


def globe() -> Shape:
    """The eyeball: 24 across, at the globe landmark."""
    return sphere(lfu((32, 70, 17)), 12.0)


def lens() -> Shape:
    """The eye's lens: 9.5 wide, 4.2 thick, centre 6 in front of the globe's (from memory)."""
    return ellipsoid(lfu((32, 76, 17)), (4.75, 2.1, 4.75))

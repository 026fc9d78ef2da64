"""The left inner ear, the ossicles and the nerve's canal, in the mean man's skull frame.

Spaces filled with fluid inside the petrous bone, to be cut out of it; the ossicles are bone in the
middle ear's air. All points (L, F, U) in mm. Sizes have their sources here; places are led by the
tympanic cavity (measured on one adult head CT), the rest of them is from memory of ear texts.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.anatomy.shapes.implicit import (
    Shape,
    capsule,
    cut,
    ellipsoid,
    smooth_curve,
    sphere,
    sweep,
    tube,
    union,
)
from trainer.anatomy.shapes.sculpt import lfu

Array = NDArray[np.float64]

# Triangles at which the thinnest walls and bores show [mm].
MESH_STEP_MM = {
    "cochlea-left": 0.2,
    "vestibule-left": 0.3,
    "semicircular-canals-left": 0.25,
    "inner-ear-left": 0.25,
    "ossicles-left": 0.12,
    "auditory-nerve-canal-left": 0.4,
}
VESTIBULE_LFU = (28.4, 0.0, 2.0)
VESTIBULE_RADII_MM = (1.7, 2.9, 2.5)  # about 3 wide, 5 to 6 deep, 5 high: from memory
# Middle of the base of the snail, and the way from it to the tip: outwards, forwards, a little
# down (from memory; the axis stands about square to the rear face of the petrous bone).
COCHLEA_LFU = (24.4, 6.6, 1.4)
COCHLEA_AXIS_LFU = (0.72, 0.62, -0.30)
# Turn of the spiral [deg], outer wall's distance from the axis, radius of the tube [mm]. The wall
# makes the basal turn 8.75 (0.31) to 9.23 (0.53) long and 6.53 (0.35) wide (CT study from Medan, 36
# ears, PMC6449142; Escude et al., Audiol. Neurotol. 2006); 2.57 (0.28) turns are quoted in the
# inner-ear template paper, Sci. Rep. 2021.
COCHLEA_TURNS = np.array(
    [[0, 5.1, 0.85], [45, 4.2, 0.85], [90, 3.55, 0.80], [180, 3.8, 0.80], [270, 2.95, 0.68],
     [360, 2.6, 0.62], [450, 2.1, 0.53], [540, 1.95, 0.53], [630, 1.70, 0.50], [720, 1.45, 0.48],
     [810, 1.10, 0.46], [900, 0.70, 0.45]], float
)  # fmt: skip
COCHLEA_RISE_MM = 2.3  # with the tubes 3.6 high; 3.26 (0.24) in the study from Medan
# Radius of the canals' middle lines, from memory: Spoor & Zonneveld 1998; the lateral one is a
# fifth smaller than the others (micro-CT, 40 bones: Anat. Rec. 2013).
CANAL_CURVE_MM = {"anterior": 3.2, "posterior": 3.1, "lateral": 2.5}
CANAL_HALF_TURN_DEG = 112.0  # of the round part, either way from its middle: from memory
CANAL_HALF_MM = 0.68  # bony lumen 1.0 to 1.5 across: from memory
# Way square to the lateral canal: 109 deg from forwards, 92 from left, 20 from up (Della Santina et
# al., JARO 2005, 44 labyrinths; their level plane is the infraorbital one, close to Frankfort's).
LATERAL_NORMAL_LFU = (np.cos(np.radians(92.2)), np.cos(np.radians(108.7)), np.cos(np.radians(19.9)))
# Nerve canal: 9.84 long, 7.10 wide at its opening, 4.47 high (adult means: Iran. J. Radiol. 2012).
NERVE_CANAL_LFU = ((23.9, 1.9, 4.2), (20.5, 3.2, 4.0), (17.6, 4.3, 3.8))
NERVE_CANAL_HALF_WIDTHS_MM, NERVE_CANAL_HALF_HEIGHT_MM = (1.7, 2.4, 3.4), 2.2

MALLEUS_HEAD_LFU = (33.9, 2.4, 2.5)
STAPES_HEAD_LFU, STAPES_FOOT_LFU = (32.0, -0.45, -1.15), (30.3, -0.3, -0.2)


def inner_ear() -> dict[str, Shape]:
    """Parts of the left inner ear by id, mean man's skull frame [mm].

    ``inner-ear-left`` is the labyrinth: cochlea, vestibule and canals in one. All are spaces in the
    petrous bone except ``ossicles-left``, three small bones in the tympanic cavity.
    """
    return {
        "cochlea-left": cochlea(),
        "vestibule-left": vestibule(),
        "semicircular-canals-left": semicircular_canals(),
        "inner-ear-left": labyrinth(),
        "ossicles-left": ossicles(),
        "auditory-nerve-canal-left": nerve_canal(),
    }


def cochlea_frame() -> Array:
    """Unit vectors (3, 3), skull frame: to the spiral's start, a quarter turn on, to the tip.

    The start faces the vestibule; seen from the side the left spiral runs from there downwards,
    then forwards (from memory: surgical texts).
    """
    tip = lfu(COCHLEA_AXIS_LFU)
    tip = tip / np.linalg.norm(tip)
    start = lfu(VESTIBULE_LFU) - lfu(COCHLEA_LFU)
    start -= (start @ tip) * tip
    start /= np.linalg.norm(start)
    quarter = np.cross(tip, start)
    return np.stack([start, quarter if quarter[2] < 0 else -quarter, tip])


@lru_cache(maxsize=1)
def cochlea() -> Shape:
    """The bony tube of the snail: two and a half turns."""
    from scipy.interpolate import PchipInterpolator

    turn, wall, half = COCHLEA_TURNS.T
    fine = np.arange(turn[0], turn[-1] + 1, 15.0)
    radius = PchipInterpolator(turn, half)(fine)
    reach = PchipInterpolator(turn, wall)(fine) - radius
    angle = np.radians(fine)
    rise = COCHLEA_RISE_MM * fine / turn[-1]
    local = np.stack([reach * np.cos(angle), reach * np.sin(angle), rise], axis=1)
    return tube(lfu(COCHLEA_LFU) + local @ cochlea_frame(), radius)


def vestibule() -> Shape:
    """The egg-shaped middle room behind the oval window."""
    return ellipsoid(lfu(VESTIBULE_LFU), VESTIBULE_RADII_MM)


def _loop(
    first: ArrayLike, middle: ArrayLike, outwards: ArrayLike, across: ArrayLike, radius_mm: float,
    last: ArrayLike,
) -> Shape:  # fmt: skip
    """A canal from ``first`` round an arc to ``last``, all (L, F, U); wider at its first end."""
    m, a = np.asarray(outwards, float), np.asarray(across, float)
    t = np.radians(np.linspace(-CANAL_HALF_TURN_DEG, CANAL_HALF_TURN_DEG, 13))[:, None]
    arc = np.asarray(middle, float) + radius_mm * (np.cos(t) * m + np.sin(t) * a)
    path = smooth_curve(lfu(np.vstack([first, arc, np.atleast_2d(last)])), 32)
    swelling = sphere(lfu(0.6 * np.asarray(first, float) + 0.4 * arc[0]), 0.95)
    return union(tube(path, CANAL_HALF_MM), swelling, blend_mm=0.6)


def canals() -> dict[str, Shape]:
    """The three semicircular canals, nearly square to each other; two of them share a limb."""
    top = np.array(LATERAL_NORMAL_LFU) / np.linalg.norm(LATERAL_NORMAL_LFU)

    def level(left: float, forward: float) -> Array:
        """Unit vector in the lateral canal's plane."""
        flat = np.array([left, forward, 0.0])
        flat -= (flat @ top) * top
        return flat / np.linalg.norm(flat)

    # the upright canals contain the lateral one's axis and stand at 45 degrees to the midline
    out_front, out_back, way = level(1.0, 1.0), level(1.0, -1.0), level(0.5, -0.87)
    # the shared limb rises from the vestibule's rear inner corner
    limb = [(26.9, -3.0, 4.2), (27.8, -1.6, 2.9)]
    curve = CANAL_CURVE_MM
    return {
        "lateral": _loop(
            (29.2, 0.8, 3.4), (29.3, -2.9, 3.2), way, np.cross(top, way), curve["lateral"],
            (27.8, -1.6, 2.6),
        ),
        "anterior": _loop(
            (28.9, 1.7, 3.2), (28.9, -0.4, 5.9), top, -out_front, curve["anterior"], limb
        ),
        "posterior": _loop(
            (28.2, -1.8, 0.4), (29.3, -5.3, 3.4), out_back, top, curve["posterior"], limb
        ),
    }  # fmt: skip


@lru_cache(maxsize=1)
def semicircular_canals() -> Shape:
    """The three canals as one."""
    return union(*canals().values())


@lru_cache(maxsize=1)
def labyrinth() -> Shape:
    """Cochlea, vestibule and canals as one connected space."""
    start = lfu(COCHLEA_LFU) + (COCHLEA_TURNS[0, 1] - COCHLEA_TURNS[0, 2]) * cochlea_frame()[0]
    passage = capsule(start, lfu(VESTIBULE_LFU), COCHLEA_TURNS[0, 2], 1.2)
    return union(cochlea(), passage, vestibule(), semicircular_canals())


def nerve_canal() -> Shape:
    """The canal of the hearing and facial nerves, from the brain's space to the inner ear."""
    path = smooth_curve(lfu(NERVE_CANAL_LFU), 9)
    widths = np.interp(np.linspace(0, 2, 9), range(3), NERVE_CANAL_HALF_WIDTHS_MM)
    return sweep(path, widths, NERVE_CANAL_HALF_HEIGHT_MM, (0.0, 0.0, 1.0), power=2.4)


def ossicles() -> Shape:
    """Malleus, incus and stapes in their places."""
    return union(malleus(), incus(), stapes())


def malleus() -> Shape:
    """The hammer, 8.1 long (22 bones: Int. J. Morphol. 2015), its handle against the drum."""
    handle = lfu([(34.0, 2.3, 1.8), (34.6, 2.2, 0.2), (34.9, 2.0, -1.5), (34.5, 1.8, -3.9)])
    return union(
        ellipsoid(lfu(MALLEUS_HEAD_LFU), (1.15, 1.2, 1.3)),
        tube(handle, [0.7, 0.62, 0.55, 0.42]),
        capsule(lfu((34.6, 2.2, 0.2)), lfu((35.5, 2.2, -0.1)), 0.5, 0.35),
        blend_mm=0.5,
    )


def incus() -> Shape:
    """The anvil, 5.7 long (40 sets: J. Anat. Soc. India 2022)."""
    long_limb = lfu(
        [(33.8, -0.2, 1.6), (33.7, -0.5, 0.0), (33.3, -0.5, -1.5), (32.85, -0.5, -1.65)]
    )
    body = union(
        ellipsoid(lfu((33.9, 0.1, 2.3)), (0.95, 1.25, 1.3)),
        capsule(lfu((33.9, -0.6, 2.5)), lfu((34.3, -2.6, 2.8)), 0.85, 0.4),
        tube(long_limb, [0.75, 0.55, 0.42, 0.36]),
        blend_mm=0.5,
    )
    # the joint's gap keeps it off the malleus
    return cut(body, ellipsoid(lfu(MALLEUS_HEAD_LFU), (1.3, 1.35, 1.45)))


def stapes() -> Shape:
    """The stirrup, 2.7 high (40 sets: J. Anat. Soc. India 2022); its plate closes the oval window.

    Plate 2.5 to 3 long: Int. J. Morphol. 2015 (2.53, base), ear texts from memory.
    """
    head, foot = np.array(STAPES_HEAD_LFU), np.array(STAPES_FOOT_LFU)
    front, rear = foot + [0.1, 0.95, 0.0], foot + [0.1, -0.95, 0.0]
    middle_front, middle_rear = (head + front) / 2 + [0, 0.45, 0], (head + rear) / 2 - [0, 0.45, 0]
    return union(
        sphere(lfu(head), 0.38),
        tube(smooth_curve(lfu([head, middle_front, front]), 7), 0.27),
        tube(smooth_curve(lfu([head, middle_rear, rear]), 7), 0.27),
        ellipsoid(lfu(foot), (0.3, 1.35, 0.75)),
        blend_mm=0.2,
    )

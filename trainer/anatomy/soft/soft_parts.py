"""Brain, tongue, soft palate, salivary glands and thyroid, in the mean man's skull frame.

Teeth together, mouth closed, head level. Left side only for paired parts. All points (L, F, U) in
mm. Sizes with a source stand beside their constants; where a part lies follows the bones and the
skin of this model (anatomy texts from memory, unless a source is named).
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.bones.braincase import inner_vault
from trainer.anatomy.bones.cranium import cranium
from trainer.anatomy.bones.mandible import mandible_body
from trainer.anatomy.bones.spine import cervical_column
from trainer.anatomy.shapes.implicit import (
    Shape,
    both_sides,
    box,
    cut,
    ellipsoid,
    grow,
    smooth_curve,
    sweep,
    union,
)
from trainer.anatomy.shapes.sculpt import lfu, star
from trainer.anatomy.soft.skin import skin

Array = NDArray[np.float64]

# Triangles at which the parts look smooth [mm].
MESH_STEP_MM = {
    "brain": 2.0,
    "tongue": 1.2,
    "soft-palate": 0.8,
    "parotid-left": 1.2,
    "submandibular-gland-left": 0.8,
    "sublingual-gland-left": 0.6,
    "thyroid": 1.0,
}
# Between the brain and the braincase's wall: fluid and coverings, from memory.
BRAIN_GAP_MM = 0.4
# Bone that a soft part lies against stays this far away [mm]: common sense, no source.
BONE_GAP_MM = 0.6
ORGAN_GAP_MM = 0.4  # between neighbouring organs: likewise
PAROTID_DEPTH_MM = 2.5  # skin and fat over the parotid: from memory


def soft_parts() -> dict[str, Shape]:
    """Organs by id, mean man's skull frame [mm]; of paired ones the left only.

    ``tongue``, ``sublingual-gland-left`` and ``submandibular-gland-left`` hang on the lower jaw and
    move with it.
    """
    return {
        "brain": brain(),
        "tongue": tongue(),
        "soft-palate": soft_palate(),
        "parotid-left": parotid(),
        "submandibular-gland-left": submandibular_gland(),
        "sublingual-gland-left": sublingual_gland(),
        "thyroid": thyroid(),
    }


def clear_of(shape: Shape, obstacle: Shape, gap_mm: float) -> Shape:
    """``shape`` without what lies within ``gap_mm`` of the obstacle.

    As `implicit.cut`, but the obstacle, which may be a whole skull, is asked only near the shape.
    """
    low, high = obstacle.lower_mm - gap_mm - 1.0, obstacle.upper_mm + gap_mm + 1.0

    def distance(p: Array) -> Array:
        d = shape.distance(p)
        beside = np.all((p > low) & (p < high), axis=1)
        near = np.flatnonzero(beside & (d < gap_mm + 1.0))
        if len(near):
            d[near] = np.maximum(d[near], gap_mm - obstacle.distance(p[near]))
        return d

    return Shape(distance, shape.lower_mm, shape.upper_mm)


def under_skin(shape: Shape, depth_mm: float) -> Shape:
    """``shape`` without what lies less than ``depth_mm`` below the skin."""
    outer = skin()
    huge = np.full(3, 1e6)
    return clear_of(shape, Shape(lambda p: -outer.distance(p), -huge, huge), depth_mm)


# Round the pituitary gland lie vessels, nerves and veins, not brain.
SADDLE_SPACE = box(lfu((0, 25, 7)), (24, 20, 19), round_mm=9.0)


@lru_cache(maxsize=1)
def brain() -> Shape:
    """What fills the braincase, a little inside its walls; the saddle's surroundings left out.

    1450 g (from memory: ICRP 89) of 1.04 g/cm3 (ICRU 44) would be 1394 mL.
    """
    space = cut(grow(inner_vault(), -BRAIN_GAP_MM), SADDLE_SPACE, blend_mm=6.0)
    return clear_of(space, cranium(), BRAIN_GAP_MM)


# The tongue's surface points are the project's own sculpting between teeth, palate and hyoid.
TONGUE_CENTER = (0.0, 54.0, -62.0)
TONGUE = [
    # midline: tip, back, root, floor
    (0, 83.5, -57), (0, 81, -49), (0, 73, -41.5), (0, 62, -37.2), (0, 52, -36.8), (0, 43, -39.5),
    (0, 36, -45), (0, 31, -53), (0, 28.5, -61), (0, 27.5, -70), (0, 28.5, -80), (0, 35, -87),
    (0, 45, -88.5), (0, 56, -87), (0, 66, -83), (0, 72.5, -77), (0, 77, -69), (0, 82, -61),
    # 6 to 15 beside it
    (8, 80.5, -55), (9, 73, -44.5), (10, 62, -39.2), (11, 50, -38.6), (11, 40, -43.5),
    (14, 32, -55), (15, 28.5, -68), (14, 29, -80), (13, 44, -87.5), (13, 56, -86), (8, 67.5, -81),
    (8, 76.5, -62), (7, 72, -71),
    # sides, inside the teeth and above the floor of the mouth
    (13.6, 72, -52), (16.0, 62, -46), (17.5, 52, -45), (20, 42, -48), (18.5, 60, -55),
    (21.5, 50, -56), (24, 40, -59), (21.5, 32, -66), (15.0, 66, -61), (18.5, 54, -63),
    (21.0, 44, -66), (13.0, 60, -70), (14.5, 50, -74), (18.5, 38, -77), (17, 58, -81),
    (18.5, 48, -81), (13, 64, -57), (19, 44, -79),
]  # fmt: skip


@lru_cache(maxsize=1)
def tongue() -> Shape:
    """The tongue with its root, its back near the palate and its tip behind the lower incisors.

    73 g (from memory: ICRP 89) of muscle, 1.05 g/cm3 (ICRU 44), are 69.5 mL.
    """
    body = star(TONGUE_CENTER, TONGUE, midline=True)
    return clear_of(body, both_sides(sublingual_gland()), ORGAN_GAP_MM)


SOFT_PALATE = [(41.6, -28.8), (36.5, -31.5), (31.0, -37.0), (27.0, -44.5), (24.8, -54.0)]


def soft_palate() -> Shape:
    """The soft palate hanging from the hard one, with the uvula: 35 long, 8 thick (from memory)."""
    path = smooth_curve([(0, -f, u) for f, u in SOFT_PALATE], 8)
    along = np.linspace(0, 1, 8)
    wide = np.interp(along, [0, 0.3, 0.6, 0.8, 1], [10.5, 11.5, 11.0, 7.0, 3.6])
    thick = np.interp(along, [0, 0.3, 0.6, 0.8, 1], [2.2, 3.6, 4.0, 3.7, 3.0])
    # half heights are measured square to the path in the midline plane
    return clear_of(sweep(path, wide, thick, (0.0, -0.6, -0.8), power=2.2), cranium(), 0.2)


@lru_cache(maxsize=1)
def parotid() -> Shape:
    """The left parotid: a plate over the ramus and a deep part behind it.

    Length 47 (41-53), from front to back 37-38, 8 thick over the ramus (ultrasound, n = 400);
    25 g (from memory: ICRP 89).
    """
    down, knots = np.linspace(0, 1, 9), [0.0, 0.3, 0.6, 1.0]
    plate = sweep(
        smooth_curve(lfu([(62, 14, -12), (60.0, 15, -27), (56.5, 16, -42), (53.0, 15, -52)]), 9),
        4.4, np.interp(down, knots, [11, 16.3, 16.5, 10]), lfu((0.35, 1, 0)), power=2.6,
    )  # fmt: skip
    deep = sweep(
        smooth_curve(lfu([(52, 2.5, -18), (49.5, 2.0, -29), (48.5, 2.5, -41), (48, 5, -51)]), 9),
        np.interp(down, knots, [11.0, 16.0, 16.0, 9.5]),
        np.interp(down, knots, [7.0, 10.7, 10.7, 7.5]), lfu((0, 1, 0)), power=2.5,
    )  # fmt: skip
    whole = under_skin(union(plate, deep, blend_mm=7.0), PAROTID_DEPTH_MM)
    bones = union(cranium(), mandible_body(), cervical_column())
    return clear_of(whole, bones, BONE_GAP_MM)


def submandibular_gland() -> Shape:
    """The left submandibular gland: 33 x 22 x 17, 7.1 mL (ultrasound, n = 100).

    It lies inside the jaw's angle below the mylohyoid line.
    """
    along = lfu((0.28, -0.88, 0.38))
    along = along / np.linalg.norm(along)
    side = np.cross(along, [0.0, 0.0, 1.0])
    side /= np.linalg.norm(side)
    axes = np.stack([along, side, np.cross(along, side)], axis=1)
    gland = ellipsoid(lfu((27.0, 34.0, -77.5)), (16.3, 8.9, 11.2), axes, power=2.3)
    beside = union(tongue(), sublingual_gland())
    return clear_of(clear_of(gland, mandible_body(), BONE_GAP_MM), beside, ORGAN_GAP_MM)


def sublingual_gland() -> Shape:
    """The left sublingual gland in the floor of the mouth: 40 long, 12 high, 8 thick.

    From memory: ICRP 89 and Gray; no outside measure was found. From canine to first molar and
    on, inside the jaw and above the mylohyoid line.
    """
    run = smooth_curve(lfu([(8.2, 72.0, -70), (12.6, 66, -70), (16.2, 58, -70), (19.0, 49, -70),
                            (20.8, 39, -70.5)]), 13)  # fmt: skip
    along = np.abs(np.linspace(-1, 1, 13))
    share = np.sqrt(1.0 - 0.85 * along**3)
    return sweep(run, 4.0 * share, 6.0 * share, lfu((0.25, 0, 1)))


def thyroid() -> Shape:
    """The thyroid: two lobes 50 long beside larynx and windpipe, joined over the windpipe.

    Lobe 40-60 long, 13-20 deep, 15-20 wide, isthmus 4-6 thick (University of Virginia thyroid
    ultrasound course, 2013). Upper poles 30, isthmus 65, lower poles 80 below the chin (derived,
    weak); 15-25 mL.
    """
    lobe = smooth_curve(
        lfu([(19.5, 20, -128.5), (19.2, 21, -143), (18.4, 21.5, -158), (16.8, 21, -171.5)]), 8
    )
    down, knots = np.linspace(0, 1, 8), [0.0, 0.35, 0.7, 1.0]
    wide = np.interp(down, knots, [3.4, 8.0, 9.2, 4.8])
    deep = np.interp(down, knots, [3.8, 8.2, 9.2, 4.8])
    left = sweep(lobe, wide, deep, lfu((0.25, 1, 0)))
    bow = smooth_curve(
        lfu([(-14, 26, -160), (-8, 29, -160.5), (0, 30.2, -161), (8, 29, -160.5), (14, 26, -160)]),
        8,
    )
    isthmus = sweep(bow, 7.0, 2.4, lfu((0, 1, 0)), power=2.4)
    return union(both_sides(left), isthmus, blend_mm=3.0)

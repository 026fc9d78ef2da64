"""The skull base with the temporal bone and the jaw joint's socket. All points (L, F, U) in mm.

Left half of the mean man; midline parts lie on both sides of the midline.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.shapes.implicit import (
    Shape,
    box,
    capsule,
    ellipsoid,
    smooth_curve,
    sphere,
    tube,
    union,
)
from trainer.anatomy.shapes.sculpt import lfu, star

Array = NDArray[np.float64]

# Condyle centre 11.5 forward, 5 below, 51 beside the ear axis (reference head CT: 11.3/-4.2/50.7);
# roof of the socket 2 to 4 above the condyle's top (from memory), crest 7 (1.5) below the roof
# (from memory), 17 x 9 condyle (Saudi Dental Journal 2021, CBCT, n = 800).
SOCKET_CENTER = (51.0, 11.2, -6.0)
SOCKET_RADII = (12.5, 7.0, 9.3)
CREST = [(41.0, 22.0, 1.0), (52.0, 22.5, 1.2), (60.5, 21.5, 1.6)]
CREST_RADII = [4.4, 5.0, 3.8]


def temporal_base() -> Shape:
    """Solid bone over and behind the joint, before the socket and ear canal are cut."""
    roof = ellipsoid(lfu((50, 10, 4.5)), (13, 15, 6.5))
    root = tube(smooth_curve(lfu([(59.5, 0, 4), (60.5, 12, 4.2), (61.5, 22, 2.5)]), 6), 3.2)
    tympanic = ellipsoid(lfu((47, -1.6, -5.5)), (9.5, 5.4, 7.5), power=2.4)
    return union(roof, root, tympanic, eminence(), blend_mm=6.0)


def eminence() -> Shape:
    """The bar in front of the socket, over which the condyle slides."""
    return tube(smooth_curve(lfu(CREST), 7), np.interp(np.linspace(0, 2, 7), range(3), CREST_RADII))


def socket() -> Shape:
    """Space cut out above and around the condyle."""
    return ellipsoid(lfu(SOCKET_CENTER), SOCKET_RADII)


def socket_roof() -> Shape:
    """The bone 2 mm thick over the condyle that must be seen above the joint."""
    x, f, u = SOCKET_CENTER
    space = socket()
    cap = box(lfu((x, f, u + SOCKET_RADII[2])), (9.5, 6.0, 4.5))

    def distance(p: Array) -> Array:
        d = space.distance(p)
        return np.maximum(np.maximum(d - 2.0, -d), cap.distance(p))

    return Shape(distance, cap.lower_mm, cap.upper_mm)


def ear_canal() -> Shape:
    """The bony ear canal: 16 long, top of the outer opening at porion."""
    return tube(lfu([(66, -2.6, -4.6), (55, -1.4, -4.2), (46, -0.9, -3.6), (37, 0.3, -2.4)]),
                [4.2, 3.9, 3.4, 3.4], blend_mm=1.0)  # fmt: skip


def tympanic_cavity() -> Shape:
    """The middle ear's air space."""
    return ellipsoid(lfu((33.5, 1.5, -2)), (3.2, 5.0, 6.5))


def petrous() -> Shape:
    """The pyramid of dense bone from behind the ear canal inwards and forwards."""
    return tube(
        lfu([(50, -10, 2), (38, -1, 3), (28, 6, 3), (15, 15, 3)]), [12.0, 10.5, 9.0, 4.5],
        blend_mm=3.0,
    )  # fmt: skip


def styloid() -> Shape:
    """The thin spike below the ear, pointing down and forwards."""
    return tube(lfu([(43, -1, -9), (41.5, 3, -20), (37, 12, -38)]), [3.4, 2.2, 1.3])


def base_openings() -> Shape:
    """Passages for vessels and nerves on the underside: jugular, carotid, oval and torn holes."""
    jugular = tube(lfu([(19, -3, -19), (23.5, -5, -14), (30, -4, -11)]), [2.2, 4.2, 3.0])
    carotid = tube(lfu([(30, 4, -17), (28.5, 4.5, -10), (25, 7, -7)]), [3.0, 2.6, 2.0])
    oval = tube(lfu([(27, 16, -14), (25.5, 18, -2), (24.5, 19, 8)]), [2.8, 2.2, 2.2])
    torn = tube(lfu([(8.5, 17.5, -9), (12, 14, -6), (15, 11.5, -7)]), [1.6, 2.9, 1.8])
    thorn = tube(lfu([(32.5, 13, -12), (31.5, 14, -2)]), [1.6, 1.3])
    return union(jugular, carotid, oval, torn, thorn)


def petrous_underside() -> Shape:
    """Rough ridges below the petrous bone, the groove inside the mastoid left between them."""
    ridge = lfu([(43, -5, -11), (36, -1.5, -12.5), (27, 5, -10.5), (18, 12, -8), (12, 17, -5)])
    spur = lfu([(41, 8, -8), (35, 14, -8), (30, 20, -5), (27, 27, -2)])
    beside_jugular = lfu([(36, -8, -12), (30, -14, -15), (25, -20, -19)])
    return union(
        tube(smooth_curve(ridge, 8), np.linspace(4.6, 3.0, 8)),
        tube(smooth_curve(spur, 8), np.linspace(2.6, 2.0, 8)),
        tube(smooth_curve(beside_jugular, 6), np.linspace(3.0, 2.4, 6)),
        ellipsoid(lfu((0, 6, -12.5)), (4.0, 5.0, 2.5)),
        blend_mm=4.0,
    )


def occipital_condyle() -> Shape:
    """The left condyle beside the front half of the foramen magnum."""
    return tube(lfu([(12, -6, -20.4), (16, -15, -20.8), (18.5, -23, -18)]), [4.5, 5.0, 4.2],
                blend_mm=2.0)  # fmt: skip


def foramen_magnum() -> Shape:
    """The opening for the spinal cord: about 36 long, 30 wide, front edge at basion."""
    return star((0, -23, -20), [
        (0, -5.5, -19), (0, -41, -24), (15, -22, -22), (12, -10, -22), (12, -34, -22),
        (0, -8, 0), (0, -40, 0), (13, -22, 0), (0, -8, -45), (0, -40, -45), (14, -22, -45),
        (0, -22, 8), (0, -22, -52),
    ], midline=True)  # fmt: skip


def clivus() -> Shape:
    """Bone sloping from behind the pituitary fossa down to basion, and the sphenoid's body."""
    slope = union(
        tube(lfu([(0, 13, 17), (0, 8, 2), (0, -0.5, -15)]), [5.5, 7.0, 4.6], blend_mm=3.0),
        capsule(lfu((8, 9, 2)), lfu((7, 0, -14.5)), 6.0, 4.4),
        blend_mm=4.0,
    )
    body = box(lfu((0, 28, 9)), (14, 17, 12), round_mm=6.0)
    return union(slope, body, blend_mm=5.0)


def pituitary_fossa() -> Shape:
    """The saddle's hollow, 11 long and 8 deep, its middle at sella (reference CT)."""
    return union(
        ellipsoid(lfu((0, 19, 17.8)), (8.0, 5.2, 3.9)),
        capsule(lfu((0, 19, 19)), lfu((0, 19, 29)), 3.6, 4.2),
        blend_mm=2.0,
    )


def saddle() -> Shape:
    """Front and rear walls of the pituitary fossa: tubercle and dorsum with its corner knobs."""
    dorsum = box(lfu((0, 12, 19)), (8.0, 1.9, 5.5), round_mm=1.8)
    knob = sphere(lfu((7.5, 12.5, 23.5)), 2.2)
    tubercle = box(lfu((0, 29, 20)), (11, 5, 3.2), round_mm=2.5)
    anterior_knob = capsule(lfu((16, 32, 25)), lfu((12, 22, 25)), 2.6, 1.4)
    wing = tube(lfu([(14, 33, 25), (26, 39, 27), (38, 46, 31)]), [2.6, 2.2, 1.8])
    return union(dorsum, knob, tubercle, anterior_knob, wing, blend_mm=2.0)


def sphenoid_sinus() -> Shape:
    """Air space in front of and below the pituitary fossa, left half and right half as one."""
    return star((0, 30, 7), [(0, 38.5, 9), (0, 21, 4), (0, 30, 14.5), (0, 30, 0.5), (9.5, 30, 7),
                             (7, 35.5, 11), (7, 24, 7)], midline=True)  # fmt: skip


def pterygoid_plates() -> Shape:
    """The two plates hanging behind the upper jaw, with the small hook of the inner one."""
    root = tube(lfu([(17, 33, 4), (15.5, 36, -6)]), [7.0, 4.5], blend_mm=2.0)
    front = box(lfu((15.5, 37.5, -14)), (4.5, 2.0, 14.0), round_mm=1.5)
    inner = ellipsoid(lfu((12.8, 33.5, -12)), (1.6, 7.0, 15.5), power=2.6)
    hook = capsule(lfu((12.5, 31, -26)), lfu((14.5, 29, -31)), 1.5, 1.1)
    turn = np.deg2rad(28.0)  # the outer plate flares back and outwards
    c, s = np.cos(turn), np.sin(turn)
    flare = np.array([[c, s, 0.0], [-s, c, 0.0], [0.0, 0.0, 1.0]])
    outer = ellipsoid(lfu((20.6, 31.5, -12)), (1.6, 9.5, 16.0), rotation=flare, power=2.6)
    return union(root, front, inner, hook, outer, blend_mm=2.5)

"""The skull without the lower jaw, in the mean man's skull frame, and its parts for placement."""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.bones import braincase, midface, skull_base
from trainer.anatomy.shapes.implicit import (
    Shape,
    both_sides,
    box,
    common,
    cut,
    ellipsoid,
    sphere,
    union,
)
from trainer.anatomy.shapes.sculpt import lfu

Array = NDArray[np.float64]


# Behind the orbit's apex two sheets would meet in a knife edge that no mesh can follow.
APEX_FILL = sphere(lfu((20.1, 37.4, 15.2)), 2.5)


@cache
def cranium() -> Shape:
    """The skull's bone without lower jaw, teeth and tooth sockets; man's skull frame [mm]."""
    vault = union(
        braincase.outer_vault(), braincase.brow(), braincase.temporal_line(),
        braincase.nuchal_relief(), braincase.mastoid(), braincase.mastoid_crest(), blend_mm=7.0,
    )  # fmt: skip
    vault = union(vault, skull_base.occipital_condyle(), blend_mm=3.0)
    vault = braincase.with_brain_space(vault)
    base = union(
        vault, skull_base.petrous(), skull_base.clivus(), skull_base.saddle(),
        skull_base.temporal_base(), skull_base.pterygoid_plates(),
        skull_base.petrous_underside(), blend_mm=3.0,
    )  # fmt: skip
    face = union(
        midface.orbit_walls(), midface.orbit_rim(), midface.nasal_bridge(),
        midface.between_orbits(), midface.cheekbone(), midface.arch(), midface.upper_jaw(),
        midface.sinus_walls(), blend_mm=6.0,
    )  # fmt: skip
    solid = union(base, face, blend_mm=4.0)
    solid = cut(solid, skull_base.base_openings(), blend_mm=4.0)
    solid = union(solid, skull_base.styloid(), blend_mm=4.0)
    spaces = (
        midface.orbit(), midface.nasal_cavity(), midface.sinus(), midface.palate_vault(),
        midface.ethmoid_cells(), midface.frontal_sinus(), midface.infraorbital_foramen(),
        midface.orbit_fissures(),
        skull_base.socket(), skull_base.ear_canal(), skull_base.tympanic_cavity(),
        skull_base.pituitary_fossa(), skull_base.sphenoid_sinus(), skull_base.foramen_magnum(),
    )  # fmt: skip
    hollow = cut(solid, *spaces, blend_mm=1.0)
    half = union(
        hollow, midface.septum(), midface.turbinates(), midface.nasal_spine(),
        midface.nasal_crest(), midface.hard_palate(), APEX_FILL, blend_mm=1.5,
    )  # fmt: skip
    return both_sides(half)


def cranium_structures() -> dict[str, Shape]:
    """Solids for placement by id, mean man's skull frame [mm]; of paired ones the left only."""
    sinus = midface.sinus()
    return {
        "fossa-left": skull_base.socket_roof(),
        "eminence-left": skull_base.eminence(),
        "nasal-floor": box(lfu((0, 66, -27)), (11, 20, 2.0), round_mm=1.5),
        "sinus-floor-left": common(_shifted_down(sinus, 2.0), box(lfu((26, 59, -31)), (9, 13, 5))),
        "sinus-left": sinus,
        "tuberosity-left": ellipsoid(lfu((26.5, 44.5, -29.5)), (5.0, 4.0, 7.0)),
        "anterior-nasal-spine": midface.nasal_spine(),
        "orbit-floor-left": midface.orbit_floor(),
        "mastoid-left": braincase.mastoid(),
        "tympanic-cavity-left": skull_base.tympanic_cavity(),
        "ear-canal-left": skull_base.ear_canal(),
        "hard-palate": midface.hard_palate(),
        "globe-left": midface.globe(),
        "lens-left": midface.lens(),
    }


def _shifted_down(shape: Shape, by_mm: float) -> Shape:
    """What the shape covers when moved down by ``by_mm`` but not where it stands now."""

    def distance(p: Array) -> Array:
        return np.maximum(shape.distance(p + [0.0, 0.0, by_mm]), -shape.distance(p))

    lower = shape.lower_mm.copy()
    lower[2] -= by_mm
    return Shape(distance, lower, shape.upper_mm)

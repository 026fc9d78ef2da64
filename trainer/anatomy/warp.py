"""From the mean man to another head: a smooth map through landmarks.

Bones and skin are modelled once, at the mean man's landmarks. Another subject's shape is the same
model seen through a thin-plate spline (Bookstein, IEEE PAMI 1989) that leads the subject's
landmarks to the man's. Teeth never pass through the map: their sizes do not follow the head's.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import RBFInterpolator

from trainer.anatomy.implicit import Shape
from trainer.anatomy.landmarks import starter_landmarks
from trainer.models.subject import MEAN_MAN, MEAN_WOMAN, Person, Sex

Array = NDArray[np.float64]

# Far points that keep the map tame behind and above the landmarks: rough head size, man [mm],
# and the ratio woman over man of head breadth, length and height above the ear
# (ANSUR II 2012: 147.8/154.3, 189.8/199.5, 126.5/131.1).
CRANIUM_MAN = np.array(
    [
        [0, 95, 30],
        [0, 85, 85],
        [72, 10, 55],
        [-72, 10, 55],
        [45, 60, -10],
        [-45, 60, -10],
    ],
    float,
)
WOMAN_OVER_MAN = np.array([0.958, 0.951, 0.965])
# The same round the neck, narrowed about its middle line by the ratio of neck circumferences
# (ANSUR II 2012: 329.8/397.6).
NECK_MAN = np.array(
    [[55, 15, -150], [-55, 15, -150], [0, -40, -150], [0, 70, -150], [0, 15, -190]], float
)
NECK_MIDDLE_MAN = np.array([0.0, 15.0, 0.0])
NECK_WOMAN_OVER_MAN = np.array([0.83, 0.83, 0.965])


@dataclass(frozen=True, slots=True)
class HeadWarp:
    """Maps between a subject's space and the mean man's. Both ways take and give (n, 3) [mm]."""

    to_man: RBFInterpolator | None
    reach_mm: float

    def to_mean_man(self, points_mm: Array) -> Array:
        """Where the subject's points lie in the mean man."""
        p = np.asarray(points_mm, float)
        return p if self.to_man is None else np.asarray(self.to_man(p))

    def to_subject(self, points_mm: Array) -> Array:
        """Where the mean man's points lie in the subject (fixed-point inverse, below 1e-6 mm)."""
        target = np.asarray(points_mm, float)
        if self.to_man is None:
            return target
        p = target.copy()
        for _ in range(60):
            step = target - self.to_mean_man(p)
            p += step
            if np.abs(step).max(initial=0.0) < 1e-7:
                break
        return p

    def shape(self, modelled: Shape) -> Shape:
        """A shape modelled at the mean man, as it stands in the subject."""
        if self.to_man is None:
            return modelled
        return Shape(
            lambda p: modelled.distance(self.to_mean_man(p)),
            modelled.lower_mm - self.reach_mm,
            modelled.upper_mm + self.reach_mm,
        )


def head_warp(person: Person) -> HeadWarp:
    """The map for the mean man (nothing moves) or the mean woman."""
    if person.sex is Sex.MALE:
        return HeadWarp(None, 0.0)
    man, woman = starter_landmarks(MEAN_MAN), starter_landmarks(MEAN_WOMAN)
    neck = NECK_MIDDLE_MAN + (NECK_MAN - NECK_MIDDLE_MAN) * NECK_WOMAN_OVER_MAN
    there = np.array([*man.values(), *CRANIUM_MAN, *NECK_MAN])
    here = np.array([*woman.values(), *(CRANIUM_MAN * WOMAN_OVER_MAN), *neck])
    spline = RBFInterpolator(here, there, kernel="thin_plate_spline")
    return HeadWarp(spline, float(np.abs(there - here).max()) + 2.0)

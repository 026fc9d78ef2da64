"""The line of the teeth as it stood in a recorded volume, for the slice along the arch."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import make_smoothing_spline

from trainer.geometry.transforms import apply
from trainer.models.frames import Frame, RigidTransform
from trainer.models.images import RecordedVolume
from trainer.models.structures import Head

Array = NDArray[np.float64]

# The line is told every so many millimetres, and goes on straight behind its last teeth.
ARCH_STEP_MM, BEHIND_MM, DENSE = 0.25, 18.0, 400
# How stiffly it runs through the teeth, so that single ones out of line do not bend it: own value.
STIFFNESS = 60.0
LEAST_FOR_SPLINE = 5  # places, asked by the library
# With fewer teeth on a side the marks of the upper jaw stand in, which are always there.
LEAST_A_SIDE = 3


@dataclass(frozen=True, slots=True)
class Arch:
    """The line through the teeth of a jaw, from the patient's right to the left.

    ``line`` (n, 2) are places to the left and to the back, along the axes it was made for [mm], at
    equal distances of ``step_mm``; ``outward`` (n, 2) are unit vectors to the lips and cheeks.
    """

    line: Array
    outward: Array
    step_mm: float = ARCH_STEP_MM

    @property
    def along_mm(self) -> Array:
        """(n,) how far each place lies along the line."""
        return np.asarray(np.arange(len(self.line)) * self.step_mm)

    def places(self, along_mm: Array, off_mm: float) -> Array:
        """Places (n, 2) so far along the line and ``off_mm`` outside; straight on past its ends."""
        line = self.line + off_mm * self.outward
        at = np.clip(along_mm, 0.0, self.along_mm[-1])
        found = np.stack([np.interp(at, self.along_mm, line[:, i]) for i in (0, 1)], axis=1)
        ahead = np.stack([-self.outward[:, 1], self.outward[:, 0]], axis=1)
        past = along_mm - at
        return np.asarray(
            found + past[:, None] * np.where((past > 0)[:, None], ahead[-1], ahead[0])
        )

    def nearest(self, left_mm: float, back_mm: float) -> int:
        """The number of the place that is nearest."""
        off = self.line - [left_mm, back_mm]
        return int((off * off).sum(axis=1).argmin())


def arch_of(head: Head, lower: bool, volume: RecordedVolume, axes: Array) -> Arch:
    """The arch of a jaw as it stood in the field: through the middles of the head's own teeth."""
    teeth = _tooth_middles(head, lower)
    if teeth is None:
        marks = head.landmarks_mm
        names = ("first-molar-cusp-right", "incisor-edge", "first-molar-cusp-left")
        teeth = np.stack([marks[f"upper-{name}"] for name in names])
    there = apply(to_field(volume, Frame.MANDIBLE if lower else Frame.SKULL), teeth)
    return arch_through(there @ axes[:, :2])


def arch_through(places: Array) -> Arch:
    """The smooth line through places (n, 2) to the left and back, from right to left [mm].

    Through three places it is the parabola.
    """
    if len(places) < LEAST_FOR_SPLINE:
        curve = np.polynomial.Polynomial.fit(places[:, 0], places[:, 1], 2)
        at = np.linspace(places[0, 0], places[-1, 0], DENSE)
        dense = np.stack([at, curve(at)], axis=1)
    else:
        chord = np.r_[0.0, np.cumsum(np.hypot(*np.diff(places, axis=0).T))]
        at = np.linspace(0.0, chord[-1], DENSE)
        smooth = [make_smoothing_spline(chord, places[:, i], lam=STIFFNESS)(at) for i in (0, 1)]
        dense = np.stack(smooth, axis=1)
    ends = []
    for end, before in ((dense[0], dense[1]), (dense[-1], dense[-2])):
        ends.append(end + BEHIND_MM * (end - before) / np.linalg.norm(end - before))
    dense = np.concatenate([ends[:1], dense, ends[1:]])
    length = np.r_[0.0, np.cumsum(np.hypot(*np.diff(dense, axis=0).T))]
    at = np.arange(0.0, length[-1], ARCH_STEP_MM)
    line = np.stack([np.interp(at, length, dense[:, i]) for i in (0, 1)], axis=1)
    ahead = np.gradient(line, axis=0)
    ahead /= np.linalg.norm(ahead, axis=1, keepdims=True)
    return Arch(line, np.stack([ahead[:, 1], -ahead[:, 0]], axis=1))


def _tooth_middles(head: Head, lower: bool) -> Array | None:
    """Middles of a jaw's teeth from right to left (n, 3).

    None with too few on a side, or while milk teeth stand over germs.
    """
    right, left, milk = ("4", "3", "78") if lower else ("1", "2", "56")
    if any(f"tooth-{quarter}{n}" in head.structures for quarter in milk for n in range(1, 6)):
        return None
    rows = (
        [f"tooth-{right}{n}" for n in range(8, 0, -1)],
        [f"tooth-{left}{n}" for n in range(1, 9)],
    )
    found = [[head.structures[n].centre_mm for n in row if n in head.structures] for row in rows]
    if min(map(len, found)) < LEAST_A_SIDE:
        return None
    return np.array(found[0] + found[1])


def to_field(volume: RecordedVolume, frame: Frame) -> RigidTransform:
    """Where skull or lower jaw stood in a volume's field."""
    return volume.mandible_to_field if frame is Frame.MANDIBLE else volume.skull_to_field

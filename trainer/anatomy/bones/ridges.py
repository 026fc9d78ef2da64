"""Jaw ridges without teeth: how they sink and narrow.

After a tooth is lost the bone that carried it goes: first the ridge becomes knife-edged, then
flat, in the end the jaw's body itself is worn down (classes II to VI of Cawood & Howell, Int. J.
Oral Maxillofac. Surg. 1988, from memory). A person's ``lost_ridge`` runs from a healed, rounded
ridge (0, class III) to the worst that is seen (1, class VI).
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.people.growth import Part, grown
from trainer.anatomy.people.landmarks import starter_landmarks
from trainer.anatomy.shapes.implicit import Shape, cut, grow
from trainer.anatomy.teeth.dentition import (
    OcclusalPlane,
    Tooth,
    dentition,
    occlusal_plane,
    whole_dentition,
)
from trainer.anatomy.teeth.tooth_tables import FIRST_PRIMARY, kind_of
from trainer.models.frames import Frame
from trainer.models.subject import Person

Array = NDArray[np.float64]

# Crest below the neck: 1.5 to 2 in health (from memory: periodontology textbooks).
CREST_MM = 1.9
# A fresh, healed ridge lies this much lower than the crest round the tooth did: from memory,
# implant textbooks (1 to 2 mm in the first year).
HEALED_MM = 1.0
# Height of the lower jaw in an adult of mean size when all is lost, teeth 1 to 8 [mm]: severe
# atrophy is 10 mm or less in the body (Luhr et al., J. Oral Maxillofac. Surg. 1996, from memory), a
# little more in the chin; behind, the ridge climbs to the ramus. Measured upright on the bone a
# little more comes out, since these count from the line between menton and gonion.
WORN_LOWER_MM = (11.5, 10.5, 9.5, 8.5, 8.0, 8.5, 11.0, 16.5)
# Loss of height of the upper ridge when all is lost [mm], teeth 1 to 8: to the level of the palate
# (from memory: class VI).
WORN_UPPER_MM = (12.0, 12.0, 12.0, 10.0, 9.0, 8.0, 7.5, 6.0)
# Share of the width that is gone when all is lost. The upper ridge shrinks from its cheek side (it
# moves inwards), the lower one from both.
GONE_BUCCAL = {Frame.SKULL: 0.5, Frame.MANDIBLE: 0.35}
GONE_LINGUAL = {Frame.SKULL: 0.1, Frame.MANDIBLE: 0.35}
WORN_BLEND_MM = 5.0  # rounding of the worn body's edges
SMOOTH_MM = 3.5  # over which the crest's height goes from one place to the next
SLOPE_SAFE = 0.6  # keeps the distance to a steep crest below the true one
# An empty ridge is round across: it falls off from its middle line as a parabola of this radius,
# until it has fallen by so much. By eye.
ROUND_RADIUS_MM, ROUND_MOST_MM = 5.0, 2.5
# As far from the ridge's middle line the body of the upper jaw is worn down with it.
WORN_WIDE_MM = 12.0
# Bone left under the sinus, before edges are rounded, and how softly it runs into the ridge [mm].
SINUS_FLOOR_MM, FLOOR_BLEND_MM = 2.0, 9.0
PAST_LAST_MM = 4.0  # and so far behind the last place
POSTS_BETWEEN = 4  # steps from one place of the arch to the next
BEYOND_MM = 25.0  # bone of a jaw reaches no farther beyond its worn crest
# Behind the last tooth the lower jaw goes on as the ramus, which is not worn: how far to the side,
# how far back, and how much higher [mm].
BEHIND_MM = {
    Frame.MANDIBLE: (
        (0.0, 6.0, 14.0), (0.0, 10.0, 50.0), (0.0, 15.0, 95.0), (14.0, 4.0, 45.0), (14.0, 9.0, 95.0)
    ),
    Frame.SKULL: ((0.0, 9.0, 0.0),),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class CrestLine:
    """Where the crest of a jaw stands, teeth or none: a smooth height over the occlusal plane.

    ``posts_mm`` (n, 3) left, back, up in the plane's coordinates: many along the arch, and some
    behind it, where the jaw goes on. ``line_mm`` (m, 2) are those along the arch from its right end
    to its left one, seen along the plane's axis. ``sign`` is +1 where bone lies below (lower jaw).
    """

    plane: OcclusalPlane
    posts_mm: Array
    line_mm: Array
    sign: float

    def height_mm(self, points_mm: Array) -> Array:
        """How far (n, 3) points stand above the crest, out of the bone positive [mm]."""
        own = (points_mm - self.plane.origin_mm) @ self.plane.rotation
        away2 = (own[:, :1] - self.posts_mm[:, 0]) ** 2 + (own[:, 1:2] - self.posts_mm[:, 1]) ** 2
        weight = np.exp(-(away2 - away2.min(axis=1, keepdims=True)) / (2.0 * SMOOTH_MM**2))
        crest = weight @ self.posts_mm[:, 2] / weight.sum(axis=1)
        return np.asarray(self.sign * (own[:, 2] - crest))

    def off_mm(self, points_mm: Array) -> Array:
        """How far (n, 3) points lie beside the ridge's middle line, seen along the plane's axis."""
        own = ((points_mm - self.plane.origin_mm) @ self.plane.rotation)[:, :2]
        best = np.full(len(own), np.inf)
        for start, end in pairwise(self.line_mm[::POSTS_BETWEEN]):
            way = end - start
            t = np.clip((own - start) @ way / max(float(way @ way), 1e-9), 0.0, 1.0)
            gap = own - start - t[:, None] * way
            best = np.minimum(best, np.einsum("ij,ij->i", gap, gap))
        return np.sqrt(best)

    def above(self) -> Shape:
        """Everything beyond the crest, which is round across."""
        huge = np.full(3, 1e6)
        return Shape(self._beyond, -huge, huge)

    def beside(self, wide_mm: float) -> Shape:
        """The same, within so much of the ridge's middle line and not far behind its ends."""

        def distance(p: Array) -> Array:
            back = ((p - self.plane.origin_mm) @ self.plane.rotation)[:, 1]
            behind = back - self.line_mm[:, 1].max() - PAST_LAST_MM
            return np.maximum(np.maximum(self._beyond(p), self.off_mm(p) - wide_mm), behind)

        posts = self.posts_mm @ self.plane.rotation.T + self.plane.origin_mm
        below = self.sign * np.array([0.0, 0.0, BEYOND_MM])
        ends = np.vstack([posts, posts + below])
        return Shape(distance, ends.min(axis=0) - wide_mm, ends.max(axis=0) + wide_mm)

    def _beyond(self, points_mm: Array) -> Array:
        fall = np.minimum(self.off_mm(points_mm) ** 2 / (2.0 * ROUND_RADIUS_MM), ROUND_MOST_MM)
        return -SLOPE_SAFE * (self.height_mm(points_mm) + fall)


def lost_share(person: Person, frame: Frame) -> float:
    """The share (0 to 1) of the empty ridges' bone that is gone."""
    mouth = person.mouth
    return mouth.lost_ridge_upper if frame is Frame.SKULL else mouth.lost_ridge_lower


def border_up(person: Person) -> tuple[Array, Array]:
    """A point of the lower border's line (menton to gonion) and the direction up from it."""
    marks = starter_landmarks(person)
    along = marks["gonion-left"] - marks["menton"]
    up = np.array([0.0, -along[2], along[1]])
    return marks["menton"], up / np.linalg.norm(up)


def lost_places(person: Person, frame: Frame) -> list[Tooth]:
    """The teeth of a jaw that would stand in the mouth, had they not been lost."""
    here = {t.fdi for t in dentition(person)}
    return [
        t for t in whole_dentition(person) if t.frame is frame and t.erupted and t.fdi not in here
    ]


def crest_mm(tooth: Tooth, person: Person) -> Array:
    """The middle of the ridge's crest in place of a lost tooth, (3,) in the jaw's frame [mm]."""
    share = lost_share(person, tooth.frame)
    low = CREST_MM + HEALED_MM + share * (_worst_mm(tooth, person) - HEALED_MM)
    return np.asarray(tooth.origin_mm - low * tooth.rotation[:, 2])


def _worst_mm(tooth: Tooth, person: Person) -> float:
    """How far below the sound crest the ridge lies when all is lost [mm]."""
    jaw, place = kind_of(tooth.fdi)
    at = place - FIRST_PRIMARY if place >= FIRST_PRIMARY else place - 1
    size = grown(person, Part.LOWER_FACE)
    if jaw == "upper":
        return WORN_UPPER_MM[at] * size
    start, up = border_up(person)
    height = float((tooth.origin_mm - start) @ up)
    lean = float(tooth.rotation[:, 2] @ up)
    return max((height - WORN_LOWER_MM[at] * size) / lean - CREST_MM, HEALED_MM)


def crest_line(person: Person, frame: Frame) -> CrestLine:
    """The crest of a jaw with its teeth lost or not."""
    plane, sign = occlusal_plane(person), 1.0 if frame is Frame.MANDIBLE else -1.0
    lost = {t.fdi for t in lost_places(person, frame)}
    posts = []
    for tooth in whole_dentition(person):
        if tooth.frame is not frame or not tooth.erupted:
            continue
        sound = tooth.origin_mm - CREST_MM * tooth.rotation[:, 2]
        posts.append(crest_mm(tooth, person) if tooth.fdi in lost else sound)
    own = (np.array(posts) - plane.origin_mm) @ plane.rotation
    centre_mm = own[:, 1].max()
    arch = own[np.argsort(np.arctan2(own[:, 0], centre_mm - own[:, 1]))]
    at = np.arange((len(arch) - 1) * POSTS_BETWEEN + 1) / POSTS_BETWEEN
    line = np.column_stack([np.interp(at, np.arange(len(arch)), c) for c in arch.T])
    ends = []
    for side in (own[:, 0] > 0, own[:, 0] < 0):
        last = own[side][np.argmax(own[side, 1])]
        ends += [last + [np.sign(last[0]) * x, b, z] for x, b, z in BEHIND_MM[frame]]
    return CrestLine(plane, np.vstack([line, ends]), line[:, :2], sign)


def narrowed(person: Person, frame: Frame) -> tuple[float, float]:
    """Shares of the half widths, to the cheek and to the tongue, that an empty ridge has left."""
    lost = lost_share(person, frame)
    return 1.0 - lost * GONE_BUCCAL[frame], 1.0 - lost * GONE_LINGUAL[frame]


def is_worn(person: Person) -> bool:
    """Whether the lower jaw has lost any of its body."""
    return lost_share(person, Frame.MANDIBLE) > 0.0 and bool(lost_places(person, Frame.MANDIBLE))


def worn_body(body: Shape, person: Person) -> Shape:
    """The lower jaw's body, or a part of it, worn down where teeth are lost."""
    if not is_worn(person):
        return body
    return cut(body, crest_line(person, Frame.MANDIBLE).above(), blend_mm=WORN_BLEND_MM)


def worn_upper(cranium: Shape, sinus: Shape, person: Person) -> Shape:
    """The skull's bone without the tooth-bearing one, its jaw worn down where teeth are lost.

    The maxillary ``sinus`` keeps its floor.
    """
    if not lost_places(person, Frame.SKULL):
        return cranium
    worn = crest_line(person, Frame.SKULL).beside(WORN_WIDE_MM)
    worn = cut(worn, grow(sinus, SINUS_FLOOR_MM), blend_mm=FLOOR_BLEND_MM)
    return cut(cranium, worn, blend_mm=WORN_BLEND_MM)

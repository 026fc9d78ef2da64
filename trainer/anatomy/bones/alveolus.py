"""The bone that carries the teeth, and what is left of it where they are lost.

Round each tooth stands a block of bone in the tooth's own direction: from the crest, a little below
the neck and following its line, to beyond the apices, wide enough to cover the roots with a thin
plate and to meet the blocks of its neighbours. A wide blend makes one process of them. Germs have a
shell of bone of their own. Where a tooth is lost its block ends in a rounded ridge (see `ridges`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trainer.anatomy.bones.ridges import CREST_MM, border_up, crest_line, narrowed
from trainer.anatomy.people.growth import Part, grown
from trainer.anatomy.shapes.implicit import (
    Shape,
    common,
    cut,
    grow,
    half_space,
    placed,
    union,
)
from trainer.anatomy.teeth.dentition import Tooth, dentition, whole_dentition
from trainer.anatomy.teeth.primary_forms import form_of
from trainer.anatomy.teeth.tooth_shapes import STEP_MM, loft
from trainer.anatomy.teeth.tooth_tables import FIRST_PRIMARY, is_right, kind_of
from trainer.models.frames import Frame
from trainer.models.subject import Jaw, Person

Array = NDArray[np.float64]

# Between the teeth the crest rises with the neck line, by this share. The blend of the blocks adds
# a little on top of it.
CREST_RISE = 0.7
RIDGE_ROUND_MM = 3.0  # rounding of an empty ridge's crest
# Bone over the roots [mm]: thin at front teeth, thick on the cheek side of lower molars, where the
# outer oblique ridge begins (from memory: dental anatomy and implant textbooks).
PLATE_MM = 1.3
PLATE_LOWER_MOLAR_BUCCAL_MM = (2.4, 3.6, 4.2)  # teeth 6, 7, 8
BEYOND_APEX_MM = 4.5
ROUND_MM = 1.2
BLEND_MM = 3.0
EMPTY_BLEND_MM = 7.0  # an empty ridge shows no longer where each tooth stood
# In adults the fillet to the jaw is narrow; a child's tooth-bearing bone stands out over its jaw
# and runs into it more softly. By eye.
JOINT_MM, JOINT_MORE_MM = 3.0, 6.0
SMALLEST = 0.14  # growth of the lower face still to come at which the above counts in full
BORDER_SOFT_MM = 4.5
TAPER_MM, TAPER_SHARE = 5.0, 0.85
GERM_SHELL_MM = 1.6  # bone round a germ and its follicle: by eye
ABOVE_BORDER_MM = 0.5  # the lower process keeps so far above the line from menton to gonion
# Ligament space 0.15 to 0.38, here 0.2; lamina dura 0.2 to 0.6, here 0.45 (from memory:
# periodontology textbooks).
LIGAMENT_MM, LAMINA_DURA_MM = 0.2, 0.45


@dataclass(frozen=True, slots=True)
class Socket:
    """What lies round a tooth inside the bone, in the tooth's frame [mm].

    ``ligament`` is the space between root and bone, ``lamina_dura`` the dense wall round that. Both
    go on round the crown: only what lies within the jaw's bone is meant.
    """

    ligament: Shape
    lamina_dura: Shape


def socket(tooth: Tooth) -> Socket:
    """The ligament space and the lamina dura of a tooth; a germ's space is its follicle's edge."""
    gap = grow(tooth.solid, LIGAMENT_MM)
    wall = grow(tooth.solid, LIGAMENT_MM + LAMINA_DURA_MM)
    return Socket(cut(gap, tooth.solid), cut(wall, gap))


def _along(tooth: Tooth) -> int:
    """Places from the right end of the arch to the left, the midline at nought."""
    return tooth.fdi % 10 * (-1 if is_right(tooth.fdi) else 1)


def _floors_mm(teeth: Sequence[Tooth]) -> dict[int, float]:
    """How deep below its neck each tooth's block ends, so that the lower rim runs evenly [mm]."""
    along = sorted(teeth, key=_along)
    up = np.mean([t.rotation[:, 2] for t in along], axis=0)
    up /= np.linalg.norm(up)
    neck = np.array([t.origin_mm @ up for t in along])
    lean = np.array([t.rotation[:, 2] @ up for t in along])
    own = np.array([max(t.size.root_mm) * t.root_share for t in along])
    rim = neck - lean * own
    count = len(rim)
    lowest = np.array([rim[max(0, i - 1) : i + 2].min() for i in range(count)])
    even = np.array([lowest[max(0, i - 2) : i + 3].mean() for i in range(count)])
    depth = np.maximum(own, (neck - even) / lean) + BEYOND_APEX_MM
    return {t.fdi: float(d) for t, d in zip(along, depth, strict=True)}


def _below_crest(tooth: Tooth) -> Shape:
    """Everything on the root's side of the crest, in tooth coordinates."""
    low = CREST_MM - tooth.sunk_mm
    rise = CREST_RISE * form_of(*kind_of(tooth.fdi)).cej_mm
    half = tooth.size.md_mm / 2
    huge = np.full(3, 1e6)

    def distance(p: Array) -> Array:
        crest = rise * np.minimum(np.abs(p[:, 0]) / half, 1.0) ** 2 - low
        return (p[:, 2] - crest) * 0.8

    return Shape(distance, -huge, np.array([1e6, 1e6, rise - low]))


def small_jaw(person: Person) -> float:
    """How far the teeth's bone outgrows a child's jaw: 0 in adults, 1 in the smallest jaws."""
    return float(np.clip((1.0 - grown(person, Part.LOWER_FACE)) / SMALLEST, 0.0, 1.0))


def joint_mm(person: Person) -> float:
    """Width of the fillet between the tooth-bearing bone and the jaw that carries it [mm]."""
    return JOINT_MM + small_jaw(person) * JOINT_MORE_MM


def _block(
    tooth: Tooth,
    depth_mm: float,
    shares: tuple[float, float] | None = None,
    taper: float = 0.0,
) -> Shape:
    """The bone round a tooth; with ``shares`` (`ridges.narrowed`) an empty ridge, crest not cut.

    Beyond the apex it loses the share ``taper`` of its thickness.
    """
    jaw, place = kind_of(tooth.fdi)
    top_mm = 3.0 + tooth.sunk_mm
    z = STEP_MM * np.arange(
        round(-depth_mm / STEP_MM), round(top_mm / STEP_MM) + 1, dtype=np.float64
    )
    buccal = np.full_like(z, -np.inf)
    lingual, drift = buccal.copy(), np.zeros_like(z)
    for root in tooth.roots:
        axis = (root.axis_mm - tooth.origin_mm) @ tooth.rotation
        x, y, half = (
            np.interp(-z, -axis[:, 2], v) for v in (axis[:, 0], axis[:, 1], root.half_mm[:, 1])
        )
        buccal, lingual = np.maximum(buccal, y + half), np.maximum(lingual, half - y)
        drift += x / len(tooth.roots)
    # near the crest the whole neck counts, not only the roots
    near = tooth.size.bl_neck_mm / 2 * np.clip(1.0 + (z + CREST_MM) / 12.0, 0.0, 1.0)
    if tooth.sunk_mm > 0.0:  # bone goes round the crown
        near = np.where(z > 0.0, tooth.size.bl_mm / 2, near)
    plate_b = plate_l = PLATE_MM
    if jaw == "lower" and 6 <= place < FIRST_PRIMARY:
        plate_b = PLATE_LOWER_MOLAR_BUCCAL_MM[place - 6]
    thin = 1.0 - 0.35 * np.clip(1.0 + (z + CREST_MM) / 3.0, 0.0, 1.0)  # plates thin at the crest
    buccal = np.maximum(buccal, near) + plate_b * thin
    lingual = np.maximum(lingual, near) + plate_l * thin
    if taper:
        t = np.clip((z + depth_mm) / TAPER_MM, 0.0, 1.0)
        left = 1.0 - taper * (1.0 - t * t * (3.0 - 2.0 * t))
        buccal, lingual = buccal * left, lingual * left
    if shares:
        buccal, lingual = buccal * shares[0], lingual * shares[1]
    half_md = np.full_like(z, tooth.size.md_mm / 2 + 0.4)
    zero = np.zeros_like(z)
    columns = np.column_stack(
        [drift, (buccal - lingual) / 2, half_md, (buccal + lingual) / 2, zero + 3.0, zero, zero]
    )
    block = loft(z, columns, ROUND_MM)
    if not shares:
        block = common(block, _below_crest(tooth), blend_mm=ROUND_MM)
    return placed(block, tooth.rotation, tooth.origin_mm)


def alveolar_process(person: Person, jaw: Jaw) -> Shape:
    """The alveolar process of a jaw in its frame [mm], sockets not cut out.

    Crest 1.5 to 2 mm below the necks, plates 1 to 2 mm over the roots (more on the cheek side of
    lower molars), at least 4.5 mm beyond the apices, where it is meant to run into the jaw's body.
    """
    frame = Frame.SKULL if jaw is Jaw.UPPER else Frame.MANDIBLE
    whole = [t for t in whole_dentition(person) if t.frame is frame]
    here = {t.fdi for t in dentition(person)}
    floors = _floors_mm([t for t in whole if t.erupted])
    shares, taper = narrowed(person, frame), TAPER_SHARE * small_jaw(person)
    # Blends depend a little on their order: both sides from the midline back, then together, makes
    # the two halves mirror images.
    halves, ridges, shells = [], [], []
    for right in (True, False):
        side = sorted((t for t in whole if is_right(t.fdi) is right), key=lambda t: t.fdi % 10)
        blocks = [
            _block(t, floors[t.fdi], taper=taper) for t in side if t.erupted and t.fdi in here
        ]
        shells += [grow(t.solid, GERM_SHELL_MM) for t in side if not t.erupted and t.fdi in here]
        empty = [_block(t, floors[t.fdi], shares) for t in side if t.erupted and t.fdi not in here]
        if blocks:
            halves.append(union(*blocks, blend_mm=BLEND_MM))
        if empty:
            ridges.append(union(*empty, blend_mm=EMPTY_BLEND_MM))
    if ridges:
        ridge = union(*ridges, blend_mm=EMPTY_BLEND_MM)
        above = crest_line(person, frame).above()
        halves.append(cut(ridge, above, blend_mm=RIDGE_ROUND_MM))
    process = union(*halves, blend_mm=BLEND_MM)
    if jaw is Jaw.LOWER:
        process = _above_border(process, person)
    return union(process, *shells, blend_mm=BLEND_MM) if shells else process


def _above_border(process: Shape, person: Person) -> Shape:
    """The lower process without what would hang out below the jaw."""
    start, up = border_up(person)
    # higher in a child's jaw, where the wide fillet adds to whatever runs along the border
    soft = small_jaw(person) * BORDER_SOFT_MM
    kept = common(process, half_space(start + (ABOVE_BORDER_MM + soft) * up, -up), blend_mm=soft)
    return Shape(kept.distance, process.lower_mm, process.upper_mm)

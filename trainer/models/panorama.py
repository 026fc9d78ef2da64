"""Faults of placing for a panoramic picture, and the signs by which the picture shows them."""

from __future__ import annotations

from enum import StrEnum


class PanoramaFault(StrEnum):
    """What is wrong with how a person stands, holds the mouth, or is dressed."""

    TOO_FAR_FORWARD = "too-far-forward"
    TOO_FAR_BACK = "too-far-back"
    OFF_THE_MIDLINE = "off-the-midline"
    CHIN_UP = "chin-up"
    CHIN_DOWN = "chin-down"
    TURNED = "turned"
    LEANING = "leaning"
    SLUMPED = "slumped"
    TONGUE_LOW = "tongue-low"
    LIPS_OPEN = "lips-open"


class PanoramaSign(StrEnum):
    """What the picture shows."""

    NARROW_FRONT = "narrow-front"
    WIDE_FRONT = "wide-front"
    FLAT_TOOTH_ROW = "flat-tooth-row"
    STEEP_TOOTH_ROW = "steep-tooth-row"
    ONE_SIDE_WIDER = "one-side-wider"
    ONE_SIDE_HIGHER = "one-side-higher"
    PALE_MIDDLE = "pale-middle"
    DARK_OVER_ROOTS = "dark-over-roots"
    DARK_OVER_CROWNS = "dark-over-crowns"

"""What can go wrong in an examination: the 25 known slips, and what each does to the image."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from trainer.models.appointment_words import RetakeCause, Shield, Support


class SlipCode(StrEnum):
    """The slips by number; the order is that of the error list they follow."""

    TOO_HIGH_OR_LOW = "E01"
    OFF_TO_A_SIDE = "E02"
    TOO_FAR_FORWARD_OR_BACK = "E03"
    CHIN_UP = "E04"
    CHIN_DOWN = "E05"
    HEAD_TURNED = "E06"
    HEAD_LEANING = "E07"
    WRONG_SIDE_OR_TOOTH = "E08"
    FIELD_TOO_SMALL = "E09"
    FIELD_TOO_LARGE = "E10"
    WRONG_PROTOCOL = "E11"
    MOVED = "E12"
    TREMOR_OR_SWALLOW = "E13"
    METAL_LEFT = "E14"
    DENTURE_OR_GUIDE = "E15"
    BITE_NOT_AS_ORDERED = "E16"
    SPACER_UNSTEADY = "E17"
    TONGUE_OR_LIPS = "E18"
    SUPPORT_PRESSES = "E19"
    TOUCHED = "E20"
    RELEASED_EARLY = "E21"
    SHIELD_IN_BEAM = "E22"
    WRONG_NAME = "E23"
    BANDS_AFTER_ALIGNING = "E24"
    NOT_CHECKED_OR_NEEDLESS = "E25"


@dataclass(frozen=True, slots=True)
class SlipText:
    """A slip in words: what it is, why it happens, what the image shows, how it is mended."""

    title: str
    cause: str
    consequence: str
    fix: str


@dataclass(frozen=True, slots=True)
class ImageEffect:
    """What a slip does to the image, as data for whoever computes it.

    Attributes
    ----------
    cut : tuple of str
        Structures that are not recorded with their margin.
    tilt_deg : tuple of float
        Pitch, yaw and roll against the task's plane, with which slices lie oblique.
    plays_motion, plays_jaw_drift : bool
        The run's motion trace belongs into the image: the head's part, the jaw's part.
    in_beam : tuple of str
        Items that belong into the phantom.
    missing_items : tuple of str
        Items the request wants in the phantom and that are not.
    noise_factor : float
        Standard deviation of the noise against the ordered protocol.
    dose_factor : float
        Dose against the ordered protocol and field, without unit.
    arches_touch : bool
        Crowns of both jaws meet; else, where the bite is wrong, they stand apart.
    soft_parts_free : bool
        Tongue, lips and cheeks lie as they happen to.
    pressed_by : tuple of Support
        Supports that dent the soft tissue.
    recorded_share : float
        Share of the views that there are.
    shield : Shield
        The shield in the beam.
    filed_as : str
        The person whose name stands on the image; empty for the right one.
    """

    cut: tuple[str, ...] = ()
    tilt_deg: tuple[float, float, float] = (0.0, 0.0, 0.0)
    plays_motion: bool = False
    plays_jaw_drift: bool = False
    in_beam: tuple[str, ...] = ()
    missing_items: tuple[str, ...] = ()
    noise_factor: float = 1.0
    dose_factor: float = 1.0
    arches_touch: bool = False
    soft_parts_free: bool = False
    pressed_by: tuple[Support, ...] = ()
    recorded_share: float = 1.0
    shield: Shield = Shield.NONE
    filed_as: str = ""


@dataclass(frozen=True, slots=True)
class Slip:
    """One slip that happened.

    ``found`` says in one sentence what was measured. ``spoils`` is the cause to name when it keeps
    the question from being answered; ``None`` when the image can be read all the same.
    ``panoramic``: in a panoramic picture, where some slips look otherwise.
    """

    code: SlipCode
    found: str
    effect: ImageEffect
    spoils: RetakeCause | None = None
    panoramic: bool = False

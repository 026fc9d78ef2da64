"""Spacers in the beam: between the teeth, on the side asked for, no thicker than there is room."""

from __future__ import annotations

import numpy as np
import pytest

from trainer.anatomy.jaw import mandible_to_skull
from trainer.anatomy.people.landmarks import starter_landmarks
from trainer.errors import TrainerError
from trainer.geometry.transforms import apply, inverse
from trainer.models.appointment_words import ArchPlace, SpacerKind
from trainer.models.frames import Frame, Side
from trainer.models.subject import Person, Sex
from trainer.physics.solids import Block, Roll
from trainer.services.spacer_solids import ROLL_DIAMETER_MM, spacer_solids

MAN = Person(Sex.MALE)
LANDMARKS = starter_landmarks(MAN)
MOLARS = ("upper-first-molar-cusp-left", "upper-first-molar-cusp-left")  # they meet when closed
INCISORS = ("upper-incisor-edge", "lower-incisor-edge")


def apart_mm(gap_mm: float, teeth: tuple[str, str]) -> tuple[np.ndarray, np.ndarray]:
    """Upper and lower tooth in the mandible's frame."""
    upper, lower = (LANDMARKS[name] for name in teeth)
    return apply(inverse(mandible_to_skull(MAN, gap_mm)), upper), lower


@pytest.mark.parametrize("gap_mm", [8.0, 14.0])
@pytest.mark.parametrize(
    ("place", "teeth"), [(ArchPlace.INCISORS, INCISORS), (ArchPlace.MOLARS, MOLARS)]
)
def test_a_block_fills_the_gap(gap_mm: float, place: ArchPlace, teeth: tuple[str, str]) -> None:
    """A block is as high as the teeth stand apart, and lies between them."""
    upper, lower = apart_mm(gap_mm, teeth)
    block = spacer_solids(LANDMARKS, mandible_to_skull(MAN, gap_mm), SpacerKind.BLOCK, place)[0]
    assert isinstance(block, Block)
    assert block.frame is Frame.MANDIBLE
    assert 2.0 * block.half_mm[2] == pytest.approx(upper[2] - lower[2])
    np.testing.assert_allclose(block.middle_mm, (upper + lower) / 2.0, atol=1e-9)
    np.testing.assert_allclose(block.axes @ block.axes.T, np.eye(3), atol=1e-12)


@pytest.mark.parametrize("gap_mm", [6.0, 12.0, 20.0])
def test_a_roll_is_squeezed_but_never_stretched(gap_mm: float) -> None:
    """Between the molars a roll is as thick as there is room, at most 9.5 mm; 38 mm long."""
    upper, lower = apart_mm(gap_mm, MOLARS)
    roll = spacer_solids(
        LANDMARKS, mandible_to_skull(MAN, gap_mm), SpacerKind.ROLL, ArchPlace.MOLARS
    )[0]
    assert isinstance(roll, Roll)
    assert 2.0 * roll.radius_mm == pytest.approx(min(upper[2] - lower[2], ROLL_DIAMETER_MM))
    assert np.linalg.norm(roll.ends_mm[1] - roll.ends_mm[0]) == pytest.approx(38.0)
    assert lower[2] < roll.middle_mm[2] < upper[2]


@pytest.mark.parametrize("kind", SpacerKind)
@pytest.mark.parametrize("place", ArchPlace)
def test_both_sides_mirror_each_other(kind: SpacerKind, place: ArchPlace) -> None:
    """One across the midline at the incisors, else one on either side at the same place."""
    solids = spacer_solids(LANDMARKS, mandible_to_skull(MAN, 12.0), kind, place)
    assert len(solids) == (1 if place is ArchPlace.INCISORS else 2)
    middles = np.array([s.middle_mm for s in solids])
    np.testing.assert_allclose(middles, middles[::-1] * [-1.0, 1.0, 1.0], atol=1e-9)
    one = spacer_solids(LANDMARKS, mandible_to_skull(MAN, 12.0), kind, place, (Side.LEFT,))
    assert len(one) == 1
    assert one[0].middle_mm[0] == pytest.approx(abs(middles[0, 0]))


def test_premolars_lie_between_incisors_and_molars() -> None:
    """A spacer at the premolars lies further forward than one at the molars."""
    ys = [
        spacer_solids(LANDMARKS, mandible_to_skull(MAN, 12.0), SpacerKind.BLOCK, p)[0].middle_mm[1]
        for p in (ArchPlace.INCISORS, ArchPlace.PREMOLARS, ArchPlace.MOLARS)
    ]
    assert ys[0] < ys[1] < ys[2]


def test_a_closed_mouth_has_no_room() -> None:
    """With the teeth together a spacer is refused, and the message names the place."""
    for kind in SpacerKind:
        with pytest.raises(TrainerError, match="no room for a spacer at the molars"):
            spacer_solids(LANDMARKS, mandible_to_skull(MAN, 0.0), kind, ArchPlace.MOLARS)

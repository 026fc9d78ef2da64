"""Implants: sizes of the trade, in bone, clear of canal, sinus, nose and roots."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trainer.anatomy.bones.canal import canal
from trainer.anatomy.bones.jaw_bones import jaw_bone, kept_clear
from trainer.anatomy.shapes.meshing import surface, volume_mm3
from trainer.anatomy.teeth.tooth_tables import ALL_TEETH
from trainer.anatomy.things.implants import (
    LENGTHS_MM,
    WIDTHS_MM,
    Seat,
    implant_body,
    implant_seat,
    implant_things,
)
from trainer.anatomy.things.on_tooth import full_teeth_of, jaw_of, teeth_of
from trainer.errors import TrainerError
from trainer.models.frames import Side
from trainer.models.subject import Jaw, Mouth, Person, Repair, Repaired, Sex

SITES = tuple(f for f in ALL_TEETH if f % 10 <= 7)


def _with_implant(fdi: int, sex: Sex = Sex.MALE, lost: float = 0.0) -> Person:
    loss = {"lost_ridge_lower" if jaw_of(fdi) is Jaw.LOWER else "lost_ridge_upper": lost}
    return Person(sex, mouth=Mouth((fdi,), (Repaired(fdi, Repair.IMPLANT),), **loss))


def _body_points(seat: Seat) -> np.ndarray:
    return surface(implant_body(seat), 0.4).vertices_mm


@settings(max_examples=8)
@given(st.sampled_from(SITES), st.sampled_from(list(Sex)))
def test_an_implant_stands_in_bone_and_keeps_clear(fdi: int, sex: Sex) -> None:
    """An implant lies in bone below its rim, 2 mm from the canal, 1 mm from air and from roots."""
    # 2 mm to the canal: from memory; the issue asks for 1
    person = _with_implant(fdi, sex)
    seat, jaw = implant_seat(person, fdi), jaw_of(fdi)
    points = _body_points(seat)
    deep = points[(points - seat.platform_mm) @ seat.way > 1.0]
    assert jaw_bone(person, jaw)(deep).max() < 0.0
    apart = 1.9 if jaw is Jaw.LOWER else 0.9
    assert min(s(points).min() for s in kept_clear(person, jaw)) > apart
    for tooth in teeth_of(person).values():
        if jaw_of(tooth.fdi) is jaw:
            assert tooth.solid(points).min() > 0.8


@settings(max_examples=6)
@given(st.sampled_from(SITES))
def test_a_standard_implant_fits_an_unworn_ridge(fdi: int) -> None:
    """Where the mean man lost a tooth and no bone, an implant of usual size fits in its place."""
    person = _with_implant(fdi)
    seat = implant_seat(person, fdi)
    assert seat.length_mm in LENGTHS_MM
    assert seat.width_mm in WIDTHS_MM
    assert np.linalg.norm(seat.platform_mm - full_teeth_of(person)[fdi].origin_mm) < 8.0


def test_volume_of_a_body() -> None:
    """A 4.1 x 10 mm body has 75 to 97 % of its cylinder's 132 mm3: thread and tip take the rest."""
    seat = Seat(np.zeros(3), np.array([0.0, 0.0, -1.0]), 10.0, 4.1)
    share = volume_mm3(surface(implant_body(seat), 0.2)) / (np.pi * 2.05**2 * 10.0)
    assert 0.75 < share < 0.97


@pytest.mark.parametrize("fdi", [36, 24, 11])
def test_metal_and_crown_meet_and_do_not_overlap(fdi: int) -> None:
    """The crown has the missing tooth's outside and a bore that the abutment fills."""
    person = _with_implant(fdi)
    metal, crown = implant_things(person, fdi)
    tooth = full_teeth_of(person)[fdi]
    low, high = tooth.crown.lower_mm, tooth.crown.upper_mm
    grid = np.random.default_rng(3).uniform(low, high, (30_000, 3))
    assert (np.maximum(metal.shape(grid), crown.shape(grid)) > -1e-9).all()
    both = np.minimum(metal.shape(grid), crown.shape(grid)) < 0.0
    assert both[tooth.crown(grid) < 0.0].all()
    assert (metal.shape(grid) < 0.0).sum() > 100
    assert (crown.material, metal.material) == ("zirconia", "titanium")
    assert metal.tooth == crown.tooth == fdi


def test_a_lost_ridge_shortens_the_implant() -> None:
    """Over a half lost ridge the first molar's implant is shorter than over a full one."""
    full, half = (implant_seat(_with_implant(36, lost=lost), 36) for lost in (0.0, 0.5))
    assert half.length_mm * half.width_mm < full.length_mm * full.width_mm
    points = _body_points(half)
    assert canal(_with_implant(36, lost=0.5), Side.LEFT)(points).min() > 1.0


def test_no_bone_is_said() -> None:
    """Where the whole ridge is lost, the refusal names the tooth, the least size and a way out."""
    with pytest.raises(TrainerError, match=r"tooth 37: no bone for even 6 x 3\.3 mm .* smaller"):
        implant_seat(_with_implant(37, Sex.FEMALE, lost=1.0), 37)

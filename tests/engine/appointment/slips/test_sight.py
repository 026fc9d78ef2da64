"""Heights of what is worn, and what they have to do with the beam."""

from __future__ import annotations

import pytest
from helpers.appointments import CLEAN_RUN, ORDER, context, play

from trainer.engine.appointment.slips.sight import (
    PLACE_HEIGHT_MM,
    SHIELD_TOP_MM,
    Sight,
    height_mm,
)
from trainer.models.appointment_visit import WornItem
from trainer.models.appointment_words import Shield, WornPlace
from trainer.models.subject import MEAN_MAN


@pytest.mark.parametrize(
    ("place", "mark", "low_mm", "high_mm"),
    [
        (WornPlace.LIP, "upper-incisor-edge", -10, 5),
        (WornPlace.LOWER_TEETH, "lower-first-molar-cusp-left", -10, 0),
        (WornPlace.TONGUE, "lower-first-molar-cusp-left", -10, 0),
        (WornPlace.UPPER_TEETH, "upper-first-molar-cusp-left", 0, 10),
        (WornPlace.NOSE, "anterior-nasal-spine", 0, 10),
        (WornPlace.EYES, "orbitale-left", 0, 20),
        (WornPlace.EARS, "porion-left", -35, -15),  # the lobe, and what hangs from it
        (WornPlace.HAIR, "vertex-skin", -60, -30),
        (WornPlace.NECK, "menton", -65, -50),
    ],
)
def test_places_lie_where_the_head_has_them(heads, place, mark, low_mm, high_mm):
    """Heights above the chin contact follow the mean man's landmarks, within a centimetre or so."""
    head = heads[MEAN_MAN]
    height = float(head.landmarks_mm[mark][2] - head.chin_contact_mm[2])
    assert low_mm <= PLACE_HEIGHT_MM[place] - height <= high_mm


def test_a_hearing_aid_sits_at_the_ear_canal(heads):
    """An item that hears is as high as the mean man's porion; an earring hangs lower."""
    head = heads[MEAN_MAN]
    porion = float(head.landmarks_mm["porion-left"][2] - head.chin_contact_mm[2])
    aid = WornItem("aid", "a hearing aid", WornPlace.EARS, hears=True)
    assert abs(height_mm(aid) - porion) <= 3.0
    assert height_mm(WornItem("ring", "an earring", WornPlace.EARS)) < porion - 15.0


def test_every_place_and_shield_has_a_height():
    """No place is left out, and a higher shield reaches higher."""
    assert set(PLACE_HEIGHT_MM) == set(WornPlace)
    tops = [SHIELD_TOP_MM[s] for s in (Shield.APRON, Shield.COLLAR_LOW, Shield.COLLAR_HIGH)]
    assert tops == sorted(tops)


def test_the_field_counts_from_the_chin():
    """With the chin 28 mm below the zero plane a 40 mm field spans 28 to 68 mm above the chin."""
    state, _ = play(CLEAN_RUN)
    run = state.runs[0]
    sight = Sight(context(), ORDER, run, state.context.placing(run.conditions.setup))
    assert (sight.field_floor_mm, sight.field_roof_mm) == (28.0, 68.0)
    found = {p: sight.in_beam(WornItem("x", "x", p)) for p in WornPlace}
    assert {p for p, inside in found.items() if inside} == {
        WornPlace.LIP,
        WornPlace.LOWER_TEETH,
        WornPlace.TONGUE,
        WornPlace.UPPER_TEETH,
        WornPlace.EARS,
        WornPlace.NOSE,
    }
    assert sight.beside_target(WornItem("x", "x", WornPlace.TONGUE))
    assert not sight.beside_target(WornItem("x", "x", WornPlace.NOSE))

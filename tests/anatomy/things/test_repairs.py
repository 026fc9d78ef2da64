"""Fillings, crowns and root fillings in the tooth that carries them.

Sizes from operative and prosthodontic textbooks are from memory, as beside the constants.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import cKDTree

from trainer.anatomy.shapes.meshing import surface
from trainer.anatomy.teeth.dentition import Tooth
from trainer.anatomy.teeth.tooth_tables import ALL_TEETH
from trainer.anatomy.things.on_tooth import is_front, surface_normal, teeth_of, to_own
from trainer.anatomy.things.repairs import repair_things
from trainer.anatomy.things.thing import Thing
from trainer.models.subject import MEAN_MAN, MEAN_WOMAN, Person, Repair, Sex, Sizes

FILLINGS = (Repair.AMALGAM_FILLING, Repair.COMPOSITE_FILLING)
CROWNS = (Repair.CERAMIC_CROWN, Repair.GOLD_CROWN)
PEOPLE = (
    MEAN_MAN,
    MEAN_WOMAN,
    Person(sizes=Sizes(tooth_size=2.5, root_length=-2.5)),
    Person(Sex.FEMALE, sizes=Sizes(tooth_size=-2.5, root_length=2.5)),
)
teeth = st.builds(
    lambda person, fdi: teeth_of(person)[fdi], st.sampled_from(PEOPLE), st.sampled_from(ALL_TEETH)
)


def _inside(thing: Thing, count: int = 40_000) -> np.ndarray:
    """Points (n, 3) within the thing, of ``count`` strewn over its box."""
    low, high = thing.shape.lower_mm, thing.shape.upper_mm
    found = np.random.default_rng(5).uniform(low, high, (count, 3))
    return found[thing.shape(found) < 0.0]


def _volume_mm3(thing: Thing, inside: np.ndarray, count: int = 40_000) -> float:
    return float(np.prod(thing.shape.upper_mm - thing.shape.lower_mm)) * len(inside) / count


def _man(fdi: int) -> Tooth:
    return teeth_of(MEAN_MAN)[fdi]


@settings(max_examples=20)
@given(teeth, st.sampled_from(FILLINGS))
def test_a_filling_lies_in_the_crown_and_off_the_pulp(tooth: Tooth, repair: Repair) -> None:
    """Every point of a filling is inside its crown and at least 0.2 mm from the pulp."""
    (filling,) = repair_things(tooth, repair)
    points = _inside(filling)
    assert _volume_mm3(filling, points) > 2.0
    assert tooth.crown(points).max() < 0.0
    assert tooth.pulp(points).min() > 0.2


@settings(max_examples=12)
@given(teeth, st.sampled_from(FILLINGS))
def test_a_filling_comes_to_the_surface(tooth: Tooth, repair: Repair) -> None:
    """A filling's outside is part of the crown's: on the biting surface, or behind front teeth."""
    (filling,) = repair_things(tooth, repair)
    points = _inside(filling)
    outer = points[tooth.crown(points) > -0.15]
    assert len(outer) > 30
    own = to_own(tooth, outer)
    if is_front(tooth.fdi):
        assert own[:, 1].mean() < to_own(tooth, points)[:, 1].mean()  # towards the tongue
    else:
        assert own[:, 2].mean() > 0.4 * tooth.size.crown_mm


@pytest.mark.parametrize("fdi", [16, 26, 36, 37, 46])
def test_depth_of_an_amalgam_filling(fdi: int) -> None:
    """Amalgam in a molar is 1.5 to 4.5 mm thick from floor to highest rim, and deeper than 1.5."""
    # from memory: at least 1.5 to 2 below the fissures; the cusps' slopes add to it at the rim
    (filling,) = repair_things(_man(fdi), Repair.AMALGAM_FILLING)
    height = to_own(_man(fdi), _inside(filling))[:, 2]
    assert 1.5 <= np.ptp(height) <= 4.5


@settings(max_examples=10)
@given(teeth, st.sampled_from(CROWNS))
def test_wall_of_a_crown(tooth: Tooth, repair: Repair) -> None:
    """A crown's inner face lies 0.6 to 1.5 mm inside the tooth's surface, its mean 0.8 to 1.2."""
    # 0.8 to 1.5: from memory, prosthodontics textbooks
    (crown,) = repair_things(tooth, repair)
    whole = surface(tooth.solid, 0.3).vertices_mm
    shell = surface(crown.shape, 0.3).vertices_mm
    own = to_own(tooth, shell)
    inner = shell[(tooth.solid(shell) < -0.3) & (own[:, 2] > 0.3 * tooth.size.crown_mm)]
    away = cKDTree(whole).query(inner)[0]
    assert 0.8 <= np.median(away) <= 1.3
    assert np.quantile(away, 0.02) > 0.55
    assert np.quantile(away, 0.98) < 1.55


@settings(max_examples=10)
@given(teeth, st.sampled_from(CROWNS))
def test_a_crown_has_the_outside_of_the_tooth(tooth: Tooth, repair: Repair) -> None:
    """Right below the tooth's surface there is crown above the shoulder, and none below it."""
    (crown,) = repair_things(tooth, repair)
    skin = surface(tooth.crown, 0.4).vertices_mm
    skin = skin[np.abs(tooth.solid(skin)) < 0.05]
    height = to_own(tooth, skin)[:, 2]
    just_in = skin - 0.25 * surface_normal(tooth.solid, skin)
    high = height > 0.35 * tooth.size.crown_mm
    assert (crown.shape(just_in[high]) < 0.0).mean() > 0.97
    assert (crown.shape(just_in[height < 0.3]) > 0.0).all()


@settings(max_examples=16)
@given(teeth)
def test_a_root_filling_lies_in_the_pulp(tooth: Tooth) -> None:
    """Root filling and core lie in the pulp, meet at the neck only, and end short of the tip."""
    filling, core = repair_things(tooth, Repair.ROOT_FILLING)
    below, above = _inside(filling), _inside(core)
    assert tooth.pulp(below).max() < 0.0
    assert tooth.pulp(above).max() < 0.0
    assert to_own(tooth, below)[:, 2].max() <= 0.0 <= to_own(tooth, above)[:, 2].min()
    for root in tooth.roots:
        away = np.linalg.norm(below - root.axis_mm[-1], axis=1).min()
        # 0.5 to 2 short of the tip: European Society of Endodontology 2006, from memory
        assert 0.9 < away < 2.5


@settings(max_examples=8)
@given(teeth, st.sampled_from(CROWNS))
def test_a_crown_leaves_the_core_alone(tooth: Tooth, repair: Repair) -> None:
    """A crown and the core of a root filling in the same tooth share no point."""
    (crown,) = repair_things(tooth, repair)
    core = _inside(repair_things(tooth, Repair.ROOT_FILLING)[1])
    assert crown.shape(core).min() > -0.05

"""Worn things: sizes of the trade, on the skin and not in it."""

from __future__ import annotations

import numpy as np
import pytest

from tests.anatomy.carried import ALL_WORN
from trainer.anatomy.bones.jaw_bones import jaw_bone
from trainer.anatomy.things.on_skin import skin_of
from trainer.anatomy.things.on_tooth import teeth_of
from trainer.anatomy.things.thing import Thing
from trainer.anatomy.things.worn import worn_things
from trainer.models.subject import (
    MEAN_MAN,
    MEAN_WOMAN,
    Jaw,
    Mouth,
    Person,
    Posture,
    Profile,
    Sex,
    Sizes,
)

BIG, SMALL = (Sizes(s, s, s, s, s, s, 0.0, 0.0, s) for s in (2.0, -2.0))


def _dressed(person: Person) -> Person:
    return Person(person.sex, person.age_years, person.sizes, person.profile, Mouth(), Posture(),
                  ALL_WORN)  # fmt: skip


PEOPLE = [
    _dressed(p)
    for p in (
        MEAN_MAN,
        MEAN_WOMAN,
        Person(Sex.MALE, 7),
        Person(Sex.FEMALE, 12),
        Person(sizes=BIG),
        Person(Sex.FEMALE, sizes=SMALL),
        Person(profile=Profile.CLASS_II),
    )
]
EVERYONE = pytest.mark.parametrize("person", PEOPLE, ids=range(len(PEOPLE)))
ON_SKIN = ("spectacles", "necklace", "hearing-aid")


def _things(person: Person) -> dict[str, Thing]:
    return {t.id: t for t in worn_things(person)}


def _corners(thing: Thing) -> np.ndarray:
    assert thing.surfaces is not None
    return thing.surfaces[0].vertices_mm


@EVERYONE
def test_what_lies_on_the_skin_does_not_cut_it(person: Person) -> None:
    """Spectacles, necklace and hearing aid touch the skin within 0.3 mm and cut it by no more."""
    on, things = skin_of(person), _things(person)
    for name in ON_SKIN:
        away = on.away_mm(_corners(things[name]))[0]
        assert -0.3 < away.min() < 0.3, name


@EVERYONE
def test_piercings_go_through_the_skin(person: Person) -> None:
    """Earrings and studs of nose and lip lie partly below the skin and partly outside it."""
    on, things = skin_of(person), _things(person)
    for name in ("earring-left", "earring-right", "nose-stud", "lip-stud"):
        away = on.away_mm(_corners(things[name]))[0]
        assert away.min() < -0.7, name
        assert away.max() > 0.7, name


@EVERYONE
def test_the_lip_stud_spares_teeth_and_bone(person: Person) -> None:
    """The disc behind the lip touches neither the lower teeth nor the jaw."""
    points = _corners(_things(person)["lip-stud"])
    assert jaw_bone(person, Jaw.LOWER)(points).min() > 0.0
    assert min(t.solid(points).min() for t in teeth_of(person).values()) > 0.0


@pytest.mark.parametrize("person", PEOPLE[:2], ids=range(2))
def test_sizes_of_spectacles(person: Person) -> None:
    """Lenses are about 50 wide and 34 high, 18 apart, the front 120 to 145 wide."""
    # from memory: sizes as stamped on frames in the box system of ISO 8624
    points = _corners(_things(person)["spectacles"])
    pupil = skin_of(person).of_man([[32.0, -83.8, 17.0]])[0]
    front = points[points[:, 1] < pupil[1] + 5.0]
    near_pupil = np.abs(front[:, 0] - pupil[0]) < 8.0
    assert 30.0 < np.ptp(front[near_pupil, 2]) < 40.0
    rims = front[front[:, 1] < pupil[1] - 10.0]  # the pads lie behind
    level = np.abs(rims[:, 2] - pupil[2] + 3.0) < 4.0
    assert 13.0 < 2.0 * rims[level & (rims[:, 0] > 3.0), 0].min() < 23.0
    assert 115.0 < np.ptp(points[points[:, 1] < -80.0, 0]) < 150.0


@EVERYONE
def test_rims_stand_before_the_eyes(person: Person) -> None:
    """The rims lie 8 to 22 mm before the lids at the height of the pupils."""
    # 12 to 14 from lens to eye, from memory; brows or cheeks may hold the rims further off
    on, points = skin_of(person), _corners(_things(person)["spectacles"])
    pupil = on.of_man([[32.0, -83.8, 17.0]])[0]
    rim = points[(np.abs(points[:, 0] - pupil[0]) < 10.0) & (points[:, 1] < pupil[1])]
    assert 8.0 < pupil[1] - rim[:, 1].mean() < 22.0


@EVERYONE
def test_pairs_are_mirror_images(person: Person) -> None:
    """The right earring mirrors the left one, and the spectacles are symmetric."""
    things = _things(person)
    left, right = (_corners(things[f"earring-{side}"]) for side in ("left", "right"))
    np.testing.assert_allclose(np.sort(left[:, 2]), np.sort(right[:, 2]), atol=0.2)
    np.testing.assert_allclose(left.max(axis=0)[0], -right.min(axis=0)[0], atol=0.1)
    frame = _corners(things["spectacles"])
    assert frame[:, 0].max() == pytest.approx(-frame[:, 0].min(), abs=0.3)


def test_size_of_the_battery() -> None:
    """The hearing aid's cell is 7.9 across and 3.6 high."""
    # PR41 (size 312), IEC 60086-2, from memory
    points = _corners(_things(PEOPLE[0])["hearing-aid-battery"])
    middle = points.mean(axis=0)
    _, _, axes = np.linalg.svd(points - middle)
    assert np.ptp((points - middle) @ axes[2]) == pytest.approx(3.6, abs=0.05)
    assert np.linalg.norm(points - middle, axis=1).max() == pytest.approx(
        np.hypot(3.95, 1.8), abs=0.05
    )


def test_the_necklace_goes_round_the_neck() -> None:
    """The chain encloses the neck's axis and hangs lower in front than behind."""
    for person in PEOPLE:
        points = _corners(_things(person)["necklace"])
        middle = skin_of(person).of_man([[0.0, 25.0, -150.0]])[0]
        turn = np.sort(np.arctan2(points[:, 0] - middle[0], points[:, 1] - middle[1]))
        assert np.diff(turn).max() < 0.3
        front = points[np.argmin(points[:, 1])]
        back = points[np.argmax(points[:, 1])]
        assert front[2] < back[2] - 10.0

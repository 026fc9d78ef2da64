"""A spacer's opening and the clear distances against surfaces measured in another way."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest
import trimesh
from scipy.spatial import cKDTree

from trainer.anatomy.jaw import JawPosition, gap_at, jaw_to_skull
from trainer.anatomy.people.landmarks import starter_landmarks
from trainer.anatomy.shapes.meshing import surface
from trainer.anatomy.spacer import NoToothThere, SpacerTooThick, gaps_at_teeth, spacer_opening
from trainer.anatomy.teeth.dentition import dentition
from trainer.errors import TrainerError
from trainer.geometry.transforms import apply, inverse
from trainer.models.frames import Frame
from trainer.models.subject import MEAN_MAN, MEAN_WOMAN, MEANS, Person, Sex

# one of every kind, on the side that a shift to the left changes most
MEASURED = (21, 22, 23, 24, 25, 26, 27, 28, 31, 33, 35, 37)
CHILD = Person(Sex.FEMALE, 9)  # with first molars and, before them, primary teeth
COTTON_ROLL_MM = 9.5  # No. 2: dental-supply article


@dataclass(frozen=True)
class Crown:
    """A crown by marching cubes in its jaw's frame: triangles (m, 3, 3), corners, their trees."""

    frame: Frame
    corners: np.ndarray
    triangles: np.ndarray
    near_corner: cKDTree
    near_triangle: cKDTree


@cache
def crown_of(person: Person, fdi: int) -> Crown:
    """The crown at 0.25 mm."""
    tooth = next(t for t in dentition(person) if t.fdi == fdi)
    mesh = surface(tooth.crown, 0.25)
    triangles = mesh.vertices_mm[mesh.faces]
    middles = cKDTree(triangles.mean(axis=1))
    return Crown(tooth.frame, mesh.vertices_mm, triangles, cKDTree(mesh.vertices_mm), middles)


def to_triangles(points: np.ndarray, crown: Crown, bound: float) -> float:
    """The least distance of points to a crown's triangles, if it is below the bound."""
    away, _ = crown.near_corner.query(points, distance_upper_bound=bound + 0.5)
    near = points[away < away.min() + 0.3]
    if not len(near) or not np.isfinite(away.min()):
        return np.inf
    _, found = crown.near_triangle.query(near, k=24)
    ends = np.repeat(near, found.shape[1], axis=0)
    spots = trimesh.triangles.closest_point(crown.triangles[found.ravel()], ends)
    return float(np.linalg.norm(spots - ends, axis=1).min())


def measured(person: Person, fdi: int, position: JawPosition) -> float:
    """Clear distance of a crown to the nearest of the other jaw, surface to surface [mm]."""
    down = jaw_to_skull(person, position)
    own = crown_of(person, fdi)
    away, back = (down, inverse(down)) if own.frame is Frame.MANDIBLE else (inverse(down), down)
    there = apply(away, own.corners)
    best = np.inf
    for tooth in dentition(person):
        far = abs(tooth.fdi % 10 - fdi % 10) > 2
        if tooth.frame is own.frame or far or not tooth.erupted:
            continue
        other = crown_of(person, tooth.fdi)
        bound = min(best, float(other.near_corner.query(there[::40])[0].min()))
        best = min(best, to_triangles(there, other, bound),
                   to_triangles(apply(back, other.corners), own, bound))  # fmt: skip
    return float(best)


@pytest.mark.parametrize(
    ("person", "place"),
    [(MEAN_MAN, 21), (MEAN_MAN, 26), (MEAN_WOMAN, 24), (CHILD, 26), (CHILD, 65)],
)
def test_the_spacer_just_fits(person: Person, place: int) -> None:
    """Where the spacer lies, the crowns stand apart by its diameter, within 0.1 mm."""
    position = JawPosition(spacer_opening(person, COTTON_ROLL_MM, place))
    assert gaps_at_teeth(person, position)[place] == pytest.approx(COTTON_ROLL_MM, abs=0.01)
    assert measured(person, place, position) == pytest.approx(COTTON_ROLL_MM, abs=0.1)


@pytest.mark.parametrize(
    "position", [JawPosition(6.0), JawPosition(9.5, 5.0), JawPosition(8.0, 0.0, 6.0)], ids=str
)
def test_every_tooth_stands_clear_by_the_distance_of_the_surfaces(position: JawPosition) -> None:
    """At teeth of every kind the clear distance is that of the meshes, within 0.1 mm."""
    found = gaps_at_teeth(MEAN_MAN, position)
    assert set(found) == {t.fdi for t in dentition(MEAN_MAN)}
    for fdi in MEASURED:
        clear_mm = found[fdi]
        assert clear_mm == pytest.approx(measured(MEAN_MAN, fdi, position), abs=0.1), fdi


@pytest.mark.parametrize("person", MEANS)
def test_a_roll_between_the_molars_opens_the_front_teeth_farther(person: Person) -> None:
    """1 mm more at the molars is more at the incisors, by the ratio of distances to the hinge.

    The ratio of a point on the first molar: between its front and its rear, 10 mm farther back.
    """
    marks = starter_landmarks(person)
    hinge = marks["hinge-left"][1:]
    incisor = float(np.linalg.norm(marks["lower-incisor-edge"][1:] - hinge))
    cusp = marks["upper-first-molar-cusp-left"][1:]
    front, rear = (incisor / np.linalg.norm(cusp + [back, 0.0] - hinge) for back in (0.0, 10.0))
    less, more = (spacer_opening(person, COTTON_ROLL_MM + d, (16, 26)) for d in (0.0, 1.0))
    assert front <= more - less <= rear
    clear = gaps_at_teeth(person, JawPosition(less))
    assert clear[11] > front * (clear[16] - 0.1)


def test_the_opening_grows_with_the_spacer() -> None:
    """A thicker spacer opens farther, and one farther back opens farther than one in front."""
    by_size = [spacer_opening(MEAN_MAN, d, 14) for d in (2.0, 5.0, 8.0, 11.0, 15.0)]
    assert all(np.diff(by_size) > 0.0)
    by_place = [spacer_opening(MEAN_MAN, 8.0, fdi) for fdi in (11, 14, 16, 17)]
    assert all(np.diff(by_place) > 0.0)


def test_gaps_grow_with_the_opening() -> None:
    """Every tooth stands farther from the other jaw, the farther that jaw is opened."""
    rows = [gaps_at_teeth(MEAN_MAN, JawPosition(g)) for g in (2.0, 5.0, 10.0, 15.0, 25.0)]
    for fdi in rows[0]:
        assert all(np.diff([row[fdi] for row in rows]) > 0.0), fdi


def test_both_sides_open_as_one() -> None:
    """Rolls on both sides open the jaw as one does, since the teeth are mirror images (0.05 mm)."""
    right, left = (spacer_opening(MEAN_MAN, 8.0, fdi) for fdi in (16, 26))
    assert right == pytest.approx(left, abs=0.05)
    assert spacer_opening(MEAN_MAN, 8.0, (16, 26)) == max(right, left)


def test_teeth_that_reach_into_each_other_are_told_as_negative() -> None:
    """A protrusion with the teeth together, which no jaw can do, gives negative distances."""
    assert min(gaps_at_teeth(MEAN_MAN, JawPosition(0.0, 3.0)).values()) < -0.3


def test_a_spacer_thinner_than_the_rest_gap_opens_nothing() -> None:
    """Between the front teeth there is room for a thin thing with the jaw closed (overjet)."""
    assert spacer_opening(MEAN_MAN, 0.3, 11) == 0.0


def test_impossible_spacers_are_refused() -> None:
    """No place, no thickness, no such tooth, or too thick for any mouth: each says why."""
    with pytest.raises(NoToothThere, match="needs a place"):
        spacer_opening(MEAN_MAN, 5.0, ())
    with pytest.raises(TrainerError, match="must be above 0"):
        spacer_opening(MEAN_MAN, 0.0, 11)
    with pytest.raises(NoToothThere, match=r"no upper tooth 46 .* 11, 12, 13"):
        spacer_opening(MEAN_MAN, 5.0, 46)
    with pytest.raises(SpacerTooThick, match=r"spacer of 60 mm does not fit under 17: .* clear"):
        spacer_opening(MEAN_MAN, 60.0, 17)


def test_without_teeth_the_landmarks_stand_in(monkeypatch: pytest.MonkeyPatch) -> None:
    """On ridges the jaw opens until the place where the tooth stood has gone down by the spacer."""
    from trainer.anatomy import spacer

    monkeypatch.setattr(spacer, "dentition", lambda person: ())
    assert gaps_at_teeth(MEAN_MAN, JawPosition(5.0)) == {}
    opening = spacer_opening(MEAN_MAN, 8.0, 26)
    point = starter_landmarks(MEAN_MAN)["upper-first-molar-cusp-left"]
    assert gap_at(MEAN_MAN, opening, point) == pytest.approx(8.0, abs=0.01)
    with pytest.raises(NoToothThere, match="On ridges name 11, 21, 16 or 26"):
        spacer_opening(MEAN_MAN, 8.0, 25)

"""One person's head: right, closed, within its budget, the same on every run."""

from __future__ import annotations

import os
import subprocess
import sys

import numpy as np
import pytest
import trimesh

from trainer.anatomy.head.build import build_head
from trainer.anatomy.head.structures import MIRROR, mirror_name, named_solids, structure_of
from trainer.models.frames import Side
from trainer.models.meshes import HeadMeshes
from trainer.models.structures import Structure, StructureKind
from trainer.models.subject import (
    MEAN_MAN,
    MEAN_WOMAN,
    Jaw,
    Mouth,
    Person,
    Profile,
    Sex,
    Sizes,
    Worn,
)

PEOPLE = (
    MEAN_MAN,
    MEAN_WOMAN,
    Person(Sex.FEMALE, 6),
    Person(Sex.MALE, sizes=Sizes(2.0, -2.0, 1.0, 2.0, -2.0, 2.0, -2.0, 2.0, 1.0)),
    Person(Sex.FEMALE, profile=Profile.CLASS_II, mouth=Mouth(missing=(26, 36, 46))),
    Person(mouth=Mouth(brackets=(Jaw.UPPER, Jaw.LOWER)), worn=(Worn.SPECTACLES,)),
)
NAMES = ("man", "woman", "girl", "odd sizes", "gaps", "things")
# A cross-section of what follows the map: thin and thick, large and small, cut off and whole.
SOME = (
    "fossa-left", "nasal-floor", "sinus-left", "anterior-nasal-spine", "globe-left", "hard-palate",
    "coronoid-left", "chin", "hyoid", "tongue", "soft-palate", "cochlea-left", "incisive-canal",
    "condyle-left", "mental-foramen-left", "retromolar-left", "tooth-36", "tooth-21-crown",
    "tooth-26-apex-palatal",
)  # fmt: skip
WAYS = np.vstack([np.eye(3), -np.eye(3)])


@pytest.fixture(scope="module")
def heads() -> dict[str, HeadMeshes]:
    """Some people's heads."""
    return {name: build_head(p) for name, p in zip(NAMES, PEOPLE, strict=True)}


@pytest.mark.parametrize("name", NAMES)
def test_every_surface_is_closed(name, heads):
    """Display parts at rest and moving, and marks, are watertight and face outwards."""
    head = heads[name]
    for part in (*head.fine, *head.coarse, *head.of_structure.values()):
        mesh = trimesh.Trimesh(part.vertices_mm, part.faces, process=False)
        assert mesh.is_watertight, part.id
        assert mesh.volume > 0, part.id


@pytest.mark.parametrize("name", NAMES)
def test_triangles_stay_in_their_budget(name, heads):
    """At most 60 000 at rest and 20 000 while moving, a mixed dentition's fifty teeth included."""
    assert sum(len(p.faces) for p in heads[name].fine) <= 60_000
    assert sum(len(p.faces) for p in heads[name].coarse) <= 20_000


@pytest.mark.parametrize("name", NAMES)
def test_structures_hold_together(name, heads):
    """Weights add up to 1, samples lie in the hull's box, volumes are positive, marks are there."""
    head = heads[name]
    assert set(head.of_structure) == set(head.head.structures)
    for s in head.head.structures.values():
        assert s.weights.sum() == pytest.approx(1.0)
        assert (s.weights > 0).all(), s.id
        assert s.volume_mm3 > 0
        assert (s.samples_mm >= s.hull_mm.min(axis=0) - 0.2).all(), s.id
        assert (s.samples_mm <= s.hull_mm.max(axis=0) + 0.2).all(), s.id


def test_teeth_that_are_gone_leave_no_ids(heads):
    """Without 36, 46 and 26 nothing bears their numbers, their neighbours do."""
    ids = " ".join([*heads["gaps"].head.structures, *(p.id for p in heads["gaps"].fine)])
    for gone in ("26", "36", "46"):
        assert f"tooth-{gone}" not in ids and f"canal-at-{gone}" not in ids
    for here in ("tooth-16", "tooth-37", "canal-at-37", "canal-at-47"):
        assert here in ids


def test_both_sides_of_a_whole_mouth_are_mirror_images(heads):
    """Every left structure of the woman has its mirror image on the right, to a micrometre."""
    structures = heads["woman"].head.structures
    left = [s for s in structures.values() if s.side is Side.LEFT]
    assert len(left) > 80
    for s in left:
        other = structures[mirror_name(s.id)]
        np.testing.assert_allclose(s.samples_mm * MIRROR, other.samples_mm, atol=1e-6)
        assert other.volume_mm3 == pytest.approx(s.volume_mm3)
        assert other.name == mirror_name(s.name)


def apart(a: Structure, b: Structure) -> tuple[float, float, float]:
    """Difference in volume (share), of centres [mm] and of the box's faces [mm]."""
    off = a.weights @ a.samples_mm - b.weights @ b.samples_mm
    faces = (a.hull_mm @ WAYS.T).max(axis=0) - (b.hull_mm @ WAYS.T).max(axis=0)
    return abs(a.volume_mm3 / b.volume_mm3 - 1), float(np.linalg.norm(off)), np.abs(faces).max()


@pytest.mark.timeout(300)
def test_a_woman_led_by_the_map_is_the_exact_woman(heads):
    """Volumes within 1 %, centres within 0.1 mm, hulls within 0.15 mm of those found exactly."""
    found = heads["woman"].head.structures
    seen = 0
    for solid in named_solids(MEAN_WOMAN):
        if solid.id in SOME:
            volume, centre, hull = apart(found[solid.id], structure_of(solid, 2)[0])
            assert volume < 0.01, solid.id
            assert centre < 0.1, solid.id
            assert hull < 0.15, solid.id
            seen += 1
    assert seen == len(SOME)


# Structures that a led head misses by more, with what was measured.
MISSED = {
    "woman": {
        "orbit-floor-left": "hull 0.24 mm: its thin rim ends where the map is steepest",
        "brain": "hull 0.30 mm of a brain of 160 mm, sampled every millimetre",
    },
    "girl": {"tooth-72": "volume 3.4 %: a root half dissolved, in cells of a third of a mm"},
}


def assert_near(name, found, solid):
    """The led structure is the exact one within the bounds of a grown-up or a child."""
    volume, centre, hull = apart(found[solid.id], structure_of(solid, 2)[0])
    assert volume < (0.01 if name == "woman" else 0.03), solid.id
    assert centre < (0.1 if name == "woman" else 0.2), solid.id
    assert hull < (0.15 if name == "woman" else 0.4), solid.id


@pytest.mark.slow
@pytest.mark.timeout(1800)  # works out a hundred structures exactly
@pytest.mark.parametrize("name", ["woman", "girl"])
def test_every_led_structure_is_the_exact_one(name, heads):
    """The same for every structure but three, save that rods are better known from their course."""
    found = heads[name].head.structures
    for solid in named_solids(PEOPLE[NAMES.index(name)]):
        is_rod = solid.kind is StructureKind.CANAL and "canal-" in solid.id
        if not is_rod and solid.id not in MISSED[name]:
            assert_near(name, found, solid)


@pytest.mark.slow
@pytest.mark.timeout(300)
@pytest.mark.parametrize(
    ("name", "part"),
    [
        pytest.param(name, part, marks=pytest.mark.xfail(reason=reason, strict=True))
        for name, parts in MISSED.items()
        for part, reason in parts.items()
    ],
)
def test_led_structures_that_miss(name, part, heads):
    """The three others keep the bounds as well."""
    solids = (s for s in named_solids(PEOPLE[NAMES.index(name)]) if s.id == part)
    assert_near(name, heads[name].head.structures, next(solids))


SCRIPT = """
import hashlib
from trainer.anatomy.head.build import build_head
from trainer.models.subject import Person, Sex, Sizes
h = build_head(Person(Sex.FEMALE, sizes=Sizes(1.0, -1.0, 0.5)))
d = hashlib.sha256()
for p in (*h.fine, *h.coarse, *h.of_structure.values()):
    d.update(p.vertices_mm.tobytes() + p.faces.tobytes())
for s in h.head.structures.values():
    d.update(s.samples_mm.tobytes() + s.weights.tobytes() + s.hull_mm.tobytes())
print(d.hexdigest())
"""


@pytest.mark.timeout(300)
def test_the_same_person_is_the_same_in_every_process():
    """Two processes with other numbers of threads build the same bytes."""
    printed = []
    for threads in ("1", "2"):
        more = {"NUMBA_NUM_THREADS": threads, "OMP_NUM_THREADS": threads}
        more["OPENBLAS_NUM_THREADS"] = threads
        done = subprocess.run(
            [sys.executable, "-c", SCRIPT],
            env=os.environ | more,
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, done.stderr
        printed.append(done.stdout.strip())
    assert len(printed[0]) == 64
    assert printed[0] == printed[1]

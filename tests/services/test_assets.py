"""The built heads: their manifest, budgets, closedness, and that the model still makes them."""

from __future__ import annotations

import hashlib
import re

import numpy as np
import pytest
import trimesh

from trainer.anatomy.head.reference import REFERENCE, read_reference
from trainer.errors import NotReadable
from trainer.models.meshes import HeadMeshes
from trainer.models.subject import MEAN_MAN, MEAN_WOMAN, MEANS, Person
from trainer.services.assets import (
    MESHES,
    build_meshes,
    known_structure_ids,
    load_head,
    read_manifest,
)


@pytest.fixture(scope="module")
def built() -> dict[Person, HeadMeshes]:
    """Both heads as shipped."""
    return {person: load_head(person) for person in MEANS}


def test_manifest_matches_the_files():
    """Every archive has the hash that the manifest gives."""
    files = read_manifest()["files"]
    assert set(files) == {"reference.npz", "male.npz", "female.npz"}
    for name, row in files.items():
        assert hashlib.sha256((MESHES / name).read_bytes()).hexdigest() == row["sha256"]


@pytest.mark.parametrize("person", MEANS)
def test_display_set_stays_in_its_budget(person, built):
    """At rest at most 60 000 triangles are shown, while moving at most a third of that."""
    assert sum(len(p.faces) for p in built[person].fine) <= 60_000
    assert sum(len(p.faces) for p in built[person].coarse) <= 20_000


@pytest.mark.parametrize("person", MEANS)
def test_every_display_surface_is_closed(person, built):
    """Every fine display part is watertight and faces outwards."""
    for part in built[person].fine:
        mesh = trimesh.Trimesh(part.vertices_mm, part.faces, process=False)
        assert mesh.is_watertight, part.id
        assert mesh.volume > 0, part.id


@pytest.mark.parametrize("person", MEANS)
def test_structure_points_belong_together(person, built):
    """Samples lie within the hull's box, weights add up to 1, volumes are positive."""
    for s in built[person].head.structures.values():
        assert s.weights.sum() == pytest.approx(1.0)
        assert 450 <= len(s.samples_mm) <= 2000, s.id
        assert (s.samples_mm >= s.hull_mm.min(axis=0) - 0.1).all(), s.id
        assert (s.samples_mm <= s.hull_mm.max(axis=0) + 0.1).all(), s.id
        assert s.volume_mm3 > 0


@pytest.mark.parametrize("person", MEANS)
def test_right_is_the_mirror_image_of_left(person, built):
    """FDI quadrants 1 and 4 lie at negative x (ISO 3950, LPS), as mirror images of 2 and 3."""
    structures = built[person].head.structures
    for left, right in (
        ("tooth-26", "tooth-16"),
        ("tooth-38", "tooth-48"),
        ("canal-left", "canal-right"),
    ):
        a, b = structures[left], structures[right]
        assert b.centre_mm[0] < 0 < a.centre_mm[0]
        np.testing.assert_array_equal(a.samples_mm * [-1, 1, 1], b.samples_mm)


def test_structure_ids_are_known_without_a_head(built):
    """The manifest names the structures of the heads and besides only those of primary teeth."""
    known = known_structure_ids()
    for meshes in built.values():
        assert known > set(meshes.head.structures)
    more = known - set(built[MEAN_WOMAN].head.structures)
    assert all(re.match(r"tooth-[5-8][1-5]\b", key) for key in more)
    assert {"tooth-55", "tooth-75-crown", "tooth-85-apex-mesial", "tooth-61-apex"} <= more


@pytest.mark.slow
@pytest.mark.timeout(1800)  # works everything out
def test_the_model_still_makes_what_is_shipped(built, tmp_path):
    """Made again, the reference's fields agree but for one step, the head to the stored step."""
    person = MEAN_WOMAN
    build_meshes(tmp_path, (person,))
    made, fields = (read_reference(f / REFERENCE).fields for f in (tmp_path, MESHES))
    assert made.keys() == fields.keys()
    for name, field in made.items():
        off = field.values.astype(int) - fields[name].values.astype(int)
        assert np.abs(off).max() <= 1, name
    again = load_head(person, tmp_path)
    shipped = built[person]
    assert list(again.head.structures) == list(shipped.head.structures)
    for a, b in zip(again.head.structures.values(), shipped.head.structures.values(), strict=True):
        assert a.volume_mm3 == pytest.approx(b.volume_mm3, rel=1e-4), a.id
        np.testing.assert_allclose(a.hull_mm.min(axis=0), b.hull_mm.min(axis=0), atol=0.01)
        np.testing.assert_allclose(a.hull_mm.max(axis=0), b.hull_mm.max(axis=0), atol=0.01)
    for a, b in zip(again.fine, shipped.fine, strict=True):
        assert a.id == b.id
        # another processor may round a collapse differently: compare the solids, not the corners
        for mine, theirs in zip(_solid(a), _solid(b), strict=True):
            assert mine == pytest.approx(theirs, rel=2e-3), a.id


def _solid(part) -> tuple[float, float]:
    mesh = trimesh.Trimesh(part.vertices_mm, part.faces, process=False)
    return float(mesh.volume), float(mesh.area)


@pytest.mark.parametrize("content", [None, b"", b"not an archive", b"PK\x03\x04broken"])
def test_a_broken_head_file_is_told(content, tmp_path):
    """A missing or broken archive raises with how to make it again."""
    if content is not None:
        (tmp_path / "male.npz").write_bytes(content)
    with pytest.raises(NotReadable, match="trainer build-head"):
        load_head(MEAN_MAN, tmp_path)


@pytest.mark.parametrize("content", [None, "", "[]", "{}"])
def test_a_broken_manifest_is_told(content, tmp_path):
    """A missing or broken manifest raises with how to make it again."""
    if content is not None:
        (tmp_path / "manifest.json").write_text(content, encoding="utf-8")
    with pytest.raises(NotReadable, match="trainer build-head"):
        known_structure_ids(tmp_path)

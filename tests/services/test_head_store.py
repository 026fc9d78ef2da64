"""Heads and phantoms kept between runs: the same again, rebuilt when broken, never too many."""

from __future__ import annotations

import logging
import os
import shutil
import time
from pathlib import Path

import numpy as np
import pytest

from trainer.errors import NotReadable
from trainer.models.subject import Person, Sex, Sizes
from trainer.services import head_store
from trainer.services.archives import write_arrays
from trainer.services.assets import MESHES, load_head
from trainer.services.head_store import cache_folder, stored_head, stored_phantom

PERSON = Person(Sex.FEMALE, sizes=Sizes(face_width=1.0))


def same(a, b) -> bool:
    """Whether two heads are equal byte for byte."""
    parts = zip((*a.fine, *a.coarse), (*b.fine, *b.coarse), strict=True)
    structures = zip(a.head.structures.values(), b.head.structures.values(), strict=True)
    return (
        all(
            p.id == q.id
            and p.vertices_mm.tobytes() == q.vertices_mm.tobytes()
            and p.faces.tobytes() == q.faces.tobytes()
            for p, q in parts
        )
        and all(
            s.id == t.id
            and s.samples_mm.tobytes() == t.samples_mm.tobytes()
            and s.weights.tobytes() == t.weights.tobytes()
            and s.hull_mm.tobytes() == t.hull_mm.tobytes()
            and s.volume_mm3 == t.volume_mm3
            for s, t in structures
        )
        and list(a.head.landmarks_mm) == list(b.head.landmarks_mm)
    )


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    """A head built for the first time, and the file it left."""
    folder = tmp_path_factory.mktemp("cache")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(head_store, "cache_folder", lambda: folder)
        head = stored_head(PERSON, MESHES)
    (path,) = folder.iterdir()
    return head, path


@pytest.fixture
def kept(built) -> Path:
    """The same file in this test's own cache."""
    cache_folder().mkdir(parents=True)
    return Path(shutil.copy(built[1], cache_folder()))


def no_building(*_: object) -> None:
    """Stands in for a build that must not happen."""
    raise AssertionError("built again")


def test_a_kept_head_is_read_and_not_built(built, kept, monkeypatch):
    """The second time the same bytes come from the file."""
    monkeypatch.setattr("trainer.anatomy.head.build.build_head", no_building)
    assert same(stored_head(PERSON, MESHES), built[0])
    assert same(load_head(PERSON), built[0])
    assert stored_head(PERSON, MESHES).head.person == PERSON


def test_people_of_one_shape_share_a_head(kept, monkeypatch):
    """An adult's age changes nothing of the head, so it changes nothing of its file."""
    monkeypatch.setattr("trainer.anatomy.head.build.build_head", no_building)
    older = Person(Sex.FEMALE, 71, sizes=Sizes(face_width=1.0))
    assert stored_head(older, MESHES).head.person.age_years == 71


@pytest.mark.parametrize("damage", ["cut off", "one byte", "empty", "other file"])
def test_a_broken_file_is_made_again(damage, built, kept, caplog):
    """A damaged file is replaced, the head is right, and the log says so."""
    content = kept.read_bytes()
    middle = len(content) // 2
    broken = {
        "cut off": content[:middle],
        "one byte": content[:middle] + bytes([content[middle] ^ 255]) + content[middle + 1 :],
        "empty": b"",
        "other file": b"not an archive",
    }[damage]
    kept.write_bytes(broken)
    with caplog.at_level(logging.WARNING, "trainer.services.head_store"):
        assert same(stored_head(PERSON, MESHES), built[0])
    assert "made again" in caplog.text
    assert kept.read_bytes() == content
    assert [p.name for p in cache_folder().iterdir()] == [kept.name]


def test_another_reference_is_another_file(kept, tmp_path):
    """What was built from another reference is not taken: here there is none to build from."""
    with pytest.raises(NotReadable, match="trainer build-head"):
        stored_head(PERSON, tmp_path)


def test_a_folder_that_cannot_be_written_costs_only_time(built, monkeypatch, caplog, tmp_path):
    """Without a place to keep it, the head is there and the log says that it was not kept."""
    in_the_way = tmp_path / "file"
    in_the_way.write_text("in the way")
    monkeypatch.setattr(head_store, "cache_folder", lambda: in_the_way / "cache")
    monkeypatch.setattr("trainer.anatomy.head.build.build_head", lambda *_: built[0])
    with caplog.at_level(logging.WARNING, "trainer.services.head_store"):
        assert same(stored_head(PERSON, MESHES), built[0])
    assert "cannot be kept" in caplog.text


def test_a_phantom_comes_back_as_it_was():
    """Labels, places and materials are the same from the file as when built."""
    first = stored_phantom(PERSON, 4.0, MESHES)
    again = stored_phantom(PERSON, 4.0, MESHES)
    assert len(list(cache_folder().glob("phantom-*.npz"))) == 1
    for a, b in ((first.skull, again.skull), (first.mandible, again.mandible)):
        np.testing.assert_array_equal(a.labels, b.labels)
        np.testing.assert_array_equal(a.origin_mm, b.origin_mm)
        assert (a.frame, a.spacing_mm, a.materials) == (b.frame, b.spacing_mm, b.materials)
        assert b.labels.dtype == np.uint8
    stored_phantom(PERSON, 5.0, MESHES)
    assert len(list(cache_folder().glob("phantom-*.npz"))) == 2


def test_the_oldest_files_make_room(tmp_path):
    """Beyond the limit those go that were used longest ago; others' files stay."""
    noise = np.random.default_rng(1).integers(0, 255, 1000, np.uint8)
    for i, name in enumerate("abcd"):
        write_arrays(tmp_path / f"{name}.npz", {"x": noise})
        os.utime(tmp_path / f"{name}.npz", (time.time() - 100 + i,) * 2)
    (tmp_path / "notes.txt").write_text("mine")
    size = (tmp_path / "a.npz").stat().st_size
    head_store._make_room(tmp_path, 2 * size)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["c.npz", "d.npz", "notes.txt"]


@pytest.mark.parametrize(
    ("system", "expected"),
    [
        ("Linux", ("cache", "placement-trainer")),
        ("Darwin", ("Library", "Caches", "placement-trainer")),
        ("Windows", ("placement-trainer", "cache")),
    ],
)
def test_the_folder_is_the_users(system, expected, user_folder, monkeypatch):
    """On every system the cache lies in the user's own folder for such files."""
    monkeypatch.setattr("platform.system", lambda: system)
    assert cache_folder() == user_folder.joinpath(*expected)


def test_a_failed_write_leaves_what_was_there(tmp_path):
    """An archive that cannot be finished leaves the old one whole and no scraps."""
    path = tmp_path / "a.npz"
    write_arrays(path, {"x": np.arange(3)})
    before = path.read_bytes()
    with pytest.raises(ValueError, match="pickle"):
        write_arrays(path, {"x": np.arange(3), "y": np.array([object()])})
    assert path.read_bytes() == before
    assert [p.name for p in tmp_path.iterdir()] == ["a.npz"]

"""The shipped heads and the reference they were built from, with a manifest of their hashes."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

from trainer.errors import NotReadable
from trainer.models.meshes import HeadMeshes
from trainer.models.subject import MEANS, Person
from trainer.services.archives import (
    BROKEN,
    arrays_of_head,
    head_of_arrays,
    read_arrays,
    write_arrays,
)

PROJECT = Path(__file__).resolve().parents[2]
MESHES = PROJECT / "assets" / "meshes"
SCENARIOS = PROJECT / "scenarios"
UNITS = SCENARIOS / "units"
MANIFEST = "manifest.json"
REBUILD = "Run 'trainer build-head' to make the head again; nothing else is affected."


def archive_name(person: Person) -> str:
    """The file that holds a mean head."""
    return f"{person.sex}.npz"


def load_head(
    person: Person, folder: Path = MESHES, tell: Callable[[str], None] = lambda _: None
) -> HeadMeshes:
    """The person's head: one of the shipped ones, or one from the user's cache, built if need be.

    ``tell`` is called with the name of each part before it is built.

    Raises
    ------
    NotReadable
        If what is shipped is missing or broken; the message says how to make it again.
    """
    if person.shape not in MEANS:
        from trainer.services.head_store import stored_head

        return stored_head(person, folder, tell)
    path = folder / archive_name(person)
    try:
        return head_of_arrays(read_arrays(path), person)
    except FileNotFoundError:
        raise NotReadable(f"The head file {path.name} is missing in {folder}. {REBUILD}") from None
    except BROKEN as error:
        raise NotReadable(
            f"The head file {path.name} cannot be read ({error}). {REBUILD}"
        ) from error


def read_manifest(folder: Path = MESHES) -> dict[str, Any]:
    """What the archives were built from, and their hashes.

    Raises
    ------
    NotReadable
        If the manifest is missing or broken.
    """
    path = folder / MANIFEST
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
        if not isinstance(found, dict):
            raise ValueError("not an object")
    except (OSError, ValueError) as error:
        raise NotReadable(
            f"The list of head files {path} cannot be read ({error}). {REBUILD}"
        ) from error
    return found


def known_structure_ids(folder: Path = MESHES) -> frozenset[str]:
    """Ids of all structures, without loading a head."""
    ids = read_manifest(folder).get("structure_ids")
    if not isinstance(ids, list):
        raise NotReadable(f"The list of head files in {folder} names no structures. {REBUILD}")
    return frozenset(map(str, ids))


def build_meshes(
    folder: Path = MESHES,
    people: tuple[Person, ...] = MEANS,
    tell: Callable[[str], None] = lambda _: None,
) -> None:
    """Work out the reference from the model, build the mean heads, write all into ``folder``."""
    from trainer.anatomy.head.build import GENERATOR_VERSION, build_head
    from trainer.anatomy.head.reference import (
        REFERENCE,
        make_reference,
        read_reference,
        write_reference,
    )
    from trainer.anatomy.head.tooth_patterns import ids_of_tooth
    from trainer.anatomy.teeth.tooth_tables import PRIMARY_TEETH

    folder.mkdir(parents=True, exist_ok=True)
    files: dict[str, Any] = {}
    # children's teeth, which no mean head has
    ids = dict.fromkeys(key for fdi in PRIMARY_TEETH for key in ids_of_tooth(fdi))
    reference = folder / REFERENCE
    write_reference(make_reference(tell), reference)
    # as everybody will read it
    book = read_reference(reference)
    files[REFERENCE] = {"sha256": _hash(reference)}
    for person in people:
        built = build_head(person, lambda part, person=person: tell(f"{person.sex}: {part}"), book)  # type: ignore[misc]
        path = folder / archive_name(person)
        write_arrays(path, arrays_of_head(built))
        ids |= dict.fromkeys(built.head.structures)
        files[path.name] = {
            "sha256": _hash(path),
            "parameters": {"sex": str(person.sex), "landmarks": "mean adult"},
            "triangles_at_rest": sum(len(p.faces) for p in built.fine),
            "triangles_while_moving": sum(len(p.faces) for p in built.coarse),
        }
    manifest = {
        "note": "Built from the model by 'trainer build-head'. Synthetic; no person was scanned.",
        "generator_version": GENERATOR_VERSION,
        "files": files,
        "structure_ids": list(ids),
    }
    (folder / MANIFEST).write_text(json.dumps(manifest, indent=1) + "\n", encoding="utf-8")


def _hash(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()

"""What is found about the unit in a file: the geometry's findings, with file, line and key."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from trainer.errors import Fault
from trainer.models.meshes import HeadMeshes
from trainer.services.assets import MESHES, load_head
from trainer.services.file_check import known
from trainer.services.unit_io import unit_faults, unit_of
from trainer.services.yaml_text import Tree, dotted


@dataclass(frozen=True, slots=True)
class UnitReport:
    """What was found about a unit file: what has to be mended, and what is only uncommon."""

    faults: tuple[Fault, ...] = ()
    doubts: tuple[Fault, ...] = ()


@lru_cache(maxsize=2)
def mean_heads(folder: Path = MESHES) -> tuple[HeadMeshes, ...]:
    """The shipped mean heads.

    Raises
    ------
    NotReadable
        If one is missing or broken.
    """
    from trainer.models.subject import MEANS

    return tuple(load_head(person, folder) for person in MEANS)


def check_unit(tree: Tree, heads: Sequence[HeadMeshes] = ()) -> UnitReport:
    """Faults of the file; if there are none, what its geometry does, tried with those heads.

    A finding stands at its foremost key and names the others.
    """
    faults = unit_faults(tree)
    if faults:
        return UnitReport(faults)
    from trainer.engine.unit_check.check import check_unit_geometry

    told: dict[bool, list[Fault]] = {True: [], False: []}
    for finding in check_unit_geometry(unit_of(tree.data), heads):
        first, *others = finding.keys
        also = tuple(dotted(key) for key in others)
        more = f" (see also {', '.join(also)})" if also else ""
        fault = Fault(tree.path, tree.line(first), dotted(first), finding.text + more, also)
        told[finding.is_error].append(fault)
    return UnitReport(tuple(told[True]), tuple(told[False]))


def is_unit(tree: Tree) -> bool:
    """Whether the file says that it is a unit."""
    return known(tree, "kind") == "unit"

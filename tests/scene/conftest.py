"""Fixtures of the picture tests: a stand-in head in a shipped unit."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.scene.standin import standin_case, standin_head
from trainer.engine.placement import Chain, Placement, chain_of, place
from trainer.engine.points import pack
from trainer.models.device import Unit
from trainer.models.meshes import HeadMeshes
from trainer.services.assets import UNITS
from trainer.services.unit_io import find_unit


@pytest.fixture(scope="session")
def meshes() -> HeadMeshes:
    """The stand-in head."""
    return standin_head()


@pytest.fixture(scope="session")
def unit() -> Unit:
    """A shipped unit."""
    return find_unit("alder-bench", UNITS)


@pytest.fixture(scope="session")
def placed(meshes: HeadMeshes, unit: Unit) -> Callable[..., tuple[Placement, Chain]]:
    """Makes placement and chain of the stand-in case with some values changed."""

    def make(**values: object) -> tuple[Placement, Chain]:
        case = standin_case(**values)
        points = pack(meshes.head.structure(r.structure) for r in case.required)
        placement = place(case, meshes.head, points, unit, case.start)
        return placement, chain_of(meshes.head, unit, case.start)

    return make

"""The real head, units and cases, loaded once."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from trainer.engine.points import HeadPoints, pack_head
from trainer.models.device import Unit
from trainer.models.scenario import Case
from trainer.models.structures import Head
from trainer.models.subject import MEANS, Person
from trainer.services.assets import SCENARIOS, UNITS, load_head
from trainer.services.scenario_io import find_case, load_case
from trainer.services.unit_io import find_unit


@pytest.fixture(scope="session")
def heads() -> dict[Person, Head]:
    """Both heads."""
    return {person: load_head(person).head for person in MEANS}


@pytest.fixture(scope="session")
def packed(heads: dict[Person, Head]) -> dict[Person, HeadPoints]:
    """Their points."""
    return {person: pack_head(head) for person, head in heads.items()}


@pytest.fixture(scope="session")
def bench() -> Callable[[str], tuple[Case, Unit]]:
    """A shipped case with its unit, by name."""

    def load(name: str) -> tuple[Case, Unit]:
        case = load_case(find_case(name, SCENARIOS), UNITS)
        return case, find_unit(case.unit_id, UNITS)

    return load

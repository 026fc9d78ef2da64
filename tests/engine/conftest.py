"""The real head, units and cases, loaded once."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from trainer.engine.points import HeadPoints, pack_head
from trainer.models.device import Unit
from trainer.models.scenario import Case
from trainer.models.structures import Head
from trainer.models.subject import Sex
from trainer.services.assets import SCENARIOS, UNITS, load_head
from trainer.services.scenario_io import find_case, load_case
from trainer.services.unit_io import find_unit


@pytest.fixture(scope="session")
def heads() -> dict[Sex, Head]:
    """Both heads."""
    return {sex: load_head(sex).head for sex in Sex}


@pytest.fixture(scope="session")
def packed(heads: dict[Sex, Head]) -> dict[Sex, HeadPoints]:
    """Their points."""
    return {sex: pack_head(head) for sex, head in heads.items()}


@pytest.fixture(scope="session")
def bench() -> Callable[[str], tuple[Case, Unit]]:
    """A shipped case with its unit, by name."""

    def load(name: str) -> tuple[Case, Unit]:
        case = load_case(find_case(name, SCENARIOS), UNITS)
        return case, find_unit(case.unit_id, UNITS)

    return load

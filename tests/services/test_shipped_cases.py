"""The shipped cases as exercises: the start fails, and what the program advises mends it."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from trainer.engine.advice import advise
from trainer.engine.placement import place
from trainer.engine.points import pack_head
from trainer.models.controls import ControlKind, control
from trainer.models.structures import Head
from trainer.models.subject import Person
from trainer.services.assets import SCENARIOS, UNITS, load_head
from trainer.services.scenario_io import load_case
from trainer.services.unit_io import find_unit

CASE_FILES = sorted(SCENARIOS.glob("*.yaml"))


@cache
def head_of(person: Person) -> Head:
    return load_head(person).head


@pytest.mark.parametrize("path", CASE_FILES, ids=lambda p: p.stem)
def test_a_case_starts_wrong_and_can_be_mended(path: Path) -> None:
    """The start cuts something off; one or two movements put it right, in the field as ordered.

    Afterwards the ordered field is the smallest of the unit that holds the target.
    """
    case = load_case(path, UNITS)
    unit, head = find_unit(case.unit_id, UNITS), head_of(case.subject.person)
    points = pack_head(head)
    before = place(case, head, points, unit, case.start)
    assert any(s.margin_mm < 0 for s in before.required)
    first = advise(case, head, unit, case.start)[0]
    assert first.reaches_all and 1 <= len(first.changes) <= 2
    assert "field" not in first.changes
    after = place(case, head, points, unit, case.start.with_values(first.changes))
    assert all(s.holds for s in after.required)
    assert after.smallest_field is not None
    assert after.smallest_field.id == case.start.field
    for key, value in first.changes.items():
        if control(key).kind is ControlKind.NUMBER:
            assert unit.travel[key].lowest <= float(value) <= unit.travel[key].highest

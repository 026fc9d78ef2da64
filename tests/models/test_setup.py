"""What a unit can be set to."""

from __future__ import annotations

import math

import pytest

from trainer.errors import Fault, NotFound, NotValid
from trainer.models.controls import CONTROLS, NUMBER_KEYS, ControlKind, control
from trainer.models.device import Region
from trainer.models.setup import require_valid, setup_faults
from trainer.services.assets import SCENARIOS, UNITS
from trainer.services.scenario_io import find_case, load_case
from trainer.services.unit_io import find_unit


@pytest.fixture(scope="module")
def start():
    """The demo case's start and its unit."""
    case = load_case(find_case("lower-third-molar", SCENARIOS), UNITS)
    return case.start, find_unit(case.unit_id, UNITS)


def test_a_good_setup_has_no_faults(start):
    """The shipped start is within the unit's travel."""
    setup, unit = start
    assert setup_faults(setup, unit) == []
    require_valid(setup, unit)


def test_every_fault_is_told_at_once(start):
    """All values that the unit cannot do are named together, with their limits."""
    setup, unit = start
    bad = setup.with_values({"chin_height_mm": 500.0, "yaw_deg": -90.0, "field": "9x9"})
    with pytest.raises(NotValid) as caught:
        require_valid(bad, unit)
    assert [f.key for f in caught.value.faults] == ["chin_height_mm", "yaw_deg", "field"]
    assert "must be -60 to 40 mm, got 500" in str(caught.value)


@pytest.mark.parametrize("key", NUMBER_KEYS)
def test_no_number_that_is_none(start, key):
    """A number control takes no nan."""
    setup, unit = start
    assert setup_faults(setup.with_values({key: math.nan}), unit)


def test_a_field_must_serve_the_region(start):
    """A field that does not serve the entered region is a fault."""
    setup, unit = start
    (fault,) = setup_faults(setup.with_values({"region": Region.JOINTS}), unit)
    assert fault.key == "field"


def test_every_control_is_a_value_of_the_setup(start):
    """Controls and setup name the same things, and plain data keeps their order."""
    setup, _ = start
    assert list(setup.as_dict()) == [c.key for c in CONTROLS]
    for c in CONTROLS:
        assert control(c.key) is c
        if c.kind is ControlKind.NUMBER:
            assert c.key.endswith(("_mm", "_deg"))
            assert c.more
            assert c.less
    with pytest.raises(NotFound, match="no control 'chin'"):
        setup.with_values({"chin": 1.0})


def test_a_fault_tells_its_place():
    """A fault prints file, line and key, and leaves out a line that it has not."""
    assert str(Fault("a.yaml", 3, "k", "wrong")) == "a.yaml:3  k: wrong"
    assert str(Fault("--set", 0, "k", "wrong")) == "--set  k: wrong"

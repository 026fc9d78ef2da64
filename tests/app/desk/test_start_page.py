"""Unit and start at the desk."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest

from trainer.app.desk.start_page import StartPage, setup_of, written
from trainer.models.device import Region
from trainer.services.assets import SCENARIOS, UNITS
from trainer.services.scenario_io import load_case


@pytest.fixture
def page(qtbot, desk) -> Iterator[StartPage]:
    """The page, following the desk."""
    made = StartPage(desk)
    qtbot.addWidget(made)
    desk.changed.connect(made.show_draft)
    desk.checked.connect(made.show_faults)
    made.show()
    made.show_draft()
    return made


def test_the_start_is_that_of_the_case(desk) -> None:
    """The setup shown is the one that the case is loaded with."""
    case = load_case(SCENARIOS / "lower_third_molar.yaml", UNITS)
    assert setup_of(desk.value(("start",)), desk.unit) == case.start


def test_a_control_writes_the_file(qtbot, desk, page) -> None:
    """Stepping a control changes its number in the file and nothing else."""
    before = desk.draft.text
    page.controls.entries["pitch_deg"].stepBy(1)
    step = desk.unit.travel["pitch_deg"].step
    assert desk.draft.text == before.replace("  pitch_deg: 0\n", f"  pitch_deg: {step:g}\n", 1)


def test_another_region_brings_a_field_that_serves_it(desk, page) -> None:
    """Region and field change together, as at the bench, and are undone together."""
    before = desk.draft.text
    serves = desk.unit.field(desk.value(("start", "field"))).regions
    region = next(r for r in desk.unit.regions if r not in serves)
    page.controls.entries["region"].moved.emit("region", region)
    assert desk.value(("start", "region")) == str(region)
    assert region in desk.unit.field(desk.value(("start", "field"))).regions
    desk.undo()
    assert desk.draft.text == before


def test_another_unit_brings_its_controls_and_faults(qtbot, desk, page) -> None:
    """With another unit its own controls stand there, and what it cannot do is told."""
    old = page.controls
    with qtbot.waitSignal(desk.checked, timeout=20000):
        desk.set(("unit",), "juniper-column")
    assert page.controls is not old
    assert page.controls.unit.id == "juniper-column"
    assert "has no '40x40'" in page.fault.text()
    desk.set(("unit",), "no-such-unit")
    assert page.controls is None


def test_the_setup_of_the_bench_is_taken(desk, page) -> None:
    """Every value of the bench's setup is taken as one change, if the unit is the same."""
    told: list[str] = []
    desk.told.connect(told.append)
    setup = setup_of(desk.value(("start",)), desk.unit)
    other = replace(setup, yaw_deg=4.5, sideways_mm=-3.0, arm_turned=True)
    page.take_setup(("hornbeam-arm", other))
    page.take_setup(None)
    assert "hornbeam-arm" in told[0]
    assert "No case is open" in told[1]
    before = desk.draft.text
    assert setup_of(desk.value(("start",)), desk.unit) == setup
    page.take_setup((desk.unit.id, other))
    assert setup_of(desk.value(("start",)), desk.unit) == other
    desk.undo()
    assert desk.draft.text == before


def test_values_are_written_plainly() -> None:
    """Whole numbers stand without a point, others to a thousandth, names as words."""
    assert written(3.0) == 3
    assert isinstance(written(3.0), int)
    assert written(0.1 + 0.2) == 0.3
    assert written(Region.UPPER_JAW) == "upper-jaw"
    assert written(True) is True

"""Between widgets and engine."""

from __future__ import annotations

import pytest

from trainer.app.controller import SessionController, complete
from trainer.models.device import Region


def test_a_change_gives_setup_and_placement(qtbot, controller) -> None:
    """Setting a control sends the new setup and the placement that belongs to it."""
    sent = []
    controller.setup_changed.connect(sent.append)
    controller.placement_changed.connect(sent.append)
    controller.change({"chin_height_mm": -30.0})
    setup, placement = sent
    assert setup.chin_height_mm == -30.0
    assert placement.setup == setup


def test_one_movement_is_undone_in_one_go(qtbot, controller) -> None:
    """Steps of one control without a rest between are one movement; a rest begins a new one."""
    start = controller.state.setup
    with qtbot.waitSignal(controller.rested, timeout=2000):
        for value in (-35.0, -34.0, -33.0):
            controller.change({"chin_height_mm": value})
    controller.change({"chin_height_mm": -30.0})
    controller.undo()
    assert controller.state.setup.chin_height_mm == -33.0
    controller.undo()
    assert controller.state.setup == start
    controller.redo()
    assert controller.state.setup.chin_height_mm == -33.0


def test_another_control_is_another_movement(controller) -> None:
    """Two controls moved at once are undone one by one."""
    controller.change({"chin_height_mm": -30.0})
    controller.change({"sideways_mm": 2.0})
    controller.undo()
    assert (controller.state.setup.chin_height_mm, controller.state.setup.sideways_mm) == (-30, 0)


def test_what_can_be_undone_is_told(qtbot, controller) -> None:
    """The signal says whether there is a step back and a step on."""
    told = []
    controller.steps_changed.connect(lambda back, on: told.append((back, on)))
    controller.change({"sideways_mm": 2.0})
    controller.undo()
    controller.start_over()  # nothing to change: no signal
    assert told == [(True, False), (False, True)]


def test_what_the_unit_cannot_do_is_refused(qtbot, controller) -> None:
    """A value out of reach changes nothing; a sentence says what the limit is, widgets go back."""
    before = controller.state
    sent = []
    controller.refused.connect(sent.append)
    controller.setup_changed.connect(sent.append)
    controller.change({"sideways_mm": 99.0})
    assert controller.state == before
    sentence, setup = sent
    assert setup == before.setup
    assert "Head sideways must be -40 to 40 mm, got 99." in sentence
    assert "sideways_mm" not in sentence
    assert "Nothing was changed" in sentence


def test_refusals_speak_of_the_controls(qtbot, controller) -> None:
    """Angles have their degree sign, and a field that does not serve is told by its label."""
    sent = []
    controller.refused.connect(sent.append)
    limit = controller.bench.unit.travel["pitch_deg"]
    controller.take({"pitch_deg": 99.0})
    assert f"Head pitch must be {limit.lowest:g} to {limit.highest:g}°, got 99." in sent[0]
    controller.take({"region": Region.BOTH_JAWS})
    assert "Field size: 40x40 serves" in sent[1]
    assert sent[1].endswith("not both jaws. Nothing was changed.")


def test_nothing_to_undo_is_told(qtbot, controller) -> None:
    """Going back at the start gives a sentence, no error."""
    with qtbot.waitSignal(controller.refused) as caught:
        controller.undo()
    assert caught.args == ["There is nothing to undo."]


def test_advice_comes_at_rest_and_helps(qtbot, controller) -> None:
    """After a rest there is advice, and taking it brings everything inside; then there is none."""
    with qtbot.waitSignal(controller.advice_ready, timeout=10000) as caught:
        controller.change({"chin_height_mm": -37.0})
    (first, *_) = caught.args[0]
    assert first.reaches_all
    with qtbot.waitSignal(controller.advice_ready, timeout=10000) as caught:
        controller.take(first.changes)
    assert controller.placement.all_required_inside
    assert caught.args[0] == ()


def test_old_advice_is_dropped(qtbot, controller) -> None:
    """An answer to a question that a later change has overtaken is not passed on."""
    with qtbot.assertNotEmitted(controller.advice_ready):
        controller._on_advice(controller._asked - 1, ("old",))


def test_a_region_brings_a_field_that_serves_it(controller, bench) -> None:
    """Choosing a region that the field does not serve chooses the smallest field that does."""
    serving = [f for f in bench.unit.fields if Region.BOTH_JAWS in f.regions]
    controller.change({"region": Region.BOTH_JAWS})
    assert controller.state.setup.field == min(serving, key=lambda f: f.volume_mm3).id
    controller.undo()
    assert controller.state.setup.field == "40x40"


def test_a_field_that_serves_both_regions_stays(controller, bench) -> None:
    """A field that serves the new region too is kept."""
    values = complete({"region": Region.UPPER_JAW}, controller.state.setup, bench.unit)
    assert values == {"region": Region.UPPER_JAW}


def test_commands_before_a_case_do_nothing(qtbot) -> None:
    """Without a case there is nothing to change, and nothing breaks."""
    controller = SessionController()
    with qtbot.assertNotEmitted(controller.setup_changed):
        controller.change({"sideways_mm": 1.0})
        controller.undo()
    controller.close()


@pytest.mark.parametrize("times", [1, 2])
def test_closing_twice_is_fine(controller, times) -> None:
    """A controller can be closed more than once."""
    for _ in range(times):
        controller.close()
    assert not controller.moving

"""Between the appointment's widgets and the engine."""

from __future__ import annotations

import pytest

from tests.helpers.appointments import BEFORE, ENTER, HOLD, OUT, PLACE, TALK, act, doing, without
from trainer.app.appointment.clock import VisitClock
from trainer.app.appointment.controller import AppointmentController
from trainer.models import appointment_commands as do
from trainer.models import appointment_events as ev
from trainer.models.appointment_events import PersonMoved, RunEnded
from trainer.models.appointment_words import Gaze, RunEnd, Support
from trainer.services.appointment import new_attempt, replay_file, resume_attempt

TO_THE_SWITCH = without(
    [*BEFORE, *TALK, *ENTER, *PLACE, *HOLD, *OUT],
    doing(do.FitSupport, support=Support.CHIN_REST),
)


@pytest.fixture
def attempt_and_path(real_bench, attempts):
    """A new attempt and its log."""
    attempt, path = new_attempt(real_bench, 1, attempts)
    yield attempt, path
    attempt.close()


@pytest.fixture
def controller(qtbot, attempt_and_path, hands):
    """A controller whose clock is the test's; its timers do not run."""
    return AppointmentController(attempt_and_path[0], VisitClock(0.0, hands))


def play(controller, hands, acts) -> None:
    """Do acts, each after its time."""
    for found in acts:
        hands.wait(found.after_s)
        assert controller.do(found.kind, **found.values), found


def test_what_was_done_is_in_the_log(controller, attempt_and_path, hands, real_bench) -> None:
    """After every act the log on the disk leads to the same state."""
    play(controller, hands, BEFORE[:4])
    done = replay_file(attempt_and_path[1], real_bench)
    assert done.fault is None
    assert done.state.log == controller.state.log


def test_commands_carry_the_clocks_time(controller, hands) -> None:
    """An act happens when the clock says."""
    hands.wait(12.345)
    controller.do(do.ReadRequest)
    assert controller.state.log[0].at_s == 12.345


def test_time_is_told_while_radiation_is_on(controller, hands) -> None:
    """Ticks bring the run to its end by themselves, and watching shares are right."""
    play(controller, hands, TO_THE_SWITCH)
    hands.wait(10.0)
    controller.look_at(Gaze.PATIENT)
    assert controller.press()
    planned = controller.state.exposure.running.planned_s
    for _ in range(int(planned / 0.25) + 2):
        hands.wait(0.25)
        controller.tick()
    (run,) = controller.state.runs
    assert run.end is RunEnd.COMPLETE
    assert run.watched_share == pytest.approx(1.0)
    seen = controller.state.times(PersonMoved)
    ended = controller.state.first(RunEnded)
    assert all(t <= ended for t in seen)


def test_ticks_without_radiation_leave_the_log_alone(controller, hands) -> None:
    """Idle time writes nothing."""
    controller.do(do.ReadRequest)
    known = controller.state
    hands.wait(60.0)
    controller.tick()
    assert controller.state is known


def test_events_are_told_once_and_in_order(controller, hands) -> None:
    """All that is emitted, put together, is the state's log."""
    told = []
    controller.happened.connect(told.extend)
    play(controller, hands, TO_THE_SWITCH)
    hands.wait(10.0)
    controller.press()
    hands.wait(3.0)
    controller.tick()
    controller.release()
    assert tuple(told) == controller.state.log


def test_after_a_kill_during_a_run_nobody_holds_the_switch(
    controller, attempt_and_path, hands, real_bench
) -> None:
    """Gone on with, a run that was under way when the program was killed stops at once."""
    play(controller, hands, TO_THE_SWITCH)
    hands.wait(10.0)
    controller.press()
    hands.wait(2.0)
    controller.tick()
    attempt_and_path[0].close()
    again, _ = resume_attempt(attempt_and_path[1], real_bench)
    assert again.state.exposure.running is not None
    other = AppointmentController(again, VisitClock(again.state.at_s, hands))
    other.start()
    assert other.state.exposure.running is None
    (run,) = other.state.runs
    assert run.end is RunEnd.RELEASED
    assert run.recorded_s == pytest.approx(2.0, abs=0.01)
    other.close()


def test_a_hand_that_moves_nobody_is_refused(qtbot, controller) -> None:
    """Turning a head that is not there is refused at once, and the controls go back."""
    with qtbot.waitSignals([controller.refused, controller.setup_shown]):
        controller.adjust({"pitch_deg": 5.0})
    assert controller.setup == controller.state.setup
    assert not controller.moving


def test_an_act_first_finishes_the_movement(controller, hands) -> None:
    """What the hand was just moving is logged before the next act."""
    controller.adjust({"unit_height_mm": 1500.0})
    assert controller.state.setup.unit_height_mm != 1500.0
    controller.do(do.ReadRequest)
    told = [type(e.event) for e in controller.state.log]
    assert told[0] is ev.SetupMoved
    assert told[-1] is ev.RequestRead
    assert controller.state.setup.unit_height_mm == 1500.0


def test_a_new_region_brings_a_field_that_serves_it(controller) -> None:
    """Choosing a region chooses a field of it, when the one before does not serve it."""
    controller.adjust({"region": "joints"})
    controller.rest()
    setup = controller.state.setup
    assert setup.region in controller.state.context.unit.field(setup.field).regions


def test_closing_finishes_what_was_moved(controller, attempt_and_path, hands, real_bench) -> None:
    """Closed in the middle of a movement, nothing of it is lost."""
    play(controller, hands, [act(do.ReadRequest)])
    controller.adjust({"unit_height_mm": 1500.0})
    controller.close()
    done = replay_file(attempt_and_path[1], real_bench)
    assert done.state.setup.unit_height_mm == 1500.0

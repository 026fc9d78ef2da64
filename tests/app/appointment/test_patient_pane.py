"""The patient on the screen, with the 3-D view."""

from __future__ import annotations

import numpy as np
import pytest

from tests.helpers.appointments import act
from trainer.app.appointment.window import PATIENT, SCOUTS
from trainer.app.display import no_3d
from trainer.engine.motion import motion_trace
from trainer.models import appointment_commands as do
from trainer.models.appointment_words import CallBy, Stance
from trainer.models.motion import MotionCause, Movement, MovementKind


@pytest.fixture
def seen(qtbot, make_visit, hands, monkeypatch):
    """A window with the 3-D view and a person at the unit."""
    window = make_visit()
    monkeypatch.delenv("TRAINER_NO_3D")
    why_not = no_3d()
    if why_not is not None:
        pytest.skip(why_not)
    window.patient.view3d.build()
    for found in (act(do.Call, by=CallBy.FULL_NAME), act(do.TakePlace, stance=Stance.STANDING)):
        hands.wait(found.after_s)
        window.controller.do(found.kind, **found.values)
    qtbot.waitUntil(lambda: window.patient.view3d.canvas.isVisible())
    window.patient.draw()
    return window


def picture(window) -> np.ndarray:
    """The 3-D picture as it is."""
    return window.patient.view3d.canvas.picture.copy()


def test_light_lines_are_drawn_when_they_are_on(seen) -> None:
    """Switching the lines on changes the 3-D picture by a thin line, and off takes it back."""
    dark = picture(seen)
    seen.controller.do(do.SwitchLights, on=True)
    seen.patient.draw()
    lit = picture(seen)
    share = (dark != lit).any(axis=-1).mean()
    assert 0.0005 < share < 0.1
    seen.controller.do(do.SwitchLights, on=False)
    seen.patient.draw()
    np.testing.assert_array_equal(picture(seen), dark)


def test_a_movement_is_seen(seen) -> None:
    """A head that nods during a run moves on the screen; one that is still does not."""
    nod = Movement(MovementKind.SIDEWAYS, 1.0, 1.0, 12.0, (1.0, 0, 0, 0, 0, 0), False, True)
    seen.patient.play(motion_trace(MotionCause(30, scripted=(nod,)), 10.0, 1))
    assert seen.patient.moves_visibly
    seen.patient.show_moment(0.5)
    before = picture(seen)
    seen.patient.show_moment(0.9)
    np.testing.assert_array_equal(picture(seen), before)
    seen.patient.show_moment(5.0)
    assert (picture(seen) != before).any(axis=-1).mean() > 0.005
    seen.patient.play(motion_trace(MotionCause(30, scripted=()), 10.0, 1))
    assert not seen.patient.moves_visibly


def test_what_changed_behind_another_pane_is_drawn_when_it_is_seen(qtbot, seen) -> None:
    """A setup that moved while the scouts were in front is shown when the patient is again."""
    before = picture(seen)
    seen.tabs.setCurrentIndex(SCOUTS)
    seen.controller.do(do.Adjust, values={"yaw_deg": 12.0})
    seen.patient.draw()
    np.testing.assert_array_equal(picture(seen), before)
    seen.tabs.setCurrentIndex(PATIENT)
    qtbot.waitUntil(lambda: bool((picture(seen) != before).any()))

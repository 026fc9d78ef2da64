"""Marks on scouts in words, and the field that follows them."""

from __future__ import annotations

import numpy as np
import pytest

from tests.app.appointment.conftest import plain_picture
from trainer.app.appointment.scout_panel import field_values, shift_words
from trainer.app.appointment.scout_picture import BAR_MM, LETTERS, PictureView
from trainer.engine.wording import two_digits
from trainer.geometry.pose import gantry_to_field
from trainer.physics.dose import DoseEstimate
from trainer.physics.views import project_point, scout_geometry
from trainer.services.appointment_report import dose_words
from trainer.services.assets import UNITS
from trainer.services.unit_io import find_unit

UNIT = find_unit("alder-bench", UNITS)


@pytest.mark.parametrize(
    ("point", "words"),
    [
        ((5.0, 0.0, 0.0), "5 mm to the patient's left of the field's middle."),
        ((-5.0, 0.0, 0.0), "5 mm to the patient's right of the field's middle."),
        ((0.0, -4.0, 0.0), "4 mm forward of the field's middle."),
        ((0.0, 4.0, 0.0), "4 mm back of the field's middle."),
        ((0.0, 0.0, 3.0), "3 mm up of the field's middle. The height is set at the chin support: "
                          "3 mm down."),
    ],
)  # fmt: skip
def test_the_shift_speaks_of_the_patient(point, words) -> None:
    """Where the mark lies is told in the patient's ways, with what the chin support has to do."""
    assert shift_words(-np.array(point)).endswith(words)


def test_a_mark_in_the_middle_needs_nothing() -> None:
    """Less than a twentieth of a millimetre is the middle."""
    assert shift_words(np.full(3, 0.01)) == "What you marked lies in the field's middle."


def test_the_field_goes_where_the_mark_is(real_bench) -> None:
    """With the values offered the field's centre lies at the mark, but for its height."""
    setup = real_bench.case.start
    point = np.array([2.0, -3.0, 7.0])
    before = -gantry_to_field(setup, UNIT).translation_mm
    after_setup = setup.with_values(dict(field_values(-point, setup, UNIT)))
    after = -gantry_to_field(after_setup, UNIT).translation_mm
    np.testing.assert_allclose((after - before)[:2], point[:2], atol=0.05)  # steps of 0.1 mm


def test_the_field_stays_within_its_travel(real_bench) -> None:
    """A mark beyond the travel gives the travel's end."""
    values = field_values(np.array([-999.0, 999.0, 0.0]), real_bench.case.start, UNIT)
    assert values["field_sideways_mm"] == UNIT.travel["field_sideways_mm"].highest
    assert values["field_forward_mm"] == UNIT.travel["field_forward_mm"].highest


@pytest.mark.parametrize(
    ("value", "words"), [(344.77, "340"), (3.62, "3.6"), (0.1312, "0.13"), (0.0, "0")]
)
def test_doses_have_two_digits(value: float, words: str) -> None:
    """Estimates are told to two digits, and never with an exponent."""
    assert two_digits(value) == words
    assert words in dose_words(DoseEstimate(value, value, value, value, ()))


def test_the_scale_is_true(qtbot, real_bench) -> None:
    """The bar is as long as 20 mm at the field's centre are on the picture."""

    class Jobs:
        bench = real_bench

    class Ask:
        class conditions:
            setup = real_bench.case.start

        view = "frontal"

    picture = plain_picture(Jobs, Ask, lambda _: None)
    centre = -gantry_to_field(real_bench.case.start, real_bench.unit).translation_mm
    view = PictureView("frontal")
    qtbot.addWidget(view)
    view.show_picture(picture, centre)
    ends = project_point(picture.view, centre + np.outer([-0.5, 0.5], [BAR_MM, 0.0, 0.0]))
    assert view._bar_px == pytest.approx(np.linalg.norm(ends[1] - ends[0]), abs=1e-6)


@pytest.mark.parametrize(
    ("view", "side", "letter"), [("frontal", "right", "R"), ("lateral", "back", "back")]
)
def test_letters_stand_at_their_sides(real_bench, view, side, letter) -> None:
    """The word at a picture's left is that of the side which its geometry has there."""
    assert scout_geometry(UNIT, real_bench.case.start, view).left_is_patients == side
    assert LETTERS[view][0] == letter

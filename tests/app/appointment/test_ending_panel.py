"""The ending on the screen."""

from __future__ import annotations

import pytest

from tests.helpers.appointments import CLEAN_RUN, act, doing, instead, play, without
from trainer.app.appointment.ending_panel import EndingPanel, ending_html
from trainer.engine.appointment.checklist import NAMES
from trainer.engine.appointment.slips.words import text_of
from trainer.models import appointment_commands as do
from trainer.models.appointment_words import WithholdReason
from trainer.services.appointment_report import ending, headline
from trainer.services.cautions import SHORT_CAUTION


@pytest.fixture(scope="module")
def clean():
    """A clean appointment that is over."""
    return play(CLEAN_RUN)[0]


def test_a_clean_ending_holds_all_parts(qtbot, clean) -> None:
    """Held structures, the 29 steps, the radiation and the caution are all there."""
    panel = EndingPanel()
    qtbot.addWidget(panel)
    panel.show_ending(clean)
    told = panel.text.toPlainText()
    assert panel.headline.text().startswith("✓")
    assert all(name in told for name in NAMES)
    assert len(NAMES) == 29
    assert "Frontal scout" in told
    assert "Full run" in told
    assert SHORT_CAUTION in told
    assert "None failed." in told


def test_a_slip_is_told_with_consequence_and_mending() -> None:
    """A support far too low is told by title, what the image shows, and what mends it."""
    low = doing(do.Adjust, values={"chin_height_mm": -28.0})
    acts = instead(CLEAN_RUN, low, act(do.Adjust, values={"chin_height_mm": -60.0}))
    state, _ = play(acts)
    found = ending(state)
    page = ending_html(state, found)
    assert not found.passed
    assert headline(found).endswith(("failed.", "cannot be answered from this."))
    for f in found.slips:
        text = text_of(f.slip)
        assert text.title in page
        assert text.consequence in page
        assert text.fix in page
    assert found.slips


def test_what_was_withheld_without_need() -> None:
    """An examination that was stopped without need is not called right."""
    stop = act(do.Withhold, reason=WithholdReason.OTHER)
    state, _ = play([stop, act(do.Finish)])
    assert headline(ending(state)) == "Stopped without need: no radiation was used."


def test_an_appointment_that_just_ends_says_so() -> None:
    """Without an image and without a reason there is nothing to be told as held or missed."""
    state, _ = play([act(do.Finish)])
    found = ending(state)
    assert "without an image" in headline(found)
    assert "What had to be inside" not in ending_html(state, found)


def test_a_skipped_step_is_marked_by_more_than_colour() -> None:
    """Steps that were left out carry a sign and a word."""
    state, _ = play(without(CLEAN_RUN, doing(do.Greet)))
    page = ending_html(state, ending(state))
    row = next(r for r in page.split("<tr>") if "Called and greeted" in r)
    assert any(f"{sign} {word}" in row for sign, word in (("×", "not done"), ("◐", "in part")))

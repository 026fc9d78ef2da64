"""Which attempts count, and what both charts say of them."""

from __future__ import annotations

import numpy as np
import pytest
from helpers.attempts import attempt, series

from trainer.engine.learning.progress import counted_attempts, progress, succeeded
from trainer.models.learning import HelpLevel


@pytest.mark.parametrize(
    "change",
    [
        {"mastered": False},
        {"critical": ("target-outside",)},
        {"needless_retake": True},
        {"help": HelpLevel.LINES},
        {"help": HelpLevel.OPEN},
        {"help": HelpLevel.DEMONSTRATION},
    ],
)
def test_success_needs_everything(change):
    """Each lack by itself makes an attempt no success."""
    assert succeeded(attempt())
    assert succeeded(attempt(help=HelpLevel.ON_REQUEST, hints=2))
    assert not succeeded(attempt(**change))


def test_only_unassisted_attempts_at_changing_cases_count():
    """An attempt counts when it is unassisted and the one before, however helped, was elsewhere."""
    none, lines = HelpLevel.NONE, HelpLevel.LINES
    rows = [
        ("a", none, True),  # the first of all
        ("a", none, False),  # the same case again
        ("b", lines, False),  # helped
        ("b", none, False),  # just seen with help
        ("a", HelpLevel.ON_REQUEST, True),
        ("b", none, True),
    ]
    attempts = [attempt(i, case_id=case, help=level) for i, (case, level, _) in enumerate(rows)]
    found = counted_attempts(attempts[::-1])  # the list's own order does not matter
    assert [a.id for a in found] == [a.id for a, row in zip(attempts, rows, strict=True) if row[2]]


def test_fourteen_successes_signal_and_thirteen_do_not():
    """The shortest way to the signal is 14 successes in a row (own table)."""
    assert progress(series("S" * 13)).signal is None
    found = progress(series("S" * 14))
    assert found.signal == 14
    assert found.learning[-1] >= 2.5 > found.learning[-2]


def test_signal_promises_observed_practice_only():
    """The signal's words say observed practice and its chance of being wrong, and no sign-off."""
    text = progress(series("S" * 14)).sentence
    assert text.startswith("Ready for observed practice since counted attempt 14.")
    assert "11.6 %" in text
    assert "sign" not in text.replace("signal", "").lower()
    assert "competent" not in text.lower()


def test_after_the_signal_the_maintenance_chart_watches():
    """Three failures close together after the signal raise an alarm, and the chart starts anew."""
    found = progress(series("S" * 14 + "SFFFSF"))
    assert found.signal == 14
    assert len(found.learning) == 14
    assert np.round(found.maintenance, 4).tolist() == [0.0, 1.0986, 2.1972, 3.2958, 0.0, 1.0986]
    assert found.alarms == (4,)
    assert found.sentence.startswith("Failures have become more frequent")
    assert "alarm at 18; 1 of 2 counted attempts since were successes" in found.sentence
    assert "Ready" not in found.sentence


def test_nothing_counted_is_said_plainly():
    """Without counted attempts there are empty charts and a sentence."""
    found = progress([attempt(0, help=HelpLevel.OPEN)])
    assert (len(found.learning), found.signal, found.left_out) == (0, None, 1)
    assert found.sentence.startswith("No attempt counts yet")


def test_without_a_signal_the_count_is_told():
    """Before the signal the sentence counts successes and asks to go on."""
    assert progress(series("SSF")).sentence.startswith("2 of 3 counted attempts were successes.")

"""Colours can be told apart and read."""

from __future__ import annotations

import pytest

from trainer.scene.palette import INSIDE, MARK_PAIRS, MISSED, TEXT_PAIRS, contrast, css


@pytest.mark.parametrize("pair", TEXT_PAIRS)
def test_text_can_be_read(pair) -> None:
    """Words have a contrast of 4.5:1 to their ground (WCAG 2.2, success criterion 1.4.3)."""
    assert contrast(*pair) >= 4.5


@pytest.mark.parametrize("pair", MARK_PAIRS)
def test_marks_can_be_seen(pair) -> None:
    """Lines and marks have a contrast of 3:1 to their ground (WCAG 2.2, 1.4.11)."""
    assert contrast(*pair) >= 3.0


def test_contrast_of_black_and_white() -> None:
    """Black on white is 21:1 and a colour on itself 1:1 (WCAG 2.2, contrast ratio)."""
    assert contrast((0, 0, 0), (255, 255, 255)) == pytest.approx(21.0)
    assert contrast((90, 20, 200), (90, 20, 200)) == pytest.approx(1.0)


def test_contrast_of_a_known_grey() -> None:
    """#767676 on white is 4.54:1 (WebAIM, "Contrast and color accessibility")."""
    assert contrast((0x76, 0x76, 0x76), (255, 255, 255)) == pytest.approx(4.54, abs=0.005)


def test_css() -> None:
    """A colour is written as style sheets want it."""
    assert css((1, 171, 255)) == "#01abff"


def test_signals_differ_for_the_red_blind() -> None:
    """With the long-wave cones missing, missed and inside still differ in blue and in green.

    Protanopia after Viénot, Brettel & Mollon, "Digital video colourmaps" (1999): red is seen as
    a mix of 11 % red and 89 % green.
    """

    def seen(colour):
        linear = [(c / 255) ** 2.2 for c in colour]
        yellow = 0.112 * linear[0] + 0.888 * linear[1]
        return yellow, linear[2]

    missed, inside = seen(MISSED), seen(INSIDE)
    assert abs(missed[1] - inside[1]) > 0.3

"""What every view draws alike."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.scene.standin import standin_case
from trainer.app.result_panel import headline as panel_headline
from trainer.engine.placement import Way, worst
from trainer.scene.drawing import WAY_STEP, short_name, state_colour, worst_first
from trainer.scene.flat_picture import FlatHead, Words, flat_picture
from trainer.scene.outlines import Flat
from trainer.scene.palette import CLOSE, INSIDE, MISSED
from trainer.scene.snapshot import headline


def test_ways_are_the_patients() -> None:
    """The steps are of 1 mm along +x for left, +y for back and +z for up, and undo each other."""
    assert WAY_STEP[Way.LEFT] == (1.0, 0.0, 0.0)
    assert WAY_STEP[Way.BACK] == (0.0, 1.0, 0.0)
    assert WAY_STEP[Way.UP] == (0.0, 0.0, 1.0)
    for one, other in ((Way.LEFT, Way.RIGHT), (Way.BACK, Way.FORWARD), (Way.UP, Way.DOWN)):
        assert np.add(WAY_STEP[one], WAY_STEP[other]) == pytest.approx(0.0)


def test_colours_follow_the_margin(placed) -> None:
    """What keeps its margin is blue, what lies inside without it brown, what is cut vermilion."""
    found = placed()[0].required[0]._replace(required_margin_mm=2.0)
    colours = [state_colour(found._replace(margin_mm=m)) for m in (2.0, 1.0, -1.0)]
    assert colours == [INSIDE, CLOSE, MISSED]


@pytest.mark.parametrize("noise_mm", [0.0, 1e-9, -1e-9])
def test_every_view_names_the_same_of_two_that_lack_as_much(meshes, unit, placed, noise_mm) -> None:
    """With a tie, list, flat views, panel and exported picture all name the first of the two."""
    placement, steps = placed()
    tied = [s._replace(margin_mm=-3.0, required_margin_mm=2.0) for s in placement.required]
    tied[-1] = tied[-1]._replace(margin_mm=-3.0 + noise_mm)
    same = replace(placement, structures=tuple(tied))
    first = worst(same.required)
    assert first is tied[0]
    assert worst_first(same.required)[0] is first
    for view in Flat:
        shapes = flat_picture(view, FlatHead(meshes), unit, same, steps, True).shapes
        names = [s.text for s in shapes if isinstance(s, Words) and s.text.startswith("× ")]
        assert names == [short_name(first)]
    assert headline(standin_case(), same)[0].startswith(panel_headline(first))

"""What an image shows, in words."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.helpers.appointments import (
    CLEAN_RUN,
    OTHER_ROWAN,
    ROWAN,
    VISIT,
    act,
    context,
    doing,
    instead,
    play,
    without,
)
from trainer.app.appointment.image_words import image_words
from trainer.models import appointment_commands as do
from trainer.models.appointment_visit import WornItem
from trainer.models.appointment_words import ImagePoint, WornPlace
from trainer.models.motion import Movement, MovementKind

WAIT, LET_GO = doing(do.Wait), doing(do.ReleaseSwitch)


def told(acts, point: ImagePoint, visit=VISIT) -> str:
    """What the first run's image shows at a point."""
    state, _ = play(acts, context(visit))
    return image_words(state, state.runs[0], point)


def test_a_clean_image_shows_nothing_wrong() -> None:
    """Every point of a clean run's image is told as it should be."""
    assert told(CLEAN_RUN, ImagePoint.PERSON) == "The image is filed under Tom Rowan."
    assert "patient's right" in told(CLEAN_RUN, ImagePoint.SIDE)
    assert "there is a margin" in told(CLEAN_RUN, ImagePoint.COVERAGE)
    assert told(CLEAN_RUN, ImagePoint.MOTION) == "Edges are sharp."
    assert told(CLEAN_RUN, ImagePoint.METAL).startswith("No shadows")


def test_what_is_cut_off_is_named() -> None:
    """With the support far too low the image names what lies at its edge."""
    low = doing(do.Adjust, values={"chin_height_mm": -28.0})
    acts = instead(CLEAN_RUN, low, act(do.Adjust, values={"chin_height_mm": -60.0}))
    assert "At the edge of the image: " in told(acts, ImagePoint.COVERAGE)


def test_a_turned_head_lies_oblique() -> None:
    """A head turned farther than the task allows shows slices that lie oblique, and which way."""
    level = {"pitch_deg": 0.0, "yaw_deg": 0.0, "roll_deg": 0.0}
    turned = act(do.Adjust, values=level | {"yaw_deg": 9.0})
    acts = instead(CLEAN_RUN, doing(do.Adjust, values=level), turned)
    words = told(acts, ImagePoint.COVERAGE)
    assert words.startswith("The slices lie oblique: ")
    assert "9° face to the patient's left" in words


def test_a_released_run_lacks_views() -> None:
    """Letting go after half the run leaves half the views."""
    acts = instead(without(CLEAN_RUN, WAIT), LET_GO, act(do.ReleaseSwitch, after_s=9.0))
    assert "Only 50 % of the views" in told(acts, ImagePoint.COVERAGE)


@pytest.mark.parametrize(("size_mm", "words"), [(2.0, "stripes"), (5.0, "double")])
def test_motion_is_seen_in_the_edges(size_mm: float, words: str) -> None:
    """Edges tell how far the person moved: stripes up to 3 mm, double edges beyond."""
    way = (1.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    moved = Movement(MovementKind.SIDEWAYS, 5.0, 1.0, size_mm, way, False, True)
    visit = replace(VISIT, scripted_motion=(moved,))
    assert words in told(CLEAN_RUN, ImagePoint.MOTION, visit)


def test_metal_is_named() -> None:
    """What was left in the mouth streaks through the image, by its name."""
    denture = WornItem("plate", "steel denture", WornPlace.LOWER_TEETH)
    said = told(CLEAN_RUN, ImagePoint.METAL, replace(VISIT, items=(denture,)))
    assert said.startswith("Streaks from: steel denture.")


def test_the_name_on_the_image_is_the_consoles() -> None:
    """The image is filed under whoever is open at the console, right or wrong."""
    visit = replace(VISIT, waiting=(ROWAN, OTHER_ROWAN))
    other = act(do.OpenAtConsole, person="rowan-senior")
    acts = instead(CLEAN_RUN, doing(do.OpenAtConsole, person="rowan"), other)
    assert "Hal Rowan" in told(acts, ImagePoint.PERSON, visit)

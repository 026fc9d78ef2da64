"""Slices on the screen."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import Qt

from tests.app.debrief.conftest import PlainHead, plain_slice
from trainer.app.debrief.slice_view import SlicePane, SlicePicture, overlay
from trainer.scene.palette import FIELD, MISSED, PAPER
from trainer.services.slices import Cut


def test_missed_is_striped_and_held_only_outlined() -> None:
    """What is missed has two colours in stripes; what is held has a rim and is clear within."""
    found = plain_slice()
    over = overlay(found)
    missed = over[found.missed["missed-one"]]
    colours = {tuple(c) for c in missed[:, :3].tolist()}
    assert colours == {MISSED, PAPER}
    assert (missed[:, 3] == 255).all()
    held = over[10:20, 5:15]
    assert (held[1:-1, 1:-1, 3] == 0).all()
    assert (held[0, :, :3] == FIELD).all()
    outside = ~(found.missed["missed-one"] | found.held["held-one"])
    assert (over[outside, 3] == 0).all()


def test_a_slice_is_painted_with_its_letters_and_named(qtbot) -> None:
    """Grey, the missed colour and white are on the picture, and what is missed is said."""
    picture = SlicePicture(Cut.ACROSS)
    qtbot.addWidget(picture)
    picture.resize(200, 200)
    picture.show_slice(plain_slice())
    image = picture.grab().toImage()
    pixels = np.array([[image.pixel(x, y) & 0xFFFFFF for x in range(200)] for y in range(200)])
    colours = set(pixels.ravel().tolist())
    assert {90 * 0x010101, 0xFFFFFF, MISSED[0] << 16 | MISSED[1] << 8 | MISSED[2]} <= colours
    assert "missed one" in picture.accessibleDescription()


def test_the_slice_goes_where_the_slider_does(qtbot) -> None:
    """Half a millimetre with each key, told in the patient's words."""
    pane = SlicePane()
    qtbot.addWidget(pane)
    pane.show()
    pane.show_head(PlainHead(None, None, str))
    pane.show_placement(object())
    assert pane.places[Cut.ACROSS].text() == "Through the target's middle"
    for _ in range(3):
        qtbot.keyClick(pane.sliders[Cut.ACROSS], Qt.Key.Key_Right)
    qtbot.keyClick(pane.sliders[Cut.ALONG], Qt.Key.Key_Left)
    assert pane.pictures[Cut.ACROSS].found.at_mm == 1.5
    assert pane.places[Cut.ACROSS].text() == "1.5 mm up of the target's middle"
    assert pane.places[Cut.ALONG].text() == "0.5 mm to the right of the target's middle"

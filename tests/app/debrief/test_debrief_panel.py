"""Prediction, then debrief, on the screen."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt

from tests.app.debrief.conftest import PlainHead
from tests.engine.debrief.attempts import attempt
from trainer.app.debrief import debrief_job
from trainer.app.debrief.debrief_page import DETAILS, NO_RUN, NOBODY, SLICES, Shown
from trainer.app.debrief.debrief_panel import CANCELLED, FORM, WAITING
from trainer.app.debrief.told import debrief_html
from trainer.errors import TrainerError
from trainer.scene.flat_picture import Strokes, Words
from trainer.services.cautions import SHORT_CAUTION
from trainer.services.debrief import debrief, sections


def words_in_views(page) -> set[str]:
    """All words that the flat views draw."""
    page.views.draw()
    shapes = [s for flat in page.views.flats.values() for s in flat.picture.shapes]
    return {s.text for s in shapes if isinstance(s, Words)}


def dashed_in_views(page) -> int:
    """How many dashed lines the flat views draw."""
    page.views.draw()
    shapes = [s for flat in page.views.flats.values() for s in flat.picture.shapes]
    return sum(isinstance(s, Strokes) and s.dashed for s in shapes)


def test_nothing_is_revealed_before_the_form_is_over(make_panel) -> None:
    """The form asks for every required structure, and no result stands anywhere."""
    panel = make_panel(attempt("low"), reveal=False)
    assert panel._stack.currentIndex() == FORM
    assert set(panel.form.rows) == {r.structure for r in panel.bench.case.required}
    assert panel.page.headline.text() == panel.page.text.toPlainText() == ""


def test_the_debrief_shows_all_its_words(make_panel, real_bench) -> None:
    """Every line of every section stands there, with headline and caution."""
    state = attempt("low")
    panel = make_panel(state)
    shown = " ".join(panel.page.text.toPlainText().split())
    assert panel.page.headline.text() == "× 1 of 5 required structures are held; " + (
        "1 critical item failed."
    )
    for title, lines in sections(debrief(state, real_bench)):
        for line in lines[1:] if title == "Result" else lines:
            assert " ".join(line.split()) in shown, line
    assert SHORT_CAUTION in shown
    assert panel.page.text.hasFocus()


def test_mine_best_and_both(make_panel) -> None:
    """The views show the learner's setup, the best, or the best field dashed on the own head."""
    page = make_panel(attempt("low")).page
    best = page.best
    assert page.views.shown == (best.mine, None)
    assert any("mandibular canal" in w for w in words_in_views(page))
    page.choices[Shown.BEST].click()
    assert page.views.shown == (best.setup, None)
    assert not any("×" in w for w in words_in_views(page))
    page.choices[Shown.BOTH].click()
    assert page.views.shown == (best.mine, best.setup)
    assert "best field" in words_in_views(page)
    assert dashed_in_views(page) == 2


def test_the_movement_is_shown_before_and_after(make_panel) -> None:
    """The button shows the setup after the movement, and dashed the field as it was."""
    page = make_panel(attempt("low")).page
    page.show_movement.click()
    assert page.shown is Shown.MOVED
    after, before = page.views.shown
    assert before == page.best.mine
    assert page.views.placement(after).all_required_inside
    assert not page.views.placement(before).all_required_inside
    assert "field as it was" in words_in_views(page)


def test_replay_shows_each_moment(qtbot, make_panel) -> None:
    """The slider brings the setup of its moment, or says that nobody is at the unit."""
    state = attempt("low")
    page = make_panel(state).page
    page.timeline.slider.setFocus()
    qtbot.keyClick(page.timeline.slider, Qt.Key.Key_Right)
    assert page.shown is Shown.REPLAY
    assert page.views.note.text() == NOBODY
    assert page.views.shown == (None, None)
    at = next(i for i, m in enumerate(page.timeline.moments) if m.at_unit and m.lights_on)
    page.timeline.go_to(at)
    assert page.views.shown == (page.timeline.moments[at].setup, None)
    assert any("light" in w for w in words_in_views(page))
    page.choices[Shown.MINE].click()
    assert not any("light" in w for w in words_in_views(page))


def test_numbers_stand_beside_each_other(make_panel) -> None:
    """Mine and best in words of the patient; what differs is marked by a sign."""
    page = make_panel(attempt("low")).page
    rows = {row[0]: row[1:] for row in page.numbers.texts()}
    assert rows["Chin support height"][0] == "45 mm down"
    assert rows["Chin support height"][1].startswith("≠ ")
    assert rows["Field sideways"] == ["30 mm right", "30 mm right"]


def test_all_details_are_behind_one_button(make_panel) -> None:
    """The whole long list is there, and has the focus."""
    page = make_panel(attempt("low")).page
    page.show_details.click()
    assert page.tabs.currentIndex() == DETAILS
    assert "The operator's 29 steps" in page.details.text.toPlainText()
    page.choices[Shown.MINE].click()
    assert page.tabs.currentIndex() != DETAILS


def test_slices_come_when_the_head_is_ready(qtbot, make_panel) -> None:
    """They are made off the window's thread and show the setup that is chosen."""
    page = make_panel(attempt("low")).page
    qtbot.waitUntil(lambda: page.slices.is_ready)
    page.tabs.setCurrentIndex(SLICES)
    assert all(p.found is not None for p in page.slices.pictures.values())


def test_slices_can_be_cancelled_and_asked_for_again(qtbot, make_panel, monkeypatch) -> None:
    """Cancelled, that nothing is lost is said; asked again, they come."""

    class Endless(PlainHead):
        def __init__(self, bench, person, tell) -> None:
            while True:
                tell("going round in circles")

    monkeypatch.setattr(debrief_job, "SlicedHead", Endless)
    page = make_panel(attempt("low")).page
    qtbot.waitUntil(lambda: "circles" in page.slices.note.text())
    page.slices.cancel.click()
    qtbot.waitUntil(lambda: page.slices.note.text() == CANCELLED)
    monkeypatch.setattr(debrief_job, "SlicedHead", PlainHead)
    page.slices.again.click()
    qtbot.waitUntil(lambda: page.slices.is_ready)


@pytest.mark.parametrize("name", ["nothing done", "stopped"])
def test_without_an_image_the_rest_is_there(make_panel, name) -> None:
    """No placement and no movement is offered; words, replay and details are."""
    page = make_panel(attempt(name)).page
    assert page.views.note.text() == NO_RUN
    for shown in (Shown.MINE, Shown.BEST, Shown.BOTH, Shown.MOVED):
        assert not page.choices[shown].isEnabled()
    assert not page.show_movement.isEnabled()
    assert page.timeline.slider.isEnabled()
    assert "0 images" in page.text.toPlainText()


def test_what_cannot_be_computed_is_told_calmly(qtbot, make_panel, monkeypatch) -> None:
    """What happened, what is safe, what is left to look at; no traceback."""

    def broken(*args):
        raise TrainerError("the disk is gone")

    monkeypatch.setattr(debrief_job, "debrief", broken)
    panel = make_panel(attempt("low"), reveal=False)
    panel.reveal(attempt("low"))
    qtbot.waitUntil(lambda: "disk" in panel.waiting.text())
    assert panel._stack.currentIndex() == WAITING
    assert "The attempt and its log are kept" in panel.waiting.text()
    assert "Traceback" not in panel.waiting.text()


def test_it_can_be_closed_while_it_is_computed(make_panel) -> None:
    """What comes after the end is told to nobody."""
    panel = make_panel(attempt("low"), reveal=False)
    panel.reveal(attempt("low"))
    panel.shut()


def test_words_of_a_case_are_escaped(real_bench) -> None:
    """A structure or headline with angle brackets is text and no markup."""
    from dataclasses import replace

    found = replace(debrief(attempt("low"), real_bench), headline="x", aim="<b>do</b> & see")
    page = debrief_html(found)
    assert "&lt;b&gt;do&lt;/b&gt; &amp; see" in page

"""The window of an appointment as a whole."""

from __future__ import annotations

import time

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLabel, QMessageBox, QPushButton

from tests.app.appointment.conftest import plain_picture
from tests.app.appointment.keys import Keys
from tests.helpers.appointments import (
    BEFORE,
    CHECK,
    CLEAN_RUN,
    ENTER,
    HOLD,
    OUT,
    PLACE,
    TALK,
    Act,
    act,
    doing,
    without,
)
from trainer.app.appointment import scout_job
from trainer.app.appointment.acts import Phase
from trainer.app.appointment.header import UNREAD
from trainer.app.appointment.pictures import CANCELLED
from trainer.app.appointment.scout_panel import START
from trainer.app.appointment.window import (
    ENDING,
    IMAGE,
    NOT_NOTED,
    PATIENT,
    SCOUTS,
    WALKED_OFF,
)
from trainer.app.entries import NumberEntry, SlideEntry
from trainer.app.volume import volume_job
from trainer.engine.appointment.learner import prediction_of
from trainer.models import appointment_commands as do
from trainer.models import appointment_events as ev
from trainer.models.appointment_words import Gaze, ScoutKind, Support
from trainer.models.learning import HelpLevel, Prediction
from trainer.scene.flat_picture import Area, Polygon
from trainer.scene.palette import BONE
from trainer.services.appointment_report import ending
from trainer.services.volumes.record import RecordingCancelled

# This case's unit has its chin rest on already.
CHIN_REST = doing(do.FitSupport, support=Support.CHIN_REST)
OURS = without(CLEAN_RUN, CHIN_REST)
TO_THE_SWITCH = without([*BEFORE, *TALK, *ENTER, *PLACE, *HOLD, *OUT], CHIN_REST)


def play(window, hands, acts: list[Act]) -> None:
    """Do acts through the controller."""
    for found in acts:
        hands.wait(found.after_s)
        assert window.controller.do(found.kind, **found.values), found


def shows_bone_or_field(window) -> bool:
    """Whether a flat view draws bone, or the field."""
    window.patient.draw()
    return any(
        (isinstance(s, Area) and s.fill == BONE) or (isinstance(s, Polygon) and s.opacity < 1.0)
        for flat in window.patient.flats.values()
        for s in flat.picture.shapes
    )


def run_button(window):
    """The exposure switch."""
    return window.left.run.switches["run"]


def ready_to_run(window, hands) -> None:
    """Everything done up to the switch, its phase open and the guard lifted."""
    play(window, hands, TO_THE_SWITCH)
    hands.wait(10.0)
    window.left.open(Phase.RUN)
    window.controller.tick()
    window.left.run.guard.setChecked(True)


def test_a_clean_appointment_by_keyboard_alone(qtbot, make_visit, hands, quick_pictures) -> None:
    """From the card to the debrief without a mouse: all is held, nothing fails, the record fits."""
    window = make_visit()
    acts = without(OURS, doing(do.Finish))
    Keys(window, hands.wait).do(acts)
    Keys(window, hands.wait).do([act(do.Finish)])
    (box,) = window.findChildren(QMessageBox)
    yes = next(b for b in box.findChildren(QPushButton) if b.text() == "Yes, end it")
    qtbot.waitUntil(box.isVisible)
    for _ in range(4):
        if QApplication.focusWidget() is yes:
            break
        qtbot.keyClick(QApplication.focusWidget(), Qt.Key.Key_Tab)
    qtbot.keyClick(yes, Qt.Key.Key_Return)
    state = window.controller.state
    assert state.finished
    found = ending(state)
    assert all(h.holds for h in found.held)
    assert found.critical == ()
    assert "every entry is what happened" in " ".join(window.events.texts())
    assert window.tabs.currentIndex() == ENDING
    assert not window.left.isEnabled()
    form = window.debrief.form
    qtbot.waitUntil(next(iter(form.rows.values()))[0].hasFocus)
    keys = Keys(window, hands.wait)
    for inside, _ in form.rows.values():
        keys.go_to(lambda inside=inside: inside)
        keys.type(Qt.Key.Key_Space)
    keys.go_to(lambda: form.percent)
    keys.write("95")
    keys.go_to(lambda: form.yes)
    keys.type(Qt.Key.Key_Space)
    keys.go_to(lambda: form.say)
    with qtbot.waitSignal(window.debrief.shown, timeout=30000):
        keys.type(Qt.Key.Key_Return)
    page = window.debrief.page
    assert page.headline.text().startswith("✓ 5 of 5")
    assert "Inside or cut: 5 of 5 right." in page.text.toPlainText()
    assert prediction_of(window.controller.state) == Prediction(frozenset(), 95, True)


def test_the_card_is_shown_once_it_was_read(make_visit, hands) -> None:
    """Before it was read the card says nothing of the patient, afterwards what is ordered."""
    window = make_visit()
    assert window.header.card.text() == UNREAD
    play(window, hands, [act(do.ReadRequest)])
    assert "Tom Rowan" in window.header.card.text()
    assert "tooth 48" in window.header.card.text()


@pytest.mark.parametrize("helped", [HelpLevel.LINES, HelpLevel.NONE])
def test_skull_and_field_are_hidden_until_the_end(
    make_visit, hands, quick_pictures, helped
) -> None:
    """Whatever is done, bone and field appear only after the end, with the prediction made."""
    window = make_visit(helped)
    for found in without(OURS, doing(do.Finish)):
        play(window, hands, [found])
        if window.patient.shows_person:
            assert not window.patient.look_inside
    play(window, hands, [act(do.Finish)])
    assert not window.patient.look_inside
    assert not shows_bone_or_field(window)
    window.debrief.form.skip.click()
    assert window.patient.look_inside
    assert shows_bone_or_field(window)


def test_without_that_help_the_flat_views_show_skin_only(make_visit, hands) -> None:
    """With the person at the unit neither flat view has bone or the field in it."""
    window = make_visit(HelpLevel.NONE)
    play(window, hands, TO_THE_SWITCH)
    assert window.patient.shows_person
    assert not shows_bone_or_field(window)
    assert window.hint.isHidden()


def test_with_all_help_bone_and_result_are_shown(make_visit, hands) -> None:
    """The help setting shows bone and field from the start, and how the structures lie."""
    window = make_visit(HelpLevel.OPEN)
    play(window, hands, TO_THE_SWITCH)
    assert shows_bone_or_field(window)
    assert "required structures lie inside" in window.hint.text()


def test_light_lines_are_seen_only_when_they_are_on(make_visit, hands) -> None:
    """Without the light lines the flat views name none."""
    window = make_visit()

    def lines() -> bool:
        window.patient.draw()
        flats = window.patient.flats.values()
        return any("light" in getattr(s, "text", "") for f in flats for s in f.picture.shapes)

    acts = without(TO_THE_SWITCH, doing(do.SwitchLights, on=True))
    play(window, hands, acts[: acts.index(next(a for a in acts if a.kind is do.Look))])
    assert not lines()
    play(window, hands, [act(do.SwitchLights, on=True)])
    assert lines()


def test_before_anybody_is_at_the_unit_no_head_is_shown(make_visit, hands) -> None:
    """A sentence stands in place of the head until somebody takes their place."""
    window = make_visit()
    assert not window.patient.shows_person
    assert "Nobody" in window.patient.note.text()


def test_holding_exposes_and_letting_go_stops(qtbot, make_visit, hands) -> None:
    """The run lasts as long as the space bar is held."""
    window = make_visit()
    ready_to_run(window, hands)
    qtbot.keyPress(run_button(window), Qt.Key.Key_Space)
    assert window.controller.state.exposure.running is not None
    hands.wait(4.0)
    qtbot.keyRelease(run_button(window), Qt.Key.Key_Space)
    (run,) = window.controller.state.runs
    assert run.recorded_s == pytest.approx(4.0, abs=0.01)
    assert window.controller.state.exposure.running is None


def test_a_stray_key_exposes_nowhere(qtbot, make_visit, hands) -> None:
    """With the unit ready and the guard closed no key on any widget brings out radiation."""
    window = make_visit()
    ready_to_run(window, hands)
    window.left.run.guard.setChecked(False)
    keys = (Qt.Key.Key_Space, Qt.Key.Key_Return, Qt.Key.Key_Enter)
    for widget in (run_button(window), window.left.phases, window.events, window.tabs.tabBar()):
        widget.setFocus()
        for key in keys:
            qtbot.keyClick(widget, key)
    assert window.controller.state.runs == ()
    assert window.controller.state.exposure.running is None


def test_leaving_the_switch_ends_the_run(qtbot, make_visit, hands) -> None:
    """When the focus goes elsewhere while the key is held the run stops."""
    window = make_visit()
    ready_to_run(window, hands)
    qtbot.keyPress(run_button(window), Qt.Key.Key_Space)
    hands.wait(2.0)
    window.left.phases.setFocus()
    assert window.controller.state.exposure.running is None
    assert len(window.controller.state.runs) == 1
    assert not window.left.run.guard.isChecked()


def test_without_holding_a_run_goes_on_to_its_end(qtbot, make_visit, hands) -> None:
    """Confirmed once, a run that nobody holds lasts as planned."""
    window = make_visit()
    ready_to_run(window, hands)
    panel = window.left.run
    panel.without_holding.setChecked(True)
    panel.guard.setChecked(True)
    qtbot.keyClick(run_button(window), Qt.Key.Key_Space)
    assert window.controller.state.exposure.running is None
    qtbot.keyClick(panel.yes, Qt.Key.Key_Return)
    running = window.controller.state.exposure.running
    assert running is not None
    assert running.stays
    assert panel.stop.isVisible()
    hands.wait(running.planned_s + 1.0)
    window.controller.tick()
    (run,) = window.controller.state.runs
    assert run.recorded_share == 1.0


def test_a_run_without_holding_can_be_stopped(qtbot, make_visit, hands) -> None:
    """ "Stop radiation" has the focus, and stops."""
    window = make_visit()
    ready_to_run(window, hands)
    panel = window.left.run
    panel.without_holding.setChecked(True)
    panel.guard.setChecked(True)
    qtbot.keyClick(run_button(window), Qt.Key.Key_Space)
    qtbot.keyClick(panel.yes, Qt.Key.Key_Return)
    assert panel.stop.hasFocus()
    hands.wait(3.0)
    qtbot.keyClick(panel.stop, Qt.Key.Key_Return)
    (run,) = window.controller.state.runs
    assert run.recorded_s == pytest.approx(3.0, abs=0.01)


def test_walking_off_ends_a_run_that_nobody_holds(qtbot, make_visit, hands) -> None:
    """When another window comes to the front radiation stops, and it is said why."""
    window = make_visit()
    ready_to_run(window, hands)
    window.controller.press(stays=True)
    other = QPushButton("another window")
    qtbot.addWidget(other)
    other.show()
    other.activateWindow()
    qtbot.waitUntil(lambda: not window.isActiveWindow())
    assert window.controller.state.exposure.running is None
    assert window.notice.text() == WALKED_OFF


def test_a_block_is_told_in_words(make_visit, hands) -> None:
    """Asking for the ready state with the door open says why it is refused and what to do."""
    window = make_visit()
    acts = without(TO_THE_SWITCH, doing(do.CloseDoor), doing(do.MakeReady))
    play(window, hands, [*acts, act(do.MakeReady)])
    assert window.notice.isVisible()
    assert "the door is open; close it" in window.notice.text()
    assert "No radiation came out" in window.notice.text()


def test_eyes_are_where_the_pane_is(make_visit, hands) -> None:
    """Outside, the pane that is open is what the eyes are on; in the room nothing is logged."""
    window = make_visit()
    play(window, hands, TO_THE_SWITCH[:3])
    window.tabs.setCurrentIndex(SCOUTS)
    window.tabs.setCurrentIndex(PATIENT)
    assert window.controller.state.exposure.gaze is Gaze.SCREEN
    play(window, hands, TO_THE_SWITCH[3:])
    window.tabs.setCurrentIndex(SCOUTS)
    assert window.controller.state.exposure.gaze is Gaze.SCREEN
    window.tabs.setCurrentIndex(PATIENT)
    assert window.controller.state.exposure.gaze is Gaze.PATIENT


def test_a_movement_of_the_hand_is_one_act(make_visit, hands) -> None:
    """Several steps without a rest are shown at once and logged as one command."""
    window = make_visit()
    play(window, hands, TO_THE_SWITCH[: TO_THE_SWITCH.index(OUT[2])])
    known = len(window.controller.state.log)
    before = window.controller.state.setup.chin_height_mm
    for step in (1.0, 2.0, 3.0):
        window.left.hands.moved.emit("chin_height_mm", before + step)
    assert window.controller.setup.chin_height_mm == before + 3.0
    assert window.controller.state.setup.chin_height_mm == before
    window.controller.rest()
    assert window.controller.state.setup.chin_height_mm == before + 3.0
    assert len(window.controller.state.log) == known + 1


def test_what_has_no_meaning_now_is_refused_in_words(make_visit, hands) -> None:
    """Greeting nobody is refused with a sentence, and nothing is logged."""
    window = make_visit()
    assert not window.controller.do(do.Greet)
    assert "Nobody is in the room" in window.notice.text()
    assert window.controller.state.log == ()


def test_scouts_are_computed_and_shown(qtbot, make_visit, hands, quick_pictures) -> None:
    """Both pictures come, marks on both give the shift in words, and the dose stands with it."""
    window = make_visit()
    play(window, hands, TO_THE_SWITCH)
    hands.wait(10.0)
    play(window, hands, [act(do.TakeScout, kind=k) for k in ScoutKind])
    views = window.scouts.views
    qtbot.waitUntil(lambda: all(v.picture is not None for v in views.values()))
    assert window.tabs.currentIndex() == SCOUTS
    for view in views.values():
        view.setFocus()
        qtbot.keyClick(view, Qt.Key.Key_Right, Qt.KeyboardModifier.ShiftModifier)
        qtbot.keyClick(view, Qt.Key.Key_Return)
    assert "of the field's middle" in window.scouts.shift_words.text()
    assert "µSv" in window.scouts.dose.text()
    assert all(s.marked_off_mm is not None for s in window.controller.state.scouts)


def test_the_field_follows_the_marks(qtbot, make_visit, hands, quick_pictures) -> None:
    """After "move the field by this" and a second pair, the same place lies in the middle."""
    window = make_visit()
    play(window, hands, TO_THE_SWITCH)
    hands.wait(10.0)
    play(window, hands, [act(do.TakeScout, kind=k) for k in ScoutKind])
    views = window.scouts.views
    qtbot.waitUntil(lambda: all(v.picture is not None for v in views.values()))
    before = window.controller.state.setup
    for kind, view in views.items():
        rows, columns = view.picture.view.shape
        view._mark_at(rows / 2.0, columns / 2.0 + (8.0 if kind is ScoutKind.FRONTAL else 0.0))
    shift = window.scouts._shift
    window.scouts.move_field.click()
    window.controller.rest()
    after = window.controller.state.setup
    moved = after.field_sideways_mm - before.field_sideways_mm
    assert moved == pytest.approx(-shift[0], abs=0.06)  # 0.1 mm steps
    assert moved > 1.0  # columns run to the patient's left on the frontal picture


def test_a_scout_can_be_cancelled_and_computed_after_all(
    qtbot, make_visit, hands, quick_pictures, monkeypatch
) -> None:
    """Cancelling stops the work and says that nothing is lost; asked again, the picture comes."""
    plain = scout_job.compute

    def endless(jobs, ask, tell):
        while True:
            tell("going round in circles")

    monkeypatch.setattr(scout_job, "compute", endless)
    window = make_visit()
    play(window, hands, TO_THE_SWITCH)
    hands.wait(10.0)
    play(window, hands, [act(do.TakeScout, kind=ScoutKind.FRONTAL)])
    view = window.scouts.views[ScoutKind.FRONTAL]
    qtbot.waitUntil(lambda: "circles" in window.scouts.told.text())
    assert window.scouts.cancel.isVisible()
    window.scouts.cancel.click()
    qtbot.waitUntil(lambda: view.words == CANCELLED)
    assert not window.pictures.jobs.busy
    assert len(window.controller.state.scouts) == 1
    monkeypatch.setattr(scout_job, "compute", plain)
    window.scouts.again.click()
    qtbot.waitUntil(lambda: view.picture is not None)


def test_closing_while_a_scout_is_computed(qtbot, make_visit, hands, monkeypatch) -> None:
    """The window does not wait for pictures: it cancels them and closes."""

    def endless(jobs, ask, tell):
        while True:
            tell("going round in circles")

    monkeypatch.setattr(scout_job, "compute", endless)
    monkeypatch.setattr(scout_job, "person_head", lambda person, spacing_mm, tell: None)
    window = make_visit()
    play(window, hands, TO_THE_SWITCH)
    hands.wait(10.0)
    play(window, hands, [act(do.TakeScout, kind=ScoutKind.LATERAL)])
    with qtbot.waitSignal(window.closed, timeout=2000):
        window.close()


def test_what_was_checked_of_the_image_is_told(qtbot, make_visit, hands, quick_pictures) -> None:
    """The image says nothing before a point is checked, and then what is seen there."""
    window = make_visit()
    runs = OURS[: OURS.index(CHECK[0]) + 1]
    play(window, hands, runs)
    qtbot.waitUntil(lambda: all(p.found for p in window.image.slices.pictures.values()))
    assert window.tabs.currentIndex() == IMAGE
    assert window.image.seen.text() == "Nothing has been checked yet."
    play(window, hands, CHECK[1:2])
    assert "filed under Tom Rowan" in window.image.seen.text()
    assert "Edges" not in window.image.seen.text()


@pytest.mark.parametrize("helped", [HelpLevel.OPEN, HelpLevel.NONE])
def test_outlines_wait_for_the_prediction(qtbot, make_visit, hands, quick_pictures, helped) -> None:
    """They tell what was held: before the end only the most open help shows them."""
    window = make_visit(helped)
    play(window, hands, OURS[: OURS.index(CHECK[0]) + 1])
    slices = window.image.slices
    qtbot.waitUntil(lambda: all(p.found for p in slices.pictures.values()))
    assert slices.bar.marks.isVisible() is helped.looks_inside
    marked = any(p.found.marks for p in slices.pictures.values())
    assert marked is helped.looks_inside
    play(window, hands, OURS[OURS.index(CHECK[0]) + 1 :])
    window.debrief.skipped.emit()
    window.tabs.setCurrentIndex(IMAGE)
    qtbot.waitUntil(lambda: any(p.found.marks for p in slices.pictures.values()))
    assert slices.bar.marks.isChecked()


def test_a_volume_can_be_cancelled_and_computed_after_all(
    qtbot, make_visit, hands, quick_pictures, monkeypatch
) -> None:
    """Cancelling says that nothing is lost, and the button computes it again."""

    def endless(bench, run, tell, is_cancelled):
        while not is_cancelled():
            tell("taking the views", 0.4)
            time.sleep(0.01)
        raise RecordingCancelled

    plain = volume_job.compute
    monkeypatch.setattr(volume_job, "compute", endless)
    window = make_visit()
    play(window, hands, OURS[: OURS.index(CHECK[0]) + 1])
    image = window.image
    qtbot.waitUntil(lambda: image.progress.value() == 40)
    assert "taking the views" in image.message.text()
    qtbot.mouseClick(image.cancel, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(image.again.isVisible)
    assert "Nothing is lost" in image.message.text()
    monkeypatch.setattr(volume_job, "compute", plain)
    qtbot.mouseClick(image.again, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: image.slices.sliced is not None)
    assert not image.cancel.isVisible()
    assert not image.again.isVisible()


def test_a_volume_that_fails_is_told_calmly(
    qtbot, make_visit, hands, quick_pictures, monkeypatch
) -> None:
    """What happened, what is safe, what to do next."""

    def broken(bench, run, tell, is_cancelled):
        raise MemoryError("not enough memory for 500 MB")

    monkeypatch.setattr(volume_job, "compute", broken)
    window = make_visit()
    play(window, hands, OURS[: OURS.index(CHECK[0]) + 1])
    qtbot.waitUntil(window.image.again.isVisible)
    told = window.image.message.text()
    assert "not enough memory" in told
    assert "are kept" in told
    assert "again" in told


def test_what_stands_in_the_beam_is_told_with_its_source(
    qtbot, make_visit, hands, quick_pictures
) -> None:
    """Behind “About this volume”: grain, dose range with its source, organs, the caution."""
    window = make_visit()
    play(window, hands, OURS[: OURS.index(CHECK[0]) + 1])
    image = window.image
    qtbot.waitUntil(lambda: image.slices.sliced is not None)
    assert not image.about.isVisible()
    image.more.click()
    assert image.about.isVisible()
    told = image.about.toPlainText()
    for needed in ("Ludlow", "µSv", "In the beam", "thyroid", "Training only", "Not in it"):
        assert needed in told


def test_closing_while_a_volume_is_computed(qtbot, make_visit, hands, monkeypatch) -> None:
    """The window cancels it and closes within two seconds."""

    def endless(bench, run, tell, is_cancelled):
        while not is_cancelled():
            time.sleep(0.01)
        raise RecordingCancelled

    monkeypatch.setattr(volume_job, "compute", endless)
    monkeypatch.setattr(scout_job, "compute", plain_picture)
    monkeypatch.setattr(scout_job, "person_head", lambda person, spacing_mm, tell: None)
    window = make_visit()
    play(window, hands, OURS[: OURS.index(CHECK[0]) + 1])
    with qtbot.waitSignal(window.closed, timeout=2000):
        window.close()


def test_a_log_that_cannot_be_written_is_told_calmly(make_visit, hands, monkeypatch) -> None:
    """The act is not done, and the message says what happened, what is safe and what to do."""
    window = make_visit()

    def full(size: int) -> int:
        raise OSError(28, "No space left on device")

    from trainer.services import attempt_log

    monkeypatch.setattr(attempt_log, "_write", lambda file, line: full(len(line)))
    assert not window.controller.do(do.ReadRequest)
    (box,) = window.findChildren(QMessageBox)
    told = f"{box.text()} {box.informativeText()}"
    assert "No space left" in told
    assert "kept" in told
    assert "Traceback" not in told
    assert window.controller.state.log == ()
    box.close()


@pytest.mark.parametrize("size", [(1276, 766), (1020, 734)])
def test_it_fits_small_screens(qtbot, make_visit, hands, quick_pictures, size) -> None:
    """On 1280 by 800 and 1024 by 768 no page is wider than its place, and the caution is seen."""
    window = make_visit(HelpLevel.OPEN)
    window.resize(*size)
    play(window, hands, TO_THE_SWITCH)
    for phase in Phase:
        window.left.open(phase)
        QApplication.processEvents()
        page = window.left.pages[phase]
        assert page.widget().minimumSizeHint().width() <= page.viewport().width(), phase
    for index in (PATIENT, SCOUTS, IMAGE):
        window.tabs.setCurrentIndex(index)
        QApplication.processEvents()
        assert (window.width(), window.height()) == size


def test_from_outside_a_look_is_only_a_glance(make_visit, hands) -> None:
    """Outside, looking from the front counts as no look at the lines and is not refused."""
    window = make_visit()
    play(window, hands, TO_THE_SWITCH)
    known = window.controller.state.log
    window.actions_by_name["front"].trigger()
    assert window.controller.state.log == known
    assert window.notice.isHidden()


def test_looking_from_a_flat_view_is_a_look(qtbot, make_visit, hands) -> None:
    """Inside, the button over a flat view sends the look that the engine counts."""
    window = make_visit()
    play(window, hands, TO_THE_SWITCH[: TO_THE_SWITCH.index(OUT[2])])
    for view, button in window.patient.stand.items():
        button.click()
        assert window.controller.state.log[-1].event == ev.Looked(view, True)


# Words that tell a learner what only the program knows, or what to do.
HINTS = ("would hit", "would pass", "hint", "suggest", "inside", "below the field", "best",
         "above the field", "outside the field", "from its middle", "It is:")  # fmt: skip
ANGLES = ("pitch_deg", "yaw_deg", "roll_deg")


def test_an_exam_gives_no_hint_and_no_angles(make_visit, hands, quick_pictures) -> None:
    """Up to the prediction no widget and no line of the list hints, or has an angle in it."""
    window = make_visit(HelpLevel.NONE)
    acts = without(OURS, doing(do.Finish))
    for found in acts:
        play(window, hands, [found])
        assert window.hint.isHidden()
    assert not window.ask_hint.isVisible()
    assert "hint" not in window.actions_by_name
    assert not window.controller.do(do.AskHint)
    seen = [
        w.text()
        for kind in (QLabel, QPushButton)
        for w in window.findChildren(kind)
        if w is not window.notice and not (window.debrief.isAncestorOf(w) or w.isHidden())
    ]
    seen = [text for text in seen if text not in (window.header.card.text(), START)]
    told = [text for text in (*seen, *window.events.texts()) if "in the room" not in text]
    for text in told:
        assert not any(word in text for word in HINTS), text
    assert not any("°" in text.replace("Arm turned by 90°", "") for text in told)
    for key in ANGLES:
        assert isinstance(window.left.hands.entries[key], SlideEntry)


def test_with_other_help_the_angles_are_numbers(make_visit) -> None:
    """Only the exam takes the head's numbers away."""
    window = make_visit(HelpLevel.ON_REQUEST)
    assert all(isinstance(window.left.hands.entries[k], NumberEntry) for k in ANGLES)


def test_a_hint_is_given_on_request_and_noted(make_visit, hands) -> None:
    """Asked for by button or Ctrl+H it shows, stands in the log, and nothing is told unasked."""
    window = make_visit(HelpLevel.ON_REQUEST)
    play(window, hands, TO_THE_SWITCH)
    assert window.hint.isHidden()
    window.ask_hint.click()
    assert window.hint.isVisible()
    given = [e.event for e in window.controller.state.log if isinstance(e.event, ev.HintGiven)]
    assert [g.words for g in given] == [window.hint.text()]
    window.actions_by_name["hint"].trigger()
    assert len(window.controller.state.times(ev.HintGiven)) == 2


def test_landmarks_are_named_only_with_that_help(make_visit, hands) -> None:
    """With the help "lines" the flat views name landmarks; with less they do not."""

    def names(window) -> set[str]:
        play(window, hands, TO_THE_SWITCH)
        window.patient.draw()
        flats = window.patient.flats.values()
        return {getattr(s, "text", "") for f in flats for s in f.picture.shapes}

    assert {"ear canal", "chin", "angle of the jaw"} <= names(make_visit(HelpLevel.LINES))
    assert not {"ear canal", "chin"} & names(make_visit(HelpLevel.ON_REQUEST))


def test_the_end_is_told_once_with_the_log(qtbot, make_visit, hands) -> None:
    """After the prediction the log's path and the bench are told, and not again on closing."""
    window = make_visit()
    told = []
    window.attempt_finished.connect(lambda *found: told.append(found))
    play(window, hands, [act(do.ReadRequest), act(do.Finish)])
    assert told == []
    window.debrief.form.skip.click()
    assert told == [(window.path, window.bench)]
    window.close()
    assert len(told) == 1


def test_closing_before_the_prediction_tells_the_end_too(make_visit, hands) -> None:
    """A finished attempt is never lost, and one that is not over is not told as finished."""
    window = make_visit()
    told = []
    window.attempt_finished.connect(lambda *found: told.append(found))
    play(window, hands, [act(do.ReadRequest), act(do.Finish)])
    window.close()
    assert told == [(window.path, window.bench)]
    other = make_visit()
    other.attempt_finished.connect(lambda *found: told.append(found))
    play(other, hands, [act(do.ReadRequest)])
    other.close()
    assert len(told) == 1


def test_a_prediction_that_cannot_be_noted_reveals_nothing(make_visit, hands, monkeypatch) -> None:
    """With a full disk the form stays, says what is safe, and the result stays hidden."""
    window = make_visit()
    play(window, hands, [act(do.ReadRequest), act(do.Finish)])
    from trainer.services import attempt_log

    def full(file, line):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(attempt_log, "_write", full)
    window.debrief.form.say.click()
    assert window.debrief.form.told.text() == NOT_NOTED
    assert not window.revealed
    for box in window.findChildren(QMessageBox):
        box.close()

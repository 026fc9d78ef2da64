"""The appointment of the panoramic case in the window: signs, no scouts, the picture, the end."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from trainer.app.appointment import scout_job
from trainer.app.appointment.acts import Phase
from trainer.app.appointment.hint import hint
from trainer.app.appointment.scout_panel import NO_SCOUTS
from trainer.app.appointment.sign_form import CHOOSE
from trainer.app.appointment.window import SCOUTS
from trainer.app.volume import volume_job
from trainer.app.volume.panorama_view import PanoramaView
from trainer.engine.appointment.signs import named_signs
from trainer.engine.appointment.state import open_appointment
from trainer.engine.panoramic.signs import SIGN_WORDS
from trainer.models.appointment_commands import Command, Wait
from trainer.models.appointment_words import ImagePoint, Stance
from trainer.models.learning import HelpLevel
from trainer.models.panorama import PanoramaFault, PanoramaSign
from trainer.services.appointment import context_of
from trainer.services.appointment_report import ending
from trainer.services.command_list import load_commands
from trainer.services.panorama import PanoramaPicture, take_panorama
from trainer.services.scouts import person_head
from trainer.services.solutions import SOLUTIONS
from trainer.services.volumes.record import default_programme, still_ask
from trainer.services.workbench import Workbench, open_workbench


@pytest.fixture(scope="module")
def panoramic() -> Workbench:
    """The shipped case for a panoramic picture."""
    return open_workbench("panoramic-overview")


@pytest.fixture(scope="module")
def commands() -> tuple[Command, ...]:
    """How it can be done well."""
    return load_commands(SOLUTIONS / "panoramic_overview.yaml").commands


@pytest.fixture(scope="module")
def picture(panoramic) -> PanoramaPicture:
    """A coarse picture of its start."""
    setup = panoramic.case.start
    ask = still_ask(panoramic, setup, default_programme(panoramic, setup), 1)
    head = person_head(panoramic.case.subject.person, 2.0)
    return take_panorama(panoramic, ask, head=head, pixel_mm=1.5)


@pytest.fixture
def coarse(monkeypatch, picture) -> None:
    """Pictures take no time."""
    monkeypatch.setattr(volume_job, "compute", lambda bench, run, tell, cancelled: picture)
    monkeypatch.setattr(scout_job, "person_head", lambda person, spacing_mm, tell: None)


def play(window, hands, commands: tuple[Command, ...], until: str = "") -> None:
    """Do commands at their times, up to the first of that name."""
    for command in commands:
        if type(command).__name__ == until:
            return
        hands.wait(command.at_s - hands.now_s)
        if not isinstance(command, Wait):
            values = {k: getattr(command, k) for k in command.__dataclass_fields__ if k != "at_s"}
            assert window.controller.do(type(command), **values), command
        else:
            window.controller.tick()


def test_signs_are_chosen_and_named_once(make_visit, hands, panoramic, coarse) -> None:
    """Three faults, each with all signs to choose from; named, a row is closed."""
    window = make_visit(bench=panoramic)
    window.left.open(Phase.PLACE)
    form = window.left.signs
    assert form.isVisible() and len(form.signs) == 3
    for box in form.signs.values():
        assert box.count() == 1 + len(PanoramaSign) and box.currentText() == CHOOSE
    box, button = (d[PanoramaFault.TURNED] for d in (form.signs, form.buttons))
    assert not button.isEnabled()
    box.setCurrentIndex(box.findText(SIGN_WORDS[PanoramaSign.ONE_SIDE_WIDER]))
    assert button.isEnabled()
    button.click()
    assert named_signs(window.controller.state) == {
        PanoramaFault.TURNED: PanoramaSign.ONE_SIDE_WIDER
    }
    assert not box.isEnabled() and not button.isEnabled() and button.text() == "✓ Named"
    assert "Head turned: teeth and ramus wider" in " ".join(window.events.texts())


def test_a_case_for_a_volume_asks_for_no_signs(make_visit, quick_pictures) -> None:
    """The form is not there, and the switch for scouts is."""
    window = make_visit()
    window.left.open(Phase.PLACE)
    assert not window.left.signs.isVisible()
    window.left.open(Phase.SCOUT)
    assert window.left.scouts.isVisible()


def test_there_is_no_switch_for_scouts(make_visit, panoramic, coarse) -> None:
    """Their page says why, and what to go by instead."""
    window = make_visit(bench=panoramic)
    window.left.open(Phase.SCOUT)
    assert not window.left.scouts.isVisible()
    assert window.scouts.told.text() == NO_SCOUTS
    window.tabs.setCurrentIndex(SCOUTS)
    assert window.scouts.told.isVisible() and not window.scouts.below.isVisible()


def test_the_whole_appointment(qtbot, make_visit, hands, panoramic, commands, coarse) -> None:
    """As the shipped solution: the picture is shown with what it is, nothing fails at the end."""
    window = make_visit(bench=panoramic)
    play(window, hands, commands, until="CheckImage")
    image = window.image
    qtbot.waitUntil(lambda: image.panorama.sheet.grey is not None)
    assert image.panorama.isVisibleTo(image) and not image.slices.isVisibleTo(image)
    assert "panoramic picture" in image.about.toPlainText()
    assert "Training only" in image.about.toPlainText()
    assert not image.panorama.teeth.isVisible() and image.panorama.sheet.marks == ()
    rest = tuple(c for c in commands if c.at_s >= window.controller.state.at_s)
    play(window, hands, tuple(c for c in rest if type(c).__name__ != "OpenImage"))
    found = ending(window.controller.state)
    assert found.passed and found.slips == ()
    image.reveal()
    assert image.panorama.teeth.isVisibleTo(image)
    assert len(image.panorama.sheet.marks) == 32
    image.panorama.teeth.setChecked(False)
    assert image.panorama.sheet.marks == ()


def test_a_crooked_head_is_seen_by_its_signs(
    qtbot, make_visit, hands, panoramic, commands, coarse
) -> None:
    """Where the image is checked, the panel tells signs and never speaks of slices."""
    from dataclasses import replace

    window = make_visit(bench=panoramic)
    last = max(n for n, c in enumerate(commands) if "yaw_deg" in getattr(c, "values", {}))
    values = {**commands[last].values, "yaw_deg": -9.0}
    wrong = (*commands[:last], replace(commands[last], values=values), *commands[last + 1 :])
    play(window, hands, wrong, until="GradeImage")
    qtbot.waitUntil(lambda: window.image.panorama.sheet.grey is not None)
    state = window.controller.state
    assert ImagePoint.COVERAGE in state.runs[-1].checked
    seen = window.image.seen.text()
    assert "wider on one side" in seen
    assert "slices" not in seen


def test_level_and_window_change_the_greys(qtbot, picture) -> None:
    """A higher level is darker; a narrow window has more black and white. Letters stay."""
    view = PanoramaView()
    qtbot.addWidget(view)
    view.resize(700, 420)
    view.show_picture(picture)
    view.show()
    first = view.sheet.grey.copy()
    view.level.setValue(view.level.value() + 2.0)
    assert view.sheet.grey.mean() < first.mean()
    view.level.setValue(view.level.value() - 2.0)
    view.window_width.setValue(1.0)
    extremes = np.isin(view.sheet.grey, (0, 255)).mean()
    assert extremes > np.isin(first, (0, 255)).mean()
    shot = view.sheet.grab().toImage()
    assert not shot.isNull()


def test_open_help_names_the_limit_that_is_not_kept(panoramic) -> None:
    """All structures are inside at the start; what is told is the turned head."""
    state = open_appointment(context_of(panoramic), 1)
    person = next(w for w in state.context.visit.waiting)
    placed = state.context.placing(panoramic.case.start)
    there = SimpleNamespace(
        person=SimpleNamespace(id=person.id, stance=Stance.STANDING), context=state.context
    )
    assert placed.all_required_inside
    assert hint(there, placed, HelpLevel.OPEN).startswith("The face is turned 8° to the right")
    assert "inside" not in hint(there, placed, HelpLevel.ON_REQUEST)

"""The instructor's pages."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from helpers.attempts import series
from helpers.keyboard import missed_by_tab
from helpers.records import NOW, supervised_of
from pypdf import PdfReader
from PySide6.QtWidgets import QFileDialog, QMessageBox

from trainer.app.learners.erase_dialog import EraseDialog
from trainer.app.learners.pin_dialog import PinDialog
from trainer.models.learning import HelpLevel
from trainer.scene.palette import PAPER, contrast
from trainer.services.learning.group import judged_rows
from trainer.services.records.forms import DOMAINS
from trainer.services.workbench import DEMO_CASE

PEOPLE = ("Dunlin 10", "Jay 20", "Martin 30", "Plover 40", "Wren 50")


@pytest.fixture
def people(records, hazel):
    """Five learners of the group with attempts and supervised cases, and one of another group."""
    made = [records.learners.add(name, now=NOW, group="spring") for name in PEOPLE]
    for person in made:
        for each in series("SFSS", learner_id=person.id):
            own = f"{person.id}-{each.id}"
            records.add_attempt(replace(each, id=own, log=own.encode()))
        records.add_supervised(supervised_of(person), hazel)
    records.learners.add("Siskin 99", now=NOW, group="autumn")
    return made


@pytest.fixture
def page(qtbot, enter, hazel, people):
    """The instructor's window, read."""
    door = enter(hazel)
    door.acts["instructor"].trigger()
    qtbot.waitUntil(lambda: door.page.people.table.rowCount() > 0, timeout=20000)
    qtbot.waitUntil(door.page.isActiveWindow)
    return door.page


def names(page) -> list[str]:
    """The people that are listed."""
    table = page.people.table
    return [table.item(row, 0).text() for row in range(table.rowCount())]


def test_learners_do_not_see_it(enter, heron) -> None:
    """For who is no instructor the page cannot be opened."""
    door = enter(heron)
    assert not door.acts["instructor"].isEnabled()
    door.show_instructor()
    assert door.page is None


def test_only_the_own_group_is_there_by_name(page) -> None:
    """The group's learners are listed by pseudonym and nobody else; no score stands beside them."""
    assert names(page) == list(PEOPLE)
    headers = [
        page.people.table.horizontalHeaderItem(c).text()
        for c in range(page.people.table.columnCount())
    ]
    assert headers == ["Pseudonym", "Attempts", "Supervised", "Observed", "Since"]


def test_simulation_and_supervised_work_never_meet(qtbot, page) -> None:
    """The group is shown without a name or a supervised case, the log without a simulated one."""
    simulated = page.group.text.toPlainText() + page.panel.text.toPlainText()
    assert "5 people, 20 attempts" in simulated
    assert not any(name in simulated for name in PEOPLE)
    assert "upervised" not in simulated
    page.tabs.setCurrentWidget(page.rejects)
    qtbot.waitUntil(lambda: page.rejects.plots.choice.count() > 0, timeout=60000)
    supervised = page.rejects.plots.text.toPlainText()
    assert "0 of 5" in supervised
    assert "imulated" not in supervised
    # 1 - 0.05 ** (1 / 5) = 0.4507: exact one-sided 95 % bound of no failure in five
    assert "45.1 %" in supervised
    texts = [page.tabs.tabText(i).split(":")[0] for i in range(page.tabs.count())]
    assert texts == ["People", *["Simulation"] * 3, *["Supervised"] * 3]


def test_items_of_a_case(qtbot, page) -> None:
    """Chosen by title, a case shows how each row of its score worked, with intervals."""
    page.group.case.choose("case-a")
    text = page.group.items.toPlainText()
    assert "Row of position: 100 % (57–100 %)" in text  # Wilson, 5 of 5
    page.group.case.setCurrentIndex(0)
    assert page.group.items.toPlainText() == ""


def test_simulated_rejects_from_five_people_on(qtbot, page, people) -> None:
    """Five people are enough for the group's rejects; with one less there is no chart, but why."""
    page.tabs.setCurrentWidget(page.simulated)
    qtbot.waitUntil(lambda: page.simulated.plots.choice.count() > 0, timeout=60000)
    said = page.simulated.plots.text.toPlainText()
    assert "0 of 20" in said
    # 80 of 1737 with the Wilson interval of our reference table (Clin Oral Investig 2020;24:4501)
    assert "80 of 1737 (4.6 %, 95 % interval 3.7–5.7 %)" in said
    page._door.papers.erase(people[0])
    (dialog,) = page._door.front.findChildren(EraseDialog)
    dialog.typed.setText(people[0].pseudonym)
    dialog.erase_button.click()
    qtbot.waitUntil(lambda: page.simulated.none_shown.isVisible(), timeout=20000)
    assert "fewer than 5 people" in page.simulated.none_shown.text()
    assert not page.simulated.plots.isVisible()
    (box,) = [b for b in page.findChildren(QMessageBox) if b.isVisible()]
    box.close()


def test_a_supervised_case_is_forced_and_kept(qtbot, page, records, people, hazel) -> None:
    """Nothing but the day is filled in beforehand; what is missing is told beside each field."""
    form = page.supervised
    form.keep()
    shown = {key for key, label in form.form._faults.items() if label.isVisibleTo(form)}
    assert shown == {
        "learner_id", "supervisor", "region", "field_class", "patient_group", "positioned_by",
        "prompts", "scouts", "exposures", "grade", "supervision", "done_well", "aim",
    }  # fmt: skip
    assert "13 things" in form.told.text()
    assert len(records.supervised(people[1].id)) == 1
    form.learner.choose(people[1].id)
    form.supervisor.setText("Mr Elder")
    form.region.choose("joint")
    form.field_class.choose("small")
    form.patient_group.choose("child")
    form.positioned_by.choose("trainee")
    for count, entry in enumerate((form.prompts, form.scouts, form.exposures)):
        entry.setValue(count)
    form.grade.choose("N")
    form.supervision.choose(4)
    form.done_well.setText("calm words")
    form.aim.setText("free path")
    form.keep()
    assert form.form._faults["cause"].text() != ""
    form.cause.choose("motion")
    with qtbot.waitSignal(page._door.people_changed):
        form.keep_button.click()
    _, kept = records.supervised(people[1].id)
    assert (kept.prompts, kept.scouts, kept.exposures) == (0, 1, 2)
    assert (kept.grade, kept.cause, kept.on) == ("N", "motion", NOW.date())
    assert form.grade.value is None
    qtbot.waitUntil(lambda: len(page.supervised.group.supervised) == 6)


def test_a_learners_count_stands_beside_the_log(page, people) -> None:
    """With a learner chosen the log is theirs, without a column for who, and it is counted."""
    form = page.supervised
    assert not form.counted.isVisibleTo(form)
    assert not form.table.isColumnHidden(0)
    assert form.table.rowCount() == len(people)
    form.learner.choose(people[0].id)
    assert form.table.isColumnHidden(0)
    assert form.table.rowCount() == 1
    assert "cases 1 (25)" in form.counted.text()
    form.learner.setCurrentIndex(0)
    assert not form.counted.isVisibleTo(form)


@pytest.mark.parametrize("number", range(7))
def test_every_page_is_worked_by_keyboard(qtbot, page, number: int) -> None:
    """Tab alone leads to everything on a page that can be pressed, chosen or typed in."""
    page.tabs.setCurrentIndex(number)
    shown = page.tabs.currentWidget()
    if shown in (page.simulated, page.rejects):
        qtbot.waitUntil(lambda: shown.plots.choice.count() > 0, timeout=60000)
    page.tabs.tabBar().setFocus()
    assert missed_by_tab(qtbot, page) == []


def test_hints_in_empty_entries_can_be_read(qtbot, page) -> None:
    """The hint in an empty entry has a contrast of 4.5:1 at its darkest (WCAG 2.2, 1.4.3)."""
    for entry in (page.people.name, page.people.text):
        picture = entry.grab().toImage()
        inner = [
            picture.pixelColor(x, y)
            for x in range(4, picture.width() - 4)
            for y in range(4, min(picture.height(), 30) - 4)
        ]
        darkest = min(inner, key=lambda c: c.lightness())
        assert contrast(darkest.getRgb()[:3], PAPER) >= 4.5


def test_an_observers_rating_is_never_proposed(qtbot, page, records, people) -> None:
    """The overall rating is empty until the observer gives it, whatever the domains say."""
    form = page.observed
    form.learner.choose(people[0].id)
    form.observer.setText("Mrs Hazel")
    form.setting.choose("simulation")
    form.attempt.choose(f"{people[0].id}-0003")
    for domain in DOMAINS[:9]:
        form.ratings[domain].choose(5)
    form.supervision.choose(5)
    form.done_well.setText("asked first")
    form.aim.setText("look twice")
    assert form.overall.value is None
    form.keep()
    faults = {key for key, label in form.form._faults.items() if label.isVisibleTo(form)}
    assert faults == {"overall"}
    form.overall.choose(2)
    with qtbot.waitSignal(page._door.people_changed):
        form.keep_button.click()
    (kept,) = records.observations(people[0].id)
    assert (kept.overall, kept.supervision) == (2, 5)
    assert dict(kept.ratings) == dict.fromkeys(DOMAINS[:9], 5)
    assert kept.attempt_id == f"{people[0].id}-0003"
    assert form.overall.value is None


def test_a_real_procedure_has_no_simulated_attempt(page, people) -> None:
    """An attempt beside a real procedure is refused."""
    form = page.observed
    form.learner.choose(people[0].id)
    form.setting.choose("real procedure")
    form.attempt.choose(f"{people[0].id}-0003")
    form.keep()
    assert "belongs to a simulation" in form.form._faults["attempt_id"].text()


def test_estimates_of_a_panel_come_to_a_pass_mark(qtbot, page, records, hazel) -> None:
    """Two judges' estimates give the mean of their sums (Angoff): 90, 70 and 80, 60 make 75 %."""
    other = records.learners.add("Teal 77", now=NOW, group="spring", is_instructor=True, by=hazel)
    form = page.panel
    form.keep()
    qtbot.waitUntil(lambda: "Name the panel" in form.told.text())
    keys = [key for _, key, _ in judged_rows()][:2]
    for judge, shares in ((hazel, (90, 70)), (other, (80, 60))):
        form._judge = judge
        form.panel.setText("spring")
        form.case.choose(DEMO_CASE)
        for key, share in zip(keys, shares, strict=True):
            form.shares[key].setValue(share)
        with qtbot.waitSignal(page._door.people_changed):
            form.keep()
    qtbot.waitUntil(lambda: "75.0 %" in form.text.toPlainText())
    assert len(records.estimates(hazel)) == 4
    assert all(spin.text() == "–" for spin in form.shares.values())


def test_what_goes_out(qtbot, page, monkeypatch, tmp_path) -> None:
    """The printed page has the name typed for it, on the paper chosen; tables and statements too.

    Letter: 8.5 by 11 inches of 72 points.
    """
    part = page.people
    part.name.setText("Rowan Ash")
    part.paper.choose("letter")
    named = {"record.pdf": tmp_path / "page.pdf", "attempts.jsonl": tmp_path / "all"}
    monkeypatch.setattr(
        QFileDialog, "getSaveFileName", lambda parent, title, name, kind: (str(named[name]), "")
    )
    monkeypatch.setattr(QFileDialog, "getExistingDirectory", lambda *_: str(tmp_path / "tables"))
    for button_on, path in (
        (part._on_page, tmp_path / "page.pdf"),
        (part._on_statements, tmp_path / "all.jsonl"),
        (part._on_tables, tmp_path / "tables"),
    ):
        button_on()
        qtbot.waitUntil(lambda: part.text.toPlainText().startswith("Saved"), timeout=60000)
        assert path.exists()
        part.text.clear()
    (sheet,) = PdfReader(tmp_path / "page.pdf").pages
    assert tuple(float(v) for v in sheet.mediabox[2:]) == (612.0, 792.0)
    assert "Rowan Ash" in sheet.extract_text()
    assert len((tmp_path / "all.jsonl").read_text().splitlines()) == 20
    assert len(list((tmp_path / "tables").iterdir())) == 4


def test_verifying_and_keeping(qtbot, page, records, hands) -> None:
    """Verifying tells what was looked at; who was kept for too long is listed, nobody is erased."""
    part = page.people
    part._on_verify()
    qtbot.waitUntil(lambda: "Looked at" in part.text.toPlainText(), timeout=20000)
    assert "20 stored scores" in part.text.toPlainText()
    part.months.setValue(36)
    part._on_overdue()
    qtbot.waitUntil(lambda: "Nobody has been kept" in part.text.toPlainText())
    hands.now = hands.now.replace(year=2199)
    part._on_overdue()
    qtbot.waitUntil(lambda: "Kept for more than" in part.text.toPlainText())
    listed = part.text.toPlainText()
    assert all(name in listed for name in PEOPLE)
    assert "Siskin 99" not in listed
    assert len(records.learners.all()) == 7


def test_a_pin_is_reset(qtbot, page, records, people) -> None:
    """The instructor gives a learner another PIN without knowing the one before."""
    page.people._on_pin()
    (dialog,) = page.findChildren(PinDialog)
    dialog.new.setText("2468")
    dialog.again.setText("2468")
    with qtbot.waitSignal(dialog.changed):
        dialog.change_button.click()
    assert records.learners.sign_in(people[0].id, "2468", NOW) == people[0]


def test_an_instructor_sees_a_learners_progress(qtbot, page, people) -> None:
    """A learner's own pages open for the instructor of the group, with the learner's attempts."""
    door = page._door
    page.people.table.setCurrentCell(2, 0)
    page.people.one["progress"].click()
    progress = door.page
    qtbot.waitUntil(lambda: progress.attempts.table.rowCount() == 4, timeout=20000)
    assert progress.windowTitle() == f"Progress of {PEOPLE[2]}"
    assert date(2026, 1, 8).isoformat() in progress.attempts.table.item(0, 0).text()
    assert HelpLevel.NONE in {a.help for a in progress._view.attempts}

"""The debrief itself: words on the right, on the left the setups, slices, numbers, and replay."""

from __future__ import annotations

from enum import Enum
from functools import partial

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QButtonGroup,
    QComboBox,
    QHBoxLayout,
    QLabel,
    QRadioButton,
    QSplitter,
    QTabWidget,
    QTextBrowser,
    QVBoxLayout,
    QWidget,
)

from trainer.app.appointment.acts_panel import act_button
from trainer.app.appointment.ending_panel import EndingPanel
from trainer.app.debrief.numbers_table import NumbersTable
from trainer.app.debrief.setup_views import SetupViews
from trainer.app.debrief.slice_view import SlicePane
from trainer.app.debrief.timeline import Timeline
from trainer.app.debrief.told import debrief_html
from trainer.engine.appointment.state import AppointmentState
from trainer.engine.debrief.best import Best
from trainer.models.setup import Setup
from trainer.services.debrief import Debrief
from trainer.services.workbench import Workbench

OUTSIDE, SLICES, NUMBERS, DETAILS = range(4)
NO_RUN = "No image was made: there is no placement to be shown. The replay below shows the rest."
NOBODY = "Nobody is at the unit at this moment."
WORDS_PX = 396


class Shown(Enum):
    """Which setup the views show."""

    MINE = "Mine"
    BEST = "Best"
    BOTH = "Both"
    MOVED = "With the movement"
    REPLAY = "Replay"


TIPS = {
    Shown.MINE: "The head and field of your run.",
    Shown.BEST: "The nearest setup that holds what can be held, with region and field as ordered.",
    Shown.BOTH: "Your head and field; dashed, where the best setup has its field on this head.",
    Shown.MOVED: "After the movement that would have helped; dashed, the field as it was.",
    Shown.REPLAY: "The moment that the slider below stands at.",
}


class DebriefPage(QWidget):
    """Shows a `Debrief`; every view by keyboard."""

    def __init__(self, bench: Workbench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.bench = bench
        self._found: Debrief | None = None
        self.choices: dict[Shown, QRadioButton] = {}
        self._group = QButtonGroup(self)
        self.run = QComboBox()
        self.run.setAccessibleName("Which run is shown")
        self.run.setVisible(False)
        self.run.currentIndexChanged.connect(self._on_run)
        self.views = SetupViews(bench)
        self.slices = SlicePane()
        self.numbers = NumbersTable(bench.unit)
        self.details = EndingPanel()
        visit = bench.case.visit
        assert visit is not None
        self.timeline = Timeline(visit)
        self.timeline.moved.connect(self._on_moment)
        self.headline = QLabel()
        self.headline.setObjectName("headline")
        self.headline.setWordWrap(True)
        self.text = QTextBrowser()
        self.text.setAccessibleName("Debrief")
        self.text.setOpenLinks(False)
        self.text.setTextInteractionFlags(
            Qt.TextInteractionFlag.TextSelectableByMouse
            | Qt.TextInteractionFlag.TextSelectableByKeyboard
        )
        self.show_movement = act_button("Show the movement", partial(self.choose, Shown.MOVED))
        self.show_details = act_button("All details", self.open_details)
        self._build()

    def _build(self) -> None:
        row = QHBoxLayout()
        for shown in Shown:
            button = QRadioButton(shown.value)
            button.setToolTip(TIPS[shown])
            button.setMinimumHeight(24)
            button.clicked.connect(partial(self.choose, shown))
            self.choices[shown] = button
            self._group.addButton(button)
            row.addWidget(button)
        row.addStretch(1)
        row.addWidget(self.run)
        self.what = QLabel()
        self.what.setObjectName("quiet")
        self.what.setWordWrap(True)
        self.tabs = QTabWidget()
        for widget, name in (
            (self.views, "From outside"),
            (self.slices, "Slices"),
            (self.numbers, "Numbers"),
            (self.details, "All details"),
        ):
            self.tabs.addTab(widget, name)
        left = QWidget()
        column = QVBoxLayout(left)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(3)
        column.addLayout(row)
        column.addWidget(self.what)
        column.addWidget(self.tabs, 1)
        column.addWidget(self.timeline)
        right = QWidget()
        right.setMinimumWidth(300)
        column = QVBoxLayout(right)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        column.addWidget(self.headline)
        column.addWidget(self.text, 1)
        row = QHBoxLayout()
        row.addWidget(self.show_movement)
        row.addWidget(self.show_details)
        column.addLayout(row)
        whole = QSplitter(Qt.Orientation.Horizontal)
        whole.addWidget(left)
        whole.addWidget(right)
        whole.setStretchFactor(0, 1)
        whole.setSizes([1000, WORDS_PX])
        whole.setChildrenCollapsible(False)
        column = QVBoxLayout(self)
        column.setContentsMargins(2, 2, 2, 2)
        column.addWidget(whole)

    def show_debrief(self, found: Debrief, state: AppointmentState) -> None:
        """Show a debrief; the words have the focus."""
        self._found = found
        self.headline.setText(f"{'✓' if found.passed else '×'} {found.headline}")
        self.headline.setProperty("state", "inside" if found.passed else "missed")
        self.headline.style().unpolish(self.headline)
        self.headline.style().polish(self.headline)
        self.text.setHtml(debrief_html(found))
        self.details.show_ending(state)
        self.timeline.show_moments(found.course)
        moved = found.movement
        can_move = moved is not None and bool(moved.changes)
        self.show_movement.setEnabled(can_move)
        for shown in (Shown.MINE, Shown.BEST, Shown.BOTH):
            self.choices[shown].setEnabled(bool(found.best))
        self.choices[Shown.MOVED].setEnabled(can_move)
        self.run.blockSignals(True)
        self.run.clear()
        self.run.addItems([f"Run {b.run}" for b in found.best])
        self.run.blockSignals(False)
        self.run.setVisible(len(found.best) > 1)
        self.views.start()
        self._show_numbers()
        if found.best:
            self.choose(Shown.MINE)
        else:
            self._mark(Shown.REPLAY)
            self.views.show_words(NO_RUN)
            self.slices.show_missing(NO_RUN)
            self.slices.again.setVisible(False)
        self.text.setFocus()

    @property
    def shown(self) -> Shown:
        """Which setup the views show."""
        return next(s for s, button in self.choices.items() if button.isChecked())

    @property
    def best(self) -> Best | None:
        """The run that is shown beside the best; None without one."""
        found = self._found
        return found.best[max(self.run.currentIndex(), 0)] if found and found.best else None

    def choose(self, shown: Shown) -> None:
        """Show that setup in all views."""
        self._mark(shown)
        if shown is not Shown.REPLAY:
            self.timeline.pause()
        if self.tabs.currentIndex() == DETAILS:
            self.tabs.setCurrentIndex(OUTSIDE)
        best, found = self.best, self._found
        if shown is Shown.REPLAY:
            self._on_moment(self.timeline.number)
        elif shown is Shown.MOVED and found is not None and found.movement is not None:
            self._show(found.movement.after, found.movement.before, "field as it was")
        elif best is not None and shown is Shown.BEST:
            self._show(best.setup)
        elif best is not None and shown is Shown.BOTH:
            self._show(best.mine, best.setup, "best field")
        elif best is not None:
            self._show(best.mine)

    def open_details(self) -> None:
        """Show everything the appointment came to."""
        self.tabs.setCurrentIndex(DETAILS)
        self.details.text.setFocus()

    def shut(self) -> None:
        """Let go of everything; must be called before the window goes."""
        self.timeline.pause()
        self.views.shut()

    def _show(
        self, setup: Setup, other: Setup | None = None, name: str = "", lit: bool = False
    ) -> None:
        self.views.show_setup(setup, other, name, lit)
        self.slices.show_placement(self.views.placement(setup))

    def _mark(self, shown: Shown) -> None:
        self.choices[shown].setChecked(True)
        self.what.setText(TIPS[shown])

    def _on_run(self) -> None:
        self._show_numbers()
        if self.shown is not Shown.REPLAY:
            self.choose(self.shown)

    def _on_moment(self, number: int) -> None:
        if not self.timeline.moments:
            return
        self._mark(Shown.REPLAY)
        moment = self.timeline.moments[number]
        if moment.at_unit:
            self._show(moment.setup, lit=moment.lights_on)
        else:
            self.views.show_words(NOBODY)

    def _show_numbers(self) -> None:
        best, found = self.best, self._found
        if best is None or found is None:
            self.numbers.show_setups(())
            return
        named = [("Mine", best.mine), ("Best near mine", best.setup)]
        index = max(self.run.currentIndex(), 0)
        if index < len(found.worked):
            named.append(("Worked solution", found.worked[index]))
        self.numbers.show_setups(named)

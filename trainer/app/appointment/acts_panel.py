"""Phases on the left, and beside them the acts of the one that is open."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QGridLayout,
    QGroupBox,
    QListWidget,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from trainer.app.appointment.act_list import acts_of
from trainer.app.appointment.acts import Act, ActGroup, Phase
from trainer.app.control_panel import LEAST_TARGET_PX
from trainer.engine.appointment.state import AppointmentState


class ActsPage(QScrollArea):
    """The acts of one phase as buttons, and forms below or above them.

    Signals
    -------
    chosen : Act
        An act that a person wants done.
    """

    chosen = Signal(object)

    def __init__(self, phase: Phase, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.phase = phase
        self.buttons: dict[str, QPushButton] = {}
        self._acts: dict[str, Act] = {}
        self._boxes: list[QGroupBox] = []
        self._shape: tuple[object, ...] = ()
        self.setWidgetResizable(True)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setFrameShape(QScrollArea.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        inside = QWidget()
        self.column = QVBoxLayout(inside)
        self.column.setContentsMargins(4, 2, 6, 4)
        self.column.setSpacing(4)
        self._first = QWidget()  # where the acts stand in the order of Tab
        self._first.setFixedHeight(0)
        # nothing that could never have the focus counts there; Tab itself passes over it
        self._first.setFocusPolicy(Qt.FocusPolicy.ClickFocus)
        self.column.addWidget(self._first)
        self._groups = QVBoxLayout()
        self._groups.setSpacing(4)
        self.column.addLayout(self._groups)
        self._forms = QVBoxLayout()
        self._forms.setSpacing(4)
        self.column.addLayout(self._forms)
        self.column.addStretch(1)
        self.setWidget(inside)

    def add_form(self, form: QWidget) -> None:
        """Put a form below the acts."""
        self._forms.addWidget(form)

    def show_state(self, state: AppointmentState) -> None:
        """Offer what the state offers; buttons that stay keep their place and the focus."""
        groups = acts_of(self.phase, state)
        shape = tuple((g.columns, tuple(a.name for a in g.acts)) for g in groups)
        if shape != self._shape:
            self._build(groups)
            self._shape = shape
        for box, group in zip(self._boxes, groups, strict=True):
            box.setTitle(group.title)
            for act in group.acts:
                self._acts[act.name] = act
                button = self.buttons[act.name]
                # a lone ampersand would be taken for a shortcut
                words = act.label.replace("&", "&&")
                if button.text() != words:
                    button.setText(words)
                    button.setToolTip(act.label)

    def _build(self, groups: Sequence[ActGroup]) -> None:
        had = next((name for name, b in self.buttons.items() if b.hasFocus()), None)
        for box in self._boxes:
            self._groups.removeWidget(box)
            box.setParent(None)
            box.deleteLater()
        self._boxes, self.buttons, self._acts = [], {}, {}
        for group in groups:
            box = QGroupBox(group.title)
            grid = QGridLayout(box)
            grid.setContentsMargins(6, 3, 6, 5)
            grid.setSpacing(3)
            for number, act in enumerate(group.acts):
                button = act_button(act.label)
                button.clicked.connect(partial(self._press, act.name))
                self.buttons[act.name] = button
                grid.addWidget(button, number // group.columns, number % group.columns)
            self._boxes.append(box)
            self._groups.addWidget(box)
            box.show()  # now, not when the event loop comes round: the focus may go there
        # new buttons would come last of all in the order of Tab
        before = self._first
        for button in self.buttons.values():
            QWidget.setTabOrder(before, button)
            before = button
        if had in self.buttons:
            self.buttons[had].setFocus()

    def _press(self, name: str) -> None:
        self.chosen.emit(self._acts[name])


class ActsPanel(QWidget):
    """All phases; every one can be opened at any time.

    Signals
    -------
    chosen : Act
        An act that a person wants done.
    opened : Phase
        Another phase is open.
    """

    chosen = Signal(object)
    opened = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        self.phases = QListWidget()
        self.phases.setObjectName("phases")
        self.phases.setAccessibleName("Phases of the appointment")
        self.phases.setToolTip("Ctrl+Page Up, Ctrl+Page Down: phase before and after.")
        self.stack = QStackedWidget()
        self.pages: dict[Phase, ActsPage] = {}
        for phase in Phase:
            page = ActsPage(phase)
            page.chosen.connect(self.chosen)
            self.pages[phase] = page
            self.stack.addWidget(page)
            self.phases.addItem(str(phase))
        self.phases.currentRowChanged.connect(self._on_row)
        self.phases.setSizeAdjustPolicy(QListWidget.SizeAdjustPolicy.AdjustToContents)
        self.phases.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.phases.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.phases.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        column.addWidget(self.phases)
        column.addWidget(self.stack, 1)
        self._state: AppointmentState | None = None
        self.phases.setCurrentRow(0)

    @property
    def phase(self) -> Phase:
        """The phase that is open."""
        return list(Phase)[max(0, self.phases.currentRow())]

    def open(self, phase: Phase) -> None:
        """Open a phase."""
        self.phases.setCurrentRow(list(Phase).index(phase))

    def go_on(self, by: int) -> None:
        """Open the phase so many after (or before) this one, as far as there are any."""
        row = min(max(0, self.phases.currentRow() + by), len(Phase) - 1)
        self.phases.setCurrentRow(row)

    def show_state(self, state: AppointmentState) -> None:
        """Offer what the state offers; only the open phase is brought up to date now."""
        self._state = state
        self.pages[self.phase].show_state(state)

    def _on_row(self, row: int) -> None:
        self.stack.setCurrentIndex(row)
        if self._state is not None:
            self.pages[self.phase].show_state(self._state)
        self.opened.emit(self.phase)


def act_button(words: str, on: Callable[[], object] | None = None) -> QPushButton:
    """A button for an act: words at the left, Enter and Space press it."""
    button = QPushButton(words)
    button.setObjectName("act")
    button.setAutoDefault(True)
    button.setMinimumHeight(max(LEAST_TARGET_PX + 2, button.fontMetrics().height() + 8))
    button.setMinimumWidth(20)
    if on is not None:
        button.clicked.connect(on)
    return button

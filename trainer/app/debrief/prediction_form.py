"""Before anything is revealed: what the learner believes is inside, cut, and worth."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QButtonGroup,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QRadioButton,
    QScrollArea,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)

from trainer.app.appointment.acts_panel import act_button
from trainer.engine.wording import sentence_start
from trainer.models.learning import Prediction

TITLE = "Before the result: what do you expect?"
WHY = (
    "Judging your own work is a skill that is practised here. What you say never changes the "
    "score; it is set beside it, and shows over time how well you know what you did."
)
# A row of the list, and what the list is high at most; it scrolls when it is longer [px].
ROW_PX, MOST_ROWS_PX = 24, 330
UNANSWERED = "Say for every structure whether it is inside or cut, and whether the image will do."


class PredictionForm(QWidget):
    """One row for each required structure, a percentage, and whether the image will do.

    Signals
    -------
    predicted : Prediction
        What the learner expects.
    skipped : no value
        The learner does not want to say.
    """

    predicted = Signal(object)
    skipped = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.rows: dict[str, tuple[QRadioButton, QRadioButton]] = {}
        self._groups: list[QButtonGroup] = []
        column = QVBoxLayout(self)
        column.setContentsMargins(16, 12, 16, 12)
        column.setSpacing(8)
        title = QLabel(TITLE)
        title.setObjectName("caseTitle")
        column.addWidget(title)
        why = QLabel(WHY)
        why.setWordWrap(True)
        why.setObjectName("quiet")
        column.addWidget(why)
        self._sheet = QWidget()
        self._grid = QGridLayout(self._sheet)
        self._grid.setColumnStretch(0, 1)
        self._grid.setVerticalSpacing(4)
        self._grid.setHorizontalSpacing(18)
        self._area = area = QScrollArea()
        area.setWidgetResizable(True)
        area.setWidget(self._sheet)
        area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        area.setMaximumWidth(760)
        column.addWidget(area)
        row = QHBoxLayout()
        label = QLabel("The score will be about")
        self.percent = QSpinBox()
        self.percent.setRange(0, 100)
        self.percent.setValue(50)
        self.percent.setSuffix(" of 100")
        self.percent.setSingleStep(5)
        self.percent.setMinimumHeight(26)
        self.percent.setAccessibleName("Score expected, of 100")
        label.setBuddy(self.percent)
        row.addWidget(label)
        row.addWidget(self.percent)
        row.addStretch(1)
        column.addLayout(row)
        self.yes, self.no = self._pair("Yes", "No", "The image will answer the question")
        self._image = QWidget()
        row = QHBoxLayout(self._image)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(QLabel("The image will answer the question:"))
        row.addWidget(self.yes)
        row.addWidget(self.no)
        row.addStretch(1)
        column.addWidget(self._image)
        self.told = QLabel()
        self.told.setWordWrap(True)
        self.told.setObjectName("notice")
        self.told.setVisible(False)
        column.addWidget(self.told)
        row = QHBoxLayout()
        self.say = act_button("That is what I expect", self._on_say)
        self.skip = act_button("Skip: show the result", self.skipped.emit)
        self.skip.setToolTip("That you made no prediction is noted with the result.")
        row.addWidget(self.say)
        row.addWidget(self.skip)
        row.addStretch(1)
        column.addLayout(row)
        column.addStretch(1)

    def show_structures(self, names: Mapping[str, str]) -> None:
        """Ask for these: id and name of every required structure; without an image for none."""
        for number, (structure_id, name) in enumerate(names.items()):
            said = sentence_start(name.removeprefix("the "))
            self._grid.addWidget(QLabel(said), number, 0)
            inside, cut = self._pair("inside, with its margin", "cut, or too near the edge", said)
            self._grid.addWidget(inside, number, 1)
            self._grid.addWidget(cut, number, 2)
            self.rows[structure_id] = (inside, cut)
        self._area.setVisible(bool(names))
        row_px = max(ROW_PX, self.yes.sizeHint().height()) + self._grid.verticalSpacing()
        frame_px = 2 * self._grid.contentsMargins().top() + 4
        self._area.setMinimumHeight(min(len(names) * row_px + frame_px, MOST_ROWS_PX))
        self._image.setVisible(bool(names))
        first = next(iter(self.rows.values()), None)
        (first[0] if first else self.percent).setFocus()

    def tell(self, words: str) -> None:
        """Say why it does not go on."""
        self.told.setText(words)
        self.told.setVisible(True)

    def _pair(self, one: str, other: str, about: str) -> tuple[QRadioButton, QRadioButton]:
        group = QButtonGroup(self)
        group.setExclusive(True)
        self._groups.append(group)
        found = []
        for words in (one, other):
            button = QRadioButton(words)
            button.setAccessibleName(f"{about}: {words}")
            button.setMinimumHeight(ROW_PX)
            group.addButton(button)
            found.append(button)
        return found[0], found[1]

    def _on_say(self) -> None:
        asked = [*self.rows.values(), *([(self.yes, self.no)] if self.rows else [])]
        open_rows = [r for r in asked if not (r[0].isChecked() or r[1].isChecked())]
        if open_rows:
            self.tell(UNANSWERED)
            open_rows[0][0].setFocus()
            return
        self.told.setVisible(False)
        cut = frozenset(name for name, (_, cut) in self.rows.items() if cut.isChecked())
        self.predicted.emit(Prediction(cut, self.percent.value(), self.yes.isChecked()))

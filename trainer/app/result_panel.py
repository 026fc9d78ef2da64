"""What the placement is worth: headline, what to do, every required structure, the reasons."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QColor
from PySide6.QtWidgets import (
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QPushButton,
    QSizePolicy,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from trainer.engine.advice import Advice
from trainer.engine.criteria import judge
from trainer.engine.placement import Placement, StructurePlacement
from trainer.engine.wording import amount, share, where
from trainer.models.scenario import Case
from trainer.scene.flat_picture import state_colour

COLUMNS = ("State", "Structure", "Inside", "Margin\nmm", "Move it\nmm")
MOST_ADVICE = 3
HIDDEN_HEADLINE = "Live help is off."
HIDDEN_TEXT = "Place the patient by skin, lights and scale. Turn live help on to see the result."


class ResultPanel(QWidget):
    """Live result of the placement.

    Signals
    -------
    advice_taken : object
        The changes of an advice that a person wants made: control keys and values.
    """

    advice_taken = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._case: Case | None = None
        self._placement: Placement | None = None
        self._advice: tuple[Advice, ...] | None = None
        self._shown = True
        column = QVBoxLayout(self)
        column.setContentsMargins(8, 6, 8, 6)
        column.setSpacing(5)
        self.headline = _label("headline")
        self.count = _label("quiet")
        column.addWidget(self.headline)
        column.addWidget(self.count)
        self.moves_title = _label("section", "What would put it right")
        column.addWidget(self.moves_title)
        self.moves = [_Move(self) for _ in range(MOST_ADVICE)]
        for move in self.moves:
            move.taken.connect(self.advice_taken)
            column.addWidget(move)
        self.table_title = _label("section", "Required structures")
        column.addWidget(self.table_title)
        self.table = _table()
        column.addWidget(self.table)
        self.reasons_title = _label("section", "Also worth knowing")
        column.addWidget(self.reasons_title)
        self.reasons = _label("reasons")
        self.reasons.setTextFormat(Qt.TextFormat.PlainText)
        column.addWidget(self.reasons)
        column.addStretch(1)
        self._hideable = (self.moves_title, self.table_title, self.table,
                          self.reasons_title, self.reasons)  # fmt: skip

    def open_case(self, case: Case) -> None:
        """Start with another case."""
        self._case, self._placement, self._advice = case, None, None

    def show_help(self, on: bool) -> None:
        """Show the result, or keep it from the learner."""
        self._shown = on
        self._refresh()

    def show_placement(self, placement: Placement) -> None:
        """Show the result of a placement; the advice for the one before goes."""
        self._placement, self._advice = placement, None
        self._refresh()

    def show_advice(self, advice: tuple[Advice, ...]) -> None:
        """Show what to change for the placement shown."""
        self._advice = advice
        self._show_moves()

    def _refresh(self) -> None:
        for widget in self._hideable:
            widget.setVisible(self._shown)
        if not self._shown:
            self._headline(HIDDEN_HEADLINE, "hidden")
            self.count.setText(HIDDEN_TEXT)
            self._show_moves()
            return
        placement, case = self._placement, self._case
        if placement is None or case is None:
            return
        required = ranked(placement)
        held = sum(s.holds for s in required)
        if held == len(required):
            self._headline("✓ Everything required is inside the field", "inside")
        else:
            self._headline(f"× {headline(required[0])}", "missed")
        self.count.setText(f"{held} of {len(required)} required structures inside")
        self._fill_table(required)
        told = [f for f in judge(case, placement) if f.criterion != "required-inside"]
        self.reasons.setText(
            "\n".join(f"{'✓' if f.met else '!'} {f.sentence}" for f in told if f.sentence)
        )
        self._show_moves()

    def _headline(self, text: str, state: str) -> None:
        if self.headline.text() == text and self.headline.property("state") == state:
            return
        self.headline.setText(text)
        if self.headline.property("state") != state:
            self.headline.setProperty("state", state)
            self.headline.style().unpolish(self.headline)
            self.headline.style().polish(self.headline)

    def _show_moves(self) -> None:
        advice = self._advice if self._shown else ()
        everything_inside = self._placement is not None and self._placement.all_required_inside
        self.moves_title.setVisible(self._shown and not everything_inside)
        if advice is None:
            for number, move in enumerate(self.moves):
                if number == 0 and not everything_inside:
                    move.show_waiting()
                else:
                    move.setVisible(False)
            return
        for number, move in enumerate(self.moves):
            if number < len(advice):
                move.show_advice(advice[number])
            else:
                move.setVisible(False)

    def _fill_table(self, required: list[StructurePlacement]) -> None:
        table = self.table
        other_names = table.rowCount() != len(required)
        table.setRowCount(len(required))
        for row, found in enumerate(required):
            for column, text in enumerate(row_texts(found)):
                item = table.item(row, column)
                if item is None:
                    item = QTableWidgetItem()
                    item.setFlags(Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable)
                    table.setItem(row, column, item)
                if item.text() != text:
                    item.setText(text)
                    item.setToolTip(text)
                    other_names |= column == 1
                    if column == 0:
                        item.setForeground(QColor(*state_colour(found)))
        if not other_names:
            return
        table.resizeRowsToContents()
        rows = sum(table.rowHeight(row) for row in range(len(required)))
        table.setFixedHeight(rows + table.horizontalHeader().sizeHint().height() + 4)


class _Move(QWidget):
    """One advice with a button that makes the change."""

    taken = Signal(object)

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._changes: Mapping[str, object] = {}
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        self.text = _label("moveText")
        row.addWidget(self.text, 1)
        self.button = QPushButton("Make this change")
        self.button.setMinimumHeight(28)
        self.button.clicked.connect(self._take)
        row.addWidget(self.button)
        self.setVisible(False)

    def show_advice(self, advice: Advice) -> None:
        self._changes = advice.changes
        # what to do stands here; why is said in the headline, and again in the tip
        self.text.setText(advice.sentence.partition(": ")[0])
        self.text.setToolTip(advice.sentence)
        self.button.setVisible(bool(advice.changes))
        self.button.setAccessibleName(f"Make this change: {advice.sentence}")
        self.setVisible(True)

    def show_waiting(self) -> None:
        """Hold the place while the advice is worked out, so that nothing jumps."""
        self._changes = {}
        self.text.setText("…")
        self.button.setVisible(False)
        self.setVisible(True)

    def _take(self) -> None:
        if self._changes:
            self.taken.emit(dict(self._changes))


def ranked(placement: Placement) -> list[StructurePlacement]:
    """Required structures, the one that misses most first."""
    return sorted(placement.required, key=lambda s: s.margin_mm - (s.required_margin_mm or 0.0))


def headline(found: StructurePlacement) -> str:
    """One sentence on the structure that misses most."""
    text = where(found)
    return text[0].upper() + text[1:]


def row_texts(found: StructurePlacement) -> tuple[str, ...]:
    """The table's texts for one structure, in the order of `COLUMNS`."""
    if found.holds:
        state, move = "✓ inside", ""
    else:
        state = "× cut off" if found.margin_mm < 0.0 else "! too close"
        if found.inside_share == 0.0:
            state = "× outside"
        need = (found.required_margin_mm or 0.0) - found.margin_mm
        move = f"{amount(need, '').strip()} {found.way}"
    sign = "−" if found.margin_mm <= -0.05 else ""
    return (
        state,
        found.structure.name.removeprefix("the "),
        share(found).replace("whole", "100 %").removesuffix(" inside"),
        f"{sign}{amount(found.margin_mm, '').strip()}",
        move,
    )


def _label(name: str, text: str = "") -> QLabel:
    label = QLabel(text)
    label.setObjectName(name)
    label.setWordWrap(True)
    label.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
    return label


def _table() -> QTableWidget:
    table = QTableWidget(0, len(COLUMNS))
    table.setHorizontalHeaderLabels(COLUMNS)
    table.verticalHeader().setVisible(False)
    table.setWordWrap(True)
    table.setEditTriggers(QTableWidget.EditTrigger.NoEditTriggers)
    table.setSelectionBehavior(QTableWidget.SelectionBehavior.SelectRows)
    table.setTabKeyNavigation(False)
    table.setAccessibleName("Required structures")
    header = table.horizontalHeader()
    header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
    header.setSectionResizeMode(1, QHeaderView.ResizeMode.Stretch)
    table.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    return table

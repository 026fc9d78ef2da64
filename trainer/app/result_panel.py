"""What the placement is worth: headline, what to do, every required structure, the reasons."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QPushButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from trainer.app.structure_table import (
    COLUMNS,
    WANTED_COLUMNS,
    StructureTable,
    row_texts,
    wanted_texts,
)
from trainer.app.words import change_lines
from trainer.engine.advice import Advice
from trainer.engine.criteria import is_well_placed, judge
from trainer.engine.placement import Placement, StructurePlacement
from trainer.engine.wording import amount, sentence_start, where
from trainer.models.device import Unit
from trainer.models.scenario import Case
from trainer.scene.drawing import state_colour, worst_first

MOST_ADVICE = 3
# More controls than this at once stand in a list, not in a sentence.
MOST_IN_A_SENTENCE = 2
RIGHT_TITLE = "What would put it right"
NEAREST_TITLE = "Nearest that can be reached"
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
        self._unit: Unit | None = None
        self._placement: Placement | None = None
        self._advice: tuple[Advice, ...] | None = None
        self._shown = True
        column = QVBoxLayout(self)
        column.setContentsMargins(6, 6, 6, 6)
        column.setSpacing(5)
        self.headline = _label("headline")
        self.count = _label("quiet")
        column.addWidget(self.headline)
        column.addWidget(self.count)
        self.moves_title = _label("section", RIGHT_TITLE)
        column.addWidget(self.moves_title)
        self.moves = [_Move(self) for _ in range(MOST_ADVICE)]
        for move in self.moves:
            move.taken.connect(self.advice_taken)
            column.addWidget(move)
        self.table_title = _label("section", "Required structures")
        column.addWidget(self.table_title)
        self.table = StructureTable("Required structures", COLUMNS)
        column.addWidget(self.table)
        self.wanted_title = _label("section", "Also wanted, not judged")
        column.addWidget(self.wanted_title)
        self.wanted = StructureTable("Also wanted, not judged", WANTED_COLUMNS)
        column.addWidget(self.wanted)
        self.reasons_title = _label("section", "Also worth knowing")
        column.addWidget(self.reasons_title)
        self.reasons = _label("reasons")
        self.reasons.setTextFormat(Qt.TextFormat.PlainText)
        column.addWidget(self.reasons)
        column.addStretch(1)
        self._hideable = (self.moves_title, self.table_title, self.table, self.wanted_title,
                          self.wanted, self.reasons_title, self.reasons)  # fmt: skip

    def open_case(self, case: Case, unit: Unit) -> None:
        """Start with another case."""
        self._case, self._unit, self._placement, self._advice = case, unit, None, None

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
        required = worst_first(placement.required)
        held = placement.held
        if is_well_placed(case, placement):
            self._headline("✓ Everything required is inside the field", "inside")
        elif held == len(required):
            self._headline("× The head does not stand as the sharp layer asks", "missed")
        else:
            self._headline(f"× {headline(required[0])}", "missed")
        self.count.setText(f"{held} of {len(required)} required structures inside")
        self.table.fill([row_texts(s) for s in required], [state_colour(s) for s in required])
        wanted = wanted_of(case, placement)
        self.wanted.fill([wanted_texts(s) for s in wanted])
        for widget in (self.wanted_title, self.wanted):
            widget.setVisible(bool(wanted))
        told = [f for f in judge(case, placement) if f.criterion != "required-inside"]
        self.reasons.setText(
            "\n".join(f"{'✓' if f.met else '!'} {f.sentence}" for f in told if f.sentence)
        )
        self._show_moves()

    def _headline(self, text: str, state: str) -> None:
        self.headline.setText(text)
        _mark(self.headline, "state", state)

    def _show_moves(self) -> None:
        advice = self._advice if self._shown else ()
        done = (
            self._placement is not None
            and self._case is not None
            and is_well_placed(self._case, self._placement)
        )
        self.moves_title.setVisible(self._shown and not done)
        reached = advice is None or all(a.reaches_all for a in advice)
        self.moves_title.setText(RIGHT_TITLE if reached else NEAREST_TITLE)
        if advice is None:
            for number, move in enumerate(self.moves):
                if number == 0 and not done:
                    move.show_waiting()
                else:
                    move.setVisible(False)
            return
        for number, move in enumerate(self.moves):
            if number < len(advice):
                move.show_advice(advice[number], self._advice_text(advice[number]))
            else:
                move.setVisible(False)

    def _advice_text(self, advice: Advice) -> str:
        """What to do; why is said in the headline, and again in the tip."""
        if self._placement is None or self._unit is None or not advice.changes:
            return advice.sentence.partition(": ")[0]
        if advice.reaches_all and len(advice.changes) <= MOST_IN_A_SENTENCE:
            return advice.sentence.partition(": ")[0]
        lines = change_lines(self._unit, self._placement.setup, advice.changes)
        if not advice.reaches_all:
            lines.append(f"Still lacking: {amount(advice.short_mm, 'mm')}")
        return "\n".join(f"• {line}" for line in lines)


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

    def show_advice(self, advice: Advice, text: str) -> None:
        self._changes = advice.changes
        self.text.setText(text.replace(" mm", "\N{NO-BREAK SPACE}mm"))
        _mark(self.text, "list", "\n" in text)
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


def wanted_of(case: Case, placement: Placement) -> list[StructurePlacement]:
    """What the case only wants and does not require, in the case's order."""
    free = {s.structure.id: s for s in placement.structures if s.required_margin_mm is None}
    return [free[key] for key in case.wanted if key in free]


def headline(found: StructurePlacement) -> str:
    """One sentence on the structure that misses most."""
    return sentence_start(where(found))


def _mark(label: QLabel, name: str, value: object) -> None:
    """Give the label a mark that the style sheet looks at."""
    if label.property(name) != value:
        label.setProperty(name, value)
        label.style().unpolish(label)
        label.style().polish(label)


def _label(name: str, text: str = "") -> QLabel:
    label = QLabel(text)
    label.setObjectName(name)
    label.setWordWrap(True)
    label.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
    return label

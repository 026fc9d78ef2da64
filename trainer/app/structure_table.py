"""A table of structures that shows every row whole; what is around it scrolls."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QColor
from PySide6.QtWidgets import QHeaderView, QTableWidget, QTableWidgetItem, QWidget

from trainer.engine.placement import StructurePlacement
from trainer.engine.wording import amount, share
from trainer.scene.palette import Rgb

NAMES, MOVE = "Structure", "Move it\nmm"
COLUMNS = ("State", NAMES, "Inside", "Margin\nmm", MOVE)
WANTED_COLUMNS = (NAMES, "Inside", "Margin\nmm")
# The widest text that a column must show in one line; in the column of names, a long word.
WIDEST = ("! too close", "mandibular", "100 %", "−88.8", "forward")
PADDING_PX = 9


class StructureTable(QTableWidget):
    """Rows of texts under these columns; names take the room that the others leave."""

    def __init__(self, name: str, columns: Sequence[str], parent: QWidget | None = None) -> None:
        super().__init__(0, len(columns), parent)
        self._names = columns.index(NAMES)
        self._wrapping = (self._names, COLUMNS.index(MOVE)) if MOVE in columns else (self._names,)
        self.setHorizontalHeaderLabels(list(columns))
        self.verticalHeader().setVisible(False)
        self.setWordWrap(True)
        self.setEditTriggers(QTableWidget.EditTrigger.NoEditTriggers)
        self.setSelectionBehavior(QTableWidget.SelectionBehavior.SelectRows)
        self.setTabKeyNavigation(False)
        self.setAccessibleName(name)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        header = self.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        header.setSectionResizeMode(self._names, QHeaderView.ResizeMode.Stretch)
        header.setMinimumSectionSize(PADDING_PX)
        header.sectionResized.connect(self._on_section)
        # only when the new widths hold everywhere do rows find their heights
        self._fit_soon = QTimer(self)
        self._fit_soon.setSingleShot(True)
        self._fit_soon.setInterval(0)
        self._fit_soon.timeout.connect(self._fit)
        wide = self.fontMetrics().horizontalAdvance
        needs = []
        for number, title in enumerate(columns):
            words = (WIDEST[COLUMNS.index(title)], *title.split("\n"))
            needs.append(max(map(wide, words)) + PADDING_PX)
            header.resizeSection(number, needs[-1])
        self.setMinimumWidth(sum(needs) + 2)

    def fill(self, rows: Sequence[Sequence[str]], colours: Sequence[Rgb] = ()) -> None:
        """Show these rows; ``colours`` are those of their first texts."""
        other_names = self.rowCount() != len(rows)
        self.setRowCount(len(rows))
        for row, texts in enumerate(rows):
            for column, text in enumerate(texts):
                item = self.item(row, column)
                if item is None:
                    item = QTableWidgetItem()
                    item.setFlags(Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable)
                    self.setItem(row, column, item)
                if item.text() != text:
                    item.setText(text)
                    item.setToolTip(text)
                    other_names |= column in self._wrapping
                    if column == 0 and colours:
                        item.setForeground(QColor(*colours[row]))
        if other_names:
            self._fit()

    def _on_section(self, section: int, before: int, after: int) -> None:
        if section == self._names:
            self._fit_soon.start()

    def _fit(self) -> None:
        """As high as all rows."""
        self.resizeRowsToContents()
        rows = sum(self.rowHeight(row) for row in range(self.rowCount()))
        self.setFixedHeight(rows + self.horizontalHeader().sizeHint().height() + 4)


def row_texts(found: StructurePlacement) -> tuple[str, ...]:
    """The texts for one required structure, in the order of `COLUMNS`."""
    if found.holds:
        state, move = "✓ inside", ""
    else:
        state = "× cut off" if found.margin_mm < 0.0 else "! too close"
        if found.inside_share == 0.0:
            state = "× outside"
        move = f"{amount(found.lack_mm, '').strip()} {found.way}"
    return (state, *wanted_texts(found), move)


def wanted_texts(found: StructurePlacement) -> tuple[str, str, str]:
    """Name, share inside and margin of one structure, in the order of `WANTED_COLUMNS`."""
    sign = "−" if found.margin_mm <= -0.05 else ""
    return (
        found.structure.name.removeprefix("the "),
        share(found).replace("whole", "100 %").removesuffix(" inside"),
        f"{sign}{amount(found.margin_mm, '').strip()}",
    )

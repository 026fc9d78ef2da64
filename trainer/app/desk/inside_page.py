"""What must be inside: structures chosen by tooth chart, by list, or by a click on the head."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from PySide6.QtCore import QEvent, QObject, QSignalBlocker, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from trainer.app.desk.controller import DeskController
from trainer.app.desk.fault_label import FaultLabel
from trainer.app.desk.form import Form, shows_milk_teeth, teeth_missing
from trainer.app.desk.pages import MARGIN_KEYS
from trainer.app.desk.required_rows import RequiredRows
from trainer.app.desk.tooth_chart import ToothChart
from trainer.models.meshes import HeadMeshes
from trainer.services.drafts.draft import Checked
from trainer.services.yaml_text import KeyPath

REQUIRED, WANTED = ("required",), ("wanted",)
NAME_ROLE = Qt.ItemDataRole.UserRole
SIGNS = {"required": "■ must:", "wanted": "□ told:", "": ""}
OF_TOOTH = re.compile(r"(?:tooth|canal-at)-(\d\d)\b")
# The margin of a structure that is put in, until the case names one: own working value [mm].
FIRST_MARGIN_MM = 2


class InsidePage(QWidget):
    """Required and wanted structures, and from when on the head's attitude is told."""

    def __init__(self, desk: DeskController, names: Iterable[str]) -> None:
        super().__init__()
        self.desk = desk
        self._names: Mapping[str, str] = dict.fromkeys(sorted(names), "")
        self._only: tuple[str, ...] = ()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        self.chart = ToothChart("Teeth of what must be inside")
        self.chart.toggled.connect(self._on_tooth)
        self.search = QLineEdit()
        self.search.setPlaceholderText("Search: 48, canal, condyle …")
        self.search.setAccessibleName("Search structures")
        self.search.setClearButtonEnabled(True)
        self.search.textEdited.connect(self._on_search)
        self.told = QLabel(
            "Click the head, choose a tooth, or search. Space: must be inside, or not."
        )
        self.told.setObjectName("quiet")
        self.told.setWordWrap(True)
        self.list = QListWidget()
        self.list.setAccessibleName("Structures")
        self.list.setMinimumHeight(150)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.itemActivated.connect(self._on_activated)
        self.list.installEventFilter(self)
        buttons = QHBoxLayout()
        self.must = QPushButton("Must be inside")
        self.only = QPushButton("Only told")
        self.neither = QPushButton("Neither")
        for button, state in (
            (self.must, "required"), (self.only, "wanted"), (self.neither, ""),
        ):  # fmt: skip
            button.setProperty("state", state)
            button.setMinimumHeight(26)
            button.clicked.connect(self._on_button)
            buttons.addWidget(button)
        grid = QGridLayout()
        grid.addWidget(self.search, 0, 0)
        grid.addWidget(self.told, 1, 0)
        grid.addWidget(self.list, 2, 0)
        grid.addLayout(buttons, 3, 0)
        column.addWidget(self.chart)
        column.addLayout(grid)
        self.rows = RequiredRows(desk)
        self.fault = FaultLabel()
        column.addWidget(self.fault)
        column.addWidget(self.rows)
        self.wanted = QLabel()
        self.wanted.setWordWrap(True)
        column.addWidget(self.wanted)
        self.form = Form(desk, [desk.field(*where) for where in MARGIN_KEYS], ())
        column.addWidget(self.form)
        column.addStretch(1)

    def show_head(self, meshes: HeadMeshes) -> None:
        """Offer the structures that this head has, with their names."""
        found = {key: s.name for key, s in meshes.head.structures.items()}
        self._names = dict(sorted(found.items()))
        self._fill()

    def offer_picked(self, picked: tuple[str, ...]) -> None:
        """Offer the structures that lie under a click, the nearest first."""
        self._only = tuple(key for key in picked if key in self._names)
        with QSignalBlocker(self.search):
            self.search.clear()
        count = len(self._only)
        self.told.setText(
            f"{count} structures lie under the click, the nearest first."
            if count
            else "No structure lies under the click."
        )
        self._fill()
        if count:
            self.list.setCurrentRow(0)
            self.list.setFocus(Qt.FocusReason.OtherFocusReason)

    # the draft -----------------------------------------------------------------------------------

    def required(self) -> list[str]:
        """Ids of the required structures, in the order of the file."""
        value = self.desk.value(REQUIRED)
        rows = value if isinstance(value, list) else []
        return [str(r.get("structure", "")) if isinstance(r, dict) else "" for r in rows]

    def wanted_ids(self) -> list[str]:
        """Ids of the structures that are told but not judged."""
        value = self.desk.value(WANTED)
        return list(map(str, value)) if isinstance(value, list) else []

    def show_draft(self) -> None:
        """Show what the draft requires."""
        required = self.required()
        teeth = {int(m[1]) for key in required if (m := OF_TOOTH.match(key))}
        self.chart.show_teeth(teeth, teeth_missing(self.desk), shows_milk_teeth(self.desk))
        self.rows.show_draft(required)
        told = ", ".join(self.wanted_ids()) or "none"
        self.wanted.setText(f"Told but not judged: {told}")
        self.form.show_draft()
        self._fill()

    def show_faults(self, result: Checked) -> None:
        """Show the faults of structures and attitude."""
        self.rows.show_faults(result)
        own = result.at(REQUIRED) + result.within(WANTED)
        self.fault.show_faults(own)
        self.form.show_faults(result)

    def focus_at(self, where: KeyPath) -> bool:
        """Take the focus for a structure, or a field of the attitude."""
        if where[:1] == REQUIRED:
            return self.rows.focus_at(where) or self._focus_list()
        if where[:1] == WANTED:
            return self._focus_list()
        return self.form.focus_at(where)

    def _focus_list(self) -> bool:
        self.search.setFocus(Qt.FocusReason.OtherFocusReason)
        return True

    def put(self, name: str, state: str) -> None:
        """Make a structure ``required``, ``wanted``, or neither (empty)."""
        required, wanted = self.required(), self.wanted_ids()
        if name in wanted and state != "wanted":
            self.desk.leave_out((*WANTED, wanted.index(name)))
        if name in required and state != "required":
            self.desk.leave_out((*REQUIRED, required.index(name)))
        if state == "required" and name not in required:
            margin = self.rows.usual_margin(FIRST_MARGIN_MM)
            self.desk.put_in(REQUIRED, {"structure": name, "margin_mm": margin})
        elif state == "wanted" and name not in wanted:
            self.desk.put_in(WANTED, name)

    # the list ------------------------------------------------------------------------------------

    def _fill(self) -> None:
        at = self.marked()
        required, wanted = self.required(), self.wanted_ids()
        states = dict.fromkeys(wanted, "wanted") | dict.fromkeys(required, "required")
        words = self.search.text().lower().split()
        with QSignalBlocker(self.list):
            self.list.clear()
            first = [name for name in (*required, *wanted) if name in self._names]
            for name in self._only or dict.fromkeys([*first, *self._names]):
                text = self._names.get(name, "")
                if not self._only and not all(w in f"{name} {text}".lower() for w in words):
                    continue
                sign = SIGNS[states.get(name, "")]
                item = QListWidgetItem(" ".join(filter(None, (sign, name, text and f"({text})"))))
                item.setData(NAME_ROLE, name)
                self.list.addItem(item)
                if name == at:
                    self.list.setCurrentItem(item)

    def marked(self) -> str:
        """The structure that is marked in the list."""
        item = self.list.currentItem()
        return "" if item is None else str(item.data(NAME_ROLE))

    def _on_search(self) -> None:
        self._only = ()
        self._fill()
        self.list.setCurrentRow(0)

    def _on_tooth(self, fdi: int) -> None:
        self.search.setText(str(fdi))
        self.told.setText(f"Structures of {fdi}. Space: must be inside, or no longer.")
        self._on_search()

    def _on_activated(self, item: QListWidgetItem) -> None:
        name = str(item.data(NAME_ROLE))
        self.put(name, "" if name in self.required() else "required")

    def _on_button(self) -> None:
        button = self.sender()
        if self.marked() and button is not None:
            self.put(self.marked(), str(button.property("state")))

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        # Space does what Enter does in a list
        if event.type() == QEvent.Type.KeyPress and isinstance(event, QKeyEvent):
            item = self.list.currentItem()
            if event.key() == Qt.Key.Key_Space and item is not None:
                self._on_activated(item)
                return True
        return super().eventFilter(watched, event)

"""The unit's window: pages and fields on the left, the drawing and the file on the right."""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import QSettings, Qt, Signal
from PySide6.QtGui import QCloseEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QSplitter, QTabWidget, QVBoxLayout, QWidget

from trainer.app.desk.editor_window import EditorWindow
from trainer.app.sizes import CAUTION
from trainer.app.unit_desk.controller import UnitController
from trainer.app.unit_desk.drawing import UnitDrawing
from trainer.app.unit_desk.pages import PAGES, form_of
from trainer.services.assets import UNITS
from trainer.services.drafts.draft import Checked, CheckedUnit
from trainer.services.unit_io import named_files

PAGES_PX, FORM_PX, LEAST_FORM_PX = 160, 420, 360
GENERIC = (
    "Describe a generic unit of your own numbers; never copy a maker's data into a file you share."
)


class UnitWindow(EditorWindow):
    """Describes one unit.

    Signals
    -------
    closed : no value
        The window is closed and has let go of everything.
    """

    closed = Signal()

    def __init__(self, desk: UnitController, settings: QSettings) -> None:
        super().__init__(desk, settings, PAGES)
        self.setWindowTitle("Describe a unit")
        for page in PAGES:
            self.add_part(form_of(desk, page), page.title)
        self.drawing = UnitDrawing()
        self.tabs = QTabWidget()
        self.tabs.addTab(self.drawing, "Drawing")
        self.tabs.addTab(self.file, "File")
        form = self.form_column()
        form.setMinimumWidth(LEAST_FORM_PX)
        self.body = QSplitter(Qt.Orientation.Horizontal)
        for widget in (self.list, form, self.tabs):
            self.body.addWidget(widget)
        self.body.setChildrenCollapsible(False)
        self.body.setStretchFactor(2, 1)
        self.body.setSizes([PAGES_PX, FORM_PX, 640])
        generic = QLabel(GENERIC)
        generic.setObjectName("quiet")
        generic.setWordWrap(True)
        row = QHBoxLayout()
        row.addWidget(self.title)
        row.addSpacing(12)
        row.addWidget(self.state, 1)
        whole = QWidget()
        column = QVBoxLayout(whole)
        column.setContentsMargins(8, 4, 8, 0)
        column.setSpacing(4)
        column.addLayout(row)
        column.addWidget(generic)
        column.addWidget(self.notice)
        column.addWidget(self.body, 1)
        self.setCentralWidget(whole)
        self.statusBar().addPermanentWidget(QLabel(CAUTION))
        self._build_actions()

    def _build_actions(self) -> None:
        bar = self.menuBar()
        file_menu, edit_menu = bar.addMenu("&File"), bar.addMenu("&Edit")
        go_menu = bar.addMenu("&Go to")
        begin = file_menu.addMenu("Begin &from")
        for name, path in named_files(UNITS).items():
            begin.addAction(name).triggered.connect(partial(self.open_file, path))
        self.add_file_actions(file_menu)
        self.add_action(file_menu, "close", "&Close", "Ctrl+W", self.close, "Back to the bench")
        self.add_edit_actions(edit_menu)
        self.add_page_actions(go_menu)

    def _on_checked(self, result: Checked) -> None:
        super()._on_checked(result)
        assert isinstance(result, CheckedUnit)
        for doubt in result.doubts:
            self._list_fault(doubt, "possible, but look again: ")
        if result.doubts:
            self.faults.setVisible(True)
            self.actions_by_name["fault"].setEnabled(True)
            count = len(result.doubts)
            told = self.faults_head.text()
            self.faults_head.setText(f"{told}; {count} to look at again")
        self.drawing.show_unit(result.unit)

    def closeEvent(self, event: QCloseEvent) -> None:
        if not self._may_go():
            event.ignore()
            return
        self.desk.close()
        super().closeEvent(event)
        self.closed.emit()

"""The desk's window: pages and fields on the left, preview, file and proof on the right."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from PySide6.QtCore import QSettings, Qt, Signal
from PySide6.QtGui import QCloseEvent
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QSplitter,
    QTabWidget,
    QVBoxLayout,
    QWidget,
)

from trainer.app.desk.controller import DeskController
from trainer.app.desk.editor_window import EditorWindow
from trainer.app.desk.file_controller import tried_folder
from trainer.app.desk.inside_page import InsidePage
from trainer.app.desk.packs import PackActions
from trainer.app.desk.pages import INSIDE, START, FormPage, all_pages
from trainer.app.desk.preview import Preview
from trainer.app.desk.proof_pane import ProofPane
from trainer.app.desk.start_page import StartPage
from trainer.app.sizes import CAUTION
from trainer.errors import TrainerError
from trainer.models.setup import Setup
from trainer.services.assets import known_structure_ids
from trainer.services.drafts.draft import (
    Checked,
    CheckedCase,
    Draft,
    copy_what_it_goes_by,
    file_name,
)
from trainer.services.library import every_case

PAGES_PX, FORM_PX, LEAST_FORM_PX = 168, 452, 370


class DeskWindow(EditorWindow):
    """Writes one case. Holds widgets and the controller, and no rules.

    Signals
    -------
    try_placing_asked, try_whole_asked : str
        The case file is to be opened at the bench, or as an appointment.
    setup_asked : no value
        `take_setup` shall be called with what the bench is set to.
    closed : no value
        The window is closed and has let go of everything.
    """

    closed = Signal()
    try_placing_asked = Signal(str)
    try_whole_asked = Signal(str)
    setup_asked = Signal()

    def __init__(self, desk: DeskController, settings: QSettings, meshes: Path) -> None:
        super().__init__(desk, settings, all_pages(desk))
        self.case_desk, self._meshes = desk, meshes
        self.setWindowTitle("Write a case")
        self.packs = PackActions(self)
        self._build()
        self._build_actions()
        self.packs.told.connect(self._tell)
        self.preview.picked.connect(self._on_picked)
        self.preview.head_shown.connect(self.inside.show_head)

    # building ------------------------------------------------------------------------------------

    def _build(self) -> None:
        self.inside = InsidePage(self.case_desk, self._structure_names())
        self.start_page = StartPage(self.case_desk)
        self.start_page.setup_asked.connect(self.setup_asked)
        for page in self.pages:
            part: QWidget
            if page.title == START:
                part = self.start_page
            elif page.title == INSIDE:
                part = self.inside
            else:
                part = FormPage(self.case_desk, page)
            self.add_part(part, page.title)
        self.preview = Preview(self._meshes)
        self.proof = ProofPane()
        self.tabs = QTabWidget()
        self.tabs.addTab(self.preview, "Preview")
        self.tabs.addTab(self.file, "File")
        self.tabs.addTab(self.proof, "Proof")
        form = self.form_column()
        self.body = QSplitter(Qt.Orientation.Horizontal)
        for widget in (self.list, form, self.tabs):
            self.body.addWidget(widget)
        self.body.setChildrenCollapsible(False)
        self.body.setStretchFactor(2, 1)
        form.setMinimumWidth(LEAST_FORM_PX)
        self.body.setSizes([PAGES_PX, FORM_PX, 640])
        whole = QWidget()
        column = QVBoxLayout(whole)
        column.setContentsMargins(8, 4, 8, 0)
        column.setSpacing(4)
        row = QHBoxLayout()
        row.addWidget(self.title)
        row.addSpacing(12)
        row.addWidget(self.state, 1)
        column.addLayout(row)
        column.addWidget(self.notice)
        column.addWidget(self.body, 1)
        self.setCentralWidget(whole)
        self.statusBar().addPermanentWidget(QLabel(CAUTION))

    def _build_actions(self) -> None:
        bar = self.menuBar()
        file_menu, edit_menu = bar.addMenu("&File"), bar.addMenu("&Edit")
        try_menu = bar.addMenu("&Try")
        go_menu = bar.addMenu("&Go to")
        tools = self.addToolBar("Actions")
        tools.setMovable(False)
        tools.setContextMenuPolicy(Qt.ContextMenuPolicy.PreventContextMenu)

        add = self.add_action
        self.begin_menu = file_menu.addMenu("Begin &from")
        self.begin_menu.aboutToShow.connect(self._fill_begin_menu)
        self.add_file_actions(file_menu)
        add(file_menu, "pack", "Make a &pack…", "Ctrl+Shift+P", self.packs.make,
            "Put a folder of cases into one file for others")  # fmt: skip
        add(file_menu, "take_in", "&Take a pack in…", "Ctrl+Shift+I", self.packs.take_in,
            "Look a pack through and take its cases in")  # fmt: skip
        add(file_menu, "close", "&Close the desk", "Ctrl+W", self.close, "Back to the bench")
        self.add_edit_actions(edit_menu)
        add(try_menu, "placing", "Try &placing", "F5", self.try_placing,
            "Practise placing with the draft as it is; nothing is saved")  # fmt: skip
        add(try_menu, "whole", "Try the &whole appointment", "F6", self.try_whole,
            "Work through the appointment with the draft as it is")  # fmt: skip
        add(try_menu, "prove", "P&rove it", "F7", self.prove, "Compute whether the case is sound")
        self.add_page_actions(go_menu)
        for name in ("open", "new", "save"):
            tools.addAction(self.actions_by_name[name])
        tools.addSeparator()
        for name in ("undo", "redo"):
            tools.addAction(self.actions_by_name[name])
        tools.addSeparator()
        for name in ("fault", "placing", "whole", "prove"):
            tools.addAction(self.actions_by_name[name])

    def _structure_names(self) -> list[str]:
        try:
            return sorted(known_structure_ids(self._meshes))
        except TrainerError:
            return []

    def start(self) -> None:
        """Load what the preview needs, in the background."""
        self.preview.view3d.start()

    # the file ------------------------------------------------------------------------------------

    def open_case(self, path: Path) -> bool:
        """Lay a case file on the desk, unless the one before is to be kept."""
        return self.open_file(path)

    def _fill_begin_menu(self) -> None:
        self.begin_menu.clear()
        for name, path in every_case().items():
            action = self.begin_menu.addAction(name)
            action.triggered.connect(partial(self.open_case, path))

    # trying --------------------------------------------------------------------------------------

    def try_placing(self) -> None:
        """Open the draft on the bench without saving it."""
        path = self._tried()
        if path is not None:
            self.try_placing_asked.emit(str(path))

    def try_whole(self) -> None:
        """Begin an appointment of the draft without saving it."""
        path = self._tried()
        if path is not None:
            self.try_whole_asked.emit(str(path))

    def _tried(self) -> Path | None:
        """A file in the user's cache that holds the draft."""
        self._take_over()
        draft, result = self.desk.draft, self.desk.result
        if draft is None:
            return None
        if result is not None and result.faults:
            self._tell("The case has faults and cannot be tried yet. F8 leads to them.")
            return None
        path = tried_folder() / file_name(draft)
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            copy_what_it_goes_by(draft, self.case_desk.units, path.parent)
            path.write_text(draft.text, encoding="utf-8")
        except OSError as error:
            self._tell(f"The case cannot be tried: {path}: {error.strerror or error}.")
            return None
        return path

    def prove(self) -> None:
        """Compute whether the case can be solved, and show what was found."""
        path = self._tried()
        if path is not None:
            self.tabs.setCurrentWidget(self.proof)
            self.proof.prove(path)

    def take_setup(self, found: tuple[str, Setup] | None) -> None:
        """Begin the case with that setup of a unit; ``None`` when nothing is on the bench."""
        self.start_page.take_setup(found)

    # following the controller --------------------------------------------------------------------

    def _on_changed(self, draft: Draft) -> None:
        super()._on_changed(draft)
        self.proof.note_change()

    def _on_checked(self, result: Checked) -> None:
        super()._on_checked(result)
        assert isinstance(result, CheckedCase)
        sound = not result.faults
        self.actions_by_name["placing"].setEnabled(sound)
        self.actions_by_name["prove"].setEnabled(sound)
        visits = result.case is not None and result.case.visit is not None
        self.actions_by_name["whole"].setEnabled(sound and visits)
        self.preview.show_case(result.placing, self.case_desk.unit)

    def _on_picked(self, picked: tuple[str, ...]) -> None:
        titles = [page.title for page in self.pages]
        self.list.setCurrentRow(titles.index(INSIDE))
        self.inside.offer_picked(picked)
        self._bring_into_view(self.inside.list)

    def closeEvent(self, event: QCloseEvent) -> None:
        if not self._may_go():
            event.ignore()
            return
        self.desk.close()
        self.packs.close()
        self.proof.shut()
        self.preview.shut()
        super().closeEvent(event)
        self.closed.emit()

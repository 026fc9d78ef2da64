"""The desk's window: pages and fields on the left, preview, file and proof on the right."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QSettings, Qt, QTimer, Signal
from PySide6.QtGui import QAction, QCloseEvent, QKeySequence
from PySide6.QtWidgets import (
    QFileDialog,
    QHBoxLayout,
    QInputDialog,
    QLabel,
    QListWidget,
    QListWidgetItem,
    QMainWindow,
    QMenu,
    QMessageBox,
    QScrollArea,
    QSplitter,
    QStackedWidget,
    QTabWidget,
    QVBoxLayout,
    QWidget,
)

from trainer.app.desk.controller import DeskController, is_shipped, tried_folder
from trainer.app.desk.entries import LineEntry, LongEntry, NumberLine
from trainer.app.desk.file_pane import FilePane
from trainer.app.desk.inside_page import InsidePage
from trainer.app.desk.packs import PackActions
from trainer.app.desk.pages import INSIDE, START, FormPage, all_pages, page_of
from trainer.app.desk.preview import Preview
from trainer.app.desk.proof_pane import ProofPane
from trainer.app.desk.start_page import StartPage
from trainer.app.look import palette, style_sheet
from trainer.app.sizes import CAUTION
from trainer.errors import Fault, TrainerError
from trainer.models.setup import Setup
from trainer.scene.palette import INSIDE as INSIDE_COLOUR
from trainer.scene.palette import MISSED, PAPER, css
from trainer.services.assets import known_structure_ids
from trainer.services.drafts.draft import Checked, Draft, copy_what_it_goes_by, file_name
from trainer.services.library import every_case
from trainer.services.yaml_text import KeyPath, key_path

if TYPE_CHECKING:
    from trainer.app.desk.form import Part

LAST_FOLDER = "own_cases"
FAULT_ROLE = Qt.ItemDataRole.UserRole
PAGES_PX, FORM_PX, LEAST_FORM_PX = 168, 452, 370
SHIPPED = (
    "A case that came with the program or a pack, which is never written over. Give it another id "
    "(Ctrl+Shift+N) and it becomes a case of your own."
)


class DeskWindow(QMainWindow):
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
        super().__init__()
        self.desk, self.settings, self._meshes = desk, settings, meshes
        desk.setParent(self)
        self.setWindowTitle("Write a case")
        self.setPalette(palette())
        self.setStyleSheet(style_sheet() + desk_style())
        self._pages = all_pages(desk)
        self.packs = PackActions(self)
        self._build()
        self._build_actions()
        desk.changed.connect(self._on_changed)
        desk.checked.connect(self._on_checked)
        desk.told.connect(self._tell)
        self.packs.told.connect(self._tell)
        self.preview.picked.connect(self._on_picked)
        self.preview.head_shown.connect(self.inside.show_head)

    # building ------------------------------------------------------------------------------------

    def _build(self) -> None:
        self.title = QLabel("No case is open")
        self.title.setObjectName("caseTitle")
        self.notice = QLabel()
        self.notice.setObjectName("notice")
        self.notice.setWordWrap(True)
        self.notice.setTextFormat(Qt.TextFormat.PlainText)
        self.notice.hide()
        self.list = QListWidget()
        self.list.setObjectName("pages")
        self.list.setAccessibleName("Pages")
        self.list.setWordWrap(True)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.setMinimumWidth(120)
        self.stack = QStackedWidget()
        self.inside = InsidePage(self.desk, self._structure_names())
        self.start_page = StartPage(self.desk)
        self.start_page.setup_asked.connect(self.setup_asked)
        self.parts: list[Part] = []
        for page in self._pages:
            part: QWidget
            if page.title == START:
                part = self.start_page
            elif page.title == INSIDE:
                part = self.inside
            else:
                part = FormPage(self.desk, page)
            self.parts.append(part)
            self.stack.addWidget(_scrolled(part))
            self.list.addItem(page.title)
        self.list.currentRowChanged.connect(self._on_page)
        self.faults = QListWidget()
        self.faults.setObjectName("faults")
        self.faults.setAccessibleName("Faults")
        self.faults.setWordWrap(True)
        self.faults.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.faults.setMaximumHeight(self.fontMetrics().lineSpacing() * 6)
        self.faults.itemActivated.connect(self._on_fault)
        self.faults.itemClicked.connect(self._on_fault)
        self.faults_head = QLabel("No faults")
        self.faults_head.setObjectName("section")
        self.preview = Preview(self._meshes)
        self.file = FilePane()
        self.proof = ProofPane()
        self.tabs = QTabWidget()
        self.tabs.addTab(self.preview, "Preview")
        self.tabs.addTab(self.file, "File")
        self.tabs.addTab(self.proof, "Proof")
        form = QWidget()
        column = QVBoxLayout(form)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.stack, 1)
        column.addWidget(self.faults_head)
        column.addWidget(self.faults)
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
        self.state = QLabel()
        self.state.setObjectName("quiet")
        self.state.setWordWrap(True)
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
        self.actions_by_name: dict[str, QAction] = {}
        tools = self.addToolBar("Actions")
        tools.setMovable(False)
        tools.setContextMenuPolicy(Qt.ContextMenuPolicy.PreventContextMenu)

        def add(menu: QMenu, name: str, words: str, keys: str, on: object, tip: str) -> None:
            action = QAction(words, self)
            action.setShortcut(QKeySequence(keys))
            action.setToolTip(f"{tip} ({keys})")
            action.triggered.connect(on)
            menu.addAction(action)
            self.actions_by_name[name] = action

        self.begin_menu = file_menu.addMenu("Begin &from")
        self.begin_menu.aboutToShow.connect(self._fill_begin_menu)
        add(file_menu, "open", "&Open a file…", "Ctrl+O", self.ask_file, "Open a case file")
        add(file_menu, "new", "&New id…", "Ctrl+Shift+N", self.ask_id,
            "Make a new case of this one, with an id of its own")  # fmt: skip
        add(file_menu, "save", "&Save", "Ctrl+S", self.save, "Save the case")
        add(file_menu, "save_as", "Save &as…", "Ctrl+Shift+S", self.ask_save,
            "Save the case under another name")  # fmt: skip
        add(file_menu, "pack", "Make a &pack…", "Ctrl+Shift+P", self.packs.make,
            "Put a folder of cases into one file for others")  # fmt: skip
        add(file_menu, "take_in", "&Take a pack in…", "Ctrl+Shift+I", self.packs.take_in,
            "Look a pack through and take its cases in")  # fmt: skip
        add(file_menu, "close", "&Close the desk", "Ctrl+W", self.close, "Back to the bench")
        add(edit_menu, "undo", "&Undo", "Ctrl+Z", self.desk.undo, "Undo the last change")
        add(edit_menu, "redo", "&Redo", "Ctrl+Shift+Z", self.desk.redo, "Do it again")
        add(edit_menu, "fault", "Next &fault", "F8", self.next_fault, "Go to the next fault")
        add(try_menu, "placing", "Try &placing", "F5", self.try_placing,
            "Practise placing with the draft as it is; nothing is saved")  # fmt: skip
        add(try_menu, "whole", "Try the &whole appointment", "F6", self.try_whole,
            "Work through the appointment with the draft as it is")  # fmt: skip
        add(try_menu, "prove", "P&rove it", "F7", self.prove, "Compute whether the case is sound")
        for number, page in enumerate(self._pages, 1):
            keys = f"Alt+{number % 10}" if number <= 10 else "Alt+F11"
            add(go_menu, f"page-{number}", page.title, keys,
                partial(self.list.setCurrentRow, number - 1), page.title)  # fmt: skip
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
        return self._may_go() and self._open(path)

    def _open(self, path: Path) -> bool:
        done = self.desk.open(path)
        if done and self.list.currentRow() < 0:
            self.list.setCurrentRow(0)
        return done

    def ask_file(self) -> None:
        """Ask for a case file and open it."""
        name, _ = QFileDialog.getOpenFileName(
            self, "Open a case file", self._folder(), "Cases (*.yaml *.yml)"
        )
        if name:
            self.open_case(Path(name))

    def ask_id(self) -> None:
        """Ask for an id and go on with a new case of it."""
        self._take_over()
        draft = self.desk.draft
        if draft is None:
            return
        start = f"{draft.value('id')}-2"
        words = "Id of the new case: small letters, numbers, hyphens, such as upper-left-canine"
        name, done = QInputDialog.getText(self, "New id", words, text=start)
        if done and name.strip():
            self.desk.copy(name.strip())

    def save(self) -> bool:
        """Save where the draft came from; a shipped or new case asks for a place."""
        self._take_over()
        draft = self.desk.draft
        if draft is None:
            return False
        if draft.path is None or is_shipped(draft.path):
            return self.ask_save()
        return self.desk.save(draft.path)

    def ask_save(self) -> bool:
        """Ask for a file and save there."""
        self._take_over()
        draft = self.desk.draft
        if draft is None:
            return False
        proposed = str(Path(self._folder()) / file_name(draft))
        name, _ = QFileDialog.getSaveFileName(
            self, "Save the case", proposed, "Cases (*.yaml *.yml)"
        )
        return bool(name) and self.save_to(Path(name))

    def save_to(self, path: Path) -> bool:
        """Save the draft in that file."""
        if path.suffix not in (".yaml", ".yml"):
            path = path.with_name(path.name + ".yaml")
        if not self.desk.save(path):
            return False
        self.settings.setValue(LAST_FOLDER, str(path.parent))
        return True

    def _folder(self) -> str:
        return str(self.settings.value(LAST_FOLDER, str(Path.home()), str))

    def _fill_begin_menu(self) -> None:
        self.begin_menu.clear()
        for name, path in every_case().items():
            action = self.begin_menu.addAction(name)
            action.triggered.connect(partial(self.open_case, path))

    def _take_over(self) -> None:
        """Take over what is typed in the entry that has the focus."""
        entry = self.focusWidget()
        if isinstance(entry, (LineEntry, NumberLine, LongEntry)):
            entry.commit()

    def _may_go(self) -> bool:
        """Whether the draft that is open may be let go of; asks if it is not saved."""
        self._take_over()
        draft = self.desk.draft
        if draft is None or not draft.changed:
            return True
        box = QMessageBox(
            QMessageBox.Icon.Question, "Not saved", f"{draft.name} has changes that are not saved.",
            QMessageBox.StandardButton.Save | QMessageBox.StandardButton.Discard
            | QMessageBox.StandardButton.Cancel, self,
        )  # fmt: skip
        answer = box.exec()
        if answer == QMessageBox.StandardButton.Save:
            return self.save()
        return answer == QMessageBox.StandardButton.Discard

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
            copy_what_it_goes_by(draft, self.desk.units, path.parent)
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
        self.notice.hide()
        shipped = draft.path is not None and is_shipped(draft.path)
        self.title.setText(str(draft.value("id") or "no id"))
        kept = "changes not saved" if draft.changed else "saved"
        self.state.setText(SHIPPED if shipped else f"{Path(draft.name).name}: {kept}")
        self.state.setToolTip(draft.name)
        self.file.show_text(draft.text)
        self.proof.note_change()
        self.actions_by_name["undo"].setEnabled(bool(draft.earlier))
        self.actions_by_name["redo"].setEnabled(bool(draft.later))
        self._show_page()

    def _on_checked(self, result: Checked) -> None:
        count = len(result.faults)
        words = "No faults" if not count else f"{count} fault{'' if count == 1 else 's'}"
        self.faults_head.setText(words if not count else f"! {words} (Enter: go there)")
        self.faults.clear()
        for fault in result.faults:
            item = QListWidgetItem(f"line {fault.line}: {fault.key}: {fault.text}")
            item.setData(FAULT_ROLE, fault)
            self.faults.addItem(item)
        self.faults.setVisible(bool(count))
        self._show_page_marks(result)
        self._part().show_faults(result)
        sound = not count
        self.actions_by_name["fault"].setEnabled(not sound)
        self.actions_by_name["placing"].setEnabled(sound)
        self.actions_by_name["prove"].setEnabled(sound)
        visits = sound and result.case is not None and result.case.visit is not None
        self.actions_by_name["whole"].setEnabled(visits)
        self.preview.show_case(result.placing, self.desk.unit)

    def _show_page_marks(self, result: Checked) -> None:
        counts = [0] * len(self._pages)
        for fault in result.faults:
            counts[page_of(key_path(fault.key), self._pages)] += 1
        for number, (page, count) in enumerate(zip(self._pages, counts, strict=True)):
            self.list.item(number).setText(f"! {page.title} ({count})" if count else page.title)

    def _part(self) -> Part:
        return self.parts[max(0, self.list.currentRow())]

    def _on_page(self, number: int) -> None:
        self.stack.setCurrentIndex(max(0, number))
        self._show_page()

    def _show_page(self) -> None:
        """Only the page that is seen follows every change."""
        if self.desk.draft is None:
            return
        self._part().show_draft()
        if self.desk.result is not None:
            self._part().show_faults(self.desk.result)

    def _on_picked(self, picked: tuple[str, ...]) -> None:
        titles = [page.title for page in self._pages]
        self.list.setCurrentRow(titles.index(INSIDE))
        self.inside.offer_picked(picked)
        self._bring_into_view(self.inside.list)

    # faults --------------------------------------------------------------------------------------

    def next_fault(self) -> None:
        """Go to the field of the next fault."""
        if self.faults.count():
            row = (self.faults.currentRow() + 1) % self.faults.count()
            self.faults.setCurrentRow(row)
            self._on_fault(self.faults.item(row))

    def _on_fault(self, item: QListWidgetItem) -> None:
        fault = item.data(FAULT_ROLE)
        assert isinstance(fault, Fault)
        self.file.mark_line(fault.line)
        self.go_to(key_path(fault.key))

    def go_to(self, where: KeyPath) -> None:
        """Show the page of a place and give its entry the focus."""
        self.list.setCurrentRow(page_of(where, self._pages))
        # entries that the page has just made are shown in the next turn of the event loop
        QTimer.singleShot(0, self, partial(self._focus_at, where))

    def _focus_at(self, where: KeyPath) -> None:
        self._part().focus_at(where)
        entry = self.focusWidget()
        if entry is not None:
            self._bring_into_view(entry)

    def _bring_into_view(self, widget: QWidget) -> None:
        place = self.stack.currentWidget()
        if isinstance(place, QScrollArea) and place.isAncestorOf(widget):
            place.ensureWidgetVisible(widget, 20, 60)

    def _tell(self, sentence: str) -> None:
        """Show a sentence above the pages; it stays until the next change."""
        self.notice.setText(sentence)
        self.notice.show()

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


def _scrolled(widget: QWidget) -> QScrollArea:
    place = QScrollArea()
    place.setWidgetResizable(True)
    place.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    place.setFrameShape(QScrollArea.Shape.NoFrame)
    place.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    place.setWidget(widget)
    return place


def desk_style() -> str:
    """What the desk's widgets need beyond the window's style sheet."""
    return f"""
    #fault {{ color: {css(MISSED)}; font-weight: bold; }}
    #pages::item {{ padding: 5px 6px; }}
    #faults::item {{ padding: 1px 4px; }}
    QLineEdit, QPlainTextEdit {{ background: {css(PAPER)}; border: 1px solid #808a94;
        border-radius: 3px; padding: 1px 3px; }}
    QLineEdit:focus, QPlainTextEdit:focus {{ border: 2px solid {css(INSIDE_COLOUR)};
        padding: 0px 2px; }}
    """

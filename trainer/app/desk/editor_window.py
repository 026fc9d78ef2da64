"""What every editor's window does: pages, the file, faults that lead to their fields, undo."""

from __future__ import annotations

from collections import Counter
from functools import partial
from pathlib import Path

from PySide6.QtCore import QSettings, Qt, QTimer
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import (
    QFileDialog,
    QInputDialog,
    QLabel,
    QListWidget,
    QListWidgetItem,
    QMainWindow,
    QMenu,
    QMessageBox,
    QScrollArea,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from trainer.app.desk.entries import LineEntry, LongEntry, NumberLine
from trainer.app.desk.file_controller import FileController, is_shipped
from trainer.app.desk.file_pane import FilePane
from trainer.app.desk.form import Part
from trainer.app.desk.pages import PageOf, page_of
from trainer.app.look import palette, style_sheet
from trainer.errors import Fault
from trainer.scene.palette import INSIDE as INSIDE_COLOUR
from trainer.scene.palette import MISSED, PAPER, TEXT, css
from trainer.services.drafts.draft import Checked, Draft, file_name
from trainer.services.yaml_text import KeyPath, key_path

LAST_FOLDER = "own_{}s"
FILES = "Text files (*.yaml *.yml)"
FAULT_ROLE = Qt.ItemDataRole.UserRole
SHIPPED = (
    "This {0} came with the program or a pack and is never written over. Give it another id "
    "(Ctrl+Shift+N) and it becomes a {0} of your own."
)


class EditorWindow(QMainWindow):
    """Writes one file. Holds widgets and the controller, and no rules.

    A window of it puts `list`, `stack`, `faults_head`, `faults`, `notice`, `title` and `state`
    where it wants them, and fills `parts` with one part for each page.
    """

    def __init__(
        self, desk: FileController, settings: QSettings, pages: tuple[PageOf, ...]
    ) -> None:
        super().__init__()
        self.desk, self.settings, self.pages = desk, settings, pages
        desk.setParent(self)
        self.setPalette(palette())
        self.setStyleSheet(style_sheet() + desk_style())
        self.parts: list[Part] = []
        self.actions_by_name: dict[str, QAction] = {}
        self.title = QLabel("No file is open")
        self.title.setObjectName("caseTitle")
        self.state = QLabel()
        self.state.setObjectName("quiet")
        self.state.setWordWrap(True)
        self.notice = QLabel()
        self.notice.setObjectName("notice")
        self.notice.setWordWrap(True)
        self.notice.setTextFormat(Qt.TextFormat.PlainText)
        self.notice.hide()
        self.list = _plain_list("Pages", "pages")
        self.list.setMinimumWidth(120)
        self.stack = QStackedWidget()
        self.list.currentRowChanged.connect(self._on_page)
        self.faults = _plain_list("Faults", "faults")
        self.faults.setMaximumHeight(self.fontMetrics().lineSpacing() * 6)
        self.faults.itemActivated.connect(self._on_fault)
        self.faults.itemClicked.connect(self._on_fault)
        self.faults_head = QLabel("No faults")
        self.faults_head.setObjectName("section")
        self.file = FilePane()
        desk.changed.connect(self._on_changed)
        desk.checked.connect(self._on_checked)
        desk.told.connect(self._tell)

    # building ------------------------------------------------------------------------------------

    def add_part(self, part: QWidget, title: str) -> None:
        """Put a page in."""
        self.parts.append(part)  # type: ignore[arg-type]
        self.stack.addWidget(_scrolled(part))
        self.list.addItem(title)

    def form_column(self) -> QWidget:
        """The pages above the list of faults."""
        form = QWidget()
        column = QVBoxLayout(form)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.stack, 1)
        column.addWidget(self.faults_head)
        column.addWidget(self.faults)
        return form

    def add_action(
        self, menu: QMenu, name: str, words: str, keys: str, on: object, tip: str
    ) -> None:
        """Put an action into a menu."""
        action = QAction(words, self)
        action.setShortcut(QKeySequence(keys))
        action.setToolTip(f"{tip} ({keys})")
        action.triggered.connect(on)
        menu.addAction(action)
        self.actions_by_name[name] = action

    def add_file_actions(self, menu: QMenu) -> None:
        """Opening, another id, saving."""
        kind, add = self.desk.kind, self.add_action
        add(menu, "open", "&Open a file…", "Ctrl+O", self.ask_file, f"Open a {kind} file")
        add(menu, "new", "&New id…", "Ctrl+Shift+N", self.ask_id,
            f"Make a new {kind} of this one, with an id of its own")  # fmt: skip
        add(menu, "save", "&Save", "Ctrl+S", self.save, f"Save the {kind}")
        add(menu, "save_as", "Save &as…", "Ctrl+Shift+S", self.ask_save,
            f"Save the {kind} under another name")  # fmt: skip

    def add_edit_actions(self, menu: QMenu) -> None:
        """Back, on, and to the next fault."""
        add = self.add_action
        add(menu, "undo", "&Undo", "Ctrl+Z", self.desk.undo, "Undo the last change")
        add(menu, "redo", "&Redo", "Ctrl+Shift+Z", self.desk.redo, "Do it again")
        add(menu, "fault", "Next &fault", "F8", self.next_fault, "Go to the next fault")

    def add_page_actions(self, menu: QMenu) -> None:
        """A key for every page."""
        for number, page in enumerate(self.pages, 1):
            keys = f"Alt+{number % 10}" if number <= 10 else "Alt+F11"
            self.add_action(menu, f"page-{number}", page.title, keys,
                            partial(self.list.setCurrentRow, number - 1), page.title)  # fmt: skip

    # the file ------------------------------------------------------------------------------------

    def open_file(self, path: Path) -> bool:
        """Lay a file on the desk, unless the one before is to be kept."""
        return self._may_go() and self._open(path)

    def _open(self, path: Path) -> bool:
        done = self.desk.open(path)
        if done and self.list.currentRow() < 0:
            self.list.setCurrentRow(0)
        return done

    def ask_file(self) -> None:
        """Ask for a file and open it."""
        name, _ = QFileDialog.getOpenFileName(
            self, f"Open a {self.desk.kind} file", self._folder(), FILES
        )
        if name:
            self.open_file(Path(name))

    def ask_id(self) -> None:
        """Ask for an id and go on with a new file of it."""
        self._take_over()
        draft = self.desk.draft
        if draft is None:
            return
        start = f"{draft.value('id')}-2"
        words = f"Id of the new {self.desk.kind}: small letters, numbers, hyphens"
        name, done = QInputDialog.getText(self, "New id", words, text=start)
        if done and name.strip():
            self.desk.copy(name.strip())

    def save(self) -> bool:
        """Save where the draft came from; a shipped or new one asks for a place."""
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
        name, _ = QFileDialog.getSaveFileName(self, f"Save the {self.desk.kind}", proposed, FILES)
        return bool(name) and self.save_to(Path(name))

    def save_to(self, path: Path) -> bool:
        """Save the draft in that file."""
        if path.suffix not in (".yaml", ".yml"):
            path = path.with_name(path.name + ".yaml")
        if not self.desk.save(path):
            return False
        self.settings.setValue(self._last_folder, str(path.parent))
        return True

    @property
    def _last_folder(self) -> str:
        return LAST_FOLDER.format(self.desk.kind)

    def _folder(self) -> str:
        return str(self.settings.value(self._last_folder, str(Path.home()), str))

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

    # following the controller --------------------------------------------------------------------

    def _on_changed(self, draft: Draft) -> None:
        self.notice.hide()
        shipped = draft.path is not None and is_shipped(draft.path)
        self.title.setText(str(draft.value("id") or "no id"))
        kept = "changes not saved" if draft.changed else "saved"
        told = f"{Path(draft.name).name}: {kept}"
        self.state.setText(SHIPPED.format(self.desk.kind) if shipped else told)
        self.state.setToolTip(draft.name)
        self.file.show_text(draft.text)
        self.actions_by_name["undo"].setEnabled(bool(draft.earlier))
        self.actions_by_name["redo"].setEnabled(bool(draft.later))
        self._show_page()

    def _on_checked(self, result: Checked) -> None:
        count = len(result.faults)
        words = "No faults" if not count else f"{count} fault{'' if count == 1 else 's'}"
        self.faults_head.setText(words if not count else f"! {words} (Enter: go there)")
        self.faults.clear()
        for fault in result.faults:
            self._list_fault(fault, "")
        self.faults.setVisible(bool(count))
        self._show_page_marks(result)
        self._part().show_faults(result)
        self.actions_by_name["fault"].setEnabled(bool(count))

    def _list_fault(self, fault: Fault, mark: str) -> None:
        item = QListWidgetItem(f"{mark}line {fault.line}: {fault.key}: {fault.text}")
        item.setData(FAULT_ROLE, fault)
        self.faults.addItem(item)

    def _show_page_marks(self, result: Checked) -> None:
        """How many faults, else how many doubts, have their first key on each page."""
        marked = [page.title for page in self.pages]
        for sign, found in (("?", result.doubts_within(())), ("!", result.faults)):
            counts = Counter(page_of(key_path(fault.key), self.pages) for fault in found)
            for number, count in counts.items():
                marked[number] = f"{sign} {self.pages[number].title} ({count})"
        for number, words in enumerate(marked):
            self.list.item(number).setText(words)

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
        self.list.setCurrentRow(page_of(where, self.pages))
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


def _plain_list(name: str, style: str) -> QListWidget:
    found = QListWidget()
    found.setObjectName(style)
    found.setAccessibleName(name)
    found.setWordWrap(True)
    found.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    return found


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
    #fault {{ color: {css(TEXT)}; }}
    #fault[wrong="true"] {{ color: {css(MISSED)}; font-weight: bold; }}
    #pages::item {{ padding: 5px 6px; }}
    #faults::item {{ padding: 1px 4px; }}
    QLineEdit, QPlainTextEdit {{ background: {css(PAPER)}; border: 1px solid #808a94;
        border-radius: 3px; padding: 1px 3px; }}
    QLineEdit:focus, QPlainTextEdit:focus {{ border: 2px solid {css(INSIDE_COLOUR)};
        padding: 0px 2px; }}
    """

"""The window: controls on the left, views in the middle, the result on the right."""

from __future__ import annotations

import logging
from functools import partial
from pathlib import Path

from PySide6.QtCore import QSettings, Qt, QTimer, Signal
from PySide6.QtGui import QAction, QCloseEvent, QKeySequence
from PySide6.QtWidgets import (
    QFileDialog,
    QLabel,
    QMainWindow,
    QScrollArea,
    QSplitter,
    QVBoxLayout,
    QWidget,
)

from trainer.app.appointment.door import AppointmentDoor
from trainer.app.case_list import CaseList
from trainer.app.control_panel import ControlPanel
from trainer.app.controller import SessionController
from trainer.app.desk.door import DeskDoor
from trainer.app.flat_view import FlatView
from trainer.app.learners.door import LearnerDoor
from trainer.app.look import palette, style_sheet
from trainer.app.notices import NAME, CautionsDialog, trouble_box
from trainer.app.result_panel import ResultPanel
from trainer.app.scene_holder import SceneHolder
from trainer.app.sizes import CAUTION, start_size, start_widths
from trainer.app.unit_desk.door import UnitDoor
from trainer.engine.placement import chain_of
from trainer.errors import NotValid, TrainerError
from trainer.models.scenario import Case
from trainer.scene.flat_picture import TITLES, FlatHead, flat_picture
from trainer.scene.outlines import Flat
from trainer.services.assets import MESHES, known_structure_ids
from trainer.services.library import case_folders, units_for
from trainer.services.scenario_io import case_files, load_case
from trainer.services.workbench import Workbench, open_workbench

log = logging.getLogger("trainer.app")

TURN_DEG = 15.0
# Cases up to this level start with the head open to view; later ones as at a real unit.
GUIDED_LEVEL = 1


def _scrolled(widget: QWidget) -> QScrollArea:
    """The widget in a place of its own that scrolls where the room is too small."""
    place = QScrollArea()
    place.setWidgetResizable(True)
    place.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    place.setFrameShape(QScrollArea.Shape.NoFrame)
    place.setWidget(widget)
    return place


class TrainerWindow(QMainWindow):
    """Shows one case. Holds widgets and the controller, and no rules.

    Signals
    -------
    closed : no value
        The window is closed and has let go of everything.
    """

    closed = Signal()

    def __init__(
        self,
        controller: SessionController,
        settings: QSettings,
        cases: Path | None = None,
        meshes: Path = MESHES,
    ) -> None:
        super().__init__()
        self.controller = controller
        controller.setParent(self)
        self.settings = settings
        self._cases, self._meshes = cases, meshes
        self._head: FlatHead | None = None
        self._fresh = False  # the 3-D view has not yet been turned to the case's target
        self.controls: ControlPanel | None = None
        self.door = AppointmentDoor(self, meshes)
        self.desk = DeskDoor(self, settings, meshes)
        self.unit_desk = UnitDoor(self, settings)
        self.learners = LearnerDoor(self, settings)
        self.setWindowTitle(NAME)
        self.setPalette(palette())
        self.setStyleSheet(style_sheet())
        self._build()
        self._build_actions()
        # several changes within one turn of the event loop are drawn once, with the last value
        self._draw_soon = QTimer(self)
        self._draw_soon.setSingleShot(True)
        self._draw_soon.setInterval(0)
        self._draw_soon.timeout.connect(self.draw)
        self._flats_soon = QTimer(self)
        self._flats_soon.setSingleShot(True)
        self._flats_soon.setInterval(0)
        self._flats_soon.timeout.connect(self.draw_flats)
        self._connect()
        self.resize(start_size(self.screen().availableSize()))
        self.body.setSizes(start_widths(self.width()))

    # building ---------------------------------------------------------------------------------

    def _build(self) -> None:
        self.title = QLabel("No case is open")
        self.title.setObjectName("caseTitle")
        self.request = QLabel("Open a case to begin.")
        self.request.setObjectName("request")
        self.request.setWordWrap(True)
        self.controls_place = _scrolled(QWidget())
        self.view3d = SceneHolder()
        self.flats = {view: FlatView(view) for view in Flat}
        self.result = ResultPanel()
        flat_row = QSplitter(Qt.Orientation.Horizontal)
        for view, widget in self.flats.items():
            sheet = QWidget()
            sheet.setObjectName("sheet")
            column = QVBoxLayout(sheet)
            column.setContentsMargins(0, 2, 0, 0)
            column.setSpacing(0)
            name = QLabel(TITLES[view])
            name.setObjectName("quiet")
            name.setIndent(8)
            name.setMinimumWidth(1)
            name.setWordWrap(True)
            column.addWidget(name)
            column.addWidget(widget, 1)
            flat_row.addWidget(sheet)
        flat_row.setSizes([1000, 1000])
        views = QSplitter(Qt.Orientation.Vertical)
        views.addWidget(self.view3d)
        views.addWidget(flat_row)
        views.setSizes([400, 270])
        self.notice = QLabel()
        self.notice.setObjectName("notice")
        self.notice.setWordWrap(True)
        self.notice.setTextFormat(Qt.TextFormat.PlainText)
        self.notice.setVisible(False)
        left = QWidget()
        column = QVBoxLayout(left)
        column.setContentsMargins(0, 0, 0, 4)
        column.addWidget(self.controls_place, 1)
        column.addWidget(self.notice)
        self.body = QSplitter(Qt.Orientation.Horizontal)
        self.result_place = _scrolled(self.result)
        for part in (left, views, self.result_place):
            self.body.addWidget(part)
        self.body.setStretchFactor(1, 1)
        self.body.setChildrenCollapsible(False)
        whole = QWidget()
        column = QVBoxLayout(whole)
        column.setContentsMargins(8, 4, 8, 0)
        column.setSpacing(2)
        column.addWidget(self.title)
        column.addWidget(self.request)
        column.addWidget(self.body, 1)
        self.setCentralWidget(whole)
        self.state_note = QLabel()
        self.statusBar().addWidget(self.learners.note)
        self.statusBar().addPermanentWidget(self.state_note)
        self.statusBar().addPermanentWidget(QLabel(CAUTION))

    def _build_actions(self) -> None:
        from trainer.scene.vtk_frames import Look

        bar = self.menuBar()
        case_menu, setup_menu = bar.addMenu("&Case"), bar.addMenu("&Setup")
        view_menu, learner_menu = bar.addMenu("&View"), bar.addMenu("&Learner")
        help_menu = bar.addMenu("&Help")
        self.learners.fill(learner_menu)
        self.actions_by_name: dict[str, QAction] = {}

        def add(menu: object, name: str, words: str, keys: str, on: object) -> QAction:
            action = QAction(words, self)
            action.setShortcut(QKeySequence(keys))
            action.setToolTip(f"{words.replace('&', '').replace('…', '')} ({keys})")
            action.triggered.connect(on)
            menu.addAction(action)  # type: ignore[attr-defined]
            self.actions_by_name[name] = action
            return action

        add(case_menu, "open", "&Open a case…", "Ctrl+O", self.ask_case)
        add(case_menu, "whole", "&Whole appointment…", "Ctrl+Shift+O", self.ask_whole)
        add(case_menu, "write", "W&rite a case…", "Ctrl+E", self.desk.ask)
        add(case_menu, "unit", "Describe a &unit…", "Ctrl+U", lambda: self.unit_desk.ask())
        add(case_menu, "picture", "Save &picture…", "Ctrl+S", self.ask_picture)
        add(case_menu, "quit", "&Quit", "Ctrl+Q", self.close)
        undo = add(setup_menu, "undo", "&Undo", "Ctrl+Z", self.controller.undo)
        redo = add(setup_menu, "redo", "&Redo", "Ctrl+Shift+Z", self.controller.redo)
        over = add(setup_menu, "over", "&Start over", "Ctrl+Backspace", self.controller.start_over)
        undo.setEnabled(False)
        redo.setEnabled(False)
        over.setEnabled(False)
        inside = add(view_menu, "inside", "Look &inside", "Ctrl+I", self._on_look_inside)
        helped = add(view_menu, "help", "Live &help", "Ctrl+H", self._on_live_help)
        for action, on in ((inside, True), (helped, True)):
            action.setCheckable(True)
            action.setChecked(on)
        view_menu.addSeparator()
        looks = []
        words = {
            Look.FRONT: "Front",
            Look.RIGHT_SIDE: "Right side",
            Look.LEFT_SIDE: "Left side",
            Look.RIGHT_FRONT: "Right front",
            Look.LEFT_FRONT: "Left front",
            Look.BACK: "Behind",
        }
        for number, (look, text) in enumerate(words.items(), 1):
            go = partial(self.view3d.look_from, look)
            looks.append(add(view_menu, f"look-{look}", text, f"Ctrl+{number}", go))
        view_menu.addSeparator()
        for name, text, keys, way in (
            ("turn-left", "Walk round to the left", "Alt+Left", (-TURN_DEG, 0.0)),
            ("turn-right", "Walk round to the right", "Alt+Right", (TURN_DEG, 0.0)),
            ("turn-up", "Look from higher up", "Alt+Up", (0.0, TURN_DEG)),
            ("turn-down", "Look from lower down", "Alt+Down", (0.0, -TURN_DEG)),
        ):
            add(view_menu, name, text, keys, partial(self.view3d.turn, *way))
        add(help_menu, "cautions", "&About and cautions", "F1", self.show_cautions)
        tools = self.addToolBar("Actions")
        tools.setMovable(False)
        tools.setContextMenuPolicy(Qt.ContextMenuPolicy.PreventContextMenu)
        for group in ((undo, redo, over), (inside, helped), looks):
            for action in group:
                tools.addAction(action)
            tools.addSeparator()

    def _connect(self) -> None:
        controller = self.controller
        controller.case_opened.connect(self._on_case)
        controller.setup_changed.connect(self._on_setup)
        controller.placement_changed.connect(self.result.show_placement)
        controller.placement_changed.connect(self._on_placement)
        controller.rested.connect(self._draw_soon.start)
        controller.advice_ready.connect(self.result.show_advice)
        controller.steps_changed.connect(self._on_steps)
        controller.refused.connect(self._tell)
        self.result.advice_taken.connect(controller.take)
        self.view3d.ready.connect(self._on_scene_ready)

    # opening ----------------------------------------------------------------------------------

    def open_case(self, name_or_path: str) -> bool:
        """Open a case by name or file; on a fault a message is shown and the case before stays."""
        try:
            bench = open_workbench(name_or_path, self._meshes)
            self.controller.open(bench)
        except TrainerError as error:
            self._trouble("This case was not opened", error)
            return False
        return True

    def ask_case(self) -> None:
        """Let the person choose a case."""
        dialog = CaseList(self._list_cases(), self)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.accepted.connect(partial(self._open_chosen, dialog))
        dialog.open()

    def _open_chosen(self, dialog: CaseList) -> None:
        if dialog.chosen is None:
            return
        if dialog.whole:
            self.door.ask(str(dialog.chosen))
        else:
            self.open_case(str(dialog.chosen))

    def ask_whole(self) -> None:
        """Begin or go on with an appointment of the case that is open."""
        bench = self.controller.bench
        if bench is None:
            self._tell("No case is open. Choose one with Ctrl+O.")
        else:
            self.door.ask_bench(bench)

    def _list_cases(self) -> dict[Path, Case | TrainerError]:
        found: dict[Path, Case | TrainerError] = {}
        try:
            ids = known_structure_ids(self._meshes)
        except TrainerError:
            ids = None
        for path in case_files(self._cases or case_folders()).values():
            try:
                found[path] = load_case(path, units_for(path), ids)
            except TrainerError as error:
                found[path] = error
        return found

    def _trouble(self, title: str, error: TrainerError) -> None:
        kept = self.controller.bench
        safe = (
            f"The case “{kept.case.text(kept.case.title)}” stays open as it was."
            if kept is not None
            else "Nothing was changed."
        )
        todo = (
            "Mend the file at the lines named, or choose another case."
            if isinstance(error, NotValid)
            else "Choose another case with Ctrl+O, or do what the message says and try again."
        )
        words = str(error.args[0]) if error.args else str(error)
        box = trouble_box(title, words, self, f"{safe} {todo}")
        box.open()

    # following the controller -------------------------------------------------------------------

    def _on_case(self, bench: Workbench) -> None:
        case = bench.case
        self.title.setText(case.text(case.title))
        self.request.setText(f"Request: {case.text(case.request)}  Aim: {case.text(case.aim)}")
        self.controls = ControlPanel(bench.unit)
        self.controls.moved.connect(self._on_moved)
        self.controls.refused.connect(self._tell)
        self.controls_place.setWidget(self.controls)
        self._head = FlatHead(bench.meshes)
        self.result.open_case(case, bench.unit)
        self.view3d.show_head(bench.meshes, bench.unit)
        self._fresh = True
        self.notice.setVisible(False)
        self.actions_by_name["inside"].setChecked(case.level <= GUIDED_LEVEL)
        self.actions_by_name["over"].setEnabled(True)
        self._show_state()

    def _on_moved(self, key: str, value: object) -> None:
        self.controller.change({key: value})

    def _on_setup(self, setup: object) -> None:
        if self.controls is not None:
            self.controls.show_setup(setup)  # type: ignore[arg-type]

    def _on_placement(self, _: object) -> None:
        self.notice.setVisible(False)
        self._draw_soon.start()
        self._show_state()

    def _on_scene_ready(self) -> None:
        bench = self.controller.bench
        if bench is not None:
            self.view3d.show_head(bench.meshes, bench.unit)
            self._fresh = True
            self._draw_soon.start()

    def _on_steps(self, undo: bool, redo: bool) -> None:
        self.actions_by_name["undo"].setEnabled(undo)
        self.actions_by_name["redo"].setEnabled(redo)

    def _on_look_inside(self) -> None:
        self._draw_soon.start()
        self._show_state()

    def _on_live_help(self, on: bool) -> None:
        self.result.show_help(on)
        self._show_state()

    @property
    def look_inside(self) -> bool:
        """Whether bone and field are shown."""
        return self.actions_by_name["inside"].isChecked()

    def draw(self) -> None:
        """Draw all views for the placement that holds now.

        While something moves the 3-D view comes first and the flat views in the next turn of the
        event loop, so that the eye gets an answer sooner.
        """
        placement, bench = self.controller.placement, self.controller.bench
        if placement is None or bench is None:
            return
        moving = self.controller.moving
        steps = chain_of(bench.meshes.head, bench.unit, placement.setup)
        self.view3d.show_placement(placement, steps, self.look_inside, moving)
        if self._fresh:
            self.view3d.look_at_target(placement)
            self._fresh = False
        if moving:
            self._flats_soon.start()
        else:
            self.draw_flats()

    def draw_flats(self) -> None:
        """Draw the two flat views for the placement that holds now."""
        placement, bench = self.controller.placement, self.controller.bench
        if placement is None or bench is None or self._head is None:
            return
        steps = chain_of(bench.meshes.head, bench.unit, placement.setup)
        for view, widget in self.flats.items():
            widget.show_picture(
                flat_picture(view, self._head, bench.unit, placement, steps, self.look_inside),
                self.controller.moving,
            )

    def _show_state(self) -> None:
        words = ["look inside on" if self.look_inside else "look inside off"]
        placement = self.controller.placement
        if self.actions_by_name["help"].isChecked():
            words.append("live help on")
            if placement is not None:
                held = placement.held
                words.insert(0, f"{held} of {len(placement.required)} required inside")
        else:
            words.append("live help off")
        self.state_note.setText("  ·  ".join(words))

    def _tell(self, sentence: str) -> None:
        """Show a sentence under the controls; it stays until the next change."""
        self.notice.setText(sentence)
        self.notice.setVisible(True)

    # pictures, notices, closing -----------------------------------------------------------------

    def ask_picture(self) -> None:
        """Ask for a file and save the picture there."""
        name, _ = QFileDialog.getSaveFileName(self, "Save picture", "placement.png", "PNG (*.png)")
        if name:
            path = Path(name)
            self.save_picture(path if path.suffix else path.with_suffix(".png"))

    def save_picture(self, path: Path) -> bool:
        """Save the present placement as PNG; tells how it went."""
        bench, state = self.controller.bench, self.controller.state
        if bench is None or state is None:
            self._tell("There is no picture to save: no case is open.")
            return False
        from trainer.scene.snapshot import NotPng, save_picture

        try:
            save_picture(bench, state.setup, path, self.look_inside)
        except NotPng as error:
            self._not_saved(str(error))
            return False
        except OSError as error:
            self._not_saved(f"{path}: {error.strerror or error}.")
            return False
        self._tell(f"Saved {path}")
        return True

    def _not_saved(self, why: str) -> None:
        todo = "Your case is kept. Choose another name or folder and save again."
        trouble_box("The picture was not saved", why, self, todo).open()

    def show_cautions(self) -> None:
        """Show what the program is and is not."""
        dialog = CautionsDialog(self)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.open()

    def closeEvent(self, event: QCloseEvent) -> None:
        if not self.desk.close() or not self.unit_desk.close():
            event.ignore()
            return
        self._draw_soon.stop()
        self._flats_soon.stop()
        self.door.close()
        self.learners.close()
        self.controller.close()
        self.view3d.shut()
        super().closeEvent(event)
        self.closed.emit()

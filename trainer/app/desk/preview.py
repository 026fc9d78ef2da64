"""The case as it starts, live: 3-D view, flat views, and what of the target is inside."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QMouseEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QHBoxLayout,
    QLabel,
    QProgressBar,
    QPushButton,
    QSplitter,
    QVBoxLayout,
    QWidget,
)

from trainer.app.desk.head_job import HeadJobs
from trainer.app.flat_view import FlatView
from trainer.app.scene_holder import SceneHolder
from trainer.engine.placement import Chain, Placement, chain_of, place
from trainer.engine.points import pack
from trainer.models.device import Unit
from trainer.models.meshes import HeadMeshes
from trainer.models.scenario import Case
from trainer.scene.flat_picture import FlatHead, flat_picture
from trainer.scene.outlines import Flat

FAULTY = (
    "Person, unit, start or structures have faults, so the picture is that of the last sound state."
)


class PickedFlat(FlatView):
    """A flat view that tells where it was clicked.

    Signals
    -------
    clicked : Flat, float, float
        The view, and the place in it: across and up [mm].
    """

    clicked = Signal(object, float, float)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if self.picture is not None:
            scale, dx, dy = self._fit()
            at = event.position()
            self.clicked.emit(self.view, (at.x() - dx) / scale, (dy - at.y()) / scale)


class Preview(QWidget):
    """Shows a case in its starting setup; a new person's head is built in the background.

    Signals
    -------
    picked : tuple of str
        Structures under a click, the nearest first.
    head_shown : HeadMeshes
        Another head is shown.
    """

    picked = Signal(object)
    head_shown = Signal(object)

    def __init__(self, meshes_folder: Path) -> None:
        super().__init__()
        self.case: Case | None = None
        self.unit: Unit | None = None
        self.meshes: HeadMeshes | None = None
        self.placement: Placement | None = None
        self._steps: Chain | None = None
        self._flat_head: FlatHead | None = None
        self._scene_of: tuple[int, int] | None = None
        self._looked = False
        self.jobs = HeadJobs(meshes_folder, self)
        self.jobs.progress.connect(self._on_progress)
        self.jobs.done.connect(self._on_head)
        self.jobs.failed.connect(self._on_failed)
        self.jobs.cancelled.connect(self._on_cancelled)
        self._draw_soon = QTimer(self)
        self._draw_soon.setSingleShot(True)
        self._draw_soon.setInterval(0)
        self._draw_soon.timeout.connect(self.draw)
        self._build()

    def _build(self) -> None:
        self.told = QLabel("")
        self.told.setWordWrap(True)
        self.told.setMinimumHeight(self.fontMetrics().lineSpacing() * 2 + 4)
        self.inside = QCheckBox("Look inside")
        self.inside.setChecked(True)
        self.inside.toggled.connect(self._draw_soon.start)
        self.bar = QProgressBar()
        self.bar.setRange(0, 0)
        self.bar.setTextVisible(False)
        self.bar.setMaximumHeight(14)
        self.cancel = QPushButton("Cancel")
        self.cancel.setToolTip("Stop building the head; the picture before stays.")
        self.cancel.setMinimumHeight(24)
        self.cancel.clicked.connect(self.jobs.cancel)
        row = QHBoxLayout()
        row.addWidget(self.told, 1)
        row.addWidget(self.inside)
        self.work = QWidget()
        working = QHBoxLayout(self.work)
        working.setContentsMargins(0, 0, 0, 0)
        working.addWidget(self.bar, 1)
        working.addWidget(self.cancel)
        self.work.setVisible(False)
        self.view3d = SceneHolder()
        self.view3d.ready.connect(self._draw_soon.start)
        self.view3d.canvas.clicked.connect(self._on_click)
        self.flats = {view: PickedFlat(view) for view in Flat}
        flat_row = QSplitter(Qt.Orientation.Horizontal)
        for flat in self.flats.values():
            flat.clicked.connect(self._on_flat_click)
            flat.setToolTip("Click a structure to choose it.")
            flat_row.addWidget(flat)
        views = QSplitter(Qt.Orientation.Vertical)
        views.addWidget(self.view3d)
        views.addWidget(flat_row)
        views.setSizes([330, 230])
        column = QVBoxLayout(self)
        column.setContentsMargins(4, 4, 4, 4)
        column.setSpacing(3)
        column.addLayout(row)
        column.addWidget(self.work)
        column.addWidget(views, 1)

    def show_case(self, case: Case | None, unit: Unit | None) -> None:
        """Show that case; without one the picture stays and is said to be an earlier one."""
        if case is None or unit is None:
            self.told.setText(FAULTY)
            return
        self.case, self.unit = case, unit
        person = case.subject.person
        if self.meshes is None or self.meshes.head.person.shape != person.shape:
            self.jobs.ask(person)
        else:
            self._draw_soon.start()

    def draw(self) -> None:
        """Draw the case with the head that is there."""
        case, unit, meshes = self.case, self.unit, self.meshes
        if case is None or unit is None or meshes is None:
            return
        if meshes.head.person.shape != case.subject.person.shape:
            return  # its own head is not there yet
        named = dict.fromkeys([*(r.structure for r in case.required), *case.wanted])
        points = pack(meshes.head.structure(key) for key in named)
        self.placement = place(case, meshes.head, points, unit, case.start)
        self._steps = chain_of(meshes.head, unit, case.start)
        self._show_scene(meshes, unit)
        if self._flat_head is None:
            self._flat_head = FlatHead(meshes)
        for view, flat in self.flats.items():
            flat.show_picture(
                flat_picture(
                    view, self._flat_head, unit, self.placement, self._steps,
                    self.inside.isChecked(),
                )
            )  # fmt: skip
        self._tell(self.placement)

    def _show_scene(self, meshes: HeadMeshes, unit: Unit) -> None:
        assert self.placement is not None
        assert self._steps is not None
        if self.view3d.plotter is None:
            return
        if self._scene_of != (id(meshes), id(unit)):
            self.view3d.show_head(meshes, unit)
            self._scene_of = (id(meshes), id(unit))
            self._looked = False
        self.view3d.show_placement(self.placement, self._steps, self.inside.isChecked(), False)
        if not self._looked:
            self.view3d.look_at_target(self.placement)
            self._looked = True

    def _tell(self, placement: Placement) -> None:
        held, whole = placement.held, len(placement.required)
        words = f"At the start {held} of {whole} required are inside."
        if held == whole:
            words += " ! The start already holds everything: there is nothing to put right."
        self.told.setText(words)

    # the head -----------------------------------------------------------------------------------

    def _on_progress(self, part: str) -> None:
        self.work.setVisible(True)
        self.told.setText(f"Another person: building the head ({part}). The picture is the last.")

    def _on_head(self, meshes: HeadMeshes) -> None:
        self.work.setVisible(False)
        self.meshes, self._flat_head = meshes, None
        self.head_shown.emit(meshes)
        self._draw_soon.start()

    def _on_failed(self, why: str) -> None:
        self.work.setVisible(False)
        self.told.setText(f"The head cannot be built: {why} The case is kept.")

    def _on_cancelled(self) -> None:
        self.work.setVisible(False)
        self.told.setText("Building the head was cancelled. The picture is of the one before.")

    # picking ------------------------------------------------------------------------------------

    def _on_click(self, x: float, y: float) -> None:
        if self._steps is None or self.meshes is None or self.view3d.plotter is None:
            return
        from trainer.scene.picking import sight_line, structures_on
        from trainer.scene.vtk_frames import read_camera

        canvas = self.view3d.canvas
        place_of_camera = read_camera(self.view3d.plotter.camera)
        line = sight_line(place_of_camera, x, canvas.height() - y, canvas.width(), canvas.height())
        self.picked.emit(structures_on(self.meshes, self._steps, *line))

    def _on_flat_click(self, view: Flat, across_mm: float, up_mm: float) -> None:
        if self._steps is None or self.meshes is None:
            return
        from trainer.scene.picking import flat_sight_line, structures_on

        line = flat_sight_line(view, across_mm, up_mm)
        self.picked.emit(structures_on(self.meshes, self._steps, *line))

    def shut(self) -> None:
        """Stop work and let go of everything that VTK holds."""
        self._draw_soon.stop()
        self.jobs.close()
        self.view3d.shut()

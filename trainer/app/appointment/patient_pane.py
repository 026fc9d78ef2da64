"""The patient as the operator sees them: the 3-D view and two flat views."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QLabel, QPushButton, QSplitter, QStackedLayout, QVBoxLayout, QWidget

from trainer.app.flat_view import FlatView
from trainer.app.scene_holder import SceneHolder
from trainer.engine.appointment.state import AppointmentState
from trainer.engine.collisions import BodyPoints, body_points, clearance
from trainer.engine.motion import displacement_mm, moved_head
from trainer.engine.placement import chain_of
from trainer.models.appointment_words import View
from trainer.models.clearance import Clearance
from trainer.models.frames import RigidTransform
from trainer.models.motion import MotionTrace
from trainer.models.setup import Setup
from trainer.scene.flat_picture import TITLES, FlatHead, flat_picture
from trainer.scene.landmark_names import with_landmarks
from trainer.scene.outlines import Flat
from trainer.services.workbench import Workbench

NOBODY = "Nobody is at the unit yet."
SOMEBODY = "A person is in the room, not yet at the unit."
GONE = "The person has left the unit."
VIEWS = {Flat.FRONT: View.FRONT, Flat.SIDE: View.SIDE}
# A head that has moved by less looks as if it had not.
SEEN_MM = 0.1


class PatientPane(QWidget):
    """Shows the person at the unit; before and after, a sentence.

    ``landmarks``: whether landmarks are marked and named on the flat views while bone is hidden.

    Signals
    -------
    looked : View
        The learner wants to look from there.
    """

    looked = Signal(object)

    def __init__(
        self, bench: Workbench, landmarks: bool = False, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.bench = bench
        self._landmarks = landmarks
        self._head = FlatHead(bench.meshes)
        self._body: BodyPoints = body_points(bench.meshes)
        self._unlit = replace(bench.unit, lights=())
        self._state: AppointmentState | None = None
        self._setup: Setup | None = None
        self._inside = self._moving = self._fresh = False
        self._trace: MotionTrace | None = None
        self._stack = QStackedLayout(self)
        self.note = QLabel(NOBODY)
        self.note.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.note.setWordWrap(True)
        self.note.setObjectName("roomNote")
        self._stack.addWidget(self.note)
        self.view3d = SceneHolder()
        self.view3d.ready.connect(self._on_ready)
        self.flats = {view: FlatView(view) for view in Flat}
        self.stand: dict[View, QPushButton] = {}
        sheets = QSplitter(Qt.Orientation.Vertical)
        for flat, widget in self.flats.items():
            sheet = QWidget()
            sheet.setObjectName("sheet")
            column = QVBoxLayout(sheet)
            column.setContentsMargins(0, 0, 0, 0)
            column.setSpacing(0)
            button = QPushButton(f"Look {TITLES[flat][0].lower()}{TITLES[flat][1:]}")
            button.setObjectName("flatTitle")
            button.setMinimumWidth(20)
            button.clicked.connect(partial(self.looked.emit, VIEWS[flat]))
            self.stand[VIEWS[flat]] = button
            column.addWidget(button)
            column.addWidget(widget, 1)
            sheets.addWidget(sheet)
        whole = QSplitter(Qt.Orientation.Horizontal)
        whole.addWidget(self.view3d)
        whole.addWidget(sheets)
        whole.setSizes([620, 420])
        whole.setChildrenCollapsible(False)
        self._stack.addWidget(whole)
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(0)
        self._soon.timeout.connect(self.draw)

    @property
    def shows_person(self) -> bool:
        """Whether the person is shown, and not a sentence."""
        return self._stack.currentIndex() == 1

    @property
    def look_inside(self) -> bool:
        """Whether bone and field are shown."""
        return self._inside

    def show_setup(
        self, state: AppointmentState, setup: Setup, look_inside: bool, moving: bool = False
    ) -> None:
        """Show this setup soon; several changes within one turn are drawn once."""
        self._state, self._setup = state, setup
        self._inside, self._moving = look_inside, moving
        at_unit = state.person is not None and state.person.stance is not None
        if at_unit or (state.finished and state.runs):
            self._stack.setCurrentIndex(1)
        else:
            left = any(r.number for r in state.runs)
            self.note.setText(SOMEBODY if state.person else (GONE if left else NOBODY))
            self._stack.setCurrentIndex(0)
        self._soon.start()

    def play(self, trace: MotionTrace | None) -> None:
        """Show the person as they move from now on (`show_moment`), or hold still."""
        self._trace = trace

    def show_moment(self, into_s: float) -> None:
        """The person so many seconds into the movement that is played."""
        if self._trace is None or self._setup is None or not self.shows_person:
            return
        chin = self.bench.meshes.head.chin_contact_mm
        moved = moved_head(self._trace, into_s, chin)
        self._draw_3d(self._setup, True, moved)

    @property
    def moves_visibly(self) -> bool:
        """Whether the movement that is played can be seen at all."""
        return self._trace is not None and float(displacement_mm(self._trace).max()) >= SEEN_MM

    def draw(self) -> None:
        """Draw all views now."""
        state, setup = self._state, self._setup
        if state is None or setup is None or not self.shows_person:
            return
        self._draw_3d(setup, self._moving, None)
        if self._fresh:
            self.view3d.look_at_target(state.context.placing(setup))
            self._fresh = False
        steps = chain_of(self.bench.meshes.head, self.bench.unit, setup)
        unit = self.bench.unit if self._lit else self._unlit
        placement = state.context.placing(setup)
        for flat, widget in self.flats.items():
            picture = flat_picture(flat, self._head, unit, placement, steps, self._inside)
            if self._landmarks and not self._inside:
                picture = with_landmarks(picture, self.bench.meshes.head.landmarks_mm, steps)
            widget.show_picture(picture, self._moving)

    def clearance(self, setup: Setup) -> Clearance | None:
        """How far the unit's moving parts stay away from the person."""
        steps = chain_of(self.bench.meshes.head, self.bench.unit, setup)
        return clearance(self._body, self.bench.unit, steps)

    def shut(self) -> None:
        """Let go of everything; must be called before the window goes."""
        self._soon.stop()
        self.view3d.shut()

    @property
    def _lit(self) -> bool:
        return self._state is not None and self._state.room.lights_on

    def _draw_3d(self, setup: Setup, coarse: bool, moved: RigidTransform | None) -> None:
        assert self._state is not None
        steps = chain_of(self.bench.meshes.head, self.bench.unit, setup, moved)
        self.view3d.show_lights(self._lit)
        self.view3d.show_placement(self._state.context.placing(setup), steps, self._inside, coarse)

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._soon.start()  # what changed while another pane was in front was not drawn

    def _on_ready(self) -> None:
        self.view3d.show_head(self.bench.meshes, self.bench.unit)
        self._fresh = True
        self._soon.start()

"""Both scouts beside each other: mark the target, say what is cut, read the shift, go on."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

import numpy as np
from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QVBoxLayout,
    QWidget,
)

from trainer.app.appointment import act_words as words
from trainer.app.appointment.acts_panel import act_button
from trainer.app.appointment.scout_job import ScoutAsk
from trainer.app.appointment.scout_picture import PictureView
from trainer.engine.wording import signed_amount
from trainer.geometry.pose import gantry_to_field
from trainer.models.appointment_words import CutSide, ScoutKind
from trainer.models.device import Unit
from trainer.models.setup import Setup
from trainer.physics.views import beside_centre, shift_from_marks
from trainer.services.appointment_report import dose_words
from trainer.services.scouts import ScoutPicture

START = "Take a frontal and a lateral scout from the switch (phase “Scouts”)."
NO_SCOUTS = "This unit makes panoramic pictures and no scouts: place by the light lines."
SIDES = {
    ScoutKind.FRONTAL: (CutSide.RIGHT, CutSide.LEFT, CutSide.TOP, CutSide.BOTTOM),
    ScoutKind.LATERAL: (CutSide.FRONT, CutSide.BACK, CutSide.TOP, CutSide.BOTTOM),
}
# Marks further than this from each other's height are hardly on the same thing [mm].
FAR_MM = 5.0


class ScoutPanel(QWidget):
    """The scouts of an appointment.

    Signals
    -------
    target_marked : ScoutKind, float, float
        The learner pointed at the target: mm across and up from the field's middle.
    cut_named : ScoutKind, tuple of CutSide
        Where the learner says the target is cut off.
    field_moved : dict
        Values of controls that bring the field to the marks.
    cancelled : no value
        The pictures shall not be computed further.
    asked_again : no value
        What was cancelled or failed shall be computed after all.
    left : str
        Where the learner wants to go on: "place", "scout" or "run".
    """

    target_marked = Signal(object, float, float)
    cut_named = Signal(object, tuple)
    field_moved = Signal(dict)
    cancelled = Signal()
    asked_again = Signal()
    left = Signal(str)

    def __init__(self, unit: Unit, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.unit = unit
        self._asks: dict[ScoutKind, ScoutAsk] = {}
        self._shift: np.ndarray | None = None
        column = QVBoxLayout(self)
        column.setContentsMargins(4, 4, 4, 4)
        column.setSpacing(4)
        row = QHBoxLayout()
        self.told = QLabel(NO_SCOUTS if unit.is_panoramic else START)
        self.told.setWordWrap(True)
        row.addWidget(self.told, 1)
        self.cancel = act_button("Cancel", self.cancelled.emit)
        self.cancel.setVisible(False)
        self.again = act_button("Compute it after all", self.asked_again.emit)
        self.again.setVisible(False)
        row.addWidget(self.cancel)
        row.addWidget(self.again)
        column.addLayout(row)
        self.below = QWidget()
        self.below.setVisible(not unit.is_panoramic)
        column.addWidget(self.below, 1)
        if unit.is_panoramic:
            column.addStretch(1)
        column = QVBoxLayout(self.below)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        grid = QGridLayout()
        grid.setSpacing(4)
        self.views: dict[ScoutKind, PictureView] = {}
        self.cuts: dict[ScoutKind, dict[CutSide, QCheckBox]] = {}
        self.say: dict[ScoutKind, object] = {}
        for place, kind in enumerate(ScoutKind):
            view = PictureView(str(kind))
            view.marked.connect(partial(self._on_marked, kind))
            self.views[kind] = view
            grid.addWidget(view, 0, place)
            grid.addLayout(self._cut_row(kind), 1, place)
        grid.setRowStretch(0, 1)
        column.addLayout(grid, 1)
        self.shift_words = QLabel("Mark the middle of the target on both pictures.")
        self.shift_words.setWordWrap(True)
        self.shift_words.setObjectName("shift")
        column.addWidget(self.shift_words)
        row = QHBoxLayout()
        self.move_field = act_button("Move the field by this", self._on_move)
        self.move_field.setEnabled(False)
        self.to_place = act_button("Go and correct it", partial(self.left.emit, "place"))
        self.to_scout = act_button("Repeat a scout", partial(self.left.emit, "scout"))
        self.to_run = act_button("Go on to the run", partial(self.left.emit, "run"))
        for button in (self.move_field, self.to_place, self.to_scout, self.to_run):
            row.addWidget(button)
        column.addLayout(row)
        self.dose = QLabel()
        self.dose.setWordWrap(True)
        self.dose.setObjectName("quiet")
        column.addWidget(self.dose)

    def _cut_row(self, kind: ScoutKind) -> QGridLayout:
        grid = QGridLayout()
        grid.setSpacing(3)
        boxes = {}
        for number, side in enumerate(SIDES[kind]):
            box = QCheckBox(words.CUT_SIDES[side].removeprefix("patient's "))
            box.setAccessibleName(f"{kind} picture: cut off at the {words.CUT_SIDES[side]}")
            boxes[side] = box
            grid.addWidget(box, 1, number)
        say = act_button("Say where it is cut off", partial(self._on_cut, kind))
        say.setAccessibleName(f"Say where the {kind} picture cuts the target off")
        grid.addWidget(say, 0, 0, 1, len(boxes))
        grid.setColumnStretch(len(boxes), 1)
        self.cuts[kind], self.say[kind] = boxes, say
        return grid

    def wait_for(self, ask: ScoutAsk, kind: ScoutKind) -> None:
        """A picture is being computed."""
        self._asks[kind] = ask
        self.views[kind].clear("The picture is being computed …")
        self.told.setText("Computing … The first picture of a person takes longest.")
        self.cancel.setVisible(True)
        self.again.setVisible(False)
        self._forget_shift()

    def show_progress(self, what: str) -> None:
        """Say what is being done."""
        if not self.cancel.isHidden():
            self.told.setText(f"Computing: {what} …")

    def show_picture(self, ask: ScoutAsk, kind: ScoutKind, picture: ScoutPicture) -> None:
        """A picture is there, with what it cost."""
        if self._asks.get(kind) is not ask:
            return
        self.views[kind].show_picture(picture, self._centre(ask.conditions.setup))
        self.cancel.setVisible(False)
        self.told.setText("Click the middle of the target, or use the arrow keys and Enter.")
        self.dose.setText(f"This scout: {dose_words(picture.dose)}. {picture.dose.caution}")

    def show_missing(self, kind: ScoutKind, why: str) -> None:
        """A picture was cancelled or failed."""
        self.views[kind].clear(why)
        self.cancel.setVisible(False)
        self.again.setVisible(True)
        self.told.setText("The exposure itself was made, and is kept in the record.")

    def _centre(self, setup: Setup) -> np.ndarray:
        return -gantry_to_field(setup, self.unit).translation_mm

    def _on_marked(self, kind: ScoutKind, row: float, column: float) -> None:
        picture, ask = self.views[kind].picture, self._asks[kind]
        if picture is None:
            return
        beside = beside_centre(picture.view, (row, column), self._centre(ask.conditions.setup))
        across = beside[0] if kind is ScoutKind.FRONTAL else -beside[1]
        self.target_marked.emit(kind, round(float(across), 1), round(float(beside[2]), 1))
        self._show_shift()

    def _show_shift(self) -> None:
        front, side = self.views[ScoutKind.FRONTAL], self.views[ScoutKind.LATERAL]
        if front.mark is None or side.mark is None or not front.picture or not side.picture:
            return
        setups = {a.conditions.setup for a in self._asks.values()}
        if len(setups) > 1:
            self.shift_words.setText(
                "Something was moved between the two scouts: take both anew to compare them."
            )
            return
        centre = self._centre(setups.pop())
        self._shift = shift_from_marks(
            front.picture.view, front.mark, side.picture.view, side.mark, centre
        )
        heights = [
            float(beside_centre(v.picture.view, v.mark, centre)[2])
            for v in (front, side)
            if v.picture is not None and v.mark is not None
        ]
        doubt = (
            " The two marks are not at one height: are they on the same thing?"
            if abs(heights[0] - heights[1]) > FAR_MM
            else ""
        )
        self.shift_words.setText(shift_words(self._shift) + doubt)
        self.move_field.setEnabled(True)

    def _forget_shift(self) -> None:
        self._shift = None
        self.move_field.setEnabled(False)
        self.shift_words.setText("Mark the middle of the target on both pictures.")

    def _on_move(self) -> None:
        if self._shift is None:
            return
        setup = next(iter(self._asks.values())).conditions.setup
        # the field goes to what was marked: against the way the person would have to go
        self.field_moved.emit(field_values(self._shift, setup, self.unit))

    def _on_cut(self, kind: ScoutKind) -> None:
        sides = tuple(s for s, box in self.cuts[kind].items() if box.isChecked())
        self.cut_named.emit(kind, sides)


def shift_words(shift_mm: np.ndarray) -> str:
    """Where what was marked lies from the field's middle, and what would bring it there."""
    left, back, up = (-float(v) for v in shift_mm)
    found = [
        signed_amount(left, "mm", "to the patient's left", "to the patient's right"),
        signed_amount(-back, "mm", "forward", "back"),
        signed_amount(up, "mm", "up", "down"),
    ]
    if all(f == "0 mm" for f in found):
        return "What you marked lies in the field's middle."
    told = words.listed([f for f in found if f != "0 mm"])
    height = (
        f" The height is set at the chin support: {signed_amount(-up, 'mm', 'up', 'down')}."
        if abs(up) >= 0.05
        else ""
    )
    return f"What you marked lies {told} of the field's middle.{height}"


def field_values(shift_mm: np.ndarray, setup: Setup, unit: Unit) -> Mapping[str, float]:
    """Sideways and forward of the field that follow the marks, as far as the unit can go."""
    wanted = {
        "field_sideways_mm": setup.field_sideways_mm - float(shift_mm[0]),
        "field_forward_mm": setup.field_forward_mm + float(shift_mm[1]),
    }
    found = {}
    for key, value in wanted.items():
        travel = unit.travel[key]
        found[key] = min(max(round(value, 1), travel.lowest), travel.highest)
    return found

"""The image of the last run: for now two projections with the field's outline, and words."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QVBoxLayout, QWidget

from trainer.app.appointment import act_words as words
from trainer.app.appointment.acts_panel import act_button
from trainer.app.appointment.image_words import image_words
from trainer.app.appointment.scout_job import ScoutAsk
from trainer.app.appointment.scout_picture import PictureView
from trainer.engine.appointment.state import AppointmentState
from trainer.geometry.pose import gantry_to_field
from trainer.models.appointment_words import ImagePoint
from trainer.models.device import Unit
from trainer.services.scouts import ScoutPicture

NO_IMAGE = "There is no image yet."
UNOPENED = "There is an image. Open it in the phase “The image”."
WHAT = (
    "Simulated. Shown are two views through the patient with the outline of the recorded field; "
    "slices are not computed yet. What the slices would show is told in words when you check a "
    "point."
)


class ImagePanel(QWidget):
    """What can be seen of the last image.

    Signals
    -------
    cancelled : no value
        The pictures shall not be computed further.
    """

    cancelled = Signal()

    def __init__(self, unit: Unit, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.unit = unit
        column = QVBoxLayout(self)
        column.setContentsMargins(4, 4, 4, 4)
        column.setSpacing(4)
        row = QHBoxLayout()
        self.told = QLabel(NO_IMAGE)
        self.told.setWordWrap(True)
        row.addWidget(self.told, 1)
        self.cancel = act_button("Cancel", self.cancelled.emit)
        self.cancel.setVisible(False)
        row.addWidget(self.cancel)
        column.addLayout(row)
        row = QHBoxLayout()
        self.views = {view: PictureView(view, marks=False) for view in ("frontal", "lateral")}
        for view in self.views.values():
            view.clear(NO_IMAGE)
            row.addWidget(view)
        column.addLayout(row, 1)
        self.seen = QLabel()
        self.seen.setWordWrap(True)
        self.seen.setTextFormat(Qt.TextFormat.PlainText)
        self.seen.setObjectName("seen")
        column.addWidget(self.seen)
        self._opened = 0

    def show_state(self, state: AppointmentState) -> None:
        """Show what of the last image was opened and checked."""
        run = state.runs[-1] if state.runs else None
        if run is None or not run.opened:
            self.told.setText(NO_IMAGE if run is None else UNOPENED)
            self.seen.setText("")
            if run is not None and self._opened != run.number:
                for view in self.views.values():
                    view.clear(UNOPENED)
            return
        self._opened = run.number
        self.told.setText(f"Image {run.number}. {WHAT}")
        lines = [
            f"{words.IMAGE_POINTS[p]}  {image_words(state, run, p)}"
            for p in ImagePoint
            if p in run.checked
        ]
        self.seen.setText("\n".join(lines) or "Nothing has been checked yet.")

    def wait(self) -> None:
        """Pictures are being computed."""
        for view in self.views.values():
            view.clear("The picture is being computed …")
        self.cancel.setVisible(True)

    def show_picture(self, ask: ScoutAsk, picture: ScoutPicture) -> None:
        """A picture is there."""
        setup = ask.conditions.setup
        field = self.unit.field(setup.field)
        centre = -gantry_to_field(setup, self.unit).translation_mm
        size = (field.diameter_mm, field.height_mm)
        self.views[ask.view].show_picture(picture, centre, size)
        self.cancel.setVisible(False)

    def show_missing(self, ask: ScoutAsk, why: str) -> None:
        """A picture was cancelled or failed."""
        self.views[ask.view].clear(why)
        self.cancel.setVisible(False)

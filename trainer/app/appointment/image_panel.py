"""The image of the last run, to look through, and what was seen at checked points."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QPlainTextEdit,
    QProgressBar,
    QPushButton,
    QStackedLayout,
    QVBoxLayout,
    QWidget,
)

from trainer.app.appointment import act_words as words
from trainer.app.appointment.acts_panel import act_button
from trainer.app.appointment.image_words import image_words
from trainer.app.volume.panorama_view import PanoramaView
from trainer.app.volume.volume_view import VolumeView
from trainer.engine.appointment.state import AppointmentState
from trainer.models.appointment import Run
from trainer.models.appointment_words import ImagePoint
from trainer.models.images import RecordedVolume
from trainer.models.learning import HelpLevel
from trainer.services.debrief import dose_line
from trainer.services.panorama import PanoramaPicture, panorama_text, tooth_marks
from trainer.services.volumes.organs import organ_shares, organs_text
from trainer.services.volumes.record import ask_of_run
from trainer.services.volumes.words import volume_text
from trainer.services.workbench import Workbench

NO_IMAGE = "There is no image yet."
UNOPENED = "There is an image. Open it in the phase “The image”."
WHAT = "Simulated. Look through it, check its points, and judge it in “The image”."
COMPUTING = "The image is being computed: {}. You can go on meanwhile."
MESSAGE, SLICES, PANORAMA = 0, 1, 2


class ImagePanel(QWidget):
    """What can be seen of the last image.

    ``helped``: the most open help shows the outlines of what is required before the end, and help
    on request or none leaves landmarks without names.

    Signals
    -------
    cancelled : no value
        The image shall not be computed further.
    asked_again : no value
        The image shall be computed after all.
    """

    cancelled = Signal()
    asked_again = Signal()

    def __init__(self, bench: Workbench, helped: HelpLevel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.bench = bench
        self.told = QLabel(NO_IMAGE)
        self.told.setWordWrap(True)
        self.cancel = act_button("Cancel", self.cancelled.emit)
        self.again = act_button("Compute the image", self.asked_again.emit)
        self.more = QPushButton("&About this image")
        self.more.setCheckable(True)
        self.more.toggled.connect(self._on_more)
        row = QHBoxLayout()
        row.addWidget(self.told, 1)
        for button in (self.cancel, self.again, self.more):
            button.setVisible(False)
            row.addWidget(button)
        self.progress = QProgressBar()
        self.progress.setRange(0, 100)
        self.progress.setVisible(False)
        self.message = QLabel(NO_IMAGE)
        self.message.setWordWrap(True)
        self.message.setAlignment(Qt.AlignmentFlag.AlignCenter)
        case = bench.case
        self.slices = VolumeView(bench.meshes.head, case.attitude.reference_plane)
        self.slices.allow_marks(helped.looks_inside)
        self.slices.allow_landmarks(not helped.is_unassisted)
        self._stack = QStackedLayout()
        self._stack.addWidget(self.message)
        self._stack.addWidget(self.slices)
        self.panorama = PanoramaView()
        self.panorama.allow_teeth(helped.looks_inside)
        self._stack.addWidget(self.panorama)
        self.about = QPlainTextEdit()
        self.about.setReadOnly(True)
        self.about.setAccessibleName("About this image")
        self.about.setVisible(False)
        self.seen = QLabel()
        self.seen.setWordWrap(True)
        self.seen.setTextFormat(Qt.TextFormat.PlainText)
        self.seen.setObjectName("seen")
        column = QVBoxLayout(self)
        column.setContentsMargins(4, 4, 4, 4)
        column.setSpacing(4)
        column.addLayout(row)
        column.addWidget(self.progress)
        column.addLayout(self._stack, 1)
        column.addWidget(self.about)
        column.addWidget(self.seen)
        self._opened = 0

    def show_state(self, state: AppointmentState) -> None:
        """Show what of the last image was opened and checked."""
        run = state.runs[-1] if state.runs else None
        if run is None or not run.opened:
            told = NO_IMAGE if run is None else UNOPENED
            self.told.setText(told)
            self.seen.setText("")
            if run is not None and self._opened != run.number:
                self._say(told)
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
        """The image is being computed."""
        self.show_progress("starting", 0.0)
        self._stack.setCurrentIndex(MESSAGE)
        self.more.setChecked(False)
        self.more.setVisible(False)
        self.again.setVisible(False)
        self.cancel.setVisible(True)
        self.progress.setVisible(True)

    def show_progress(self, part: str, share: float) -> None:
        """So much of the work is over."""
        self.message.setText(COMPUTING.format(part))
        self.progress.setValue(round(100.0 * share))

    def show_volume(self, state: AppointmentState, run: Run, volume: RecordedVolume) -> None:
        """The volume is there."""
        self._end_waiting()
        placement = state.context.placing(run.conditions.setup)
        self.slices.show_volume(volume, placement)
        shares = organ_shares(self.bench, ask_of_run(self.bench, run))
        parts = [volume_text(volume), f"Radiation so far: {dose_line(state)}", organs_text(shares)]
        self.about.setPlainText("\n".join(parts))
        self.more.setVisible(True)
        self._stack.setCurrentIndex(SLICES)

    def show_panorama(self, state: AppointmentState, run: Run, picture: PanoramaPicture) -> None:
        """The panoramic picture is there."""
        self._end_waiting()
        placement = state.context.placing(run.conditions.setup)
        self.panorama.show_picture(picture, tooth_marks(self.bench, picture, placement))
        parts = [panorama_text(picture), f"Radiation so far: {dose_line(state)}"]
        self.about.setPlainText("\n".join(parts))
        self.more.setVisible(True)
        self._stack.setCurrentIndex(PANORAMA)

    def show_missing(self, why: str) -> None:
        """The image was cancelled or failed."""
        self._end_waiting()
        self._say(why)
        self.again.setVisible(True)

    def reveal(self) -> None:
        """The result is shown: outlines may be seen."""
        self.slices.allow_marks(True)
        self.slices.allow_landmarks(True)
        self.slices.centre()
        self.panorama.allow_teeth(True)

    def _end_waiting(self) -> None:
        self.cancel.setVisible(False)
        self.progress.setVisible(False)
        self.again.setVisible(False)

    def _say(self, text: str) -> None:
        self.message.setText(text)
        self._stack.setCurrentIndex(MESSAGE)

    def _on_more(self, shown: bool) -> None:
        self.about.setVisible(shown)

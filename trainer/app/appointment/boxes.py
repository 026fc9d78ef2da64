"""The messages of an appointment's window; not shown yet."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QMessageBox, QWidget

from trainer.app.notices import trouble_box
from trainer.engine.wording import sentence_start


def finish_box(parent: QWidget, on_yes: Callable[[], object]) -> QMessageBox:
    """Asks whether the appointment is over; "not yet" has the focus."""
    box = QMessageBox(
        QMessageBox.Icon.Question, "End the appointment", "Is the appointment over?", parent=parent
    )
    box.setInformativeText("After this nothing can be done any more, and the debrief begins.")
    box.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    yes = box.addButton("Yes, end it", QMessageBox.ButtonRole.AcceptRole)
    no = box.addButton("Not yet", QMessageBox.ButtonRole.RejectRole)
    box.setDefaultButton(no)
    yes.clicked.connect(on_yes)
    return box


def not_logged_box(parent: QWidget, why: str) -> QMessageBox:
    """Says that an act could not be written into the log, what is safe and what to do."""
    return trouble_box(
        "This act was not done",
        f"It could not be written into the attempt's log. {sentence_start(why)}.",
        parent,
        "Everything before it is kept. Make room on the disk or mend the folder, then do it "
        "again; or close the window and go on later.",
    )

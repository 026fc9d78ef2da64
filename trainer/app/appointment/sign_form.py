"""By which sign would a panoramic picture show each fault that the start has?"""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QComboBox, QGroupBox, QLabel, QPushButton, QVBoxLayout, QWidget

from trainer.app.appointment.acts_panel import act_button
from trainer.engine.appointment.signs import asked_faults, named_signs
from trainer.engine.appointment.state import AppointmentState
from trainer.engine.panoramic.signs import FAULT_WORDS, SIGN_WORDS
from trainer.engine.wording import sentence_start
from trainer.models.panorama import PanoramaFault, PanoramaSign

CHOOSE = "choose a sign"


class SignForm(QGroupBox):
    """A sign to be chosen for each fault, once; hidden where nothing is asked.

    Signals
    -------
    named : PanoramaFault, PanoramaSign
        The sign that a person has chosen for a fault.
    """

    named = Signal(object, object)

    def __init__(self, state: AppointmentState, parent: QWidget | None = None) -> None:
        super().__init__("What would the picture show?", parent)
        self.signs: dict[PanoramaFault, QComboBox] = {}
        self.buttons: dict[PanoramaFault, QPushButton] = {}
        column = QVBoxLayout(self)
        column.setContentsMargins(8, 4, 8, 6)
        column.setSpacing(4)
        for fault in asked_faults(state):
            box = QComboBox()
            box.addItem(CHOOSE, None)
            for sign in PanoramaSign:
                box.addItem(SIGN_WORDS[sign], sign)
            box.setSizeAdjustPolicy(
                QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon
            )
            box.setAccessibleName(f"Sign of: {FAULT_WORDS[fault]}")
            label = QLabel(f"{sentence_start(FAULT_WORDS[fault])} – if exposed like that:")
            label.setWordWrap(True)
            label.setBuddy(box)
            button = act_button("Name this sign", partial(self._name, fault))
            button.setAccessibleName(f"Name the sign of: {FAULT_WORDS[fault]}")
            button.setEnabled(False)
            box.currentIndexChanged.connect(partial(self._on_chosen, fault))
            for widget in (label, box, button):
                column.addWidget(widget)
            self.signs[fault], self.buttons[fault] = box, button

    def show_state(self, state: AppointmentState) -> None:
        """Show what has been named; it stays as it is."""
        for fault, sign in named_signs(state).items():
            box, button = self.signs[fault], self.buttons[fault]
            box.setCurrentIndex(box.findData(sign))
            box.setEnabled(False)
            button.setEnabled(False)
            button.setText("✓ Named")

    def _on_chosen(self, fault: PanoramaFault, index: int) -> None:
        self.buttons[fault].setEnabled(self.signs[fault].itemData(index) is not None)

    def _name(self, fault: PanoramaFault) -> None:
        self.named.emit(fault, self.signs[fault].currentData())

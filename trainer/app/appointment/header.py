"""The top of the window: request card, person, room and unit, in words."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QLabel, QVBoxLayout, QWidget

from trainer.app.appointment import act_words as words
from trainer.app.appointment.clock import minutes
from trainer.app.appointment.help_level import HELP_SHORT
from trainer.app.words import REGION_WORDS
from trainer.engine.appointment.conditions import looks_restless
from trainer.engine.appointment.state import AppointmentState
from trainer.models.appointment_events import RequestRead
from trainer.models.appointment_visit import Prescription, Waiting
from trainer.models.appointment_words import Firmness, RunKind
from trainer.models.learning import HelpLevel
from trainer.models.scenario import Case

RESTLESS = "! You see: the person fidgets."
UNREAD = "The request card lies on the desk, unread."
BITE = {True: "arches apart", False: "teeth together", None: "bite as it is"}


class Header(QWidget):
    """Title, clock, the request card once it was read, and what stands how."""

    def __init__(self, case: Case, helped: HelpLevel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._case = case
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 2)
        column.setSpacing(2)
        row = QHBoxLayout()
        self.title = QLabel(case.text(case.title))
        self.title.setObjectName("caseTitle")
        self.title.setWordWrap(True)
        self.clock = QLabel("0:00")
        self.clock.setAccessibleName("Time since the appointment began")
        self.help = QLabel(HELP_SHORT[helped])
        self.help.setObjectName("quiet")
        row.addWidget(self.title, 1)
        self.restless = QLabel()
        self.restless.setVisible(False)
        row.addWidget(self.restless)
        row.addSpacing(14)
        row.addWidget(self.help)
        row.addSpacing(14)
        row.addWidget(self.clock)
        column.addLayout(row)
        self.card = _label()
        self.card.setObjectName("card")
        column.addWidget(self.card)
        self.status = _label()
        column.addWidget(self.status)

    def show_time(self, state: AppointmentState, at_s: float) -> None:
        """Show the time, and whether the person sits still just now."""
        self.clock.setText(minutes(at_s))
        at_unit = state.person is not None and state.person.stance is not None
        told = RESTLESS if at_unit and looks_restless(state, at_s) else ""
        self.restless.setText(told)
        self.restless.setVisible(bool(told))

    def show_state(self, state: AppointmentState) -> None:
        """Show the card as far as it was read, and the room as it is."""
        if state.times(RequestRead):
            visit = state.context.visit
            question = self._case.text(self._case.request)
            order = card_words(visit.person(visit.patient), state.prescription)
            self.card.setText(f"Request: {order}\n{question}")
        else:
            self.card.setText(UNREAD)
        self.status.setText("   ·   ".join(status_words(state)))


def card_words(patient: Waiting, order: Prescription) -> str:
    """Whose examination, and what is ordered, in one line."""
    what = [REGION_WORDS[order.region].lower()]
    if order.side is not None:
        what.append(f"{order.side} side")
    what += [f"tooth {t}" for t in order.teeth]
    what += [f"field {order.field}", f"{order.programme.voxel_um} µm", order.programme.protocol]
    if order.programme.low_dose:
        what.append("low dose")
    what.append(f"metal correction {order.programme.metal_level}")
    if order.programme.run_kind is RunKind.PREVIEW:
        what.append("preview")
    what.append(BITE[order.arches_apart])
    if order.runs > 1:
        what.append(f"{order.runs} runs")
    name = f"{patient.given_name} {patient.surname}"
    return f"{name}, born {words.day(patient.birth_date)}, {patient.address}: {', '.join(what)}."


def status_words(state: AppointmentState) -> list[str]:
    """Person, operator, door, unit, supports and light lines, each in a few words."""
    room, person = state.room, state.person
    if person is None:
        who = "nobody in the room"
    elif person.stance is None:
        who = "a person in the room"
    else:
        who = f"person at the unit, {words.STANCE_NAMES[person.stance]}"
    if room.companion_inside:
        who += ", and who came along"
    fitted = [
        words.SUPPORTS[s]
        + ("" if room.firmness(s) is Firmness.LOOSE else f" ({words.FIRMNESS[room.firmness(s)]})")
        for s in room.supports
    ]
    return [
        who.capitalize(),
        f"You: {'outside' if room.operator_outside else 'in the room'}",
        f"Door: {'closed' if room.door_closed else 'open'}",
        f"Unit: {words.POSITION_NAMES[room.position]}",
        f"On it: {words.listed(fitted) or 'no support'}",
        f"Light lines: {'on' if room.lights_on else 'off'}",
    ]


def _label() -> QLabel:
    label = QLabel()
    label.setWordWrap(True)
    label.setTextFormat(Qt.TextFormat.PlainText)
    return label

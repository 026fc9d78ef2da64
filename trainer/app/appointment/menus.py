"""The menus of an appointment's window: everything that has a shortcut."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtGui import QAction, QKeySequence

from trainer.app.appointment.acts import Phase
from trainer.models.appointment_words import View
from trainer.models.learning import HelpLevel

if TYPE_CHECKING:
    from trainer.app.appointment.window import AppointmentWindow

TURN_DEG = 15.0
TURNS = (
    ("turn-left", "Walk round to the left", "Alt+Left", (-TURN_DEG, 0.0)),
    ("turn-right", "Walk round to the right", "Alt+Right", (TURN_DEG, 0.0)),
    ("turn-up", "Look from higher up", "Alt+Up", (0.0, TURN_DEG)),
    ("turn-down", "Look from lower down", "Alt+Down", (0.0, -TURN_DEG)),
)
TABS = (
    ("tab-patient", "Eyes on the patient", "F5"),
    ("tab-scouts", "Scouts", "F6"),
    ("tab-image", "Image", "F7"),
)


def build_menus(window: AppointmentWindow) -> dict[str, QAction]:
    """Fill the window's menu bar; the actions by name."""
    from trainer.scene.vtk_frames import Look

    bar = window.menuBar()
    found: dict[str, QAction] = {}

    def add(menu: str, name: str, words: str, keys: str, on: object) -> None:
        action = QAction(words, window)
        action.setShortcut(QKeySequence(keys))
        action.triggered.connect(on)
        menus[menu].addAction(action)
        found[name] = action

    menus = {n: bar.addMenu(n) for n in ("&Appointment", "&Phase", "&Look", "&Help")}
    add("&Appointment", "finish", "&End the appointment…", "Ctrl+E", window.ask_finish)
    if window.helped is HelpLevel.ON_REQUEST:
        add("&Appointment", "hint", "Ask for a &hint", "Ctrl+H", window.want_hint)
    add("&Appointment", "close", "&Close and go on later", "Ctrl+W", window.close)
    for number, phase in enumerate(Phase, 1):
        keys = f"Alt+{number}" if number < 10 else f"Alt+Shift+{number - 9}"
        add("&Phase", f"phase-{phase}", str(phase), keys, partial(window.open_phase, phase))
    left, view3d = window.left, window.patient.view3d
    add("&Phase", "phase-before", "Phase before", "Ctrl+PgUp", partial(left.go_on, -1))
    add("&Phase", "phase-after", "Phase after", "Ctrl+PgDown", partial(left.go_on, 1))
    add("&Look", "front", "From the front", "Ctrl+1", partial(window.look_from, View.FRONT))
    add("&Look", "side", "From the patient's right", "Ctrl+2", partial(window.look_from, View.SIDE))
    see_left = partial(view3d.look_from, Look.LEFT_SIDE)
    add("&Look", "left", "From the patient's left", "Ctrl+3", see_left)
    for name, words, keys, way in TURNS:
        add("&Look", name, words, keys, partial(view3d.turn, *way))
    for number, (name, words, keys) in enumerate(TABS):
        add("&Look", name, words, keys, partial(window.open_tab, number))
    add("&Help", "cautions", "&About and cautions", "F1", window.show_cautions)
    return found

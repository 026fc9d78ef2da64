"""An operator who has only a keyboard: finds acts, forms and switches by Tab, and works them."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QCheckBox, QComboBox, QWidget

from tests.helpers.appointments import Act
from trainer.app.appointment.act_list import acts_of
from trainer.app.appointment.acts import Phase
from trainer.app.appointment.window import AppointmentWindow
from trainer.models import appointment_commands as do
from trainer.models.appointment_words import ScoutKind

MOST_TABS = 120
NO_MODIFIER = Qt.KeyboardModifier.NoModifier
ALT = Qt.KeyboardModifier.AltModifier


class Keys:
    """Does the acts of `tests.helpers.appointments` in a window, by keys alone."""

    def __init__(self, window: AppointmentWindow, wait: Callable[[float], None]) -> None:
        self.window, self.wait = window, wait
        self.left = window.left

    def do(self, acts: Sequence[Act]) -> None:
        """All acts, each after its time."""
        for found in acts:
            self.wait(found.after_s)
            special = SPECIAL.get(found.kind)
            if special is not None:
                special(self, found)
            else:
                self.press(*self._where(found))

    def _where(self, wanted: Act) -> tuple[Phase, str]:
        state = self.window.controller.state
        for phase in Phase:
            for group in acts_of(phase, state):
                for a in group.acts:
                    if a.kind is wanted.kind and dict(a.values) == wanted.values:
                        return phase, a.name
        raise AssertionError(f"no button for {wanted}")

    def phase(self, phase: Phase) -> None:
        """Open a phase by its shortcut."""
        number = list(Phase).index(phase) + 1
        if number < 10:
            self.type(Qt.Key(Qt.Key.Key_0 + number), ALT)
        else:
            shift = ALT | Qt.KeyboardModifier.ShiftModifier
            self.type(Qt.Key(Qt.Key.Key_0 + number - 9), shift)
        assert self.left.phase is phase
        assert self.left.phases.hasFocus()

    def press(self, phase: Phase, name: str) -> None:
        """Open a phase, go to an act by Tab, and press it."""
        self.phase(phase)
        self.go_to(lambda: self.left.pages[phase].buttons[name])
        self.type(Qt.Key.Key_Return)

    def go_to(self, wanted: Callable[[], QWidget]) -> None:
        """Tab until that has the focus."""
        passed = []
        for _ in range(MOST_TABS):
            passed.append(str(QApplication.focusWidget()))
            if QApplication.focusWidget() is wanted():
                return
            self.type(Qt.Key.Key_Tab)
        raise AssertionError(f"Tab does not lead to {wanted()}, but round {passed[-30:]}")

    def type(self, key: Qt.Key, modifiers: Qt.KeyboardModifier = NO_MODIFIER) -> None:
        """Press and release a key where the focus is."""
        QTest.keyClick(QApplication.focusWidget() or self.window, key, modifiers)

    def write(self, text: str) -> None:
        """Type over what stands in an entry, and confirm."""
        self.type(Qt.Key.Key_A, Qt.KeyboardModifier.ControlModifier)
        QTest.keyClicks(QApplication.focusWidget(), text)
        self.type(Qt.Key.Key_Return)

    def choose(self, box: QComboBox, value: object) -> None:
        """Go to a choice and walk through it by the arrow keys."""
        self.go_to(lambda: box)
        self.type(Qt.Key.Key_Home)
        for _ in range(box.count()):
            if box.currentData() == str(value):
                return
            self.type(Qt.Key.Key_Down)
        raise AssertionError(f"{value} is not offered")

    def tick(self, box: QCheckBox, on: bool = True) -> None:
        """Go to a box and tick it, if it is not as wanted."""
        self.go_to(lambda: box)
        if box.isChecked() is not on:
            self.type(Qt.Key.Key_Space)
        assert box.isChecked() is on

    def explain(self, found: Act) -> None:
        """Tick sentences and say them."""
        self.phase(Phase.EXPLAIN)
        for sentence in found.values["sentences"]:
            self.tick(self.left.explain.boxes[sentence])
        self.go_to(lambda: self.left.explain.button)
        self.type(Qt.Key.Key_Return)

    def adjust(self, found: Act) -> None:
        """Type values into controls."""
        for key, value in found.values["values"].items():
            at_console = key in self.left.entry.entries
            self.phase(Phase.ENTRY if at_console else Phase.PLACE)
            panel = self.left.entry if at_console else self.left.hands
            entry = panel.entries[key]
            if isinstance(entry, QComboBox):
                self.choose(entry, value)
            elif isinstance(entry, QCheckBox):
                self.tick(entry, value)
            else:
                self.go_to(lambda entry=entry: entry)
                self.write(f"{value:g}")
        self.window.controller.rest()

    def programme(self, found: Act) -> None:
        """Fill in the programme and enter it."""
        wanted, form = found.values["programme"], self.left.programme
        self.phase(Phase.ENTRY)
        self.choose(form.protocol, wanted.protocol)
        self.choose(form.voxel, wanted.voxel_um)
        self.choose(form.metal, wanted.metal_level)
        self.choose(form.run_kind, wanted.run_kind)
        self.tick(form.low_dose, wanted.low_dose)
        self.go_to(lambda: form.button)
        self.type(Qt.Key.Key_Return)

    def lift(self, phase: Phase, panel: QWidget) -> None:
        """Lift the guard over the switches of a phase."""
        self.phase(phase)
        self.window.controller.tick()
        self.go_to(lambda: panel.guard)
        self.type(Qt.Key.Key_Space)

    def scout(self, found: Act) -> None:
        """Hold the switch of a scout."""
        self.lift(Phase.SCOUT, self.left.scouts)
        self.go_to(lambda: self.left.scouts.switches[found.values["kind"]])
        self.type(Qt.Key.Key_Space)

    def mark(self, found: Act) -> None:
        """Move the cross on a scout, and mark."""
        self.window.actions_by_name["tab-scouts"].trigger()
        view = self.window.scouts.views[found.values["kind"]]
        self.go_to(lambda: view)
        self.type(Qt.Key.Key_Left)
        self.type(Qt.Key.Key_Return)

    def cut(self, found: Act) -> None:
        """Say where a scout cuts."""
        kind = ScoutKind(found.values["kind"])
        self.type(Qt.Key.Key_F6)
        for side, box in self.window.scouts.cuts[kind].items():
            self.tick(box, side in found.values["sides"])
        self.type(Qt.Key.Key_F6)
        self.go_to(lambda: self.window.scouts.say[kind])
        self.type(Qt.Key.Key_Return)

    def look_at(self, found: Act) -> None:
        """Turn to the patient."""
        assert found.values["gaze"] == "patient"
        self.type(Qt.Key.Key_F5)

    def run(self, found: Act) -> None:
        """Lift the guard and hold the space bar down."""
        self.lift(Phase.RUN, self.left.run)
        QTest.keyPress(self.left.run.switches["run"], Qt.Key.Key_Space)

    def tell_time(self, found: Act) -> None:
        """Only time passes."""
        self.window.controller.tick()

    def release(self, found: Act) -> None:
        """Let go of the space bar."""
        QTest.keyRelease(self.left.run.switches["run"], Qt.Key.Key_Space)

    def grade(self, found: Act) -> None:
        """Tick causes and grade."""
        self.phase(Phase.IMAGE)
        form = self.left.grade
        for cause in found.values.get("causes", ()):
            self.tick(form.causes[cause])
        button = form.accept if found.values["grade"] == "A" else form.reject
        self.go_to(lambda: button)
        self.type(Qt.Key.Key_Return)

    def decide(self, found: Act) -> None:
        """Decide on a repeat."""
        self.phase(Phase.IMAGE)
        form = self.left.grade
        self.go_to(lambda: form.repeat if found.values["retake"] else form.no_repeat)
        self.type(Qt.Key.Key_Return)

    def record(self, found: Act) -> None:
        """Fill in the record."""
        v, form = found.values, self.left.record
        self.phase(Phase.LEAVE)
        self.choose(form.person, v["person"])
        self.choose(form.region, v["region"])
        self.choose(form.field, v["field"])
        self.choose(form.voxel, v["voxel_um"])
        numbers = {"runs": form.runs, "rejected_runs": form.rejected, "scouts": form.scouts}
        for key, box in numbers.items():
            self.go_to(lambda box=box: box)
            self.write(str(v[key]))
        self.choose(form.grade, v["grade"])
        self.tick(form.kap, v["kap_noted"])
        self.go_to(lambda: form.button)
        self.type(Qt.Key.Key_Return)

    def finish(self, found: Act) -> None:
        """End the appointment, and confirm it."""
        self.phase(Phase.LEAVE)
        self.go_to(lambda: self.left.finish)
        self.type(Qt.Key.Key_Return)


SPECIAL = {
    do.Explain: Keys.explain,
    do.Adjust: Keys.adjust,
    do.EnterProgramme: Keys.programme,
    do.TakeScout: Keys.scout,
    do.MarkTarget: Keys.mark,
    do.NameCut: Keys.cut,
    do.LookAt: Keys.look_at,
    do.PressSwitch: Keys.run,
    do.Wait: Keys.tell_time,
    do.ReleaseSwitch: Keys.release,
    do.GradeImage: Keys.grade,
    do.DecideRetake: Keys.decide,
    do.WriteRecord: Keys.record,
    do.Finish: Keys.finish,
}

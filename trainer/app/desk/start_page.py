"""The unit, and where everything stands at the beginning: the same controls as at the bench."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QPushButton, QVBoxLayout, QWidget

from trainer.app.control_panel import ControlPanel
from trainer.app.controller import complete
from trainer.app.desk.controller import DeskController
from trainer.app.desk.fault_label import FaultLabel
from trainer.app.desk.form import SimplePart
from trainer.models.controls import CONTROLS, NUMBER_KEYS
from trainer.models.device import Region, Unit
from trainer.models.setup import Setup
from trainer.services.drafts.draft import Checked
from trainer.services.yaml_text import KeyPath


class StartPage(QWidget):
    """Unit and starting setup.

    Signals
    -------
    setup_asked : no value
        `take_setup` shall be called with what the bench is set to.
    """

    setup_asked = Signal()

    def __init__(self, desk: DeskController) -> None:
        super().__init__()
        self.desk = desk
        self.controls: ControlPanel | None = None
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self.unit = SimplePart(desk, desk.field("unit"), ("unit",))
        self.fault = FaultLabel()
        self.take = QPushButton("Take the setup of the bench")
        self.take.setToolTip(
            "Copies what the bench's window is set to now, if it has the same unit."
        )
        self.take.setMinimumHeight(26)
        self.take.clicked.connect(self.setup_asked)
        self._column.addWidget(self.unit)
        self._column.addWidget(self.fault)
        self._column.addWidget(self.take, 0, Qt.AlignmentFlag.AlignLeft)
        self._column.addStretch(1)

    def show_draft(self) -> None:
        """Show the start; with another unit the controls are made anew."""
        self.unit.show_draft()
        unit = self.desk.unit
        if self.controls is not None and (unit is None or self.controls.unit is not unit):
            self._column.removeWidget(self.controls)
            self.controls.hide()
            self.controls.deleteLater()
            self.controls = None
        if unit is None:
            return
        if self.controls is None:
            self.controls = ControlPanel(unit)
            self.controls.moved.connect(self._on_moved)
            self.controls.refused.connect(self.desk.told)
            self._column.insertWidget(3, self.controls)
        self.controls.show_setup(setup_of(self.desk.value(("start",)), unit))

    def show_faults(self, result: Checked) -> None:
        """Show the faults of unit and start."""
        self.unit.show_faults(result)
        self.fault.show_faults(result.within(("start",)))

    def focus_at(self, where: KeyPath) -> bool:
        """Take the focus for the unit or a control."""
        if self.unit.focus_at(where):
            return True
        if where[:1] != ("start",) or self.controls is None:
            return False
        entry = self.controls.entries.get(str(where[1]) if len(where) > 1 else "region")
        (entry or self.controls).setFocus(Qt.FocusReason.OtherFocusReason)
        return True

    def _on_moved(self, key: str, value: object) -> None:
        unit = self.desk.unit
        if unit is None:
            return
        values: dict[str, object] = {key: value}
        setup = setup_of(self.desk.value(("start",)), unit)
        if setup.field in {f.id for f in unit.fields}:
            values = complete(values, setup, unit)
        elif isinstance(value, Region):
            values["field"] = next(f.id for f in unit.fields if value in f.regions)
        self.desk.set_together({("start", k): written(v) for k, v in values.items()})

    def take_setup(self, found: tuple[str, Setup] | None) -> None:
        """Begin with that setup of the unit of that id; ``None``: nothing is on the bench."""
        if found is None:
            self.desk.told.emit("No case is open on the bench, so there is no setup to take.")
            return
        unit_id, setup = found
        if self.desk.unit is None or unit_id != self.desk.unit.id:
            self.desk.told.emit(
                f"The bench has the unit {unit_id}; choose that unit here first. Nothing was "
                "changed."
            )
            return
        values = setup.as_dict()
        self.desk.set_together({("start", key): written(v) for key, v in values.items()})


def setup_of(start: Any, unit: Unit) -> Setup:
    """The start as a setup, with the unit's own values for what is missing or no value."""
    given = start if isinstance(start, dict) else {}
    values: dict[str, Any] = {}
    for c in CONTROLS:
        value = given.get(c.key)
        if c.key in NUMBER_KEYS:
            number = isinstance(value, (int, float)) and not isinstance(value, bool)
            values[c.key] = float(value) if number else unit.travel[c.key].lowest  # type: ignore[arg-type]
    region = given.get("region")
    first = next(iter(unit.regions))
    values["region"] = Region(region) if region in tuple(Region) else first
    values["field"] = str(given.get("field", unit.fields[0].id))
    values["arm_turned"] = given.get("arm_turned") is True
    return Setup(**values)


def written(value: object) -> object:
    """The value of a control as a file holds it."""
    if isinstance(value, bool):
        return value
    if isinstance(value, float):
        rounded = round(value, 3)
        return int(rounded) if rounded.is_integer() else rounded
    return str(value)

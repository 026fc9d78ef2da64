"""Between the desk's widgets and the case that is written there."""

from __future__ import annotations

import logging
from collections.abc import Callable
from pathlib import Path
from typing import Any

from PySide6.QtCore import QObject

from trainer.app.desk.file_controller import FileController
from trainer.errors import TrainerError
from trainer.models.device import Unit
from trainer.services.assets import MESHES, UNITS, known_structure_ids
from trainer.services.drafts.draft import CASE, Checked, CheckedCase, Draft, check_case
from trainer.services.drafts.fields import Field
from trainer.services.drafts.offers import beginning, fitted, unit_of
from trainer.services.library import units_for
from trainer.services.unit_io import Folders
from trainer.services.yaml_text import KeyPath

log = logging.getLogger("trainer.app")


class DeskController(FileController):
    """One case that is being written, with the unit that it names."""

    kind = CASE
    result: CheckedCase | None

    def __init__(self, meshes: Path = MESHES, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.unit: Unit | None = None
        self.units: Folders = UNITS  # by which the case goes
        self._meshes = meshes
        self._ids: frozenset[str] | None = None

    def fitted(self, field: Field, where: KeyPath) -> Field:
        """The field with the unit's range and the names that this case offers."""
        data = None if self.draft is None else self.draft.data
        return fitted(field, where, data, self.unit, self.units)

    def beginning(self, field: Field, where: KeyPath) -> Any:
        """What usually holds in such a case."""
        data = None if self.draft is None else self.draft.data
        return beginning(field, where, data, self.unit)

    def at_place(self, path: Path) -> None:
        """From there the units are looked for."""
        self.units = units_for(path)

    def before_hold(self, before: Draft | None, draft: Draft) -> None:
        """Read the unit when it is another one."""
        if before is None or before.value("unit") != draft.value("unit") or self.unit is None:
            self.unit = unit_of(draft.data, self.units)

    def work_of_check(self, draft: Draft) -> Callable[[], Checked]:
        """The faults of the case, in the words of ``trainer check``."""
        units, ids = self.units, self._known_ids()
        return lambda: check_case(draft, units, ids)

    def _known_ids(self) -> frozenset[str] | None:
        if self._ids is None:
            try:
                self._ids = known_structure_ids(self._meshes)
            except TrainerError:
                log.info("names of structures are not checked", exc_info=True)
        return self._ids

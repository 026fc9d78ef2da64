"""Between the unit's widgets and the file that is written there."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from trainer.app.desk.file_controller import FileController
from trainer.services.drafts.draft import (
    UNIT,
    Checked,
    CheckedUnit,
    Draft,
    check_unit_draft,
)
from trainer.services.drafts.fields import Field, FieldKind, blank
from trainer.services.drafts.offers import free_id
from trainer.services.yaml_text import KeyPath


class UnitController(FileController):
    """One unit that is being described."""

    kind = UNIT
    result: CheckedUnit | None

    def beginning(self, field: Field, where: KeyPath) -> Any:
        """A further row is like the last one, under another id."""
        if field.kind is not FieldKind.ROWS:
            return blank(field)
        rows = self.value(where)
        if not isinstance(rows, list) or not rows or not isinstance(rows[-1], dict):
            return {p.key: blank(p) for p in field.parts if p.must}
        last = dict(rows[-1])
        return last | {"id": free_id(str(last["id"]), rows)} if "id" in last else last

    def work_of_check(self, draft: Draft) -> Callable[[], Checked]:
        """Faults and doubts, the geometry's too, in the words of ``trainer check``."""
        return lambda: check_unit_draft(draft)

"""The pages of a unit: which of its numbers stand together."""

from __future__ import annotations

from PySide6.QtWidgets import QVBoxLayout

from trainer.app.desk.form import Form
from trainer.app.desk.pages import PageOf
from trainer.app.unit_desk.controller import UnitController
from trainer.services.drafts.fields import FieldKind

PAGES = (
    PageOf("Name", (("id",), ("name",), ("note",))),
    PageOf("Fields", (("fields",),)),
    PageOf("Support and heights", (("support_forward_mm",), ("front_line_mm",), ("regions",))),
    PageOf("Travel", (("travel",),)),
    PageOf("Light planes", (("lights",),)),
    PageOf("Source and detector", (("beam",), ("turn",))),
    PageOf("Moving parts", (("moving_parts",),)),
    PageOf("Tube", (("tube",),)),
)


def form_of(desk: UnitController, page: PageOf) -> Form:
    """The fields of a page; a group that has to be there and is alone gives its fields away."""
    fields = [desk.field(*place) for place in page.places]
    if len(fields) == 1 and fields[0].kind is FieldKind.GROUP and fields[0].must:
        fields = list(fields[0].parts)
    form = Form(desk, fields, ())
    column = form.layout()
    assert isinstance(column, QVBoxLayout)
    column.addStretch(1)  # else groups grow apart where the page has room
    return form

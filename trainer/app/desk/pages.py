"""The desk's pages: which fields stand together. What no page names stands on the last one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QPushButton, QVBoxLayout, QWidget

from trainer.app.desk.controller import DeskController
from trainer.app.desk.form import Form
from trainer.services.drafts.draft import Checked
from trainer.services.drafts.fields import Field, FieldKind
from trainer.services.yaml_text import KeyPath

VISIT = ("visit",)
SET_BY_THE_PROGRAM = ("schema_version", "kind")
WITHOUT_VISIT = (
    "This case is an exercise in placing only. With a visit it becomes a whole appointment, from "
    "the request card to the record."
)


@dataclass(frozen=True, slots=True)
class PageOf:
    """A page: its title and the places of the fields that stand on it."""

    title: str
    places: tuple[KeyPath, ...]

    @property
    def of_visit(self) -> bool:
        """Whether its fields are a visit's."""
        return bool(self.places) and self.places[-1][:1] == VISIT


TEXTS, PERSON, MOUTH = "Name and texts", "Person", "Teeth and mouth"
START, INSIDE = "Unit and start", "Must be inside"
OTHERS = "Further"
MARGIN_KEYS: tuple[KeyPath, ...] = (("guard_rim_mm",), ("groove_off_mm",), ("attitude",))
PAGES = (
    PageOf(TEXTS, (("id",), ("level",), ("task",), ("title",), ("request",), ("aim",))),
    PageOf(PERSON, (("subject",),)),
    PageOf(MOUTH, (("subject", "mouth"),)),
    PageOf(START, (("unit",), ("start",))),
    PageOf(INSIDE, (("required",), ("wanted",), *MARGIN_KEYS)),
    PageOf("Request and rules", (("rules",), ("visit", "card"), ("visit", "answers"))),
    PageOf(
        "Waiting room",
        (
            ("visit", "patient"), ("visit", "waiting"), ("visit", "console_left_over"),
            ("visit", "companion"),
        ),
    ),
    PageOf(
        "The person's ways",
        (
            ("visit", "traits"), ("visit", "history"), ("visit", "neck"),
            ("visit", "can_be_pregnant"), ("visit", "pregnancy"),
        ),
    ),
    PageOf("Things worn", (("visit", "items"),)),
    PageOf(
        "Unit as it was left",
        (
            ("visit", "supports_wanted"), ("visit", "supports_left_on"),
            ("visit", "programme_left_over"),
        ),
    ),
    PageOf("Movement", (("visit", "scripted_motion"), ("visit", "image_answers"))),
)  # fmt: skip


def all_pages(desk: DeskController) -> tuple[PageOf, ...]:
    """The pages, with one more if there are fields that none of them names."""
    named = {place for page in PAGES for place in page.places}
    top = [(key,) for key in _keys(desk, ()) if key not in SET_BY_THE_PROGRAM]
    visit = [(*VISIT, key) for key in _keys(desk, VISIT)]
    left: list[KeyPath] = [p for p in [*top, *visit] if p not in named and p != VISIT]
    return (*PAGES, PageOf(OTHERS, tuple(left))) if left else PAGES


def page_of(place: KeyPath, pages: Sequence[PageOf]) -> int:
    """The number of the page on which a place stands."""
    best, length = 0, 0
    for number, page in enumerate(pages):
        for named in page.places:
            if place[: len(named)] == named and len(named) > length:
                best, length = number, len(named)
            elif not length and named[:1] == place[:1]:
                best = best or number
    return best


def _keys(desk: DeskController, where: KeyPath) -> list[str]:
    return [part.key for part in desk.field(*where).parts]


class FormPage(QWidget):
    """The fields of a page; those of a visit only if the case has one."""

    def __init__(self, desk: DeskController, page: PageOf) -> None:
        super().__init__()
        self.desk, self.page = desk, page
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        self.form = Form(desk, self._fields(), ())
        self.note = QLabel(WITHOUT_VISIT)
        self.note.setWordWrap(True)
        self.button = QPushButton()
        self.button.setMinimumHeight(26)
        self.button.clicked.connect(self._on_button)
        for widget in (self.note, self.form):
            column.addWidget(widget)
        column.addWidget(self.button, 0, Qt.AlignmentFlag.AlignLeft)
        column.addStretch(1)
        self.note.hide()
        self.button.setVisible(page.of_visit)

    def _fields(self) -> list[Field]:
        """The page's fields; a group that has a page to itself gives its fields away."""
        fields = [self.desk.field(*place) for place in self.page.places]
        if len(fields) == 1 and fields[0].kind is FieldKind.GROUP:
            elsewhere = {place for page in PAGES for place in page.places if page != self.page}
            return [p for p in fields[0].parts if p.where not in elsewhere]
        return fields

    def show_draft(self) -> None:
        """Show the page's fields."""
        if self.page.of_visit:
            there = isinstance(self.desk.value(VISIT), dict)
            self.form.setVisible(there)
            self.note.setVisible(not there)
            self.button.setText(
                "Leave the whole visit out" if there else "Make it a whole appointment"
            )
        self.form.show_draft()

    def show_faults(self, result: Checked) -> None:
        """Show the faults beside the fields."""
        self.form.show_faults(result)

    def focus_at(self, where: KeyPath) -> bool:
        """Give the focus to the entry of that place."""
        return self.form.focus_at(where)

    def _on_button(self) -> None:
        if isinstance(self.desk.value(VISIT), dict):
            self.desk.leave_out(VISIT)
        else:
            self.desk.begin(self.desk.field(*VISIT), VISIT)

"""The log of supervised cases: a supervisor's word on real examinations."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QLineEdit

from trainer.app.instructor.fields import Choice, count_entry, day_entry, day_of, plain
from trainer.app.instructor.form_page import FormPage
from trainer.app.learners.parts import words
from trainer.app.learners.supervised_page import CASE_COLUMNS, case_rows
from trainer.engine.appointment.state import spoken
from trainer.errors import Fault
from trainer.models.appointment_words import RetakeCause
from trainer.models.field_class import FieldClass
from trainer.models.records import SupervisedCase
from trainer.services.records.forms import (
    GRADES,
    LONGEST_COUNT,
    PATIENT_GROUPS,
    POSITIONED_BY,
    REGIONS,
    SUPERVISION_WORDS,
    supervised_faults,
)

if TYPE_CHECKING:
    from trainer.app.learners.door import LearnerDoor
    from trainer.models.records import Learner
    from trainer.services.learning.group import Group
    from trainer.services.records.store import Records


class SupervisedCasesPage(FormPage[SupervisedCase]):
    """Form and log of supervised cases. ``door`` keeps what is written."""

    about = (
        "Supervised examinations of patients, written down by the supervisor. No patient's name, "
        "a number of your practice at most. Apart from everything simulated; a clean log proves "
        "less than it seems (see the page on rejects)."
    )
    columns, wide = ("Learner", *CASE_COLUMNS), 5
    told_elsewhere = ("Supervisor", "Positioned by", "Aim")

    def __init__(self, door: LearnerDoor, instructor: Learner) -> None:
        self.counted = words("", "card")
        super().__init__(door, instructor)
        self.right_column.addWidget(self.counted)
        self.counted.hide()
        add = self.form.add
        self.on = day_entry(door.time().date())
        self.supervisor = QLineEdit()
        self.region = Choice(plain(REGIONS))
        self.field_class = Choice({str(f): spoken(f) for f in FieldClass})
        self.patient_group = Choice(plain(PATIENT_GROUPS))
        self.positioned_by = Choice(plain(POSITIONED_BY))
        self.prompts, self.scouts = count_entry(LONGEST_COUNT), count_entry(LONGEST_COUNT)
        self.exposures = count_entry(LONGEST_COUNT)
        self.grade = Choice(GRADES)
        self.cause = Choice({str(c): spoken(c) for c in RetakeCause})
        self.supervision = Choice({k: f"{k} – {v}" for k, v in SUPERVISION_WORDS.items()})
        self.done_well, self.aim, self.case_number = QLineEdit(), QLineEdit(), QLineEdit()
        self.grade.currentIndexChanged.connect(self._on_grade)
        self.cause.setEnabled(False)
        add("on", "&Day", self.on)
        add("supervisor", "Super&visor", self.supervisor)
        add("region", "&Region", self.region)
        add("field_class", "&Field", self.field_class)
        add("patient_group", "&Patient", self.patient_group)
        add("positioned_by", "Positioned &by", self.positioned_by)
        add("prompts", "Pro&mpts given", self.prompts)
        add("scouts", "&Scouts", self.scouts)
        add("exposures", "&Exposures", self.exposures)
        add("grade", "&Grade of the image", self.grade)
        add("cause", "&Cause, if not acceptable", self.cause)
        add("supervision", "Level of s&upervision", self.supervision)
        add("done_well", "One thing done &well", self.done_well)
        add("aim", "One &aim", self.aim)
        add("case_number", "Case &number (optional)", self.case_number, "Never a patient's name")

    def entry(self) -> SupervisedCase:
        """What the form says."""
        return SupervisedCase(
            id=uuid.uuid4().hex,
            learner_id=self.learner.value or "",
            on=day_of(self.on),
            supervisor=self.supervisor.text().strip(),
            region=self.region.value or "",
            field_class=self.field_class.value or "",
            patient_group=self.patient_group.value or "",
            positioned_by=self.positioned_by.value or "",
            prompts=self.prompts.value(),
            scouts=self.scouts.value(),
            exposures=self.exposures.value(),
            grade=self.grade.value or "",
            cause=self.cause.value or "",
            supervision=self.supervision.value or 0,
            done_well=self.done_well.text().strip(),
            aim=self.aim.text().strip(),
            case_number=self.case_number.text().strip(),
        )

    def faults(self) -> Sequence[Fault]:
        """Everything missing or wrong."""
        return supervised_faults(self.entry())

    def store(self) -> None:
        """Have it kept."""
        work = partial(_kept, self.entry(), self.instructor)
        self._door.jobs.ask(self, work, self.on_kept, self.on_refused)

    def rows(self, group: Group, learner_id: str | None) -> list[tuple[str, ...]]:
        """Rows of the log, the latest first; counts one learner's work beside the proposal."""
        self.counted.setText("" if learner_id is None else group.counted(learner_id))
        self.counted.setVisible(learner_id is not None)
        chosen = [c for c in group.supervised if learner_id in (None, c.learner_id)]
        chosen.sort(key=lambda c: c.on, reverse=True)
        names = [(group.name(c.learner_id),) for c in chosen]
        return [n + row for n, row in zip(names, case_rows(chosen), strict=True)]

    def _on_grade(self, _: int) -> None:
        self.cause.setEnabled(self.grade.value == "N")
        if self.grade.value != "N":
            self.cause.setCurrentIndex(0)


def _kept(case: SupervisedCase, by: Learner, records: Records) -> bool:
    return records.add_supervised(case, by)

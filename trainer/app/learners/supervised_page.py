"""What supervisors wrote of a learner; apart from everything simulated."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QVBoxLayout, QWidget

from trainer.app.learners.parts import ReadTable, words
from trainer.models.records import Observation, SupervisedCase
from trainer.services.learning.supervised_count import count_text, supervised_count
from trainer.services.records.forms import GRADES, SUPERVISION_WORDS

if TYPE_CHECKING:
    from trainer.services.learning.view import LearnerView

ABOUT = (
    "Written by supervisors of work that was done or watched. It is never added to points of a "
    "simulation. The program counts it and computes nothing else from it."
)
CASE_COLUMNS = ("Date", "Supervisor", "Region", "Positioned by", "Grade", "Supervision", "Aim")
OBSERVED_COLUMNS = ("Date", "Observer", "Setting", "Overall", "Supervision", "Done well", "Aim")


class SupervisedPage(QWidget):
    """Supervised cases and observations of one learner, to be read."""

    def __init__(self) -> None:
        super().__init__()
        self.cases = ReadTable("Supervised cases", CASE_COLUMNS, wide=6)
        self.observed = ReadTable("Observations", OBSERVED_COLUMNS, wide=6)
        self.counted = words("", "card")
        column = QVBoxLayout(self)
        column.addWidget(words(ABOUT))
        column.addWidget(words("Supervised cases", "section"))
        column.addWidget(self.cases, 1)
        column.addWidget(words("Observations", "section"))
        column.addWidget(self.observed, 1)
        column.addWidget(words("Counted beside a proposal", "section"))
        column.addWidget(self.counted)

    def show_view(self, view: LearnerView) -> None:
        """Show them, the latest first, and count them."""
        self.counted.setText(count_text(supervised_count(view.supervised, view.observations)))
        self.cases.show_rows(case_rows(view.supervised))
        self.observed.show_rows(observation_rows(view.observations))


def case_rows(cases: Sequence[SupervisedCase]) -> list[tuple[str, ...]]:
    """Rows of supervised cases, the latest first."""
    return [
        (
            c.on.isoformat(),
            c.supervisor,
            c.region,
            c.positioned_by,
            GRADES[c.grade] + (f": {c.cause}" if c.cause else ""),
            SUPERVISION_WORDS[c.supervision],
            c.aim,
        )
        for c in sorted(cases, key=lambda c: c.on, reverse=True)
    ]


def observation_rows(observations: Sequence[Observation]) -> list[tuple[str, ...]]:
    """Rows of observations, the latest first."""
    return [
        (
            o.on.isoformat(),
            o.observer,
            o.setting,
            f"{o.overall} of 5",
            SUPERVISION_WORDS[o.supervision],
            o.done_well,
            o.aim,
        )
        for o in sorted(observations, key=lambda o: o.on, reverse=True)
    ]

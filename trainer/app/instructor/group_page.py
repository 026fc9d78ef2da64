"""The group's simulated work, without names and without ranking."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QLabel, QSplitter, QVBoxLayout, QWidget

from trainer.app.instructor.fields import Choice
from trainer.app.learners.parts import plain_text, words
from trainer.app.learners.plot_pane import PlotPane
from trainer.services.group_report import TOO_FEW

if TYPE_CHECKING:
    from trainer.app.learners.door import LearnerDoor
    from trainer.engine.statistics.rejects import Rejects
    from trainer.services.learner_charts import Chart
    from trainer.services.learner_group import Group
    from trainer.services.learner_view import Shelf
    from trainer.services.records.store import Records

ABOUT = (
    "Simulated attempts only. Nobody is named or ranked; where fewer than five people stand behind "
    "a figure it is not shown."
)
NO_REJECTS = f"Rejects in simulation: {TOO_FEW}."


class GroupPage(QWidget):
    """Group in words, items of one case, and simulated rejects beside published ones."""

    def __init__(self, door: LearnerDoor, plots: PlotPane) -> None:
        super().__init__()
        self._door, self.plots = door, plots
        self._group: Group | None = None
        self.text = plain_text("The group in words")
        self.case = Choice({})
        self.case.setAccessibleName("Case whose items are shown")
        self.case.currentIndexChanged.connect(self._on_case)
        self.items = plain_text("Items of the case")
        self.no_rejects = words(NO_REJECTS, "quiet")
        left = QWidget()
        column = QVBoxLayout(left)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.text, 3)
        row = QHBoxLayout()
        row.addWidget(QLabel("Items of"))
        row.addWidget(self.case, 1)
        column.addLayout(row)
        column.addWidget(self.items, 2)
        right = QWidget()
        column = QVBoxLayout(right)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.no_rejects)
        column.addWidget(self.plots, 1)
        parts = QSplitter(Qt.Orientation.Horizontal)
        parts.addWidget(left)
        parts.addWidget(right)
        parts.setSizes([520, 480])
        parts.setChildrenCollapsible(False)
        column = QVBoxLayout(self)
        column.addWidget(words(ABOUT, "quiet"))
        column.addWidget(parts, 1)

    def show_group(self, group: Group, shelf: Shelf) -> None:
        """Show the group."""
        self._group = group
        self.text.setPlainText(group.simulated())
        tried = dict.fromkeys(a.case_id for a in group.attempts)
        self.case.set_options({case: shelf.title(case) for case in tried})
        rejects = group.simulated_rejects()
        self.no_rejects.setVisible(rejects is None)
        self.plots.setVisible(rejects is not None)
        if rejects is not None:
            ask_rejects(self._door, rejects, self.plots, supervised=False)

    def _on_case(self, _: int) -> None:
        chosen = self.case.value
        shown = self._group is not None and chosen is not None
        self.items.setPlainText(self._group.items(chosen) if shown and self._group else "")


class RejectsPage(QWidget):
    """Rejects of the supervised log beside published ones; nothing simulated is in it."""

    about = (
        "Supervised examinations of patients only, with 95 % intervals. Nothing simulated is in it."
    )

    def __init__(self, door: LearnerDoor, plots: PlotPane) -> None:
        super().__init__()
        self._door, self.plots = door, plots
        column = QVBoxLayout(self)
        column.addWidget(words(self.about, "quiet"))
        column.addWidget(plots, 1)

    def show_group(self, group: Group) -> None:
        """Show the group's supervised rejects."""
        ask_rejects(self._door, group.supervised_rejects(), self.plots, supervised=True)


def ask_rejects(door: LearnerDoor, found: Rejects, plots: PlotPane, supervised: bool) -> None:
    """Have the chart of rejects drawn when it can be seen."""
    work = partial(_chart, found, supervised)
    plots.when_shown(partial(door.jobs.ask, plots, work, plots.show_charts, door.trouble))


def _chart(found: Rejects, supervised: bool, records: Records) -> tuple[Chart]:
    from trainer.services.learner_charts import rejects_chart
    from trainer.services.standards_report import supervised_lines

    return (rejects_chart(found, supervised_lines(found) if supervised else ()),)

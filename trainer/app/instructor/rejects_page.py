"""Rejects and their causes beside published ones: simulated and supervised on pages apart."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QVBoxLayout, QWidget

from trainer.app.learners.parts import words
from trainer.app.learners.plot_pane import PlotPane
from trainer.services.learning.group_report import TOO_FEW

if TYPE_CHECKING:
    from trainer.app.learners.door import LearnerDoor
    from trainer.app.learners.parts import Told
    from trainer.engine.statistics.rejects import Rejects
    from trainer.services.learning.charts import Chart
    from trainer.services.learning.group import Group
    from trainer.services.records.store import Records

SIMULATED = (
    "Simulated attempts without help only, with 95 % intervals. A simulation is no clinic: the "
    "published figures beside it say what goes wrong there, not how good this group is."
)
SUPERVISED = (
    "Supervised examinations of patients only, with 95 % intervals. Nothing simulated is in it."
)
NONE_SHOWN = f"Rejects in simulation: {TOO_FEW}."


class RejectsPage(QWidget):
    """A chart of one kind of reject; ``door`` has it drawn, ``told`` says how saving went."""

    def __init__(self, door: LearnerDoor, told: Told, supervised: bool) -> None:
        super().__init__()
        self._door, self._supervised = door, supervised
        self.plots = PlotPane(told.tell, told.trouble, text_beside=True)
        self.none_shown = words(NONE_SHOWN, "card")
        column = QVBoxLayout(self)
        column.addWidget(words(SUPERVISED if supervised else SIMULATED, "quiet"))
        column.addWidget(self.none_shown)
        column.addWidget(self.plots, 1)
        column.addStretch(0)  # takes the room of a chart that is not shown

    def show_group(self, group: Group) -> None:
        """Show the group's rejects; simulated ones only where enough people stand behind them."""
        found = group.supervised_rejects() if self._supervised else group.simulated_rejects()
        self.none_shown.setVisible(found is None)
        self.plots.setVisible(found is not None)
        if found is not None:
            work = partial(_chart, found, self._supervised)
            ask = self._door.jobs.ask
            self.plots.when_shown(
                partial(ask, self.plots, work, self.plots.show_charts, self._door.trouble)
            )


def _chart(found: Rejects, supervised: bool, records: Records) -> tuple[Chart]:
    from trainer.services.learning.charts import rejects_chart
    from trainer.services.learning.standards_report import supervised_lines

    return (rejects_chart(found, supervised_lines(found) if supervised else ()),)

"""Which picture or volume is wanted when, and where it is shown once it has been computed."""

from __future__ import annotations

from PySide6.QtCore import QObject

from trainer.app.appointment.controller import AppointmentController
from trainer.app.appointment.image_panel import ImagePanel
from trainer.app.appointment.scout_job import ScoutAsk, ScoutJobs
from trainer.app.appointment.scout_panel import ScoutPanel
from trainer.app.volume.volume_job import VolumeJobs
from trainer.models.appointment_words import ScoutKind
from trainer.models.images import RecordedVolume
from trainer.services.panorama import PanoramaPicture
from trainer.services.scouts import ScoutPicture
from trainer.services.workbench import Workbench

CANCELLED = "Cancelled. Nothing is lost: it can still be computed."
FAILED = (
    "It could not be computed: {} The exposure and your attempt are kept. "
    "Compute it again, or go on without it."
)


class Pictures(QObject):
    """Asks for scouts and volumes, and hands them to their panels."""

    def __init__(
        self,
        bench: Workbench,
        controller: AppointmentController,
        scouts: ScoutPanel,
        image: ImagePanel,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self.controller, self.scouts, self.image = controller, scouts, image
        self.jobs = ScoutJobs(bench, controller.state.context.visit, self)
        self._missing: list[ScoutAsk] = []
        self.jobs.progress.connect(scouts.show_progress)
        self.jobs.done.connect(self._on_done)
        self.jobs.failed.connect(self._on_failed)
        self.jobs.cancelled.connect(self._on_cancelled)
        scouts.cancelled.connect(self.jobs.cancel)
        scouts.asked_again.connect(self.ask_again)
        self.volumes = VolumeJobs(bench, self)
        self.volumes.progress.connect(image.show_progress)
        self.volumes.done.connect(self._on_volume)
        self.volumes.failed.connect(self._on_no_volume)
        self.volumes.cancelled.connect(self._on_volume_cancelled)
        image.cancelled.connect(self.volumes.cancel)
        image.asked_again.connect(self._on_volume_wanted)

    def prepare(self) -> None:
        """Make the person's phantom ready while nothing else is asked for."""
        self.jobs.prepare(self.controller.state)

    def show_scout(self, number: int) -> None:
        """Compute the scout of that number and show it."""
        scout = self.controller.state.scouts[number - 1]
        seed = self.controller.state.seed * 64 + number
        ask = ScoutAsk(scout.kind.value, scout.conditions, seed)
        self.scouts.wait_for(ask, scout.kind)
        self.jobs.ask(ask)

    def show_image(self, number: int) -> None:
        """Compute the image of a run and show it."""
        self.image.wait()
        self.volumes.ask(self.controller.state.runs[number - 1])

    def recall(self) -> None:
        """Compute again what an appointment that is gone on with had on its screen."""
        last = {s.kind: s.number for s in self.controller.state.scouts}
        for number in last.values():
            self.show_scout(number)
        runs = self.controller.state.runs
        if runs and runs[-1].opened:
            self.show_image(runs[-1].number)

    def ask_again(self) -> None:
        """Compute what was cancelled or failed."""
        missing, self._missing = self._missing, []
        for ask in missing:
            self.scouts.wait_for(ask, ScoutKind(ask.view))
            self.jobs.ask(ask)

    def close(self) -> None:
        """Stop everything that is being computed."""
        self.jobs.close()
        self.volumes.close()

    def _on_done(self, ask: ScoutAsk, picture: ScoutPicture) -> None:
        self.scouts.show_picture(ask, ScoutKind(ask.view), picture)
        self.scouts.cancel.setVisible(self.jobs.busy)

    def _on_failed(self, ask: ScoutAsk, why: str) -> None:
        self._show_missing(ask, _failed(why))

    def _on_cancelled(self, ask: ScoutAsk) -> None:
        self._show_missing(ask, CANCELLED)

    def _show_missing(self, ask: ScoutAsk, why: str) -> None:
        self._missing = [a for a in self._missing if a.view != ask.view] + [ask]
        self.scouts.show_missing(ScoutKind(ask.view), why)

    def _on_volume(self, number: int, image: RecordedVolume | PanoramaPicture) -> None:
        if self._is_last(number):
            state = self.controller.state
            if isinstance(image, PanoramaPicture):
                self.image.show_panorama(state, state.runs[number - 1], image)
            else:
                self.image.show_volume(state, state.runs[number - 1], image)

    def _on_no_volume(self, number: int, why: str) -> None:
        if self._is_last(number):
            self.image.show_missing(_failed(why))

    def _on_volume_cancelled(self, number: int) -> None:
        if self._is_last(number):
            self.image.show_missing(CANCELLED)

    def _on_volume_wanted(self) -> None:
        self.show_image(self.controller.state.runs[-1].number)

    def _is_last(self, number: int) -> bool:
        """Whether a run is the one that is looked at: a later one may have been made meanwhile."""
        return number == len(self.controller.state.runs)


def _failed(why: str) -> str:
    return FAILED.format(f"{why.rstrip('.')}.")

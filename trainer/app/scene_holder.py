"""The place of the 3-D view in the window. Its libraries are loaded after the window is there."""

from __future__ import annotations

import logging
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, QRunnable, Qt, QThreadPool, Signal
from PySide6.QtWidgets import QLabel, QStackedLayout, QWidget

from trainer.app.display import no_3d
from trainer.engine.placement import Chain, Placement
from trainer.models.device import Unit
from trainer.models.meshes import HeadMeshes

if TYPE_CHECKING:
    from trainer.scene.view import TrainerScene
    from trainer.scene.vtk_frames import Look

log = logging.getLogger("trainer.app")


class SceneHolder(QWidget):
    """Holds the 3-D view, or a sentence in its place.

    Signals
    -------
    ready : no value
        The 3-D view is there and empty.
    """

    ready = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.scene: TrainerScene | None = None
        self.interactor: Any = None
        self._stack = QStackedLayout(self)
        self.note = QLabel("The 3-D view is being prepared …")
        self.note.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.note.setWordWrap(True)
        self.note.setMargin(20)
        self._stack.addWidget(self.note)
        self.setMinimumSize(240, 180)
        self._pool = QThreadPool(self)
        self._loaded = _Loaded(self)
        self._loaded.done.connect(self.build)
        self._closed = False

    def start(self) -> None:
        """Load the libraries in the background and build the view after; ``ready`` tells."""
        why_not = no_3d()
        if why_not is not None:
            self.note.setText(why_not)
            return
        self._pool.start(_LoadLibraries(self._loaded))

    def build(self) -> None:
        """Build the view now; loads the libraries if that has not been done."""
        if self.interactor is not None or self._closed:
            return
        from pyvistaqt import QtInteractor

        # no timer of its own: a picture is drawn when something has changed
        view = QtInteractor(self, auto_update=False, multi_samples=0, lighting="none")
        view.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        view.setAcceptDrops(False)
        view.setAccessibleName("3-D view")
        view.enable_terrain_style(mouse_wheel_zooms=True, shift_pans=True)
        self.interactor = view
        self._stack.addWidget(view)
        self._stack.setCurrentWidget(view)
        self.ready.emit()

    def show_head(self, meshes: HeadMeshes, unit: Unit) -> None:
        """Make the scene of a head in a unit; the one before goes."""
        if self.interactor is None:
            return
        from trainer.scene.view import TrainerScene

        if self.scene is not None:
            self.scene.close()
        self.scene = TrainerScene(self.interactor, meshes, unit)

    def show_placement(
        self, placement: Placement, steps: Chain, look_inside: bool, moving: bool
    ) -> None:
        """Show a placement, coarsely while something moves."""
        if self.scene is not None:
            self.scene.show(placement, steps, look_inside, moving)
            self._draw()

    def look_from(self, look: Look) -> None:
        """Look from there."""
        if self.scene is not None:
            self.scene.look_from(look)
            self._draw()

    def look_at_target(self, placement: Placement) -> None:
        """Look from the side on which the required structures lie."""
        if self.scene is not None:
            from trainer.scene.view import look_at_target

            self.look_from(look_at_target(placement))

    def turn(self, sideways_deg: float, up_deg: float) -> None:
        """Walk round the patient."""
        if self.scene is not None:
            self.scene.turn(sideways_deg, up_deg)
            self._draw()

    def _draw(self) -> None:
        # asking for a repaint is enough: painting renders, and rendering here would do it twice
        self.interactor.update()

    def shut(self) -> None:
        """Let go of everything that VTK holds; must be called before the window goes."""
        self._closed = True
        self._pool.waitForDone()
        if self.scene is not None:
            self.scene.close()
            self.scene = None
        if self.interactor is not None:
            self.interactor.close()
            self.interactor = None


class _Loaded(QObject):
    done = Signal()


class _LoadLibraries(QRunnable):
    def __init__(self, loaded: _Loaded) -> None:
        super().__init__()
        self._loaded = loaded

    def run(self) -> None:
        # only imports: no object of Qt or VTK is made off the window's thread
        import pyvistaqt  # noqa: F401

        import trainer.scene.view  # noqa: F401

        self._loaded.done.emit()

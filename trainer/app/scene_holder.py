"""The place of the 3-D view in the window. Its libraries are loaded after the window is there.

VTK draws off screen and the window shows the pixels. A widget that VTK draws into directly
(pyvistaqt's QtInteractor) makes Qt put the whole window together through OpenGL; tried with a
software renderer on two busy cores, that took about twice as long from a change to its picture.
"""

from __future__ import annotations

import logging
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QObject, QRunnable, Qt, QThreadPool, Signal
from PySide6.QtWidgets import QLabel, QStackedLayout, QWidget

from trainer.app.display import no_3d
from trainer.app.scene_canvas import SceneCanvas
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
        self.plotter: Any = None
        self.canvas = SceneCanvas()
        self.canvas.dragged.connect(self.turn)
        self.canvas.zoomed.connect(self.zoom)
        self.canvas.resized.connect(self._draw)
        self._stack = QStackedLayout(self)
        self.note = QLabel("The 3-D view is being prepared …")
        self.note.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.note.setWordWrap(True)
        self.note.setMargin(20)
        self._stack.addWidget(self.note)
        self._stack.addWidget(self.canvas)
        self.setMinimumSize(240, 180)
        self._pool = QThreadPool(self)
        self._loaded = _Loaded(self)
        self._loaded.done.connect(self.build)
        self._loaded.failed.connect(self.tell_missing)
        self._closed = False

    def start(self) -> None:
        """Load the libraries in the background and build the view after; ``ready`` tells."""
        why_not = no_3d()
        if why_not is not None:
            self.note.setText(why_not)
            return
        self._pool.start(_LoadLibraries(self._loaded))

    def tell_missing(self, why: str) -> None:
        """Say in the view's place that it cannot be shown, and why."""
        self.note.setText(
            f"The 3-D view cannot be shown ({why}). The flat views and the result work without it. "
            "Running 'python3 start.py' again installs what is missing."
        )

    def build(self) -> None:
        """Build the view now; loads the libraries if that has not been done."""
        if self.plotter is not None or self._closed:
            return
        import pyvista

        size = list(self.canvas.size_px())
        self.plotter = pyvista.Plotter(off_screen=True, window_size=size, lighting="none")
        # eightfold multisampling costs a software renderer three to five times as much
        self.plotter.render_window.SetMultiSamples(0)
        self._stack.setCurrentWidget(self.canvas)
        self.ready.emit()

    def show_head(self, meshes: HeadMeshes, unit: Unit) -> None:
        """Make the scene of a head in a unit; the one before goes."""
        if self.plotter is None:
            return
        from trainer.scene.view import TrainerScene

        if self.scene is not None:
            self.scene.close()
        self.scene = TrainerScene(self.plotter, meshes, unit)

    def show_placement(
        self, placement: Placement, steps: Chain, look_inside: bool, moving: bool
    ) -> None:
        """Show a placement, coarsely while something moves."""
        if self.scene is not None:
            self.scene.show(placement, steps, look_inside, moving)
            self._draw()

    def show_other_field(self, pieces_mm: NDArray[np.float64]) -> None:
        """Show a second field by its rims (k, 2, 3) [mm], from the next picture on."""
        if self.scene is not None:
            self.scene.show_other_field(pieces_mm)

    def show_lights(self, on: bool) -> None:
        """Show or hide the light lines, from the next picture on."""
        if self.scene is not None:
            self.scene.lights.SetVisibility(on)

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

    def zoom(self, factor: float) -> None:
        """Bring the view nearer."""
        if self.scene is not None:
            self.scene.zoom(factor)
            self._draw()

    def _draw(self) -> None:
        if self.scene is not None and self.canvas.isVisible():
            self.canvas.show_picture(self.scene.picture(self.canvas.size_px()))

    def shut(self) -> None:
        """Let go of everything that VTK holds; must be called before the window goes."""
        self._closed = True
        self._pool.waitForDone()
        if self.scene is not None:
            self.scene.close()
            self.scene = None
        if self.plotter is not None:
            self.plotter.close()
            self.plotter = None


class _Loaded(QObject):
    done = Signal()
    failed = Signal(str)


class _LoadLibraries(QRunnable):
    def __init__(self, loaded: _Loaded) -> None:
        super().__init__()
        self._loaded = loaded

    def run(self) -> None:
        # only imports: no object of Qt or VTK is made off the window's thread
        try:
            import trainer.scene.view  # noqa: F401
        except (ImportError, OSError) as error:
            log.info("the 3-D view's libraries cannot be loaded: %s", error)
            self._loaded.failed.emit(str(error))
            return
        self._loaded.done.emit()

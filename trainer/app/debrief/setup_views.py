"""A setup seen from outside: the 3-D view and both flat views, with bone, field and marks."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QLabel, QSplitter, QStackedLayout, QVBoxLayout, QWidget

from trainer.app.flat_view import FlatView
from trainer.app.scene_holder import SceneHolder
from trainer.engine.placement import Placement, chain_of
from trainer.models.setup import Setup
from trainer.scene.flat_picture import TITLES, FlatHead, flat_picture
from trainer.scene.other_field import other_to_gantry, rims, with_other_field
from trainer.scene.outlines import Flat
from trainer.services.appointment import context_of
from trainer.services.workbench import Workbench

NO_PIECES = np.zeros((0, 2, 3))


class SetupViews(QWidget):
    """Shows one setup, and if wanted the field of another on the same head; or a sentence."""

    def __init__(self, bench: Workbench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.bench = bench
        self._placing = context_of(bench).placing
        self._head = FlatHead(bench.meshes)
        self._setup: Setup | None = None
        self._other: Setup | None = None
        self._name = ""
        self._lit = self._fresh = False
        self._unlit = replace(bench.unit, lights=())
        self._stack = QStackedLayout(self)
        self.note = QLabel()
        self.note.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.note.setWordWrap(True)
        self.note.setObjectName("roomNote")
        self.note.setMargin(24)
        self._stack.addWidget(self.note)
        self.view3d = SceneHolder()
        self.view3d.ready.connect(self._on_ready)
        self.flats = {view: FlatView(view) for view in Flat}
        sheets = QSplitter(Qt.Orientation.Vertical)
        for flat, widget in self.flats.items():
            sheet = QWidget()
            sheet.setObjectName("sheet")
            column = QVBoxLayout(sheet)
            column.setContentsMargins(0, 0, 0, 0)
            column.setSpacing(0)
            title = QLabel(TITLES[flat])
            title.setObjectName("quiet")
            title.setMargin(3)
            column.addWidget(title)
            column.addWidget(widget, 1)
            sheets.addWidget(sheet)
        sheets.setChildrenCollapsible(False)
        whole = QSplitter(Qt.Orientation.Horizontal)
        whole.addWidget(self.view3d)
        whole.addWidget(sheets)
        whole.setSizes([520, 300])
        whole.setChildrenCollapsible(False)
        self._stack.addWidget(whole)
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(0)
        self._soon.timeout.connect(self.draw)

    @property
    def shown(self) -> tuple[Setup | None, Setup | None]:
        """The setup that is shown, and the one whose field is shown beside."""
        return (self._setup, self._other) if self._stack.currentIndex() == 1 else (None, None)

    def start(self) -> None:
        """Load the 3-D view's libraries in the background."""
        self.view3d.start()

    def show_words(self, words: str) -> None:
        """Show a sentence in the views' place."""
        self.note.setText(words)
        self._stack.setCurrentIndex(0)

    def show_setup(
        self, setup: Setup, other: Setup | None = None, name: str = "", lit: bool = False
    ) -> None:
        """Show a setup soon; the field of ``other`` stands beside its own, dashed, by ``name``.

        ``lit``: whether the light lines are shown.
        """
        self._setup, self._other, self._name, self._lit = setup, other, name, lit
        self._stack.setCurrentIndex(1)
        self._soon.start()

    def placement(self, setup: Setup) -> Placement:
        """The placement of a setup; remembered."""
        return self._placing(setup)

    def draw(self) -> None:
        """Draw all views now."""
        if self._setup is None or self._stack.currentIndex() == 0:
            return
        head, unit = self.bench.meshes.head, self.bench.unit
        placement, steps = self.placement(self._setup), chain_of(head, unit, self._setup)
        beside = None
        if self._other is not None:
            beside = other_to_gantry(chain_of(head, unit, self._other), steps)
        for flat, widget in self.flats.items():
            shown = unit if self._lit else self._unlit
            picture = flat_picture(flat, self._head, shown, placement, steps, True)
            if beside is not None and self._other is not None:
                other = self.placement(self._other)
                picture = with_other_field(picture, flat, other, beside, self._name)
            widget.show_picture(picture)
        pieces = NO_PIECES
        if beside is not None and self._other is not None:
            pieces = rims(self.placement(self._other), beside)
        self.view3d.show_other_field(pieces)
        self.view3d.show_lights(self._lit)
        self.view3d.show_placement(placement, steps, True, False)
        if self._fresh:
            self.view3d.look_at_target(placement)
            self._fresh = False

    def shut(self) -> None:
        """Let go of everything; must be called before the window goes."""
        self._soon.stop()
        self.view3d.shut()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._soon.start()

    def _on_ready(self) -> None:
        self.view3d.show_head(self.bench.meshes, self.bench.unit)
        self._fresh = True
        self._soon.start()

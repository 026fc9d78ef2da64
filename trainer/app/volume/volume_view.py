"""A recorded volume to look through: one slice large, the others beside it, and the controls."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QGridLayout, QVBoxLayout, QWidget

from trainer.app.volume.sight_bar import SightBar
from trainer.app.volume.volume_picture import VolumePicture
from trainer.engine.placement import Placement
from trainer.engine.wording import signed_amount
from trainer.models.frames import Frame
from trainer.models.images import RecordedVolume
from trainer.models.scenario import ReferencePlane
from trainer.models.structures import Head
from trainer.services.volumes.arch import Arch, arch_of
from trainer.services.volumes.sheets import UNIT_AXES, Plane, Sheet, level_axes, moved
from trainer.services.volumes.slices import Sight, SlicedVolume

Array = NDArray[np.float64]

ZOOM_STEP, MOST_ZOOM = 1.25, 8.0
# Along which of the axes each flat slice is counted, and its two ways.
COUNTED = {
    Plane.AXIAL: (2, ("up", "down")),
    Plane.CORONAL: (1, ("back", "forward")),
    Plane.SAGITTAL: (0, ("left", "right")),
}
OFF_ARCH = ("outside the arch", "inside the arch")
MOST_OFF_ARCH_MM = 20.0
ARCH_POINTS = 80  # of its line in the axial slice


class VolumeView(QWidget):
    """The slices of one volume, all through one point. Empty until `show_volume`."""

    def __init__(self, head: Head, plane: ReferencePlane, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.head, self.reference = head, plane
        self.sliced: SlicedVolume | None = None
        self.sight = Sight()
        self._missed: frozenset[str] = frozenset()
        self._arch: Arch | None = None
        self._sheets: dict[Plane, Sheet] = {}
        self.bar = SightBar()
        self.pictures = {plane: VolumePicture(plane) for plane in Plane}
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        column.addWidget(self.bar)
        self._grid = QGridLayout()
        self._grid.setSpacing(3)
        self._grid.setColumnStretch(0, 5)
        self._grid.setColumnStretch(1, 2)
        column.addLayout(self._grid, 1)
        self.large = Plane.AXIAL
        self._lay_out()
        # what happens within one turn of the event loop is drawn once
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.timeout.connect(self._draw)
        self.bar.changed.connect(self._on_bar)
        for picture in self.pictures.values():
            picture.stepped.connect(self._on_stepped)
            picture.paged.connect(self._on_paged)
            picture.pointed.connect(self._on_pointed)
            picture.zoomed.connect(self._on_zoomed)
            picture.centred.connect(self.centre)
            picture.enlarged.connect(self.enlarge)
            picture.resized.connect(lambda _plane: self._soon.start())
        self.allow_marks(False)
        self.allow_landmarks(False)

    def show_volume(self, volume: RecordedVolume, placement: Placement) -> None:
        """Show this volume, with what the placement of its run holds and misses."""
        landmarks = self.head.landmarks_mm
        self.sliced = SlicedVolume(volume, placement.region, placement.required, landmarks)
        self._missed = frozenset(s.structure.id for s in placement.required if not s.holds)
        frames = {s.structure.frame for s in placement.required}
        self.bar.jaw.setCurrentIndex(int(frames == {Frame.MANDIBLE}))
        self._on_bar()
        self.centre()

    def allow_marks(self, allowed: bool) -> None:
        """Whether the outlines of what is required can be shown; shown when they newly can."""
        newly = allowed and not self.bar.marks.isEnabled()
        self.bar.marks.setEnabled(allowed)
        self.bar.marks.setVisible(allowed)
        self.bar.marks.setChecked(allowed and (newly or self.bar.marks.isChecked()))

    def allow_landmarks(self, allowed: bool) -> None:
        """Whether landmarks can be named."""
        self.bar.landmarks.setVisible(allowed)
        self.bar.landmarks.setEnabled(allowed)
        self.bar.landmarks.setChecked(allowed and self.bar.landmarks.isChecked())

    def centre(self) -> None:
        """Back to the whole field, through its middle; with outlines, through what is required."""
        if self.sliced is None:
            return
        middle = self.sliced.middle_mm if self.bar.marks.isChecked() else np.zeros(3)
        self._look(replace(self.sight, point_mm=middle, zoom=1.0, off_arch_mm=0.0))

    def enlarge(self, plane: Plane) -> None:
        """Make a slice the large one and keep the keyboard on it."""
        self.large = plane
        self._lay_out()
        self.pictures[plane].setFocus()
        self._soon.start()

    def _lay_out(self) -> None:
        for picture in self.pictures.values():
            self._grid.removeWidget(picture)
        others = [p for p in Plane if p is not self.large]
        self._grid.addWidget(self.pictures[self.large], 0, 0, len(others), 1)
        for row, plane in enumerate(others):
            self._grid.addWidget(self.pictures[plane], row, 1)
            self._grid.setRowStretch(row, 1)
        order = [self.large, *others]
        for first, second in pairwise(order):
            QWidget.setTabOrder(self.pictures[first], self.pictures[second])

    # looking ----------------------------------------------------------------------------------

    def _look(self, sight: Sight) -> None:
        """Look there, kept within the field."""
        if self.sliced is None:
            return
        point, region = sight.point_mm.copy(), self.sliced.region
        off = float(np.hypot(point[0], point[1]))
        point[:2] *= min(1.0, region.radius_mm / max(off, 1e-9))
        point[2] = np.clip(point[2], -region.half_height_mm, region.half_height_mm)
        off_arch = float(np.clip(sight.off_arch_mm, -MOST_OFF_ARCH_MM, MOST_OFF_ARCH_MM))
        self.sight = replace(sight, point_mm=point, off_arch_mm=off_arch)
        self._soon.start()

    def _on_bar(self) -> None:
        if self.sliced is None:
            return
        volume = self.sliced.volume
        level = self.bar.straight.isChecked()
        axes = level_axes(self.reference, self.head, volume) if level else UNIT_AXES
        self._arch = arch_of(self.head, self.bar.is_lower_jaw, volume, axes)
        self._look(replace(self.sight, axes=axes))

    def _on_stepped(self, plane: Plane, right: int, down: int) -> None:
        if self.sliced is None or plane not in self._sheets:
            return
        step = self.sliced.volume.spacing_mm
        point = moved(self._sheets[plane], self.sight.point_mm, right * step, down * step)
        self._look(replace(self.sight, point_mm=point))

    def _on_paged(self, plane: Plane, slices: int) -> None:
        if self.sliced is not None:
            self._look(self.sight.deeper(plane, slices * self.sliced.volume.spacing_mm))

    def _on_pointed(self, plane: Plane, row: float, column: float) -> None:
        if plane in self._sheets:
            self._look(replace(self.sight, point_mm=self._sheets[plane].point_at(row, column)))

    def _on_zoomed(self, steps: int) -> None:
        zoom = float(np.clip(self.sight.zoom * ZOOM_STEP**steps, 1.0, MOST_ZOOM))
        self._look(replace(self.sight, zoom=zoom))

    # drawing ----------------------------------------------------------------------------------

    def _draw(self) -> None:
        if self.sliced is None or self._arch is None or not self.isVisible():
            return
        marked, arch = self.bar.marks.isChecked(), self._arch
        named = self.bar.landmarks.isChecked()
        for plane, picture in self.pictures.items():
            sheet = self.sliced.sheet(plane, self.sight, arch, picture.size_px)
            self._sheets[plane] = sheet
            found = self.sliced.slice(sheet, marked, named)
            missed = self._missed & found.marks.keys()
            cross = sheet.place_of(self.sight.point_mm)
            line = self._arch_line(sheet, arch) if plane is Plane.AXIAL else np.zeros((0, 2))
            picture.show_slice(found, self.bar.greys, missed, cross, line, self._where(plane))

    def showEvent(self, event: object) -> None:
        self._soon.start()

    def _arch_line(self, sheet: Sheet, arch: Arch) -> Array:
        """Rows and columns of the arch's slice in the axial one (n, 2)."""
        along = np.linspace(0.0, float(arch.along_mm[-1]), ARCH_POINTS)
        axes, height = self.sight.axes, self.sight.place_mm[2]
        places = arch.places(along, self.sight.off_arch_mm) @ axes[:, :2].T + height * axes[:, 2]
        return np.array([sheet.place_of(p) for p in places])

    def _where(self, plane: Plane) -> str:
        if plane is Plane.ARCH:
            return signed_amount(self.sight.off_arch_mm, "mm", *OFF_ARCH)
        axis, ways = COUNTED[plane]
        return signed_amount(float(self.sight.place_mm[axis]), "mm", *ways)

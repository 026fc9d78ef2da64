"""Sizes that the windows start with, and the caution that every one carries."""

from __future__ import annotations

from PySide6.QtCore import QSize

CAUTION = "Training only – synthetic head, not a medical device"


# The window's first size, and what its frame takes of the screen (a title bar and thin edges).
BEST_SIZE, FRAME_PX = QSize(1280, 800), QSize(4, 34)
# Widths of controls and result where there is room, and the least the views shall keep beside.
CONTROLS_PX, RESULT_PX, LEAST_RESULT_PX, LEAST_VIEWS_PX = 398, 342, 328, 260
# What the window's edges and the grips between its parts take of its width.
EDGES_PX = 26


def start_size(available: QSize) -> QSize:
    """The size of the window at its start: the best one, or what the screen has room for."""
    return BEST_SIZE.boundedTo(available - FRAME_PX)


def start_widths(width_px: int) -> list[int]:
    """Widths of controls, views and result in a window; the result gives way before the views."""
    free = width_px - EDGES_PX - CONTROLS_PX
    result = max(LEAST_RESULT_PX, min(RESULT_PX, free - LEAST_VIEWS_PX))
    return [CONTROLS_PX, max(LEAST_VIEWS_PX, free - result), result]

"""How every plot looks: black, white and grey, told apart by marks, line styles and hatching."""

from __future__ import annotations

import io
import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING

from trainer.services.cautions import SHORT_CAUTION

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

INK, GREY, PALE = "black", "0.35", "0.8"
SIZE_IN = (8.0, 5.0)
TEXT_POINTS, SMALL_POINTS = 9.5, 8.0  # 8 points are the smallest text anywhere
FEWEST_SHOWN = 10  # attempts that an axis has room for at least
LINE_CHARACTERS = 128  # of the lines below a plot of the usual width


def new_figure(title: str, below: Sequence[str], size_in: tuple[float, float] = SIZE_IN) -> Figure:
    """An empty figure with its title, and below it the given lines and the caution.

    It belongs to nobody: no window, no list of figures that grows.
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=size_in, layout="constrained", facecolor="white")
    FigureCanvasAgg(figure)
    figure.suptitle(title, fontsize=TEXT_POINTS + 2.0, x=0.01, ha="left")
    width = round(LINE_CHARACTERS * size_in[0] / SIZE_IN[0])
    lines = [part for text in (*below, SHORT_CAUTION) for part in textwrap.wrap(text, width)]
    figure.supxlabel("\n".join(lines), fontsize=SMALL_POINTS, x=0.01, ha="left")
    return figure


def plain_axes(axes: Axes, across: str, up: str) -> None:
    """Names the axes and takes away what carries no meaning."""
    axes.set_xlabel(across, fontsize=TEXT_POINTS)
    axes.set_ylabel(up, fontsize=TEXT_POINTS)
    axes.tick_params(labelsize=SMALL_POINTS)
    axes.spines[["top", "right"]].set_visible(False)


def attempt_axis(axes: Axes, attempts: int, before: int = 0) -> None:
    """Whole attempt numbers after ``before`` along the bottom, with a little room at both ends."""
    from matplotlib.ticker import MaxNLocator

    axes.set_xlim(before + 0.4, before + max(attempts, FEWEST_SHOWN) + 0.6)
    axes.xaxis.set_major_locator(MaxNLocator(integer=True))


def key(axes: Axes) -> None:
    """The key to marks and lines, above the drawing so that it hides nothing."""
    axes.legend(
        loc="lower left",
        bbox_to_anchor=(0.0, 1.0),
        ncols=3,
        fontsize=SMALL_POINTS,
        frameon=False,
        borderaxespad=0.2,
        handletextpad=0.5,
        columnspacing=1.4,
    )


def nothing_yet(axes: Axes, text: str) -> None:
    """Says in an empty drawing why it is empty."""
    axes.text(0.5, 0.5, text, transform=axes.transAxes, ha="center", fontsize=TEXT_POINTS)


def png_bytes(figure: Figure, dpi: int = 100) -> bytes:
    """The figure as a PNG picture."""
    stream = io.BytesIO()
    figure.savefig(stream, format="png", dpi=dpi)
    return stream.getvalue()


def svg_bytes(figure: Figure) -> bytes:
    """The figure as an SVG drawing, the same bytes every time; text stays text."""
    from matplotlib import rc_context

    stream = io.BytesIO()
    with rc_context({"svg.hashsalt": "trainer", "svg.fonttype": "none"}):
        figure.savefig(stream, format="svg", metadata={"Date": None})
    return stream.getvalue()

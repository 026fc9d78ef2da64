"""Parts of a printed page, made with reportlab, which is imported inside the functions.

A part is one of its flowables: it is measured with `height_pt` and then drawn.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any
from xml.sax.saxutils import escape

from trainer.services.exports.page_font import PLAIN, STRONG, printable

GAP_PT = 9.0


def text_part(markup: str, size_pt: float, strong: bool = False, centred: bool = False) -> Any:
    """Lines of text, wrapped to the width; ``markup`` is escaped but for bold and line breaks."""
    from reportlab.lib.styles import ParagraphStyle
    from reportlab.platypus import Paragraph

    style = ParagraphStyle(
        "text",
        fontName=STRONG if strong else PLAIN,
        fontSize=size_pt,
        leading=1.3 * size_pt,
        alignment=1 if centred else 0,
        splitLongWords=1,
    )
    return Paragraph(markup, style)


def gap(height: float = GAP_PT) -> Any:
    """Empty room [pt]."""
    from reportlab.platypus import Spacer

    return Spacer(1, height)


def framed(part: Any, width: float) -> Any:
    """The part in a frame."""
    from reportlab.platypus import Table

    lines = [("BOX", (0, 0), (-1, -1), 1.2, "black"), ("BOTTOMPADDING", (0, 0), (-1, -1), 5)]
    return Table([[part]], colWidths=[width], style=lines)


def row_table(
    rows: Sequence[Sequence[str]], columns: Mapping[str, float], width: float, head: bool = True
) -> Any:
    """Rows of plain text with a line below each; ``columns``: title to share of the width."""
    from reportlab.platypus import Table

    cells = [[text_part(t, 8.0, strong=True) for t in columns]] if head else []
    cells += [[text_part(escape(printable(c)), 8.0) for c in row] for row in rows]
    lines = [
        ("LINEBELOW", (0, 0), (-1, -1), 0.4, "black"),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 2),
        ("RIGHTPADDING", (0, 0), (-1, -1), 2),
        ("TOPPADDING", (0, 0), (-1, -1), 1.5),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 2.5),
    ]
    return Table(cells, colWidths=[width * s for s in columns.values()], style=lines)


def signature_lines(width: float) -> Any:
    """Lines for names, signatures and a date."""
    from reportlab.platypus import Table

    labels = ("Supervisor's name", "Supervisor's signature", "Date", "Learner's signature")
    row: list[Any] = [""] * 7  # between two lines stands an empty column
    row[::2] = [text_part(label, 8.0) for label in labels]
    lines: list[Any] = [("LINEABOVE", (n, 0), (n, 0), 0.6, "black") for n in (0, 2, 4, 6)]
    lines.append(("LEFTPADDING", (0, 0), (-1, -1), 0))
    shares = (0.26, 0.03, 0.26, 0.03, 0.13, 0.03, 0.26)
    return Table([row], colWidths=[width * s for s in shares], style=lines)


def height_pt(part: Any, width: float) -> float:
    """How high the part is at that width [pt]."""
    return float(part.wrap(width, 10_000.0)[1])

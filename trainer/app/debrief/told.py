"""The words of a debrief as simple HTML; everything from a case file is escaped."""

from __future__ import annotations

from html import escape

from trainer.scene.palette import INSIDE, MISSED, css
from trainer.services.debrief import Debrief, critical_line, points_line, sections

# Said where they stand out: the headline over the page, both lines below it beside each other.
OVER = 3


def debrief_html(found: Debrief) -> str:
    """Title and lines of every section; the points of the blocks in a table."""
    parts = [_side_by_side(found)]
    for title, lines in sections(found):
        rest = lines[OVER:] if title == "Result" else lines
        if title == "Points by block":
            parts.append(_title(title) + _blocks(lines))
        elif title == "Three facts":
            rows = "".join(f"<li>{escape(line)}</li>" for line in rest)
            parts.append(_title(title) + f"<ol style='margin-top:0'>{rows}</ol>")
        elif title == "One aim":
            parts.append(_title(title) + f"<p style='margin:1px'><b>{escape(rest[0])}</b></p>")
        else:
            named = _title(title) if title and title != "Result" else ""
            rows = "".join(f"<p style='margin:1px'>{escape(line)}</p>" for line in rest)
            parts.append(named + (rows if title else f"<p><b>{escape(lines[0])}</b></p>"))
    return "".join(parts)


def _title(text: str) -> str:
    return f"<h4 style='margin-top:8px;margin-bottom:1px'>{escape(text)}</h4>"


def _side_by_side(found: Debrief) -> str:
    """Critical items and points beside each other: two things that are never made into one."""
    ok = not found.score.critical
    colour, mark = (INSIDE, "✓") if ok else (MISSED, "×")
    reached = found.score.percent >= found.score.mastery_percent
    return (
        "<table width='100%' cellpadding='4'><tr>"
        f"<td width='50%'><b><span style='color:{css(colour)}'>{mark}</span> "
        f"{escape(critical_line(found.score))}</b></td>"
        f"<td><b>{'✓' if reached else '○'} {escape(points_line(found.score))}</b></td>"
        "</tr></table>"
    )


def _blocks(lines: tuple[str, ...]) -> str:
    """Two blocks in a row."""
    cells = [f"<td width='50%'>{escape(line)}</td>" for line in lines]
    rows = "".join(f"<tr>{''.join(cells[i : i + 2])}</tr>" for i in range(0, len(cells), 2))
    return f"<table width='100%' cellpadding='1'>{rows}</table>"

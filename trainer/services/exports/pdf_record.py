"""The record of practice as one printed page, which says what it does not prove.

Black on white only. What is computed and what a supervisor says stand in blocks of their own.
"""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Any
from xml.sax.saxutils import escape

from trainer.engine.statistics.rates import failure_bound
from trainer.errors import Fault, NotValid
from trainer.models.learning import HelpLevel
from trainer.models.records import Observation, StoredAttempt
from trainer.services.cautions import SHORT_CAUTION
from trainer.services.exports.page_font import (
    CANNOT,
    composed,
    load_fonts,
    printable,
    unprintable,
)
from trainer.services.exports.page_parts import (
    framed,
    gap,
    height_pt,
    row_table,
    signature_lines,
    text_part,
)
from trainer.services.records.forms import LONGEST_TEXT, SUPERVISION_WORDS

TITLE = "Record of simulated practice"
BANNER = "SIMULATION – NOT CLINICAL SIGN-OFF"
HELP_WORDS = {
    HelpLevel.DEMONSTRATION: "solution shown",
    HelpLevel.OPEN: "all shown",
    HelpLevel.LINES: "lines and names",
    HelpLevel.ON_REQUEST: "on request",
    HelpLevel.NONE: "none",
}
MARGIN_PT, SIGNING_PT = 45.0, 34.0
# Columns of the table, by their share of the width.
COLUMNS = {
    "Date": 0.12,
    "Case": 0.29,
    "Help": 0.14,
    "Score [%]": 0.09,
    "Critical items": 0.24,
    "Mastery mark": 0.12,
}
LONGEST_NAME, LONGEST_TITLE = 160, 64
# Observations give way before fewer exercises than these are listed.
MOST_OBSERVATIONS, FEWEST_ROWS = 3, 6
# Exercises in a row without failure that rule out a rate of 5 %: 1 - 0.05 ** (1 / 59) = 4.95 %.
RUN_FOR_5_PERCENT = 59


class Paper(StrEnum):
    """The page's size: ISO 216 A4 or North American Letter."""

    A4 = "a4"
    LETTER = "letter"


@dataclass(frozen=True, slots=True)
class RecordPage:
    """What is printed.

    ``name`` is as typed for this print, or the pseudonym; it is not kept. ``titles``: case id to
    title. ``observations`` are a supervisor's, in the supervisor's words.
    """

    name: str
    printed_on: date
    program: str
    attempts: tuple[StoredAttempt, ...]
    titles: Mapping[str, str]
    observations: tuple[Observation, ...] = ()


def record_pdf(page: RecordPage, paper: Paper = Paper.A4) -> bytes:
    """One page as a PDF file, the same bytes on every run.

    The newest attempts that fit are listed; a sentence says how many are left out. Letters
    that the page's font lacks are replaced by a sign, and the page says so; not in the name.

    Raises
    ------
    NotValid
        If the name is empty, too long, or has letters that cannot be printed.
    NotReadable
        If the library for printed pages is not installed.
    """
    load_fonts()
    _check_name(page.name)
    from reportlab.lib.pagesizes import A4, LETTER
    from reportlab.pdfgen.canvas import Canvas

    size = {Paper.A4: A4, Paper.LETTER: LETTER}[paper]
    width = size[0] - 2.0 * MARGIN_PT
    attempts = sorted(page.attempts, key=lambda a: (a.finished_at, a.id), reverse=True)
    top = _top(page, width)
    rows = [_row(a, page.titles) for a in attempts]
    for observations in range(MOST_OBSERVATIONS, 0, -1):
        bottom = _bottom(page, width, observations)
        fixed = sum(height_pt(part, width) for part in (*top, *bottom))
        listed = _listed(rows, width, size[1] - 2.0 * MARGIN_PT - fixed)
        if listed >= min(FEWEST_ROWS, len(rows)):
            break
    middle = _attempt_parts(rows, listed, width)

    data = io.BytesIO()
    canvas = Canvas(data, pagesize=size, invariant=1)
    canvas.setTitle(f"{TITLE} – simulation, not clinical sign-off")
    canvas.setSubject(SHORT_CAUTION)
    canvas.setCreator(f"CBCT positioning trainer {page.program}")
    # from top to bottom, which is also the order in which a program reads it out
    _draw(canvas, (*top, *middle), size[1] - MARGIN_PT, width)
    _draw(canvas, bottom, MARGIN_PT + sum(height_pt(part, width) for part in bottom), width)
    canvas.showPage()
    canvas.save()
    return data.getvalue()


def _draw(canvas: Any, parts: Sequence[Any], top: float, width: float) -> None:
    for part in parts:
        top -= height_pt(part, width)
        part.drawOn(canvas, MARGIN_PT, top)


def _check_name(name: str) -> None:
    problem = ""
    if not composed(name):
        problem = "is empty; give a name or a pseudonym"
    elif len(composed(name)) > LONGEST_NAME:
        problem = f"has {len(composed(name))} letters; at most {LONGEST_NAME} fit"
    elif missing := unprintable(name):
        problem = (
            f"has letters that the page's font cannot print: {' '.join(missing)}. Scripts that run "
            "from right to left, and those of East and South Asia, cannot be printed: write the "
            "name in Latin letters"
        )
    if problem:
        raise NotValid([Fault("printed record", 0, "name", problem)])


def _top(page: RecordPage, width: float) -> list[Any]:
    printed = f"Printed on {page.printed_on.isoformat()} by program version {page.program}"
    return [
        text_part(TITLE, 16.0, strong=True),
        framed(text_part(BANNER, 11.0, strong=True, centred=True), width),
        gap(),
        text_part(f"Name (as typed for this print): <b>{escape(composed(page.name))}</b>", 10.0),
        text_part(f"{escape(printed)}. Names are not checked by the program.", 8.5),
        gap(),
    ]


def _listed(rows: Sequence[Sequence[str]], width: float, room: float) -> int:
    """How many rows fit into ``room``, with the table's head and the sentence below it."""
    used = height_pt(row_table([], COLUMNS, width), width) + height_pt(text_part("x", 8.5), width)
    # heights of one-row tables add up
    for number, row in enumerate(rows):
        used += height_pt(row_table([row], COLUMNS, width, head=False), width)
        if used > room:
            return number
    return len(rows)


def _attempt_parts(rows: Sequence[Sequence[str]], listed: int, width: float) -> list[Any]:
    if not rows:
        return [text_part("No exercise has been finished.", 9.0)]
    parts = [row_table(rows[:listed], COLUMNS, width)]
    left_out = len(rows) - listed
    if left_out:
        words = "exercise is" if left_out == 1 else "exercises are"
        parts.append(text_part(f"{left_out} older {words} left out: one page holds no more.", 8.5))
    return parts


def _row(a: StoredAttempt, titles: Mapping[str, str]) -> list[str]:
    title = _clipped(titles.get(a.case_id, a.case_id), LONGEST_TITLE)
    failed = ", ".join(item.replace("-", " ") for item in a.critical)
    hints = f" (hints: {a.hints})" if a.help is HelpLevel.ON_REQUEST else ""
    return [
        a.finished_at.date().isoformat(),
        title,
        HELP_WORDS[a.help] + hints,
        f"{a.percent:.1f}",
        f"FAILED: {_clipped(failed, LONGEST_TITLE)}" if failed else "none failed",
        "reached" if a.mastered else "not reached",
    ]


def _bottom(page: RecordPage, width: float, observations: int) -> list[Any]:
    parts = [gap(), text_part("What this page does not prove", 9.5, strong=True)]
    parts += [text_part(sentence, 8.5) for sentence in not_proved(page.attempts)]
    if page.observations:
        parts += [gap(), *_observation_parts(page.observations, observations)]
    if _has_unprintable(page):
        parts.append(text_part(f"{CANNOT} stands for a letter that this page's font lacks.", 8.0))
    parts += [gap(SIGNING_PT), signature_lines(width), gap(), text_part(escape(SHORT_CAUTION), 8.0)]
    return parts


def not_proved(attempts: Sequence[StoredAttempt]) -> list[str]:
    """What the exercises do not show, in sentences; with the limit of the rate of failure."""
    sentences = [
        "The lines above are exercises on a synthetic head. They are no clinical sign-off, no "
        "evidence of clinical competence and no permission to work with radiation."
    ]
    alone = [a for a in attempts if a.help.is_unassisted]
    if not alone:
        return [
            *sentences,
            "No exercise was done without help on the screen, so nothing here tells what this "
            "person does alone.",
        ]
    failed = sum(bool(a.critical) for a in alone)
    limit = failure_bound(failed, len(alone))
    formula = "" if failed else f" = 1 − 0.05^(1/{len(alone)})"
    return [
        *sentences,
        f"Of all {len(alone)} exercises without help or with hints on request, {failed} had a "
        f"critical item that failed. Even if exercises were like real work and independent, a true "
        f"rate of failure of up to {100.0 * limit:.1f} % remains possible (one-sided 95 % "
        f"limit{formula}). {RUN_FOR_5_PERCENT} in a row without failure would be needed to rule "
        "out 5 %.",
    ]


def _observation_parts(observations: Sequence[Observation], most: int) -> list[Any]:
    newest = sorted(observations, key=lambda o: (o.on, o.id), reverse=True)
    title = "A supervisor's own words – given by a person, not computed from the above"
    parts = [text_part(title, 9.5, strong=True)]
    for o in newest[:most]:
        support = SUPERVISION_WORDS.get(o.supervision, str(o.supervision))
        place = f"{_clipped(o.observer, LONGEST_TITLE)}, {_clipped(o.setting, LONGEST_TITLE)}"
        head = f"{o.on.isoformat()}, {place}"
        parts.append(
            text_part(
                f"<b>{_safe(head)}</b>: overall {o.overall} of 5; supervision: {_safe(support)}"
                f"<br/>Done well: {_safe(o.done_well)}<br/>Aim: {_safe(o.aim)}",
                8.5,
            )
        )
    left_out = len(newest) - most
    if left_out > 0:
        words = "observation is" if left_out == 1 else "observations are"
        parts.append(text_part(f"{left_out} older {words} left out.", 8.5))
    return parts


def _has_unprintable(page: RecordPage) -> bool:
    texts = [page.titles.get(a.case_id, a.case_id) for a in page.attempts]
    for o in page.observations:
        texts += [o.observer, o.setting, o.done_well, o.aim]
    return any(unprintable(t) for t in texts)


def _clipped(text: str, longest: int) -> str:
    words = composed(text)
    return words if len(words) <= longest else words[: longest - 1].rstrip() + "…"


def _safe(text: str) -> str:
    return escape(printable(_clipped(text, LONGEST_TEXT)))

"""All details of an ending: what was held, what slipped, the 29 steps, the radiation."""

from __future__ import annotations

from html import escape

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QTextBrowser, QVBoxLayout, QWidget

from trainer.engine.appointment.slips.words import text_of
from trainer.engine.appointment.state import AppointmentState, spoken
from trainer.engine.wording import sentence_start
from trainer.models.appointment_words import Done
from trainer.scene.palette import INSIDE, MISSED, css
from trainer.services.appointment_report import DONE_WORDS, Ending, dose_words, ending, headline
from trainer.services.cautions import SHORT_CAUTION

MARKS = {
    Done.DONE: "✓",
    Done.PARTLY: "◐",
    Done.LATE: "◷",
    Done.SKIPPED: "×",
    Done.NOT_NEEDED: "–",
}


class EndingPanel(QWidget):
    """Everything an appointment came to, to be read from top to bottom."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        column = QVBoxLayout(self)
        column.setContentsMargins(4, 4, 4, 4)
        self.headline = QLabel("The appointment goes on.")
        self.headline.setObjectName("headline")
        self.headline.setProperty("state", "hidden")
        self.headline.setWordWrap(True)
        column.addWidget(self.headline)
        self.text = QTextBrowser()
        self.text.setAccessibleName("What the appointment came to")
        self.text.setOpenLinks(False)
        self.text.setTextInteractionFlags(
            Qt.TextInteractionFlag.TextSelectableByMouse
            | Qt.TextInteractionFlag.TextSelectableByKeyboard
        )
        column.addWidget(self.text, 1)

    def show_ending(self, state: AppointmentState) -> None:
        """Show what the finished appointment came to."""
        found = ending(state)
        self.headline.setText(f"{'✓' if found.passed else '×'} {headline(found)}")
        self.headline.setProperty("state", "inside" if found.passed else "missed")
        self.headline.style().unpolish(self.headline)
        self.headline.style().polish(self.headline)
        self.text.setHtml(ending_html(state, found))


def ending_html(state: AppointmentState, found: Ending) -> str:
    """The ending as simple HTML; everything from a case file is escaped."""
    parts = [_held(found), _critical(found), _slips(found), _dose(found), _steps(found)]
    return "".join(p for p in parts if p) + f"<p><b>{escape(SHORT_CAUTION)}</b></p>"


def _title(text: str) -> str:
    return f"<h3 style='margin-bottom:2px'>{escape(text)}</h3>"


def _marked(ok: bool, text: str) -> str:
    colour, mark = (INSIDE, "✓") if ok else (MISSED, "×")
    return f"<p style='margin:1px'><span style='color:{css(colour)}'>{mark}</span> {text}</p>"


def _held(found: Ending) -> str:
    if not found.exposures:
        return ""
    rows = [
        _marked(
            h.holds,
            f"{escape(sentence_start(h.name.removeprefix('the ')))}: "
            f"{'held, with its margin' if h.holds else 'cut off, or too near to the edge'}",
        )
        for h in found.held
    ]
    return (
        _title("What had to be inside")
        + "".join(rows)
        + "<p style='margin:1px'>Bone and field are shown now in “Patient”; "
        "what was missed is hatched and named there.</p>"
    )


def _critical(found: Ending) -> str:
    rows = [_marked(False, escape(c.sentence)) for c in found.critical]
    none = _marked(True, "None failed.")
    return _title("What nothing else makes up for") + ("".join(rows) or none)


def _slips(found: Ending) -> str:
    rows = []
    for f in found.slips:
        text = text_of(f.slip)
        rows.append(
            f"<p style='margin:4px 1px'><b>{escape(text.title)}</b> ({f.slip.code}, run {f.run}). "
            f"{escape(f.slip.found)}<br>In the image: {escape(text.consequence)}"
            f"<br>Next time: {escape(text.fix)}</p>"
        )
    return _title("What slipped") + ("".join(rows) or _marked(True, "Nothing in the images."))


def _dose(found: Ending) -> str:
    rows = []
    for e in found.exposures:
        use = e.use
        kind = spoken(use.exposure.kind)
        if not use.exposure.kind.is_scout:
            kind = "preview run" if use.preview else "full run"
        share = "" if use.share >= 1.0 else f", {100 * use.share:.0f} % of it"
        low = ", low dose" if use.exposure.low_dose else ""
        cost = f": {dose_words(e.dose)}" if e.dose is not None else ""
        words = f"{kind}, field {use.field}, {use.exposure.voxel_um} µm{low}{share}{cost}"
        rows.append(f"<p style='margin:1px'>• {escape(sentence_start(words))}</p>")
    if not rows:
        rows.append("<p style='margin:1px'>None was used.</p>")
    elif found.dose is None:
        rows.append("<p>This unit's file names no tube, so no dose can be estimated.</p>")
    else:
        told = f"{dose_words(found.dose)}. {found.dose.caution}"
        rows.append(f"<p style='margin:1px'><b>Together: {escape(told)}</b></p>")
        rows += [f"<p style='margin:1px'>Source: {escape(s)}</p>" for s in found.dose.sources]
    return _title("Radiation, as an estimate") + "".join(rows)


def _steps(found: Ending) -> str:
    rows = "".join(
        f"<tr><td>{s.number}</td><td>{escape(s.name)}</td>"
        f"<td style='white-space:nowrap'>{MARKS[s.done]} {DONE_WORDS[s.done]}</td>"
        f"<td>{escape(s.sentence)}</td></tr>"
        for s in found.steps
    )
    return _title("The operator's 29 steps") + f"<table cellpadding='3'>{rows}</table>"

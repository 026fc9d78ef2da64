"""What verifying found: where, what, and what to do."""

from __future__ import annotations

from dataclasses import dataclass

NOT_PROVED = (
    "Digests show changes by accident or by hand. They cannot show that somebody who knows how has "
    "written everything anew, nor that a learner is missing altogether: keep a copy elsewhere."
)


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that is not as it was written.

    ``cannot_tell``: nothing is known to be wrong, but the score cannot be recomputed here.
    """

    where: str
    what: str
    todo: str
    cannot_tell: bool = False

    def __str__(self) -> str:
        text = f"{self.where}: {self.what}\n    What to do: {self.todo}"
        return text.encode("utf-8", "backslashreplace").decode("utf-8")  # what is no text, too


@dataclass(frozen=True, slots=True)
class Report:
    """What was looked at, and everything found.

    ``recomputed``: attempts whose stored score is what their log gives. ``logs``: logs that have
    no stored score. ``busy``: logs that are open in a window and were left alone.
    """

    place: str
    findings: tuple[Finding, ...]
    learners: int = 0
    entries: int = 0
    attempts: int = 0
    recomputed: int = 0
    logs: int = 0
    busy: int = 0
    notes: tuple[str, ...] = ()

    def text(self) -> str:
        """The report for reading."""
        lines = [f"{self.place}:", *(f"  {finding}" for finding in self.findings)]
        lines += [f"  {note}" for note in self.notes]
        looked = [
            _counted(self.learners, "learner"),
            _counted(self.entries, "entry", "entries"),
            _counted(self.logs, "log without a stored score", "logs without a stored score"),
        ]
        lines.append(f"  Looked at {', '.join(part for part in looked if part) or 'nothing'}.")
        if self.attempts:
            again = f"{self.recomputed} of {self.attempts} stored scores"
            lines.append(f"  Computed again from their logs with the same result: {again}.")
        if self.busy:
            open_logs = _counted(self.busy, "log", "logs")
            lines.append(f"  Open in a window, so not looked at: {open_logs}.")
        unknown = sum(finding.cannot_tell for finding in self.findings)
        if unknown:
            scores = _counted(unknown, "score")
            lines.append(f"  Not known to be right or wrong, as it cannot be recomputed: {scores}.")
        wrong = _counted(len(self.findings) - unknown, "thing is", "things are")
        lines.append(f"  {wrong} wrong." if wrong else "  Nothing was found changed.")
        return "\n".join([*lines, f"  {NOT_PROVED}"])


def _counted(number: int, one: str, more: str = "") -> str:
    """A number of things in words; empty for none."""
    return f"{number} {one if number == 1 else more or one + 's'}" if number else ""

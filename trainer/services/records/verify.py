"""Records, exports and single logs verified: chains proved, every score recomputed from its log."""

from __future__ import annotations

import json
import zipfile
import zlib
from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import select

from trainer.engine.appointment.plain_data import canonical
from trainer.errors import NotAllowedNow, NotReadable, TrainerError
from trainer.services.attempt_log import parse_log
from trainer.services.records import chain
from trainer.services.records.export import ABOUT, ABOUT_TEXT, FORMAT, LEARNER, LINES, UNDER_WAY
from trainer.services.records.findings import Finding, Report
from trainer.services.records.place import FILE
from trainer.services.records.proof import (
    DISTRUST,
    OTHER_CASE,
    RESTORE,
    entry_rows,
    is_attempt,
    prove_chain,
)
from trainer.services.records.scorer import CannotRecompute, Scorer
from trainer.services.records.store import Records, open_records
from trainer.services.records.tables import ENTRIES, LEARNERS
from trainer.services.records.under_way import LEARNER_ID, hold, is_finished

MOST_EXPORT_BYTES = 2_000_000_000  # unpacked; ten thousand attempts have some 300 MB
# What unpacking a broken or encrypted archive raises.
UNREADABLE = (OSError, zipfile.BadZipFile, zlib.error, EOFError, ValueError, RuntimeError)


def verify(named: str | Path | None, scorer: Scorer) -> Report:
    """Verifies what the name stands for: records, an export, or the log of an attempt.

    Raises
    ------
    NotFound, NotReadable, TrainerError
        If it is none of these, or cannot be read at all.
    """
    if named is None or (isinstance(named, str) and "://" in named):
        return verify_records(open_records(named, make=False), scorer)
    path = Path(named)
    if path.is_dir() and (path / LEARNER).exists():
        return verify_export(path, scorer)
    if path.is_dir() or path.name == FILE:
        return verify_records(open_records(path, make=False), scorer)
    if path.suffix.lower() == ".zip":
        return verify_export(path, scorer)
    return verify_log(path, scorer)


def verify_records(records: Records, scorer: Scorer) -> Report:
    """Verifies every learner's chain and scores, and the logs under way.

    Raises
    ------
    NotReadable
        If the database cannot be read.
    """
    report = Report(str(records.place), tuple(_file_findings(records)))
    with records.database.reading() as connection:
        ids = (
            connection.execute(select(LEARNERS.c.id).order_by(LEARNERS.c.pseudonym)).scalars().all()
        )
        chained = connection.execute(select(ENTRIES.c.learner_id).distinct()).scalars().all()
    for stray in sorted(set(chained) - set(ids)):
        text = "has entries but no profile: it has been removed, or the entries' owner changed"
        report = _with(report, Finding(f"learner {stray}", text, RESTORE))
    for learner_id in ids:
        try:
            learner, rows = _rows(records, learner_id)
            if learner is not None:  # else erased meanwhile
                sign_in = chain.sign_in_sha256(learner)
                report = _with_chain(report, learner, sign_in, rows, scorer)
        except (TypeError, ValueError, NotReadable) as error:
            text = f"cannot be read, or holds values that this program never writes ({error})"
            report = _with(report, Finding(f"learner {learner_id}", text, RESTORE))
    return _with_logs(report, records, set(ids))


def _rows(records: Records, learner_id: str) -> tuple[dict[str, Any] | None, list[dict[str, Any]]]:
    """A learner's row and entries of one moment; nobody waits while scores are computed."""
    wanted = select(ENTRIES).where(ENTRIES.c.learner_id == learner_id).order_by(ENTRIES.c.number)
    with records.database.reading() as connection:
        own = connection.execute(select(LEARNERS).where(LEARNERS.c.id == learner_id)).mappings()
        learner = next((dict(row) for row in own), None)
        entries = connection.execute(wanted).mappings().all()
    return learner, [{**entry, "log": bytes(entry["log"])} for entry in entries]


def _file_findings(records: Records) -> Iterator[Finding]:
    if not records.database.is_file:
        return
    with records.database.outside() as connection:
        told = connection.exec_driver_sql("PRAGMA integrity_check").scalars().all()
    if told != ["ok"]:
        text = f"the database file is damaged: {'; '.join(map(str, told[:3]))}"
        yield Finding(FILE, text, "Keep it, copy it away, and put the last backup in its place.")


def _with_chain(
    report: Report,
    learner: chain.Row,
    sign_in: str,
    entries: list[dict[str, Any]],
    scorer: Scorer,
) -> Report:
    proved = prove_chain(learner, sign_in, entries, scorer)
    return replace(
        _with(report, *proved.findings),
        learners=report.learners + 1,
        entries=report.entries + len(entries),
        attempts=report.attempts + proved.attempts,
        recomputed=report.recomputed + proved.recomputed,
    )


def _with_logs(report: Report, records: Records, ids: set[str]) -> Report:
    """The report with the logs under way in this computer's folder."""
    for folder in sorted(p for p in records.place.attempts.glob("*") if p.is_dir()):
        if folder.name not in ids:
            # On a server's computer the folder may hold logs of other records' learners.
            if records.database.is_file and LEARNER_ID.fullmatch(folder.name):
                text = "logs of somebody who is not in the records"
                todo = "Put the profile back from a backup, or remove the folder."
                report = _with(report, Finding(str(folder), text, todo))
            continue
        for path in sorted(folder.glob("*.log")):
            try:
                found = tuple(_held_findings(path))
            except NotAllowedNow:
                report = replace(report, busy=report.busy + 1)
                continue
            except FileNotFoundError:
                continue  # taken in meanwhile
            report = replace(_with(report, *found), logs=report.logs + 1)
    return report


def _held_findings(path: Path) -> Iterator[Finding]:
    try:
        with hold(path):
            yield from _log_findings(str(path), path.read_bytes())
    except (NotReadable, PermissionError) as error:
        if not path.exists():
            raise FileNotFoundError(path) from None
        yield Finding(str(path), f"cannot be read: {error}", "Let your user read and write it.")


def _log_findings(where: str, data: bytes) -> Iterator[Finding]:
    try:
        fault = parse_log(data, where).fault
    except TrainerError as error:
        yield Finding(where, str(error), DISTRUST)
        return
    if fault is not None and fault.torn:
        text = f"{fault}. A killed program leaves that, and so does a change at its end"
        yield Finding(where, text, "Go on with the attempt: that line is left out.")
    elif fault is not None:
        yield Finding(where, str(fault), DISTRUST)


def verify_log(path: Path, scorer: Scorer) -> Report:
    """Verifies the log of one attempt: its chain, and whether its commands give those events.

    Raises
    ------
    NotReadable, NotValid
        If it cannot be read, or is no log.
    """
    try:
        data = path.read_bytes()
    except OSError as error:
        raise NotReadable(f"{path}: cannot be read: {error.strerror or error}") from error
    log = parse_log(data, str(path))
    report = Report(str(path), tuple(_log_findings(path.name, data)), logs=1)
    if report.findings or not is_finished(log):
        return report
    try:
        found = scorer(data, attempt_id="", learner_id="", finished_at=datetime.now(UTC))
    except CannotRecompute as error:
        text = f"its score cannot be recomputed: {error}"
        return _with(report, Finding(path.name, text, OTHER_CASE, cannot_tell=True))
    except TrainerError as error:
        return _with(report, Finding(path.name, f"gives no score: {error}", DISTRUST))
    critical = len(found.critical)
    note = f"The log gives {found.percent:g} points; critical items failed: {critical or 'none'}."
    return replace(report, notes=(note,))


def verify_export(path: Path, scorer: Scorer) -> Report:
    """Verifies what was taken out for a learner, a folder or an archive.

    Raises
    ------
    NotReadable
        If it is no export.
    """
    files, report = _export_files(path), Report(str(path), ())
    try:
        text = files[LEARNER].decode("ascii")
        learner = json.loads(text)
        if canonical(learner) + "\n" != text or learner["learner_export"] != FORMAT:
            raise ValueError("not as this program writes it")
        rows = entry_rows(files[LINES].decode("ascii").splitlines(), files)
        if _lines(rows) != files[LINES]:
            raise ValueError("not as this program writes it")
        report = _with_chain(report, learner, learner["sign_in_sha256"], rows, scorer)
    except (KeyError, ValueError, TypeError, RecursionError) as error:
        text = f"{LEARNER}, {LINES} or a log is missing or changed ({error!r})"
        return _with(report, Finding(path.name, text, "Take the export again."))
    used = {LEARNER, LINES, ABOUT, *(row["log_file"] for row in rows if is_attempt(row))}
    if files.get(ABOUT) != ABOUT_TEXT.encode("ascii"):
        text = "is missing, changed, or of another version of the program"
        report = _with(report, Finding(ABOUT, text, "Take the export again."))
    for name in sorted(set(files) - used):
        if name.startswith(UNDER_WAY):
            found = tuple(_log_findings(name, files[name]))
            report = replace(_with(report, *found), logs=report.logs + 1)
        else:
            report = _with(report, Finding(name, "does not belong to the export", DISTRUST))
    return report


def _lines(rows: list[dict[str, Any]]) -> bytes:
    """The rows as an export's lines hold them."""
    kept = ({key: value for key, value in row.items() if key != "log"} for row in rows)
    return b"".join((canonical(row) + "\n").encode("ascii") for row in kept)


def _export_files(path: Path) -> Mapping[str, bytes]:
    try:
        if path.is_dir():
            found = (p for p in path.rglob("*") if p.is_file())
            return {p.relative_to(path).as_posix(): p.read_bytes() for p in found}
        with zipfile.ZipFile(path) as archive:
            if sum(part.file_size for part in archive.infolist()) > MOST_EXPORT_BYTES:
                raise NotReadable(f"{path}: is larger than {MOST_EXPORT_BYTES} bytes unpacked")
            return {name: archive.read(name) for name in archive.namelist()}
    except TrainerError:
        raise
    except UNREADABLE as error:
        raise NotReadable(f"{path}: cannot be read as an export: {error}") from error


def _with(report: Report, *findings: Finding) -> Report:
    return replace(report, findings=(*report.findings, *findings))

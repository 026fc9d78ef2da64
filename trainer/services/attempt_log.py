"""The log of an attempt: one JSON object a line, each chained to the one before by its hash.

Line 1 is the header: case, hash of the case's content, seed, program version, help level. Every
further line is one command and the digest of all events up to it. A line is written and synced
before the next command: a kill at any moment loses at most the step that was being written. Each
line ends in

    hash = SHA-256(hash of the line before + the line's own JSON without its hash)

and is written in one way only (ASCII, keys in order), so a changed byte shows, and where. What a
hash chain cannot tell: whole lines taken off the end, and a log written anew by somebody who knows
how. It guards against accidents and idle changes, not against forgery.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
from collections.abc import Iterable
from dataclasses import dataclass
from io import RawIOBase
from pathlib import Path
from typing import Any

from trainer.engine.appointment.plain_data import (
    canonical,
    command_from_data,
    command_to_data,
    events_digest,
)
from trainer.engine.appointment.state import AppointmentState, Context, Step, open_appointment
from trainer.engine.appointment.step import step
from trainer.errors import Fault, NotReadable, NotValid, TrainerError
from trainer.models.appointment_commands import Command
from trainer.models.appointment_events import Event
from trainer.models.learning import HelpLevel

FORMAT = 2
# Format 1 said nothing of help, so nobody could tell practice from an exam: it is refused.
HEADERS_BEFORE = {1: ("attempt_log", "case", "case_sha256", "hash", "program", "seed")}
LONGEST_LINE = 100_000  # bytes; a command with a long note has a few thousand
START = "0" * 64  # what the header is chained to, and the digest before any event
HEADER_KEYS = ("attempt_log", "case", "case_sha256", "hash", "help", "program", "seed")
LINE_KEYS = ("command", "events_sha256", "hash")


@dataclass(frozen=True, slots=True)
class Header:
    """What an attempt belongs to. ``case_sha256`` is the hash of the case's content."""

    case: str
    case_sha256: str
    seed: int
    program: str
    help: HelpLevel = HelpLevel.NONE


@dataclass(frozen=True, slots=True)
class Entry:
    """A command in a log: its line, and the digest of all events up to it."""

    line: int
    command: Command
    events_sha256: str


@dataclass(frozen=True, slots=True)
class LogFault:
    """The first thing wrong in a log. ``torn``: only its last line was not finished."""

    line: int
    text: str
    torn: bool = False

    def __str__(self) -> str:
        return f"line {self.line}: {self.text}"


@dataclass(frozen=True, slots=True)
class Log:
    """A log as far as it is sound; ``fault`` says what comes then, ``good_bytes`` where."""

    header: Header
    entries: tuple[Entry, ...]
    fault: LogFault | None
    good_bytes: int
    last_hash: str


@dataclass(frozen=True, slots=True)
class Replay:
    """What a log leads to: the state, all events, their digest, and where it stopped being true."""

    state: AppointmentState
    events: tuple[Event, ...]
    events_sha256: str
    fault: LogFault | None


def content_sha256(files: Iterable[Path]) -> str:
    """One hash for the content of a case's files, in the order given."""
    found = hashlib.sha256()
    for path in files:
        data = path.read_bytes()
        found.update(f"{len(data)}:".encode("ascii"))
        found.update(data)
    return found.hexdigest()


def chained(before: str, data: dict[str, Any]) -> str:
    """A line of the log: the data with their hash, as JSON with its end of line."""
    text = canonical(data)
    return canonical({**data, "hash": _hash(before, text)}) + "\n"


def _hash(before: str, text: str) -> str:
    return hashlib.sha256((before + text).encode("ascii")).hexdigest()


class _Broken(Exception):
    """What is wrong with a line."""


class _OldFormat(Exception):
    """The log is sound, and of a format that is no longer read."""


def read_log(path: Path) -> Log:
    """The log in a file; see `parse_log`.

    Raises
    ------
    NotReadable
        If the file cannot be opened, or is no log of this format.
    NotValid
        As `parse_log`.
    """
    try:
        data = path.read_bytes()
    except OSError as error:
        raise NotReadable(f"{path}: cannot be read: {error.strerror or error}") from error
    return parse_log(data, str(path))


def parse_log(data: bytes, named: str) -> Log:
    """The log up to its first fault. ``named`` is what messages call it.

    Raises
    ------
    NotReadable
        If it is no log of this format.
    NotValid
        If it is a log whose first line is not the header that was written: nothing is known then.
    """
    lines = data.split(b"\n")
    tail = lines.pop()  # empty when the last line is finished
    try:
        if not lines:
            raise _Broken("the header is not finished")
        raw, last_hash = _sound(lines[0], START)
        header = _header(raw)
    except _Broken as broken:
        if any(map(_looks_logged, lines)):
            text = "the header is missing or has been changed"
            raise NotValid([Fault(named, 0, "line 1", text)]) from None
        raise NotReadable(f"{named}: line 1: {broken}") from None
    except _OldFormat as old:
        raise NotReadable(f"{named}: {old}") from None
    entries: list[Entry] = []
    good, fault = len(lines[0]) + 1, None
    for number, line in enumerate(lines[1:], start=2):
        try:
            raw, new_hash = _sound(line, last_hash)
            entries.append(_entry(raw, number))
        except _Broken as broken:
            fault = LogFault(number, str(broken))
            break
        last_hash, good = new_hash, good + len(line) + 1
    if fault is None and tail:
        fault = LogFault(len(lines) + 1, "was not finished; it is left out", torn=True)
    return Log(header, tuple(entries), fault, good, last_hash)


def _sound(line: bytes, before: str) -> tuple[dict[str, Any], str]:
    """The line's data and hash, when it is written as it must be and follows the one before."""
    if len(line) > LONGEST_LINE:
        raise _Broken(f"is longer than {LONGEST_LINE} bytes")
    try:
        text = line.decode("ascii")
        data = json.loads(text)
        same = canonical(data) == text
    except (ValueError, RecursionError):
        raise _Broken("is not JSON as this program writes it") from None
    if not same or not isinstance(data, dict):
        raise _Broken("is not written as this program writes it")
    found = data.pop("hash", None)
    if found != _hash(before, canonical(data)):
        raise _Broken("has been changed, or does not follow the line before")
    return data, str(found)


def _looks_logged(line: bytes) -> bool:
    """Whether the line has the keys of a log's line, true or altered."""
    try:
        data = json.loads(line) if len(line) <= LONGEST_LINE else None
    except (ValueError, RecursionError):
        return False
    return isinstance(data, dict) and tuple(sorted(data)) in (HEADER_KEYS, LINE_KEYS)


def _header(data: dict[str, Any]) -> Header:
    if HEADERS_BEFORE.get(data.get("attempt_log", 0)) == tuple(sorted((*data, "hash"))):
        raise _OldFormat(
            f"is a log of format {data['attempt_log']}, from an earlier version of the program, "
            "which did not note the help level. It is left as it is and cannot be judged; begin a "
            "new attempt."
        )
    if tuple(sorted((*data, "hash"))) != HEADER_KEYS or data["attempt_log"] != FORMAT:
        raise _Broken(f"is not the header of an attempt log of format {FORMAT}")
    case, sha, seed, program = (data[k] for k in ("case", "case_sha256", "seed", "program"))
    if type(seed) is not int or seed < 0 or not all(type(t) is str for t in (case, sha, program)):
        raise _Broken("names no case, seed or program")
    if data["help"] not in tuple(HelpLevel):
        raise _Broken("names no help level")
    return Header(case, sha, seed, program, HelpLevel(data["help"]))


def _entry(data: dict[str, Any], number: int) -> Entry:
    if tuple(sorted((*data, "hash"))) != LINE_KEYS or type(data["events_sha256"]) is not str:
        raise _Broken("holds no command with the digest of its events")
    try:
        return Entry(number, command_from_data(data["command"]), data["events_sha256"])
    except NotValid as error:
        raise _Broken(f"holds no command: {error.faults[0]}") from None


def replay(log: Log, context: Context) -> Replay:
    """Does the log's commands again.

    The events are the same bit for bit, or ``fault`` names the first line of which that is not
    so. A fault of the log itself is told when everything before it is true.
    """
    state, digest = open_appointment(context, log.header.seed, log.header.help), START
    events: list[Event] = []
    for entry in log.entries:
        try:
            done = step(state, entry.command)
        except TrainerError as error:
            text = f"the command cannot be done here: {error}"
            return Replay(state, tuple(events), digest, LogFault(entry.line, text))
        new_digest = events_digest(digest, done.events)
        if new_digest != entry.events_sha256:
            text = "the command does not lead to the events that were logged"
            return Replay(state, tuple(events), digest, LogFault(entry.line, text))
        state, digest = done.state, new_digest
        events += done.events
    return Replay(state, tuple(events), digest, log.fault)


class Attempt:
    """An appointment that is being logged. Make one with `begin` or `resume`; close it after.

    ``state`` is the state now, ``header`` what the attempt belongs to.
    """

    def __init__(
        self, file: RawIOBase, header: Header, state: AppointmentState, digest: str, last_hash: str
    ) -> None:
        self.header = header
        self.state = state
        self._file = file
        self._size = file.tell()
        self._digest = digest
        self._last_hash = last_hash

    def do(self, command: Command) -> Step:
        """Does a command and logs it; what the engine refuses leaves log and state as they were.

        Raises
        ------
        NotAllowedNow, NotValid, NotFound
            As `engine.appointment.step.step`.
        NotReadable
            If the line cannot be written; the state stays as it was, too.
        """
        done = step(self.state, command)
        digest = events_digest(self._digest, done.events)
        data = {"command": command_to_data(command), "events_sha256": digest}
        line = chained(self._last_hash, data)
        if len(line) > LONGEST_LINE:
            raise TrainerError(f"a command of {len(line)} bytes; at most {LONGEST_LINE}")
        try:
            _write(self._file, line)
        except OSError as error:
            with contextlib.suppress(OSError):
                self._file.truncate(self._size)
                self._file.seek(self._size)
            raise NotReadable(f"the log cannot be written: {error.strerror or error}") from error
        self._size += len(line)
        self.state, self._digest = done.state, digest
        self._last_hash = json.loads(line)["hash"]
        return done

    def close(self) -> None:
        """Closes the file."""
        self._file.close()

    def __enter__(self) -> Attempt:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


def begin(path: Path, header: Header, context: Context) -> Attempt:
    """A new attempt with a new log. The header is there whole or not at all.

    Raises
    ------
    TrainerError
        If a file of that name is there already.
    NotReadable
        If the file cannot be written.
    """
    if path.exists():
        raise TrainerError(f"{path}: is there already; an attempt is never written over")
    state = open_appointment(context, header.seed, header.help)
    line = chained(
        START,
        {
            "attempt_log": FORMAT,
            "case": header.case,
            "case_sha256": header.case_sha256,
            "help": str(header.help),
            "program": header.program,
            "seed": header.seed,
        },
    )
    part = path.with_name(path.name + ".part")
    try:
        with part.open("wb", buffering=0) as file:
            _write(file, line)
        part.replace(path)
        _sync_folder(path.parent)
        log = path.open("r+b", buffering=0)
        log.seek(0, os.SEEK_END)
    except OSError as error:
        raise NotReadable(f"{path}: cannot be written: {error.strerror or error}") from error
    return Attempt(log, header, state, START, json.loads(line)["hash"])


def resume(path: Path, context: Context) -> tuple[Attempt, Replay]:
    """Goes on with an attempt. A last line that was not finished is cut off.

    Raises
    ------
    NotReadable
        If the log cannot be read, or is at fault elsewhere than in an unfinished last line, or
        does not lead to the events that were logged: it is left as it is then.
    NotValid
        As `read_log`.
    """
    log = read_log(path)
    done = replay(log, context)
    if done.fault is not None and not done.fault.torn:
        raise NotReadable(f"{path}: {done.fault}")
    try:
        file = path.open("r+b", buffering=0)
        file.truncate(log.good_bytes)
        file.seek(log.good_bytes)
    except OSError as error:
        raise NotReadable(f"{path}: cannot be written: {error.strerror or error}") from error
    return Attempt(file, log.header, done.state, done.events_sha256, log.last_hash), done


def _write(file: RawIOBase, line: str) -> None:
    data = line.encode("ascii")
    if file.write(data) != len(data):
        raise OSError("only a part of the line was written")
    os.fsync(file.fileno())


def _sync_folder(folder: Path) -> None:
    """Makes a new name in a folder last; systems that cannot do it do without."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)

"""The attempt log: chained, resumed after a kill, changed bytes found, replayed bit for bit."""

from __future__ import annotations

import io
import json
import random
from pathlib import Path

import pytest
from helpers.appointments import CASE, CLEAN_RUN, VISIT, Act, act, context, play, timed

from trainer.engine.appointment.plain_data import canonical, events_digest
from trainer.errors import NotAllowedNow, NotReadable, NotValid, TrainerError
from trainer.models import appointment_commands as do
from trainer.models.learning import HelpLevel
from trainer.services.attempt_log import (
    START,
    Attempt,
    Header,
    begin,
    chained,
    content_sha256,
    parse_log,
    read_log,
    replay,
    resume,
)

HEADER = Header(CASE, "ab" * 32, 7, "0.1.0")


@pytest.fixture(scope="module")
def where():
    """The case with its visit."""
    return context(VISIT)


@pytest.fixture(scope="module")
def whole(tmp_path_factory, where) -> bytes:
    """The log of a clean run."""
    path = tmp_path_factory.mktemp("log") / "whole.jsonl"
    write(path, CLEAN_RUN, where)
    return path.read_bytes()


def write(path: Path, acts: list[Act], where) -> None:
    """Logs an attempt."""
    with begin(path, HEADER, where) as attempt:
        for command in timed(acts):
            attempt.do(command)


def saved(tmp_path: Path, data: bytes) -> Path:
    """A file with these bytes."""
    path = tmp_path / "log.jsonl"
    path.write_bytes(data)
    return path


def first_format(data: bytes) -> bytes:
    """The header of a log as the first format had it: without help."""
    header = json.loads(data.split(b"\n")[0])
    del header["help"], header["hash"]
    return chained(START, {**header, "attempt_log": 1}).encode("ascii")


@pytest.mark.parametrize("help", HelpLevel)
def test_the_header_holds_the_help_level(tmp_path, where, help):
    """What was begun with a help level is read, replayed and gone on with at that level."""
    path = tmp_path / "log.jsonl"
    header = Header(CASE, "ab" * 32, 7, "0.1.0", help)
    begin(path, header, where).close()
    assert read_log(path).header == header
    assert replay(read_log(path), where).state.help is help
    again, _ = resume(path, where)
    with again:
        assert again.state.help is help


def test_a_help_level_cannot_be_talked_down(tmp_path, whole):
    """Another level in the header is a changed byte like any other."""
    changed = whole.replace(b'"help":"none"', b'"help":"open"', 1)
    assert changed != whole
    with pytest.raises(NotValid, match="has been changed"):
        read_log(saved(tmp_path, changed))
    strange = json.loads(whole.split(b"\n")[0])
    del strange["hash"]
    line = chained(START, {**strange, "help": "a lot"})
    with pytest.raises((NotReadable, NotValid)):
        parse_log(line.encode("ascii"), "a log")


def test_a_log_of_the_first_format_is_refused_in_words(tmp_path, whole, where):
    """It said nothing of help: the message says so and what to do, and the file stays."""
    old = saved(tmp_path, first_format(whole))
    data = old.read_bytes()
    for open_it in (lambda: read_log(old), lambda: resume(old, where)):
        with pytest.raises(NotReadable, match=r"format 1.*help level.*left as it is.*begin a new"):
            open_it()
    assert old.read_bytes() == data


def test_a_log_reads_back_as_the_commands_that_were_done(tmp_path, whole):
    """The header and every command come back, one line each, and there is no fault."""
    log = read_log(saved(tmp_path, whole))
    assert log.header == HEADER
    assert log.fault is None
    assert [e.command for e in log.entries] == timed(CLEAN_RUN)
    assert [e.line for e in log.entries] == list(range(2, len(CLEAN_RUN) + 2))
    assert log.good_bytes == len(whole)


def test_a_replay_gives_the_same_events_and_digest(tmp_path, whole, where):
    """Events of the replay are those of the attempt, and so is their digest."""
    log = read_log(saved(tmp_path, whole))
    done = replay(log, where)
    state, steps = play(CLEAN_RUN, where, seed=HEADER.seed)
    events = tuple(e for s in steps for e in s.events)
    assert done.fault is None
    assert done.events == events
    assert done.state == state
    digest = START
    for s in steps:
        digest = events_digest(digest, s.events)
    assert done.events_sha256 == digest == log.entries[-1].events_sha256


def test_killed_at_200_moments_it_resumes_with_at_most_one_step_lost(tmp_path, whole, where):
    """Cut at any byte after the header, it goes on with every step whose line was finished."""
    first = whole.index(b"\n") + 1
    cuts = random.Random(5).sample(range(first, len(whole)), 200)
    acts = timed(CLEAN_RUN)
    for cut in cuts:
        path = saved(tmp_path, whole[:cut])
        finished = whole[:cut].count(b"\n") - 1
        torn = not whole[:cut].endswith(b"\n")
        assert torn == (read_log(path).fault is not None)
        attempt, done = resume(path, where)
        with attempt:
            assert len(read_log(path).entries) == finished
            assert done.state.at_s == (acts[finished - 1].at_s if finished else 0.0)
            if torn:
                assert str(done.fault) == f"line {finished + 2}: was not finished; it is left out"
            if finished < len(acts):
                attempt.do(acts[finished])
        again = read_log(path)
        assert again.fault is None
        assert whole.startswith(path.read_bytes())


@pytest.mark.parametrize("cut", [0, 1, 40, -1])
def test_a_torn_header_is_told(tmp_path, whole, cut):
    """Without a whole header there is nothing to go by, and the message says so."""
    header = whole[: whole.index(b"\n") + 1]
    with pytest.raises(NotReadable, match="line 1: the header is not finished"):
        read_log(saved(tmp_path, header[:cut]))


def test_any_changed_byte_is_found_with_its_line(tmp_path, whole):
    """A change of one byte anywhere is told, with the line that it stands in."""
    chance = random.Random(11)
    for spot in chance.sample(range(len(whole)), 400):
        other = bytes([(whole[spot] + chance.randrange(1, 256)) % 256])
        path = saved(tmp_path, whole[:spot] + other + whole[spot + 1 :])
        line = whole[:spot].count(b"\n") + 1
        if line == 1:
            with pytest.raises(NotValid, match="line 1: "):
                read_log(path)
            continue
        log = read_log(path)
        assert log.fault is not None
        assert log.fault.line == line
        assert len(log.entries) == line - 2


def test_a_header_taken_off_is_told(tmp_path, whole):
    """A log that begins with its first command has a fault in line 1; it is a log all the same."""
    path = saved(tmp_path, whole[whole.index(b"\n") + 1 :])
    with pytest.raises(NotValid, match="line 1: the header is missing or has been changed"):
        read_log(path)


@pytest.mark.parametrize("kind", ["left out", "doubled", "swapped"])
def test_lines_that_were_moved_are_found(tmp_path, whole, kind):
    """A line left out, doubled or swapped breaks the chain where it happened."""
    lines = whole.splitlines(keepends=True)
    changed = {
        "left out": lines[:10] + lines[11:],
        "doubled": lines[:10] + lines[9:],
        "swapped": [*lines[:10], lines[11], lines[10], *lines[12:]],
    }[kind]
    fault = read_log(saved(tmp_path, b"".join(changed))).fault
    assert str(fault) == "line 11: has been changed, or does not follow the line before"


def rechained(whole: bytes, spot: int, change) -> bytes:
    """The log with one line's data changed and every hash made anew."""
    before, lines = START, []
    for number, line in enumerate(whole.splitlines(), start=1):
        data = json.loads(line)
        del data["hash"]
        if number == spot:
            change(data)
        lines.append(chained(before, data))
        before = json.loads(lines[-1])["hash"]
    return "".join(lines).encode("ascii")


def test_a_log_chained_anew_does_not_replay(tmp_path, whole, where):
    """Other values in a command with all hashes made anew: the replay names that line."""

    def higher(data):
        data["command"]["values"]["chin_height_mm"] = -27.0

    spot = next(
        i for i, line in enumerate(whole.splitlines(), 1) if b'"chin_height_mm":-28' in line
    )
    log = read_log(saved(tmp_path, rechained(whole, spot, higher)))
    assert log.fault is None
    fault = replay(log, where).fault
    assert fault is not None
    assert fault.line == spot
    assert "does not lead to the events" in fault.text


def test_a_command_that_cannot_be_done_is_named(tmp_path, whole, where):
    """A command that the engine refuses at its place ends the replay with its line."""

    def earlier(data):
        data["command"]["at_s"] = 0.0

    fault = replay(read_log(saved(tmp_path, rechained(whole, 30, earlier))), where).fault
    assert str(fault).startswith("line 30: the command cannot be done here: Time runs forwards")


def test_another_seed_is_found(tmp_path, whole, where):
    """A header with another seed leads to other chances, and the replay says where."""

    def reseeded(data):
        data["seed"] = 8

    fault = replay(read_log(saved(tmp_path, rechained(whole, 1, reseeded))), where).fault
    assert fault is not None
    band = next(i for i, a in enumerate(CLEAN_RUN) if a.kind is do.SetBand)
    assert fault.line == band + 2


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda d: d["command"].update(at_s="soon"), "at_s: must be a finite number, got 'soon'"),
        (lambda d: d["command"].update(do="jump"), "do: must be one of "),
        (lambda d: d.update(more=1), "holds no command with the digest of its events"),
    ],
)
def test_a_line_without_a_command_is_told(tmp_path, whole, change, words):
    """A line that holds something else is told in plain words, with its number."""
    fault = read_log(saved(tmp_path, rechained(whole, 5, change))).fault
    assert fault is not None
    assert fault.line == 5
    assert words in fault.text


def test_what_is_refused_is_not_logged(tmp_path, where):
    """A command that the engine refuses leaves state and log as they were."""
    path = tmp_path / "log.jsonl"
    with begin(path, HEADER, where) as attempt:
        before = (path.read_bytes(), attempt.state)
        with pytest.raises(NotAllowedNow):
            attempt.do(do.Greet(at_s=1.0))
        assert (path.read_bytes(), attempt.state) == before


def test_a_faulty_log_is_not_gone_on_with(tmp_path, whole, where):
    """A log with a change in its middle is neither resumed nor cut."""
    changed = whole.replace(b'"rowan"', b'"Rowan"', 1)
    path = saved(tmp_path, changed)
    with pytest.raises(NotReadable, match="has been changed"):
        resume(path, where)
    assert path.read_bytes() == changed


def test_an_attempt_is_never_written_over(tmp_path, whole, where):
    """A log that is there already is left alone."""
    path = saved(tmp_path, whole)
    with pytest.raises(TrainerError, match="never written over"):
        begin(path, HEADER, where)
    assert path.read_bytes() == whole


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"\n",
        b"{}\n",
        b"[]\n",
        b"\xff\xfe\n",
        b"NaN\n",
        b"1e999\n",
        b"[" * 5000 + b"\n",
        b"{" * 200_000,
    ],
)
def test_no_log_is_told(tmp_path, data):
    """Whatever else a file holds, it is no log, and nothing but a clear word comes of it."""
    with pytest.raises(NotReadable, match="line 1: "):
        read_log(saved(tmp_path, data))


def test_a_missing_file_is_told(tmp_path):
    """A file that is not there is told with its name."""
    with pytest.raises(NotReadable, match=r"nothing\.jsonl: cannot be read"):
        read_log(tmp_path / "nothing.jsonl")


def test_content_hash_counts_every_byte_and_border(tmp_path):
    """Two files have another hash than their halves cut elsewhere."""
    names = []
    for i, text in enumerate((b"ab", b"c", b"a", b"bc")):
        names.append(tmp_path / str(i))
        names[-1].write_bytes(text)
    assert content_sha256(names[:2]) != content_sha256(names[2:])


def test_lines_are_canonical(whole):
    """Every line is the one way to write its data."""
    for line in whole.decode("ascii").splitlines():
        assert canonical(json.loads(line)) == line


def test_waiting_is_logged_too(tmp_path, where):
    """Time that passes is a command of its own, so that a replay has it too."""
    path = tmp_path / "log.jsonl"
    write(path, [act(do.Wait, after_s=3.5)], where)
    assert replay(read_log(path), where).state.at_s == 3.5


class FullDisk(io.RawIOBase):
    """A file that takes half of a line, once."""

    def __init__(self, path: Path) -> None:
        self.file, self.full = path.open("r+b", buffering=0), True
        self.file.seek(0, 2)

    def write(self, data) -> int:
        half, self.full = self.full, False
        return self.file.write(data[: len(data) // 2] if half else data)

    def tell(self) -> int:
        return self.file.tell()

    def fileno(self) -> int:
        return self.file.fileno()

    def truncate(self, size=None) -> int:
        return self.file.truncate(size)

    def seek(self, offset, whence=0) -> int:
        return self.file.seek(offset, whence)

    def close(self) -> None:
        self.file.close()
        super().close()


def test_a_full_disk_leaves_the_log_sound(tmp_path, where):
    """A line that could only be written in part is taken back; the next try finds a sound log."""
    path = tmp_path / "log.jsonl"
    write(path, CLEAN_RUN[:3], where)
    log = read_log(path)
    done = replay(log, where)
    with Attempt(
        FullDisk(path), log.header, done.state, done.events_sha256, log.last_hash
    ) as attempt:
        command = timed(CLEAN_RUN)[3]
        with pytest.raises(NotReadable, match="cannot be written"):
            attempt.do(command)
        assert attempt.state == done.state
        assert read_log(path) == log
        attempt.do(command)
    assert [e.command for e in read_log(path).entries] == timed(CLEAN_RUN[:4])

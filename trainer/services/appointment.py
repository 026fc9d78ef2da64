"""An appointment on a workbench: what the engine needs, and where attempts are kept."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from functools import lru_cache
from itertools import count
from pathlib import Path

from trainer.engine.advice import advise
from trainer.engine.appointment.state import AppointmentState, Context
from trainer.engine.collisions import body_points, clearance
from trainer.engine.placement import Placement, chain_of, place
from trainer.engine.stitched import Part, StitchedPlacement, stitch
from trainer.errors import Fault, NotReadable, NotValid, TrainerError
from trainer.models.learning import HelpLevel
from trainer.models.setup import Setup
from trainer.services.attempt_log import (
    Attempt,
    Header,
    LogFault,
    Replay,
    begin,
    content_sha256,
    read_log,
    replay,
    resume,
)
from trainer.services.command_list import CommandList
from trainer.services.library import data_folder
from trainer.services.visit_io import protocols, run_s
from trainer.services.workbench import Workbench

PROGRAM_VERSION = "0.1.0"  # as in pyproject.toml
# Placements that are remembered: an attempt moves some dozen times.
REMEMBERED = 512


def context_of(bench: Workbench) -> Context:
    """What stays fixed in an appointment of the workbench's case.

    Raises
    ------
    TrainerError
        If the case has no visit.
    """
    case, unit = bench.case, bench.unit
    if case.visit is None:
        raise TrainerError(
            f"case {case.id} is an exercise in placing only: its file has no visit. "
            f"Use 'trainer assess {case.id}' or the window."
        )
    return Context(
        case=case,
        visit=case.visit,
        unit=unit,
        rules=bench.rules,
        placing=_placing(bench),
        run_s=lambda programme: run_s(unit, programme),
        protocols=protocols(unit),
        stitching=_stitching(bench),
        advising=_advising(bench),
    )


def _placing(bench: Workbench) -> Callable[[Setup], Placement]:
    """The placement of a setup with what the moving parts come near to; remembers."""
    head, unit, body = bench.meshes.head, bench.unit, body_points(bench.meshes)

    @lru_cache(maxsize=REMEMBERED)
    def placing(setup: Setup) -> Placement:
        placement = place(bench.case, head, bench.points, unit, setup)
        near = clearance(body, unit, chain_of(head, unit, setup))
        return replace(placement, clearance=near)

    return placing


def _stitching(bench: Workbench) -> Callable[[tuple[Setup, ...]], StitchedPlacement]:
    """The placement in several setups together; remembers."""

    @lru_cache(maxsize=REMEMBERED)
    def stitching(setups: tuple[Setup, ...]) -> StitchedPlacement:
        parts = tuple(Part(setup) for setup in setups)
        return stitch(bench.case, bench.meshes.head, bench.points, bench.unit, parts)

    return stitching


def _advising(bench: Workbench) -> Callable[[Setup], str]:
    """The smallest movement that would put a setup right, in words; remembers."""

    @lru_cache(maxsize=REMEMBERED)
    def advising(setup: Setup) -> str:
        found = advise(bench.case, bench.meshes.head, bench.unit, setup)
        return found[0].sentence if found else ""

    return advising


def header_of(bench: Workbench, seed: int, help: HelpLevel = HelpLevel.NONE) -> Header:
    """What an attempt at the workbench's case belongs to."""
    return Header(bench.case.id, content_sha256(bench.files), seed, PROGRAM_VERSION, help)


def attempts_folder() -> Path:
    """Where the user's system keeps a program's data; it need not exist yet."""
    return data_folder() / "attempts"


def new_attempt(
    bench: Workbench, seed: int, folder: Path | None = None, help: HelpLevel = HelpLevel.OPEN
) -> tuple[Attempt, Path]:
    """A new attempt at the case, logged from now on, and its file.

    Without a word on ``help`` it is a helped one, so that none counts as unassisted by mistake.

    Raises
    ------
    TrainerError
        If the case has no visit.
    NotReadable
        If the log cannot be written.
    """
    folder = folder or attempts_folder()
    context = context_of(bench)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise NotReadable(f"{folder}: cannot be made: {error.strerror or error}") from error
    stem = f"{bench.case.id}-{datetime.now(UTC):%Y%m%d-%H%M%S}"
    names = (folder / f"{stem}{'' if n == 1 else f'-{n}'}.log" for n in count(1))
    path = next(p for p in names if not p.exists())
    return begin(path, header_of(bench, seed, help), context), path


def attempts_of(case_id: str, folder: Path | None = None) -> tuple[Path, ...]:
    """The logs of attempts at a case, the newest first; those that cannot be read are left out."""
    folder = folder or attempts_folder()
    found = []
    for path in sorted(folder.glob(f"{case_id}-*.log"), reverse=True):
        try:
            if read_log(path).header.case == case_id:
                found.append(path)
        except (NotReadable, NotValid):
            continue
    return tuple(found)


def resume_attempt(path: Path, bench: Workbench) -> tuple[Attempt, Replay]:
    """Goes on with an attempt where it was left; see `attempt_log.resume`.

    Raises
    ------
    NotReadable, NotValid
        If the log is at fault.
    TrainerError
        If it belongs to another case, or the case has been changed since.
    """
    fault = stranger(read_log(path).header, bench)
    if fault is not None:
        raise TrainerError(f"{path}: {fault}")
    return resume(path, context_of(bench))


def stranger(header: Header, bench: Workbench) -> LogFault | None:
    """Why a log does not belong to the workbench's case as it is now."""
    if header.case != bench.case.id:
        return LogFault(1, f"the attempt is one at {header.case}, not at {bench.case.id}")
    if header.case_sha256 != content_sha256(bench.files):
        return LogFault(1, "case, unit or local rules have been changed since the attempt")
    return None


def replay_file(path: Path, bench: Workbench) -> Replay:
    """Does a log's commands again; ``fault`` also tells when the case is no longer the same.

    Raises
    ------
    NotReadable, NotValid
        As `attempt_log.read_log`.
    """
    log = read_log(path)
    done = replay(log, context_of(bench))
    return replace(done, fault=stranger(log.header, bench) or done.fault)


def play(commands: CommandList, bench: Workbench, out: Path, listed_in: str) -> AppointmentState:
    """Does a list of commands and logs it in ``out``; the state after it.

    Raises
    ------
    NotValid
        If the list is for another case, or a command is refused: with its line. There is no log
        then, so that the mended list can be played into the same file.
    TrainerError
        If ``out`` is there already.
    """
    if commands.case != bench.case.id:
        text = f"is for {commands.case}, not for {bench.case.id}"
        raise NotValid([Fault(listed_in, 0, "case", text)])
    if out.exists():
        raise TrainerError(f"{out}: is there already; an attempt is never written over")
    half = out.with_name(f"{out.name}.half")
    half.unlink(missing_ok=True)  # of a play that was killed
    try:
        header = header_of(bench, commands.seed, commands.help)
        with begin(half, header, context_of(bench)) as attempt:
            for n, (command, line) in enumerate(
                zip(commands.commands, commands.lines, strict=True)
            ):
                try:
                    attempt.do(command)
                except NotReadable:
                    raise
                except TrainerError as error:
                    text = f"cannot be done here: {error}"
                    raise NotValid([Fault(listed_in, line, f"commands[{n}]", text)]) from error
        half.replace(out)
    finally:
        half.unlink(missing_ok=True)
    return attempt.state

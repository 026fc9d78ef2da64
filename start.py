#!/usr/bin/env python3
"""Sets everything up and starts the trainer, or checks it.

    python3 start.py                    set up, then open the window
    python3 start.py test               set up, then run every check and every test
    python3 start.py test -k frames     set up, then run pytest with these arguments only

Needs Python 3.11 or newer and, the first time, the internet. Works on Linux, Windows and macOS.
What it installs goes into the folder .venv beside this file; on Debian and its relatives it also
installs missing system packages with apt-get (through sudo when not root). Later runs reuse all
of it, and set up again only when a lock file, this folder's place or the Python version changed.

Without a display (or with TRAINER_NO_DISPLAY set) the demo case is played instead of opening the
window, and its report and pictures are left in the folder demo-output.
"""

from __future__ import annotations

import hashlib
import importlib.util
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from xml.etree import ElementTree

ROOT = Path(__file__).resolve().parent
OLDEST_PYTHON = (3, 11)
DEMO_FOLDER = "demo-output"

# Debian's names for what Qt, VTK and a screen in memory need.
SYSTEM_PACKAGES = (  # noqa: SIM905 - a line for each would fill the page
    "xvfb xauth libgl1 libegl1 libgl1-mesa-dri libglx-mesa0 libxkbcommon-x11-0 libxkbcommon0 "
    "libdbus-1-3 libfontconfig1 libxcb-cursor0 libxcb-icccm4 libxcb-image0 libxcb-keysyms1 "
    "libxcb-randr0 libxcb-render-util0 libxcb-shape0 libxcb-xinerama0 libxcb-xkb1 libxrender1 "
    "libxext6 libsm6 fonts-dejavu-core"
).split()

# What only the tests need: a database server, and a checker of medical image files.
TEST_PACKAGES = ("postgresql", "dicom3tools")

# Tests run in two processes, those of one file in one of them, so that what a file builds once is
# built once; in the order of `tests/conftest.py`, which puts long files first. Windows and pictures
# keep to one process: they share a screen and its graphics driver.
SIDE_BY_SIDE = ("-n", "2", "--dist", "loadfile", "--no-loadscope-reorder")
WITH_WINDOW = "gui or scene"
# In the core's environment, the only one with what "reference" tests compare with. Neither Qt nor
# VTK is in it, so each of these tests shows too that its code does without.
WITHOUT_WINDOW = "not gui and not scene"


class Stop(Exception):
    """The work cannot go on: what happened, what is safe, what to do next."""

    def __init__(self, happened: str, safe: str, todo: str) -> None:
        super().__init__(f"What happened: {happened}\nWhat is safe:  {safe}\nWhat to do:    {todo}")


@dataclass(frozen=True)
class Environment:
    """One folder of installed packages, made from one lock file."""

    folder: str
    lock: str

    @property
    def python(self) -> Path:
        """Where this environment's Python is."""
        return self._programs / ("python.exe" if os.name == "nt" else "python")

    @property
    def trainer(self) -> Path:
        """Where this environment's ``trainer`` command is."""
        return self._programs / ("trainer.exe" if os.name == "nt" else "trainer")

    @property
    def stamp(self) -> Path:
        """The file that says from what the environment was made."""
        return ROOT / self.folder / "made-from.txt"

    @property
    def _programs(self) -> Path:
        return ROOT / self.folder / ("Scripts" if os.name == "nt" else "bin")


FULL = Environment(".venv", "requirements.lock")
CORE = Environment(".venv-core", "requirements-core.lock")  # no Qt, no VTK in it


@dataclass(frozen=True)
class Result:
    """What one check came to."""

    name: str
    passed: int
    failed: int
    skipped: int
    seconds: float


# --- Talking and running -------------------------------------------------------------------------


def say(text: str) -> None:
    """Prints one step, at once, so that it stands before the output of what it starts."""
    print(f"[start] {text}", flush=True)


def run(command: Sequence[object], env: Mapping[str, str] | None = None) -> int:
    """Exit code of a command run in the project's folder, its output shown."""
    try:
        return subprocess.run([str(part) for part in command], cwd=ROOT, env=env).returncode
    except FileNotFoundError:
        say(f"'{command[0]}' is not on this computer.")
        return 127


# --- System packages -----------------------------------------------------------------------------


def wanted_system_packages(testing: bool) -> list[str]:
    """Debian packages the program needs; with the venv package when Python lacks its parts."""
    wanted = [*SYSTEM_PACKAGES, *(TEST_PACKAGES if testing else ())]
    if any(importlib.util.find_spec(part) is None for part in ("venv", "ensurepip")):
        wanted.append("python3-venv")
    return wanted


def missing_from(listing: str, wanted: Sequence[str]) -> list[str]:
    """Names in ``wanted`` that a ``dpkg-query`` listing ("name ii" a line) does not show."""
    pairs = (line.split() for line in listing.splitlines())
    installed = {pair[0] for pair in pairs if len(pair) == 2 and pair[1] == "ii"}
    return [name for name in wanted if name not in installed]


def install_system_packages(testing: bool) -> None:
    """Installs missing Debian packages; says what to do when it may not or cannot."""
    if not sys.platform.startswith("linux"):
        return
    if not (shutil.which("dpkg-query") and shutil.which("apt-get")):
        say("Not a Debian system: if no window appears, install what stands here for these:")
        say("  " + " ".join(wanted_system_packages(testing)))
        return
    wanted = wanted_system_packages(testing)
    listing = subprocess.run(
        ["dpkg-query", "-W", "-f", "${Package} ${db:Status-Abbrev}\n", *wanted],
        capture_output=True,
        text=True,
    ).stdout
    missing = missing_from(listing, wanted)
    if not missing:
        say("System packages: all there.")
        return
    say(f"System packages: installing {' '.join(missing)}")
    as_root = [] if os.geteuid() == 0 else ["sudo"]
    apt = [*as_root, "env", "DEBIAN_FRONTEND=noninteractive", "apt-get"]
    if run([*apt, "update", "-qq"]) != 0:
        say("The package lists could not be renewed; trying with the old ones.")
    if run([*apt, "install", "-y", "-qq", "--no-install-recommends", *missing]) != 0:
        say("Not all system packages could be installed. Going on: what is there may be enough.")
        say("If it is not, ask whoever looks after this computer to run")
        say(f"  apt-get install {' '.join(missing)}")


# --- Python environments -------------------------------------------------------------------------


def fingerprint(environment: Environment) -> str:
    """What an environment is made from: Python, place, lock file and project file."""
    lines = [f"python {sys.version_info.major}.{sys.version_info.minor}", f"place {ROOT}"]
    for name in (environment.lock, "pyproject.toml"):
        # Text, not bytes, so that a checkout with other line ends counts as the same file.
        text = (ROOT / name).read_text(encoding="utf-8")
        lines.append(f"{name} {hashlib.sha256(text.encode()).hexdigest()}")
    return "\n".join(lines) + "\n"


def is_usable(environment: Environment) -> bool:
    """True when the environment's Python is this Python's version and has pip."""
    here = tuple(sys.version_info[:2])
    test = f"import pip, sys; sys.exit(tuple(sys.version_info[:2]) != {here})"
    try:
        python = str(environment.python)
        return subprocess.run([python, "-c", test], stderr=subprocess.DEVNULL).returncode == 0
    except OSError:
        return False


def make_environment(environment: Environment) -> None:
    """Makes or renews an environment; does nothing when its stamp says it is up to date.

    The stamp is written last and removed first, so work that was cut short is done again.
    """
    now = fingerprint(environment)
    before = environment.stamp.read_text(encoding="utf-8") if environment.stamp.exists() else ""
    if now == before and is_usable(environment):
        say(f"{environment.folder}: up to date.")
        return
    environment.stamp.unlink(missing_ok=True)
    was, wanted = before.splitlines(), now.splitlines()
    if not is_usable(environment) or (was and was[:2] != wanted[:2]):
        say(f"{environment.folder}: making it with Python {sys.version.split()[0]}")
        if run([sys.executable, "-m", "venv", "--clear", ROOT / environment.folder]) != 0:
            raise Stop(
                f"the folder {environment.folder} could not be made.",
                "nothing else was changed.",
                "install Python's venv part (Debian: apt-get install python3-venv), check that "
                "the disk is not full, and start again.",
            )
    pip: list[object] = [environment.python, "-m", "pip", "install", "--no-input"]
    pip += ["--disable-pip-version-check"] + ["--quiet"] * (not sys.stdout.isatty())
    if len(was) != len(wanted) or was[:3] != wanted[:3]:
        say(f"{environment.folder}: installing what {environment.lock} lists (some minutes)")
        # Wheels only: nothing is compiled here, so no compiler is needed.
        if run([*pip, "--only-binary", ":all:", "--require-hashes", "-r", environment.lock]) != 0:
            raise Stop(
                f"pip could not install {environment.lock} (its message stands above).",
                f"your files; the folder {environment.folder} is half made and will be finished "
                "next time.",
                "check the internet connection and the free disk space (4 GB), then start again. "
                "If a package has no version for this Python, use Python 3.11 to 3.13.",
            )
    say(f"{environment.folder}: installing the trainer itself")
    if run([*pip, "--no-deps", "--no-build-isolation", "-e", "."]) != 0:
        raise Stop(
            "the trainer itself could not be installed (pip's message stands above).",
            "your files and the packages already installed.",
            f"delete the folder {environment.folder} and start again.",
        )
    environment.stamp.write_text(now, encoding="utf-8")


# --- Running the program -------------------------------------------------------------------------


def has_display(platform: str, env: Mapping[str, str]) -> bool:
    """True when a window can be shown: always off Linux, unless TRAINER_NO_DISPLAY is set."""
    if env.get("TRAINER_NO_DISPLAY"):
        return False
    return not platform.startswith("linux") or bool(
        env.get("DISPLAY") or env.get("WAYLAND_DISPLAY")
    )


def on_memory_screen(command: Sequence[object]) -> int:
    """Exit code of a command run, on Linux, on a screen in memory with software drawing."""
    if not sys.platform.startswith("linux"):
        return run(command)
    if shutil.which("xvfb-run") is None:
        raise Stop(
            "this computer has no display and no xvfb-run to stand in for one.",
            "everything; only the drawing is missing.",
            "install the package xvfb (Debian: apt-get install xvfb xauth) and start again.",
        )
    env = {**os.environ, "LIBGL_ALWAYS_SOFTWARE": "1", "QT_QPA_PLATFORM": "xcb"}
    env.pop("WAYLAND_DISPLAY", None)
    return run(["xvfb-run", "-a", "-s", "-screen 0 1280x1024x24", *command], env)


def open_window() -> int:
    """Exit code of the program; with no display, of the demo case played to the end."""
    if has_display(sys.platform, os.environ):
        say("Opening the window.")
        env = dict(os.environ)
        if sys.platform.startswith("linux") and env.get("DISPLAY"):
            # VTK draws into an X window; on a Wayland desktop that is there too, but Qt would
            # choose Wayland and hand VTK a window it cannot draw into.
            env.setdefault("QT_QPA_PLATFORM", "xcb")
        return run([FULL.trainer], env)
    say("No display: playing the demo case instead of opening the window.")
    code = on_memory_screen([FULL.trainer, "demo", "--out", DEMO_FOLDER])
    if code != 0:
        raise Stop(
            f"the demo case ended with exit code {code} (its message stands above).",
            "your files and the installed packages.",
            "run 'python3 start.py test' to see what is wrong.",
        )
    say(f"The report and the pictures are in {ROOT / DEMO_FOLDER}:")
    for path in sorted((ROOT / DEMO_FOLDER).rglob("*")):
        if path.is_file():
            say(f"  {path.relative_to(ROOT)}  {path.stat().st_size} bytes")
    return 0


# --- Checking ------------------------------------------------------------------------------------


def check(name: str, command: Sequence[object]) -> Result:
    """Result of a check that is one command: one pass or one failure."""
    say(name)
    begin = time.monotonic()
    code = run(command)
    return Result(name, int(code == 0), int(code != 0), 0, time.monotonic() - begin)


def count_tests(report: Path, exit_code: int) -> tuple[int, int, int]:
    """(passed, failed, skipped) of a JUnit report; a failed run counts one failure at least."""
    total = failed = skipped = 0
    if report.exists():
        for suite in ElementTree.parse(report).getroot().iter("testsuite"):
            total += int(suite.get("tests", 0))
            failed += int(suite.get("failures", 0)) + int(suite.get("errors", 0))
            skipped += int(suite.get("skipped", 0))
    if exit_code != 0 and failed == 0:
        return max(total - skipped, 0), 1, skipped
    return max(total - failed - skipped, 0), failed, skipped


def check_tests(name: str, environment: Environment, arguments: Sequence[str]) -> Result:
    """Result of a pytest run in an environment."""
    say(name)
    begin = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        report = Path(folder) / "report.xml"
        command: list[object] = [
            environment.python,
            "-m",
            "pytest",
            f"--junit-xml={report}",
            *arguments,
        ]
        code = run(command) if environment is CORE else on_memory_screen(command)
        passed, failed, skipped = count_tests(report, code)
    return Result(name, passed, failed, skipped, time.monotonic() - begin)


def check_everything() -> int:
    """0 when every check and test passed; prints one line for each and the sum last."""
    python: list[object] = [FULL.python, "-m"]
    options = ["-q", "--continue-on-collection-errors"]
    lint_imports = FULL.python.with_name("lint-imports" + FULL.python.suffix)
    results = [
        check("Style (ruff check)", [*python, "ruff", "check", "--output-format", "concise", "."]),
        check("Layout (ruff format)", [*python, "ruff", "format", "--check", "."]),
        check("Types (mypy)", [*python, "mypy"]),
        check("Layers (import-linter)", [lint_imports, "--no-logo"]),
        check_tests("Tests with window and pictures", FULL, [*options, "-m", WITH_WINDOW]),
    ]
    make_environment(CORE)
    core_options = [*options, *SIDE_BY_SIDE, "--core-only", "-m", WITHOUT_WINDOW]
    results.append(check_tests("Tests of the core without Qt and VTK", CORE, core_options))
    print()
    for r in results:
        skipped = f", {r.skipped} skipped" if r.skipped else ""
        say(f"{r.name:38} {r.passed:5} passed, {r.failed} failed{skipped}  ({r.seconds:.0f} s)")
    failed = sum(r.failed for r in results)
    print(f"{sum(r.passed for r in results)} passed, {failed} failed", flush=True)
    return int(failed > 0)


def main(arguments: Sequence[str]) -> int:
    """Exit code: 0 done, 1 set-up or check failed, 2 not understood, else the program's own."""
    if arguments and arguments[0] in ("-h", "--help"):
        print((__doc__ or "").strip())
        return 0
    if arguments and arguments[0] != "test":
        print(f"'{arguments[0]}' is not known here. 'python3 start.py --help' shows what is.")
        print(f"Other commands: {FULL.trainer.relative_to(ROOT)} --help (once set up)")
        return 2
    if sys.version_info < OLDEST_PYTHON:
        print(f"Python {sys.version.split()[0]} is too old: install Python 3.11 or newer.")
        return 1
    try:
        install_system_packages(testing=bool(arguments))
        make_environment(FULL)
        if not arguments:
            return open_window()
        if len(arguments) > 1:
            return on_memory_screen([FULL.python, "-m", "pytest", *arguments[1:]])
        return check_everything()
    except Stop as stop:
        print(f"\n{stop}", file=sys.stderr, flush=True)
        return 1
    except KeyboardInterrupt:
        say("Stopped by you. Starting again goes on from here.")
        return 130


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

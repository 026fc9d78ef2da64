"""The set-up script: what it installs, when it does it again, and what it tells."""

from __future__ import annotations

import re
import sys
import tomllib
from pathlib import Path

import pytest

import start

ROOT = Path(start.__file__).parent
LOCKS = ("requirements.lock", "requirements-core.lock")


def pinned(lock: str) -> dict[str, set[str]]:
    """Versions by package name in a lock file."""
    found: dict[str, set[str]] = {}
    for line in (ROOT / lock).read_text(encoding="utf-8").splitlines():
        match = re.match(r"([a-z0-9-]+)==([^ ;\\]+)", line)
        if match:
            found.setdefault(match[1], set()).add(match[2])
    return found


# --- Lock files ----------------------------------------------------------------------------------


@pytest.mark.parametrize("lock", LOCKS)
def test_lock_names_no_host(lock: str) -> None:
    """A lock file names packages, versions and hashes, and no address or index."""
    for line in (ROOT / lock).read_text(encoding="utf-8").splitlines():
        assert re.fullmatch(
            r"[a-z0-9-]+==[\w.]+( ; [\w.<>='! ]+)? \\|    --hash=sha256:[0-9a-f]{64}( \\)?", line
        ), line


@pytest.mark.parametrize("lock", LOCKS)
def test_lock_hashes_every_package(lock: str) -> None:
    """Every pinned package is followed by at least one hash."""
    lines = (ROOT / lock).read_text(encoding="utf-8").splitlines()
    for here, following in zip(lines, [*lines[1:], ""], strict=True):
        if "==" in here:
            assert following.startswith("    --hash=sha256:"), here


def asked_for(extras: set[str] | None = None) -> set[str]:
    """Names that pyproject.toml asks for: always, and by the extras (all but ``reference``)."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    optional = project["optional-dependencies"]
    asked = list(project["dependencies"])
    for extra in extras if extras is not None else optional.keys() - {"reference"}:
        asked += optional[extra]
    return {re.split(r"[<>=\[ ;]", entry)[0].lower().replace(".", "-") for entry in asked}


WINDOW = {"pyside6-essentials", "shiboken6", "vtk", "pyvista", "pytest-qt"}
# What only looks at the source text is not needed twice.
LOOKING = {"ruff", "mypy", "import-linter"}
REFERENCE = re.compile(r"itk(-[a-z]+)?")


def test_lock_holds_every_dependency() -> None:
    """Whatever pyproject.toml asks for is in the full lock file, but for the reference."""
    assert asked_for() <= pinned("requirements.lock").keys()


def test_core_lock_holds_what_the_core_needs() -> None:
    """The core's lock holds all that its extras ask for, the reference included."""
    asked = (
        asked_for({"meshes", "images", "records", "reports", "test", "reference"})
        - WINDOW
        - LOOKING
    )
    assert asked <= pinned("requirements-core.lock").keys()


def test_core_lock_is_the_full_lock_without_window() -> None:
    """The core's lock pins the same versions as the full one, and neither Qt nor VTK.

    Only the reference is in it alone, because it is too large for whoever just uses the program.
    """
    full, core = pinned("requirements.lock"), pinned("requirements-core.lock")
    reference = {name for name in core if REFERENCE.fullmatch(name)}
    assert "itk-rtk" in reference
    assert not reference & full.keys()
    assert {name: full[name] for name in core.keys() - reference} == {
        name: core[name] for name in core.keys() - reference
    }
    assert full.keys() >= WINDOW
    assert not WINDOW & core.keys()


# --- Small decisions -----------------------------------------------------------------------------


def test_missing_packages_are_those_not_fully_installed() -> None:
    """A package is missing when it is unknown, removed or half configured."""
    listing = "xvfb ii \nxauth rc \nlibsm6 iU\n"
    assert start.missing_from(listing, ["xvfb", "xauth", "libsm6", "libgl1"]) == [
        "xauth",
        "libsm6",
        "libgl1",
    ]


@pytest.mark.parametrize(
    ("platform", "env", "expected"),
    [
        ("linux", {}, False),
        ("linux", {"DISPLAY": ""}, False),
        ("linux", {"DISPLAY": ":0"}, True),
        ("linux", {"WAYLAND_DISPLAY": "wayland-0"}, True),
        ("linux", {"DISPLAY": ":0", "TRAINER_NO_DISPLAY": "1"}, False),
        ("win32", {}, True),
        ("win32", {"TRAINER_NO_DISPLAY": "1"}, False),
        ("darwin", {}, True),
    ],
)
def test_display(platform: str, env: dict[str, str], expected: bool) -> None:
    """Only Linux can lack a display, and TRAINER_NO_DISPLAY overrules."""
    assert start.has_display(platform, env) is expected


@pytest.mark.parametrize(
    ("attributes", "exit_code", "expected"),
    [
        ('tests="9" failures="0" errors="0" skipped="0"', 0, (9, 0, 0)),
        ('tests="9" failures="2" errors="1" skipped="1"', 1, (5, 3, 1)),
        ('tests="9" failures="0" errors="0" skipped="0"', 3, (9, 1, 0)),
        ('tests="0" failures="0" errors="0" skipped="0"', 5, (0, 1, 0)),
    ],
)
def test_counting(
    tmp_path: Path, attributes: str, exit_code: int, expected: tuple[int, int, int]
) -> None:
    """Counts come from the report, and a run that failed never counts as free of failures."""
    report = tmp_path / "report.xml"
    report.write_text(f"<testsuites><testsuite {attributes}/></testsuites>", encoding="utf-8")
    assert start.count_tests(report, exit_code) == expected


def test_counting_without_report(tmp_path: Path) -> None:
    """A test run that died before writing its report is one failure."""
    assert start.count_tests(tmp_path / "none.xml", -11) == (0, 1, 0)


def test_help_says_both_commands(capsys: pytest.CaptureFixture[str]) -> None:
    """The help text names the plain start and the test run, and ends well."""
    assert start.main(["--help"]) == 0
    text = capsys.readouterr().out
    assert "python3 start.py  " in text
    assert "python3 start.py test" in text


def test_unknown_word_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    """A word the script does not know is answered with code 2 and a way to the help."""
    assert start.main(["tset"]) == 2
    assert "'tset'" in capsys.readouterr().out


# --- Environments --------------------------------------------------------------------------------


NOWHERE = "\0"  # stands in no command


class FakeRun:
    """Stands in for running commands: keeps them, makes the venv's Python, fails on request."""

    def __init__(self) -> None:
        self.commands: list[str] = []
        self.fails_at = NOWHERE

    def __call__(self, command: list[object], env: object = None) -> int:
        text = " ".join(str(part) for part in command)
        self.commands.append(text)
        if "venv --clear" in text:
            Path(str(command[-1])).mkdir(exist_ok=True)
        return int(self.fails_at in text)

    @property
    def kinds(self) -> list[str]:
        """One word for each command that ran."""
        words = {"venv --clear": "venv", "--require-hashes": "lock", "-e .": "trainer"}
        return [word for c in self.commands for part, word in words.items() if part in c]


@pytest.fixture
def fake(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> FakeRun:
    """A copy of the project's files in which nothing is really installed."""
    for name in (*LOCKS, "pyproject.toml"):
        (tmp_path / name).write_bytes((ROOT / name).read_bytes())
    run = FakeRun()
    monkeypatch.setattr(start, "ROOT", tmp_path)
    monkeypatch.setattr(start, "run", run)
    monkeypatch.setattr(start, "is_usable", lambda environment: "venv" in run.kinds)
    return run


def test_first_time_makes_everything(fake: FakeRun) -> None:
    """The first set-up makes the environment, installs the lock with hashes, then the trainer."""
    start.make_environment(start.FULL)
    assert fake.kinds == ["venv", "lock", "trainer"]


def test_second_time_does_nothing(fake: FakeRun) -> None:
    """A set-up that is up to date runs no command."""
    start.make_environment(start.FULL)
    before = list(fake.commands)
    start.make_environment(start.FULL)
    assert fake.commands == before


def test_changed_lock_is_installed_again(fake: FakeRun, tmp_path: Path) -> None:
    """A changed lock file is installed into the environment that is there."""
    start.make_environment(start.FULL)
    with (tmp_path / "requirements.lock").open("a", encoding="utf-8") as lock:
        lock.write("extra==1 \\\n")
    start.make_environment(start.FULL)
    assert fake.kinds == ["venv", "lock", "trainer", "lock", "trainer"]


def test_changed_project_file_installs_only_the_trainer(fake: FakeRun, tmp_path: Path) -> None:
    """A changed pyproject.toml renews the trainer's own installation and nothing else."""
    start.make_environment(start.FULL)
    with (tmp_path / "pyproject.toml").open("a", encoding="utf-8") as project:
        project.write("\n# changed\n")
    start.make_environment(start.FULL)
    assert fake.kinds == ["venv", "lock", "trainer", "trainer"]


def test_moved_folder_is_made_anew(
    fake: FakeRun, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An environment made elsewhere is thrown away, because its programs hold the old place."""
    start.make_environment(start.FULL)
    moved = tmp_path.with_name(tmp_path.name + "-moved")
    tmp_path.rename(moved)
    monkeypatch.setattr(start, "ROOT", moved)
    start.make_environment(start.FULL)
    assert fake.kinds == ["venv", "lock", "trainer"] * 2


def test_failed_installation_tells_and_is_done_again(fake: FakeRun) -> None:
    """A failed installation says what happened, what is safe and what to do, and is not kept."""
    fake.fails_at = "--require-hashes"
    with pytest.raises(start.Stop, match=r"What happened: .*\nWhat is safe: .*\nWhat to do: "):
        start.make_environment(start.FULL)
    fake.fails_at = NOWHERE
    start.make_environment(start.FULL)
    assert fake.kinds == ["venv", "lock", "lock", "trainer"]


def test_empty_folder_is_not_usable(tmp_path: Path) -> None:
    """A folder without Python is no usable environment."""
    assert not start.is_usable(start.Environment(str(tmp_path / "none"), "requirements.lock"))


def test_failed_check_ends_with_failure_count(
    fake: FakeRun, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The last line counts what passed and failed, and one failed check fails the whole."""
    monkeypatch.setattr(start, "on_memory_screen", fake)
    fake.fails_at = "-m ruff check"
    assert start.check_everything() == 1
    *_, last = capsys.readouterr().out.splitlines()
    assert last == "3 passed, 1 failed"  # the pytest stand-ins report no test


def test_every_test_runs_somewhere(
    fake: FakeRun, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Windows and pictures in one process; all else where neither Qt nor VTK is, in two."""
    monkeypatch.setattr(start, "on_memory_screen", fake)
    start.check_everything()
    runs = [c for c in fake.commands if "-m pytest" in c]
    window, core = (c.partition("--continue-on-collection-errors ")[2] for c in runs)
    assert window == "-m gui or scene"
    assert (
        core == "-n 2 --dist loadfile --no-loadscope-reorder --core-only -m not gui and not scene"
    )
    assert [".venv-core" in c for c in runs] == [False, True]


def test_no_display_plays_the_demo_case(
    fake: FakeRun, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Without a display the demo case is played, and its files are named."""
    monkeypatch.setenv("TRAINER_NO_DISPLAY", "1")
    monkeypatch.setattr(start, "on_memory_screen", fake)
    (start.ROOT / "demo-output").mkdir()
    (start.ROOT / "demo-output" / "report.txt").write_text("report", encoding="utf-8")
    assert start.open_window() == 0
    assert fake.commands[-1].endswith("demo --out demo-output")
    assert "report.txt  6 bytes" in capsys.readouterr().out


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="screens in memory are Linux's")
def test_missing_xvfb_is_explained(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without xvfb-run the message names the package to install."""
    monkeypatch.setattr("shutil.which", lambda name: None)
    with pytest.raises(start.Stop, match="apt-get install xvfb xauth"):
        start.on_memory_screen(["true"])


def test_ci_runs_the_test_command() -> None:
    """The check on a clean checkout is the test command and nothing else."""
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    commands = [line for line in script.splitlines() if line and not line.startswith("#")]
    assert commands[0] == "set -euo pipefail"
    assert "python3 start.py test" in commands[-1]

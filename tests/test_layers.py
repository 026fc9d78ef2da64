"""Who imports what: the core without Qt and VTK, and light commands that load no heavy library.

The direction between the packages is checked by import-linter (see pyproject.toml); here the
program is run and asked what it has loaded.
"""

from __future__ import annotations

import importlib.util
import pkgutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

import trainer

ROOT = Path(trainer.__file__).parents[1]
WINDOW = ("PySide6", "shiboken6", "vtk", "vtkmodules", "pyvista")
HEAVY = (*WINDOW, "numba", "skimage", "trimesh", "fast_simplification", "manifold3d", "matplotlib")
OUTSIDE_CORE = {"scene", "app", "cli"}

# Makes libraries impossible to import, as if they were not installed.
BLOCK = """
import sys
for name in {names!r}:
    sys.modules[name] = None
"""

# Runs a command of the program, then tells its exit code and which heavy libraries are loaded.
RUN_AND_LIST = """
import sys
from trainer.cli.main import main
try:
    code = main({arguments!r})
except SystemExit as stop:
    code = stop.code or 0
print()
print("exit code", code)
print("loaded", *[name for name in {names!r} if sys.modules.get(name) is not None])
"""


def in_new_python(code: str) -> subprocess.CompletedProcess[str]:
    """What a fresh Python that runs ``code`` printed and returned."""
    return subprocess.run(
        [sys.executable, "-W", "error", "-c", code],
        capture_output=True,
        text=True,
        cwd=ROOT,
        timeout=60,
    )


def core_modules() -> list[str]:
    """Names of all modules of the core."""
    names = [m.name for m in pkgutil.walk_packages(trainer.__path__, "trainer.") if not m.ispkg]
    return [name for name in names if name.split(".")[1] not in OUTSIDE_CORE]


def test_window_libraries_are_installed_unless_core_only(pytestconfig: pytest.Config) -> None:
    """The core's environment has neither Qt nor VTK, and the full one has both."""
    installed = {name for name in WINDOW if importlib.util.find_spec(name) is not None}
    assert installed == (set() if pytestconfig.getoption("--core-only") else set(WINDOW))


@pytest.mark.parametrize("name", WINDOW)
def test_window_library_cannot_be_imported_core_only(
    name: str, pytestconfig: pytest.Config
) -> None:
    """Importing a window library fails in the core's environment, and works in the full one."""
    ended = in_new_python(f"import {name}")
    if pytestconfig.getoption("--core-only"):
        assert f"ModuleNotFoundError: No module named '{name}'" in ended.stderr
    else:
        assert ended.returncode == 0, ended.stderr


def test_core_imports_without_window_and_mesh_libraries() -> None:
    """Every core module imports where Qt, VTK, scikit-image and trimesh do not exist."""
    modules = core_modules()
    assert len(modules) >= 5
    lines = "\n".join(f"import {name}" for name in modules)
    ended = in_new_python(BLOCK.format(names=HEAVY) + lines)
    assert ended.returncode == 0, (
        f"{ended.stderr}\nCure: move the import of the library into the function that needs it."
    )


def test_core_contract_covers_the_whole_core() -> None:
    """The import contract names every package of the core, so that a new one is not forgotten."""
    config = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    (contract,) = (
        c for c in config["tool"]["importlinter"]["contracts"] if c["name"].startswith("The core")
    )
    there = {m.name for m in pkgutil.iter_modules(trainer.__path__)} - OUTSIDE_CORE
    assert {name.removeprefix("trainer.") for name in contract["source_modules"]} == there


def run_light(arguments: list[str], blocked: bool) -> str:
    """Exit line of a command that must load no heavy library; fails with the cure if it does."""
    code = RUN_AND_LIST.format(arguments=arguments, names=HEAVY)
    ended = in_new_python((BLOCK.format(names=HEAVY) if blocked else "") + code)
    assert ended.returncode == 0, ended.stderr
    *_, exit_line, loaded = ended.stdout.splitlines()
    assert loaded.split() == ["loaded"], (
        f"'trainer {' '.join(arguments)}' {loaded}.\nCure: import these inside the function that "
        "needs them. 'python -X importtime -c \"import trainer.cli.main\"' shows who loads them."
    )
    return exit_line


@pytest.mark.parametrize("blocked", [False, True], ids=["all there", "none there"])
def test_help_is_light(blocked: bool) -> None:
    """``trainer --help`` loads no Qt, VTK, mesh library or numba, and works without them."""
    assert run_light(["--help"], blocked) == "exit code 0"


@pytest.mark.parametrize("blocked", [False, True], ids=["all there", "none there"])
def test_check_of_a_case_is_light(blocked: bool) -> None:
    """``trainer check FILE`` loads no Qt, VTK, mesh library or numba, and accepts our own case."""
    case = first_case()
    assert run_light(["check", str(case)], blocked) == "exit code 0"


def test_check_of_a_broken_file_is_light(tmp_path: Path) -> None:
    """``trainer check FILE`` refuses a file that is no case, and loads no heavy library for it."""
    broken = tmp_path / "broken.yaml"
    broken.write_text("no_such_key: 1\n", encoding="utf-8")
    exit_line = run_light(["check", str(broken)], blocked=False)
    assert exit_line.startswith("exit code ")
    assert exit_line != "exit code 0"


def test_assess_works_without_window_libraries() -> None:
    """``trainer assess CASE`` works where Qt and VTK do not exist."""
    code = RUN_AND_LIST.format(arguments=["assess", str(first_case())], names=WINDOW)
    ended = in_new_python(BLOCK.format(names=WINDOW) + code)
    assert "exit code 0" in ended.stdout, ended.stderr


def first_case() -> Path:
    """The first shipped case by name."""
    cases = sorted((ROOT / "scenarios").glob("*.yaml"))
    assert cases, "no case in scenarios/"
    return cases[0]

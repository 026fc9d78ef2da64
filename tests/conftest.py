"""What holds for every test: own folders, repeatable examples, no stray warnings or windows.

``--core-only`` leaves out everything that needs Qt or VTK; it is for the second environment of
``start.py test``, in which those libraries are not installed.
"""

from __future__ import annotations

import importlib.util
import itertools
import logging
import os
import sys
from collections.abc import Iterator
from pathlib import Path

import hypothesis
import pytest

from trainer.models.subject import Person

HERE = Path(__file__).parent
# Folders whose tests need a library that the core does without, and the mark each gets.
MARK_OF_FOLDER = {"app": "gui", "scene": "scene"}

# Derandomised: a run is repeatable, and a failure found today is found tomorrow. No deadline,
# because a shared machine is slow at random. HYPOTHESIS_PROFILE=search looks for new examples.
hypothesis.settings.register_profile("repeatable", derandomize=True, deadline=None, database=None)
hypothesis.settings.register_profile("search", deadline=None, database=None, max_examples=1000)
hypothesis.settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "repeatable"))


def pytest_addoption(parser: pytest.Parser) -> None:
    """Adds ``--core-only``; declares pytest-qt's settings where pytest-qt is not installed."""
    parser.addoption("--core-only", action="store_true", help="leave out tests that need Qt or VTK")
    if importlib.util.find_spec("pytestqt") is None:
        for name in ("qt_api", "qt_log_level_fail"):
            parser.addini(name, "read by pytest-qt, which is not installed here")


def pytest_report_header(config: pytest.Config) -> str:
    """Says whether tests are left out, and which."""
    if config.getoption("--core-only"):
        return "core only: tests/app, tests/scene and tests marked gui or scene are left out"
    return "all tests"


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """Keeps Qt's and VTK's test folders from being imported in a core-only run."""
    if config.getoption("--core-only") and _mark_of(collection_path) is not None:
        return True
    return None


def pytest_make_parametrize_id(val: object) -> str | None:
    """Calls a person in a test's name by sex and age: all they are made of would fill the page."""
    return f"{val.sex}-{val.age_years}" if isinstance(val, Person) else None


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Marks tests by their folder, and takes the marked ones out of a core-only run."""
    for item in items:
        mark = _mark_of(item.path)
        if mark is not None:
            item.add_marker(mark)
    # long files first, so that neither of two processes is left alone with one at the end
    long = {item.path for item in items if item.get_closest_marker("slow")}
    items.sort(key=lambda item: item.path not in long)
    if config.getoption("--core-only"):
        out = [i for i in items if i.get_closest_marker("gui") or i.get_closest_marker("scene")]
        config.hook.pytest_deselected(items=out)
        items[:] = [item for item in items if item not in out]


def _mark_of(path: Path) -> str | None:
    if not path.is_relative_to(HERE) or path == HERE:
        return None
    return MARK_OF_FOLDER.get(path.relative_to(HERE).parts[0])


@pytest.fixture(scope="session")
def _user_folders(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("user")


_number = itertools.count()


@pytest.fixture(autouse=True)
def user_folder(_user_folders: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty home of its own for every test: nothing reads or changes the real user's files."""
    folder = _user_folders / str(next(_number))
    folder.mkdir()
    for name in ("HOME", "USERPROFILE", "APPDATA", "LOCALAPPDATA"):
        monkeypatch.setenv(name, str(folder))
    for name in ("CONFIG", "DATA", "CACHE", "STATE"):
        monkeypatch.setenv(f"XDG_{name}_HOME", str(folder / name.lower()))
    monkeypatch.setenv("PYVISTA_USERDATA_PATH", str(folder / "pyvista"))
    qt_core = sys.modules.get("PySide6.QtCore")
    if qt_core is not None:
        settings = qt_core.QSettings
        settings.setDefaultFormat(settings.Format.IniFormat)
        for kind in (settings.Format.IniFormat, settings.Format.NativeFormat):
            settings.setPath(kind, settings.Scope.UserScope, str(folder / "config"))
    return folder


class _Collector(logging.Handler):
    """Keeps every record of level warning and above."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.records: list[logging.LogRecord] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.records.append(record)


@pytest.fixture(autouse=True)
def _no_unexpected_log_warnings(request: pytest.FixtureRequest) -> Iterator[None]:
    """A test that lets the trainer log a warning fails, unless it looks at it with ``caplog``."""
    collector = _Collector()
    logger = logging.getLogger("trainer")
    logger.addHandler(collector)
    try:
        yield
    finally:
        logger.removeHandler(collector)
    if collector.records and "caplog" not in request.fixturenames:
        lines = [f"{r.name} {r.levelname}: {r.getMessage()}" for r in collector.records]
        pytest.fail("logged without being expected:\n" + "\n".join(lines), pytrace=False)


@pytest.fixture(autouse=True)
def _no_windows_left(request: pytest.FixtureRequest) -> Iterator[None]:
    """A gui test that leaves a window behind fails; pictures of scene tests are freed."""
    yield
    if request.node.get_closest_marker("gui") is not None:
        from helpers.windows import windows_left

        left = windows_left()
        if left:
            pytest.fail("windows left behind: " + ", ".join(left), pytrace=False)
    if request.node.get_closest_marker("scene") is not None and "pyvista" in sys.modules:
        sys.modules["pyvista"].close_all()

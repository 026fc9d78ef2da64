"""The check for windows left behind sees them."""

from __future__ import annotations

import pytest

pytestmark = pytest.mark.gui


def test_kept_window_is_named_and_removed(qapp: object) -> None:
    """A window that something still holds is named, and is gone the next time."""
    from helpers.windows import windows_left
    from PySide6.QtWidgets import QWidget

    window = QWidget(windowTitle="kept")
    window.show()
    assert windows_left() == ["QWidget 'kept'"]
    assert windows_left() == []


def test_dropped_windows_are_not_blamed(qapp: object) -> None:
    """A window let go, one in a reference circle and one that Qt shall delete are no leaks."""
    from helpers.windows import windows_left
    from PySide6.QtWidgets import QDialog, QMenu, QWidget

    QWidget().show()
    circle = QWidget()
    circle.itself = circle  # type: ignore[attr-defined]
    QMenu(circle)
    del circle
    dialog = QDialog()
    dialog.deleteLater()
    assert windows_left() == []


def test_every_gui_test_is_checked(pytestconfig: pytest.Config, pytester: pytest.Pytester) -> None:
    """A gui test that leaves a window behind fails."""
    pytester.makeconftest((pytestconfig.rootpath / "tests" / "conftest.py").read_text("utf-8"))
    pytester.makepyprojecttoml(
        f"[tool.pytest.ini_options]\nmarkers = ['gui', 'scene']\n"
        f"pythonpath = ['{(pytestconfig.rootpath / 'tests').as_posix()}']\n"
    )
    pytester.makepyfile(
        """
        import pytest
        from PySide6.QtWidgets import QWidget

        kept = []

        @pytest.mark.gui
        def test_leaves_a_window(qapp):
            kept.append(QWidget())
            kept[0].show()
        """
    )
    result = pytester.runpytest_subprocess()
    result.stdout.fnmatch_lines(["*windows left behind: QWidget*"])
    result.assert_outcomes(passed=1, errors=1)

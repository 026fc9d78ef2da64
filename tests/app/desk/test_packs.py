"""Packs at the desk."""

from __future__ import annotations

from pathlib import Path

from helpers.packs import CASE, HEAD, UNIT, as_folder, own_case, plain_files
from PySide6.QtWidgets import QFileDialog

from trainer.app.desk.file_controller import is_shipped
from trainer.app.desk.packs import FaultsDialog
from trainer.services.library import every_case
from trainer.services.packs.make import make_pack
from trainer.services.packs.take_in import take_in


def test_a_folder_is_packed_and_taken_in(qtbot, monkeypatch, tmp_path: Path, at_desk) -> None:
    """By the two entries of the menu; then its case can be begun from."""
    folder = as_folder({CASE: own_case("alder-bench").encode()}, tmp_path / "mine")
    (folder / "manifest.yaml").write_text(HEAD, encoding="utf-8")
    out = tmp_path / "mine.zip"
    monkeypatch.setattr(QFileDialog, "getExistingDirectory", lambda *a: str(folder))
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *a: (str(out), ""))
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *a: (str(out), ""))
    at_desk.actions_by_name["pack"].trigger()
    qtbot.waitUntil(lambda: "Made" in at_desk.notice.text(), timeout=20000)
    at_desk.actions_by_name["take_in"].trigger()
    qtbot.waitUntil(lambda: "Cases: own-molar" in at_desk.notice.text(), timeout=20000)
    at_desk.begin_menu.aboutToShow.emit()
    assert "own-molar" in [a.text() for a in at_desk.begin_menu.actions()]


def test_faults_are_listed_and_nothing_is_written(qtbot, tmp_path: Path, at_desk) -> None:
    """With file, line and key, in a window that can be closed."""
    case = own_case("alder-bench").replace("level: 1", "level: 11")
    folder = as_folder({CASE: case.encode()}, tmp_path / "mine")
    (folder / "manifest.yaml").write_text(HEAD, encoding="utf-8")
    at_desk.packs.make_of(folder, tmp_path / "mine.zip")
    qtbot.waitUntil(lambda: bool(at_desk.findChildren(FaultsDialog)), timeout=20000)
    (box,) = at_desk.findChildren(FaultsDialog)
    assert "own_molar.yaml:5  level" in box.faults.toPlainText()
    assert "Nothing was written" in at_desk.notice.text()
    assert not (tmp_path / "mine.zip").exists()
    box.close()


def test_a_case_of_a_pack_is_tried_with_its_own_unit(qtbot, tmp_path: Path, at_desk) -> None:
    """It has no faults at the desk, is not written over, and is tried with the pack's unit."""
    folder = as_folder(plain_files(), tmp_path / "mine")
    (folder / "manifest.yaml").write_text(HEAD, encoding="utf-8")
    make_pack(folder, tmp_path / "mine.zip")
    take_in(tmp_path / "mine.zip")
    path = every_case()["own-molar"]
    with qtbot.waitSignal(at_desk.desk.checked, timeout=20000):
        assert at_desk.open_case(path)
    assert at_desk.desk.result.faults == ()
    assert at_desk.desk.unit.id == "own-bench"
    assert is_shipped(path)
    with qtbot.waitSignal(at_desk.try_placing_asked) as asked:
        at_desk.try_placing()
    tried = Path(asked.args[0])
    assert (tried.parent / UNIT).read_bytes() == (path.parent / UNIT).read_bytes()
    assert (tried.parent / "rules" / "tallow_lane.yaml").exists()

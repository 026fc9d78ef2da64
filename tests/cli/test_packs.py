"""Commands about packs, as somebody types them."""

from __future__ import annotations

from pathlib import Path

from helpers.packs import CASE, HEAD, as_folder, own_case

from trainer.cli.main import main
from trainer.services.library import library_folder


def test_pack_take_in_list_use_take_out(tmp_path: Path, capsys) -> None:
    """One after the other, each says what it did and ends with 0."""
    folder = as_folder({CASE: own_case("alder-bench").encode()}, tmp_path / "mine")
    (folder / "manifest.yaml").write_text(HEAD, encoding="utf-8")
    out = str(tmp_path / "mine.zip")
    assert main(["packs"]) == 0
    assert main(["pack", str(folder), "--out", out]) == 0
    assert main(["take-in", out, "--look-only"]) == 0
    assert not library_folder().exists()
    assert main(["take-in", out]) == 0
    assert main(["packs"]) == 0
    told = capsys.readouterr().out
    assert "No packs were taken in." in told
    assert "pack alder-lessons, 3 files" in told
    assert "nothing was taken in, as asked" in told
    assert "Cases: own-molar." in told
    assert "Licence: For anybody who trains" in told
    assert main(["assess", "own-molar"]) == 0
    assert main(["take-out", "alder-lessons"]) == 0
    assert "Attempts at its cases stay" in capsys.readouterr().out
    assert main(["assess", "own-molar"]) == 2


def test_a_broken_pack_is_told_file_by_file(tmp_path: Path, capsys) -> None:
    """Ends with 1, names file, line and key, and takes nothing."""
    case = own_case("alder-bench").replace("level: 1", "level: 11")
    folder = as_folder({CASE: case.encode()}, tmp_path / "mine")
    (folder / "manifest.yaml").write_text(HEAD, encoding="utf-8")
    assert main(["pack", str(folder), "--out", str(tmp_path / "mine.zip")]) == 1
    told = capsys.readouterr().err
    assert "mine/own_molar.yaml:5  level:" in told
    assert not (tmp_path / "mine.zip").exists()


def test_a_folder_without_a_list_is_told_how_to_write_one(tmp_path: Path, capsys) -> None:
    """With lines to copy."""
    folder = as_folder({CASE: own_case().encode()}, tmp_path / "mine")
    assert main(["pack", str(folder), "--out", str(tmp_path / "mine.zip")]) == 1
    assert "kind: pack" in capsys.readouterr().err


def test_what_is_not_there_is_told(tmp_path: Path, capsys) -> None:
    """No file, no pack of that id: 2, and a sentence."""
    assert main(["take-in", str(tmp_path / "none.zip")]) == 2
    assert main(["take-out", "nothing"]) == 2
    assert "Traceback" not in capsys.readouterr().err

"""Packs: made, looked through, taken in, used, taken out."""

from __future__ import annotations

import os
import subprocess
import sys
import textwrap
import zipfile
from pathlib import Path

import pytest
from helpers.packs import CASE, HEAD, UNIT, as_folder, own_case, plain_files

from trainer.errors import NotAllowedNow, NotFound, NotReadable, NotValid, TrainerError
from trainer.services.assets import SCENARIOS
from trainer.services.library import every_case, library_folder
from trainer.services.packs.check import check_pack
from trainer.services.packs.make import archive_of, make_pack
from trainer.services.packs.manifest import Manifest
from trainer.services.packs.names import MANIFEST
from trainer.services.packs.take_in import packs_here, take_in, take_out
from trainer.services.workbench import open_workbench


def everything_in(folder: Path) -> dict[str, bytes]:
    """Every file below a folder."""
    found = sorted(p for p in folder.rglob("*") if p.is_file())
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in found}


def test_from_a_folder_to_an_open_case_and_out_again(tmp_path: Path) -> None:
    """What an instructor packs, another takes in, opens by its name, and takes out."""
    folder = as_folder({CASE: own_case("alder-bench").encode()}, tmp_path / "mine")
    (folder / MANIFEST).write_text(HEAD, encoding="utf-8")
    made = make_pack(folder, tmp_path / "mine.zip")
    # the shipped unit and rules that the case names were put in
    assert set(made.files) == {CASE, MANIFEST, "units/alder_bench.yaml", "rules/tallow_lane.yaml"}
    assert made.case_ids == ("own-molar",)
    taken = take_in(tmp_path / "mine.zip")
    assert taken.folder == library_folder() / "alder-lessons"
    assert everything_in(taken.folder) == dict(made.files)
    bench = open_workbench("own-molar")
    assert bench.case.id == "own-molar"
    assert [f.parent.parent for f in bench.files[1:]] == [taken.folder, taken.folder]
    listed = packs_here()["alder-lessons"]
    assert isinstance(listed, Manifest)
    assert listed.title_in("de") == "Erlen-Stunden"
    assert take_out("alder-lessons") == taken.folder
    assert not taken.folder.exists()
    assert packs_here() == {}
    with pytest.raises(NotFound):
        open_workbench("own-molar")


def test_equal_folders_make_equal_packs(tmp_path: Path, sound: dict[str, bytes]) -> None:
    """Byte for byte, whenever and wherever they are made; comments of the list stay."""
    folders = [as_folder(sound, tmp_path / n) for n in ("one", "two")]
    outs = [tmp_path / "one.zip", tmp_path / "two.zip"]
    for folder, out in zip(folders, outs, strict=True):
        make_pack(folder, out)
    assert outs[0].read_bytes() == outs[1].read_bytes()
    with zipfile.ZipFile(outs[0]) as archive:
        assert archive.read(MANIFEST).startswith(b"# invented\n")


def test_folder_and_archive_hold_the_same(packed: Path, sound, tmp_path: Path) -> None:
    """A pack may be either; both are looked through alike."""
    folder = as_folder(sound, tmp_path / "folder")
    assert check_pack(packed).files == check_pack(folder).files


def test_a_pack_of_a_name_is_not_overwritten(packed: Path, library: Path, sound) -> None:
    """Taken in twice: refused, unless it shall be replaced; then the new one is whole."""
    take_in(packed, library)
    before = everything_in(library)
    with pytest.raises(NotAllowedNow, match="taken in before"):
        take_in(packed, library)
    assert everything_in(library) == before
    take_in(packed, library, replace=True)
    assert everything_in(library) == before


def test_ids_that_are_taken_are_told(tmp_path: Path, library: Path) -> None:
    """Neither a shipped case nor one of another pack can be shadowed."""
    shipped = (SCENARIOS / "lower_third_molar.yaml").read_bytes()
    folder = as_folder({"lower_third_molar.yaml": shipped}, tmp_path / "mine")
    (folder / MANIFEST).write_text(HEAD, encoding="utf-8")
    with pytest.raises(NotValid, match="is shipped already"):
        make_pack(folder, tmp_path / "mine.zip")
    assert not (tmp_path / "mine.zip").exists()


def test_packs_do_not_meet(tmp_path: Path, packed: Path, library: Path) -> None:
    """A case of another pack's name is refused with that pack's id."""
    take_in(packed, library)
    folder = as_folder(plain_files(), tmp_path / "other")
    (folder / MANIFEST).write_text(HEAD.replace("alder-lessons", "other"), encoding="utf-8")
    make_pack(folder, tmp_path / "other.zip")
    with pytest.raises(NotValid, match="in the pack 'alder-lessons' already"):
        take_in(tmp_path / "other.zip", library)
    assert list(packs_here(library)) == ["alder-lessons"]


def test_every_fault_has_file_and_line(tmp_path: Path, sound) -> None:
    """Two files with one fault each: both are told, by the line they stand in."""
    case = sound[CASE].decode().replace("unit_height_mm: ", "unit_height_mm: x", 1).encode()
    unit = sound[UNIT].decode().replace("kind: unit", "kind: units", 1).encode()
    folder = as_folder({**sound, CASE: case, UNIT: unit}, tmp_path / "mine")
    with pytest.raises(NotValid) as caught:
        make_pack(folder, tmp_path / "mine.zip")
    told = {(f.path, f.key) for f in caught.value.faults}
    assert ("mine/own_molar.yaml", "start.unit_height_mm") in told
    assert ("mine/units/own_bench.yaml", "kind") in told
    assert all(f.line > 0 for f in caught.value.faults)
    assert not (tmp_path / "mine.zip").exists()


def test_impossible_geometry_is_refused(tmp_path: Path, sound) -> None:
    """A unit whose source stands in the patient's circle does not come in."""
    unit = sound[UNIT].decode()
    line = next(n for n in unit.splitlines() if n.strip().startswith("source_to_axis_mm"))
    unit = unit.replace(line, line.split(":")[0] + ": 30")
    folder = as_folder({**sound, UNIT: unit.encode()}, tmp_path / "mine")
    with pytest.raises(NotValid, match="source_to_axis_mm"):
        make_pack(folder, tmp_path / "mine.zip")


def test_a_changed_file_is_told_by_its_hash(tmp_path: Path, sound) -> None:
    """One letter of a comment changed after packing."""
    changed = {**sound, CASE: sound[CASE].replace(b"# ", b"#.", 1)}
    path = tmp_path / "changed.zip"
    path.write_bytes(archive_of(changed))
    with pytest.raises(NotValid, match="was changed since the pack was made"):
        check_pack(path)


@pytest.mark.parametrize("mangled", ["missing", "extra"])
def test_the_list_tells_all_and_nothing_else(tmp_path: Path, sound, mangled: str) -> None:
    """A file that the list lacks, and one that only the list knows."""
    files = dict(sound)
    if mangled == "missing":
        del files["texts/read_me.md"]
    else:
        files["texts/more.md"] = b"more\n"
    path = tmp_path / "odd.zip"
    path.write_bytes(archive_of(files))
    words = {"missing": "is not in the pack", "extra": "does not list 'texts/more.md'"}
    with pytest.raises(NotValid, match=words[mangled]):
        check_pack(path)


def test_a_read_only_library_is_told(packed: Path, library: Path, monkeypatch) -> None:
    """What happened, and that what was there stays; nothing is left behind."""
    import trainer.services.packs.take_in as module

    library.mkdir()

    def full(files, folder):
        folder.mkdir()
        (folder / "part").write_text("x", encoding="utf-8")
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(module, "write_files", full)
    with pytest.raises(NotReadable, match=r"No space left.*stays as it was"):
        take_in(packed, library)
    assert everything_in(library) == {}
    assert list(library.iterdir()) == []


def test_a_file_in_the_librarys_place_is_told(packed: Path, library: Path) -> None:
    """The library cannot be made where a file stands."""
    library.write_text("a file\n", encoding="utf-8")
    with pytest.raises(TrainerError, match="cannot be written"):
        take_in(packed, library)
    assert library.read_text(encoding="utf-8") == "a file\n"


KILLED = """
    import os, sys
    from pathlib import Path
    import trainer.services.packs.take_in as module
    write, left = module.write_files, int(sys.argv[3])
    def writes(files, folder):
        for n, (name, raw) in enumerate(files.items()):
            if n == left:
                os._exit(9)
            write({name: raw}, folder)
    module.write_files = writes
    module.take_in(Path(sys.argv[1]), Path(sys.argv[2]))
"""


@pytest.mark.parametrize("left", [0, 3])
def test_killed_on_the_way_nothing_is_taken_in(packed, library, tmp_path, left: int) -> None:
    """A process that dies while writing leaves no pack, and the next attempt works."""
    program = tmp_path / "killed.py"
    program.write_text(textwrap.dedent(KILLED), encoding="utf-8")
    words = [sys.executable, str(program), str(packed), str(library), str(left)]
    path = os.pathsep.join([str(Path(__file__).parents[3]), os.environ.get("PYTHONPATH", "")])
    code = subprocess.run(words, env={**os.environ, "PYTHONPATH": path}, check=False).returncode
    assert code == 9
    assert packs_here(library) == {}
    assert "own-molar" not in every_case(library)
    take_in(packed, library)
    assert list(packs_here(library)) == ["alder-lessons"]


def test_a_damaged_list_in_the_library_is_told_and_can_go(packed: Path, library: Path) -> None:
    """Somebody wrote into it by hand: it is listed as damaged, and taken out all the same."""
    taken = take_in(packed, library)
    (taken.folder / MANIFEST).write_text("kind: [", encoding="utf-8")
    assert isinstance(packs_here(library)["alder-lessons"], TrainerError)
    take_out("alder-lessons", library)
    assert packs_here(library) == {}


def test_what_is_not_there_cannot_go(library: Path) -> None:
    """The nearest name is offered, or that there is none."""
    with pytest.raises(NotFound, match="there are none"):
        take_out("alder-lessons", library)

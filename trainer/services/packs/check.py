"""A pack that may be taken in: looked through from its container to its last case."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from trainer.errors import Fault, NotReadable, NotValid, TrainerError
from trainer.models.subject import Person
from trainer.services.assets import SCENARIOS, known_structure_ids, load_head
from trainer.services.file_check import got, known
from trainer.services.library import every_case, pack_folders, units_for
from trainer.services.packs.manifest import Manifest, content_faults, manifest_faults, manifest_of
from trainer.services.packs.members import read_members
from trainer.services.packs.names import MANIFEST, id_at, kind_at
from trainer.services.scenario_io import check_file, load_case
from trainer.services.unit_check import check_unit, mean_heads
from trainer.services.unit_io import named_files
from trainer.services.workbench import bench_of
from trainer.services.yaml_text import read_text, read_tree, tree_of

Tell = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Pack:
    """A pack without faults: its list, its files by name, and what is worth knowing about it."""

    manifest: Manifest
    files: Mapping[str, bytes]
    notes: tuple[str, ...]

    @property
    def case_ids(self) -> tuple[str, ...]:
        """The ids of its cases."""
        names = (name for name in self.files if name != MANIFEST and kind_at(name) == "case")
        return tuple(id_at(name) for name in names)


def check_pack(path: Path, library: Path | None = None, tell: Tell = lambda _: None) -> Pack:
    """The pack in that archive or folder, if nothing is wrong with it. Nothing is kept on disk.

    ``library`` is where packs are taken in; what its cases are called is taken already. ``tell`` is
    called with the name of each file before it is looked at.

    Raises
    ------
    NotReadable
        If there is no pack, or its container is broken.
    NotValid
        With every fault that could be found: those of the container, else those of the list, else
        those of the files.
    """
    path = Path(path)
    files = read_members(path)
    label = f"{path.name}/{MANIFEST}"
    if MANIFEST not in files:
        raise NotValid([Fault(path.name, 0, "", f"holds no {MANIFEST}, so it is no pack")])
    with tempfile.TemporaryDirectory(prefix="pack-") as folder:
        place = Path(folder).resolve() / "pack"
        write_files(files, place)
        tree = tree_of(_text(place / MANIFEST, place, path.name), label)
        faults = list(manifest_faults(tree)) or content_faults(tree, files)
        if faults:
            raise NotValid(faults)
        manifest = manifest_of(tree.data)
        looking = _Looking(place, path.name)
        for name in sorted(files):
            if name != MANIFEST:
                tell(name)
                looking.look(name)
        looking.faults += _taken_ids(path.name, manifest.id, files, library)
        if looking.faults:
            raise NotValid(sorted(looking.faults, key=lambda f: (f.path, f.line, f.key)))
        looking.open_cases(files)
        if looking.faults:
            raise NotValid(looking.faults)
        return Pack(manifest, files, tuple(looking.notes + _shadowed(files)))


def write_files(files: Mapping[str, bytes], folder: Path) -> None:
    """Write the files below the folder; their names have been judged before."""
    for name, raw in files.items():
        target = folder / name
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(raw)


def _text(file: Path, place: Path, container: str) -> str:
    """The file's text; an error names the file as it is in the container."""
    try:
        return read_text(file)
    except NotReadable as error:
        raise NotReadable(_relabelled(str(error), place, container)) from None


def _relabelled(text: str, place: Path, container: str) -> str:
    return text.replace(f"{place}/", f"{container}/").replace(f"{place}\\", f"{container}/")


class _Looking:
    """Looks into the files of a pack that stand below a folder for the time being."""

    def __init__(self, place: Path, container: str) -> None:
        self.place, self.container = place, container
        self.ids = known_structure_ids()
        self.faults: list[Fault] = []
        self.notes: list[str] = []

    def look(self, name: str) -> None:
        """Note every fault of a file."""
        label = self._label(name)
        try:
            found = list(self._faults(name))
        except NotReadable as error:
            text = _relabelled(str(error), self.place, self.container).removeprefix(label)
            line, _, told = text.partition(": ")  # ":12: is not ...", or ": is not ..."
            self.faults.append(Fault(label + line, 0, "", told))
            return
        for fault in found:
            text = _relabelled(fault.text, self.place, self.container)
            self.faults.append(Fault(label, fault.line, fault.key, text))

    def _label(self, name: str) -> str:
        return f"{self.container}/{name}"

    def _faults(self, name: str) -> Iterator[Fault]:
        file, kind = self.place / name, kind_at(name)
        if kind == "text":
            text = read_text(file)
            if any(not c.isprintable() and c not in "\n\r\t\ufeff" for c in text):
                yield Fault(name, 0, "", "must not hold control characters")
            return
        found = check_file(file, units_for(self.place / name), self.ids)
        yield from found
        tree = read_tree(file)
        says = known(tree, "kind")
        if isinstance(says, str) and says != kind and not found:
            yield Fault(name, tree.line(("kind",)), "kind", f"must be {kind} here, got {got(says)}")
            return
        key = "case" if kind == "commands" else "id"
        held = known(tree, key)
        if isinstance(held, str) and held != id_at(name):
            text = f"must be {got(id_at(name))}, as the file's name, got {got(held)}"
            yield Fault(name, tree.line((key,)), key, text)
        if kind == "commands" and not (self.place / name.rpartition("/")[2]).exists():
            text = f"the pack holds no case {got(id_at(name))} that this could solve"
            yield Fault(name, tree.line((key,)), key, text)
        if kind == "unit" and not found:
            report = check_unit(tree, mean_heads())
            yield from report.faults
            self.notes += [
                f"{self._label(name)}:{d.line}  {d.key}: {d.text}" for d in report.doubts
            ]

    def open_cases(self, files: Mapping[str, bytes]) -> None:
        """Open every case as the window would, with the mean head in the place of its person's."""
        for name in files:
            if name == MANIFEST or kind_at(name) != "case":
                continue
            file = self.place / name
            try:
                case = load_case(file, units_for(file), self.ids)
                bench_of(case, file, load_head(Person(case.subject.person.sex)))
            except TrainerError as error:
                text = _relabelled(str(error), self.place, self.container)
                self.faults.append(Fault(self._label(name), 0, "", f"cannot be opened: {text}"))


def _taken_ids(
    container: str, pack_id: str, files: Mapping[str, bytes], library: Path | None
) -> Iterator[Fault]:
    """Cases that are called like one that is here already, of another pack or shipped."""
    own = pack_folders(library).get(pack_id)
    here = {name: file for name, file in every_case(library).items() if file.parent != own}
    for name in files:
        if name != MANIFEST and kind_at(name) == "case" and id_at(name) in here:
            other = here[id_at(name)].parent
            whose = "shipped" if other == SCENARIOS else f"in the pack {got(other.name)}"
            text = f"a case {got(id_at(name))} is {whose} already; give this one another id"
            yield Fault(f"{container}/{name}", 0, "id", text)


def _shadowed(files: Mapping[str, bytes]) -> list[str]:
    """Units and rules that are called like a shipped one and differ from it."""
    notes = []
    for folder in ("units", "rules"):
        shipped = named_files(SCENARIOS / folder)
        for name, raw in files.items():
            if not name.startswith(f"{folder}/"):
                continue
            same = shipped.get(id_at(name))
            if same is not None and same.read_bytes() != raw:
                notes.append(
                    f"{name} differs from the shipped file of that name; the pack's cases go by "
                    "the pack's own"
                )
    return notes

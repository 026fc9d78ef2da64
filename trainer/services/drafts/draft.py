"""A file that is being written: its text, what was done to it, what is wrong with it, saving it."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from trainer.errors import Fault, NotAllowedNow, NotReadable, TrainerError
from trainer.models.device import Unit
from trainer.models.scenario import Case
from trainer.services.drafts import changes
from trainer.services.drafts.fields import field_at, order_of
from trainer.services.file_check import schema_faults
from trainer.services.library import UNITS_FOLDER
from trainer.services.scenario_io import RULES_FOLDER, case_faults, case_of, rules_beside
from trainer.services.unit_check import check_unit, mean_heads
from trainer.services.unit_io import Folders, named_files, unit_of
from trainer.services.yaml_text import BYTE_ORDER_MARK, KeyPath, key_path, read_text, tree_of

CASE, UNIT = "case", "unit"
MARK = BYTE_ORDER_MARK.decode()
# What decides where things stand and what must be inside; the rest a preview does without.
PLACING = frozenset(
    ("subject", "unit", "start", "required", "wanted", "attitude", "guard_rim_mm", "groove_off_mm")
)


@dataclass(frozen=True, slots=True)
class Draft:
    """A case or unit file that is being written.

    ``text`` has plain line ends and no byte order mark, ``kept`` is the text that the file holds;
    ``path`` is none before the first saving. ``earlier`` and ``later`` are texts to go back and on
    to, ``last`` is the place that was changed last.
    """

    text: str
    path: Path | None = None
    kept: str = ""
    returns: bool = False
    marked: bool = False
    earlier: tuple[str, ...] = ()
    later: tuple[str, ...] = ()
    last: KeyPath | None = None
    data: Any = field(init=False, compare=False, repr=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "data", changes.data_of(self.text))

    @property
    def changed(self) -> bool:
        """Whether the file holds another text, or none."""
        return self.text != self.kept

    @property
    def name(self) -> str:
        """What the faults call the file."""
        return str(self.path) if self.path else f"{file_name(self)} (not saved)"

    @property
    def kind(self) -> str:
        """Which kind of file it is."""
        return UNIT if self.value("kind") == UNIT else CASE

    def value(self, *where: str | int) -> Any:
        """The value at that place; ``None`` when there is none."""
        return changes.value_at(self.data, where)


def open_draft(path: Path) -> Draft:
    """The file as a draft.

    Raises
    ------
    NotReadable
        If it is missing, too large, or no YAML text.
    """
    raw = read_text(path)
    tree_of(raw, str(path))  # tells file and line
    text = raw.removeprefix(MARK)
    returns = "\r\n" in text and text.count("\r\n") == text.count("\n")
    if returns:
        text = text.replace("\r\n", "\n")
    return Draft(text, path, text, returns, raw.startswith(MARK))


def new_from(draft: Draft, case_id: str) -> Draft:
    """A new case of that id that says the same, not saved yet."""
    text = changes.set_value(draft.text, ("id",), case_id)
    return Draft(text, returns=draft.returns, marked=draft.marked)


def file_name(draft: Draft) -> str:
    """The name that a file of this id has by custom: ``upper_left_canine.yaml``."""
    name = draft.value("id")
    stem = name.replace("-", "_") if isinstance(name, str) and name else draft.kind
    return "".join(c for c in stem if c.isalnum() or c == "_")[:60] + ".yaml"


def set_value(draft: Draft, where: KeyPath, value: Any) -> Draft:
    """The draft with that value; changes of one place in a row are undone in one go.

    Raises
    ------
    NotAllowedNow
        If the layout of the file does not allow it; as for all changes below.
    """
    if draft.value(*where) == value and type(draft.value(*where)) is type(value):
        return draft
    joined = where == draft.last
    while len(where) > 1 and draft.value(*where[:-1]) is None:
        where, value = where[:-1], {where[-1]: value}
    order = order_of(draft.kind, where[:-1])
    text = changes.set_value(draft.text, where, value, order, draft.kept)
    return _changed(draft, text, where, goes_on=joined)


def take_out(draft: Draft, where: KeyPath) -> Draft:
    """The draft without that key or item, and without groups that may be left out and are empty."""
    if where[-1] not in _names(draft.value(*where[:-1])):
        return draft
    above = where[:-1]
    while above and len(draft.value(*above)) == 1 and not _needed(draft.kind, above):
        where, above = above, above[:-1]
    return _changed(draft, changes.take_out(draft.text, where), where)


def put_in(draft: Draft, where: KeyPath, value: Any, number: int | None = None) -> Draft:
    """The draft with a new item in that list, at its end without a number."""
    items = draft.value(*where)
    if not isinstance(items, list):
        return set_value(draft, where, [value])
    at = len(items) if number is None else number
    return _changed(draft, changes.put_in(draft.text, where, at, value), where)


def move(draft: Draft, where: KeyPath, number: int, by: int) -> Draft:
    """The draft with an item of that list one place further up (-1) or down (1)."""
    upper = number + min(by, 0)
    if not 0 <= upper < len(draft.value(*where)) - 1:
        return draft
    return _changed(draft, changes.move_down(draft.text, where, upper), where)


def undo(draft: Draft) -> Draft:
    """The draft before the last change."""
    if not draft.earlier:
        raise NotAllowedNow("There is nothing to undo.")
    return replace(
        draft, text=draft.earlier[-1], earlier=draft.earlier[:-1],
        later=(draft.text, *draft.later), last=None,
    )  # fmt: skip


def redo(draft: Draft) -> Draft:
    """The draft with the change that was undone last."""
    if not draft.later:
        raise NotAllowedNow("There is nothing to redo.")
    return replace(
        draft, text=draft.later[0], earlier=(*draft.earlier, draft.text),
        later=draft.later[1:], last=None,
    )  # fmt: skip


def as_one(first: Draft, last: Draft) -> Draft:
    """The last draft, with all changes since the first to be undone in one go."""
    return replace(last, earlier=(*first.earlier, first.text), later=(), last=None)


def _changed(draft: Draft, text: str, where: KeyPath, goes_on: bool = False) -> Draft:
    earlier = draft.earlier if goes_on else (*draft.earlier, draft.text)
    return replace(draft, text=text, earlier=earlier, later=(), last=where)


def _names(holder: Any) -> Collection[str | int]:
    if isinstance(holder, Mapping):
        return holder.keys()
    return range(len(holder)) if isinstance(holder, list) else ()


def _needed(kind: str, where: KeyPath) -> bool:
    """Whether the schema wants something at that place; an item of a list may always go."""
    if isinstance(where[-1], int):
        return False
    found = field_at(kind, where)
    return found is None or found.must


# checking -----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Checked:
    """What was found in a draft: its faults by place."""

    faults: tuple[Fault, ...]

    def at(self, where: KeyPath) -> list[Fault]:
        """The faults of exactly that place."""
        return [fault for fault in self.faults if key_path(fault.key) == where]

    def within(self, where: KeyPath) -> list[Fault]:
        """The faults of that place and all below it."""
        return [f for f in self.faults if _concerns(f, where)]

    def doubts_within(self, where: KeyPath) -> list[Fault]:
        """What is possible there but uncommon; a case knows no such thing."""
        return []


@dataclass(frozen=True, slots=True)
class CheckedCase(Checked):
    """What was found in a case, and the case as far as it can be had.

    ``case`` is none if there are faults; ``placing`` is the case without its visit, none if the
    faults concern person, unit, start or structures.
    """

    case: Case | None
    placing: Case | None


@dataclass(frozen=True, slots=True)
class CheckedUnit(Checked):
    """What was found in a unit: ``doubts`` are possible but uncommon.

    ``unit`` is there when every value is what it should be, also if they do not fit together, so
    that what is impossible can be drawn; else none.
    """

    doubts: tuple[Fault, ...]
    unit: Unit | None

    def doubts_within(self, where: KeyPath) -> list[Fault]:
        """The doubts of that place and all below it."""
        return [d for d in self.doubts if _concerns(d, where)]


def _concerns(fault: Fault, where: KeyPath) -> bool:
    return any(key_path(key)[: len(where)] == where for key in (fault.key, *fault.also))


def check_case(
    draft: Draft, units_folder: Folders, structure_ids: Collection[str] | None
) -> CheckedCase:
    """Everything that is wrong with the case, in the words of ``trainer check``."""
    tree = tree_of(draft.text, draft.name)
    faults = case_faults(tree, units_folder, structure_ids)
    if not faults:
        case = case_of(tree.data)
        return CheckedCase((), case, replace(case, visit=None, rules_id=""))
    if {str((key_path(f.key) or ("",))[0]) for f in faults} & (PLACING | {""}):
        return CheckedCase(faults, None, None)
    said = {key: draft.value(key) for key in PLACING}
    placing = {key: value for key, value in said.items() if value is not None}
    texts = {key: {"en": "–"} for key in ("title", "request", "aim")}
    return CheckedCase(faults, None, case_of({"id": "draft", "level": 1} | texts | placing))


def check_unit_draft(draft: Draft) -> CheckedUnit:
    """Everything that is wrong with the unit or uncommon, in the words of ``trainer check``.

    Raises
    ------
    NotReadable
        If the shipped heads, with which its reach is tried, are missing or broken.
    """
    found = check_unit(tree_of(draft.text, draft.name), mean_heads())
    return CheckedUnit(found.faults, found.doubts, _unit_to_draw(draft))


def _unit_to_draw(draft: Draft) -> Unit | None:
    """The unit as far as its values are what they should be, whether they fit together or not."""
    tree = tree_of(draft.text, draft.name)
    schema_faults(tree, UNIT)
    if tree.faults:
        return None
    try:
        return unit_of(tree.data)
    except TrainerError:  # numbers of a tube that contradict each other
        return None


# saving -------------------------------------------------------------------------------------------


def save(draft: Draft, path: Path, shipped: Callable[[Path], bool] = lambda _: False) -> Draft:
    """Write the file and give back the draft that it holds.

    The file is written beside its place and then moved there, so a reader never sees half of it.

    Raises
    ------
    NotAllowedNow
        If ``shipped`` says that a shipped file stands there.
    NotReadable
        If it cannot be written; the file before stays.
    """
    if shipped(path):
        raise NotAllowedNow(
            f"{path.name} came with the program or a pack and was not written over. Give yours "
            "another id and save it in a folder of your own."
        )
    text = draft.text.replace("\n", "\r\n") if draft.returns else draft.text
    raw = ((MARK if draft.marked else "") + text).encode("utf-8")
    beside = path.with_name(path.name + ".part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        beside.write_bytes(raw)
        beside.replace(path)
    except OSError as error:
        raise NotReadable(
            f"{path}: cannot be written ({error.strerror or error}). The file before, if there was "
            "one, is as it was; choose another name or folder."
        ) from error
    return replace(draft, path=path, kept=draft.text)


def copy_what_it_goes_by(draft: Draft, units: Folders, folder: Path) -> None:
    """Copy the unit and the rules that the case names to where a case in the folder looks first.

    Raises
    ------
    OSError
        If something cannot be read or written.
    """
    for key, place, files in (
        ("unit", UNITS_FOLDER, named_files(units)),
        ("rules", RULES_FOLDER, named_files(rules_beside(units))),
    ):
        file = files.get(str(draft.value(key)))
        if file is not None:
            target = folder / place / file.name
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(file.read_bytes())

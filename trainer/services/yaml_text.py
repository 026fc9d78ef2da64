"""YAML text to plain data and back, with the line of everything and no trust in the writer.

Reading builds the data from the parser's events, so nothing in a file can name a Python type,
share a node or grow when it is read. Aliases, anchors, tags, directives and merge keys are refused
altogether: a case is short enough to say everything where it stands. Writing goes through
ruamel.yaml's round trip and keeps comments, order and quotes.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from trainer.errors import Fault, NotReadable

if TYPE_CHECKING:
    from ruamel.yaml import YAML

MAX_BYTES = 256 * 1024
MAX_DEPTH = 12
MAX_NODES = 5000
LINE_WIDTH = 4096  # wide enough that the writer never folds a line of its own accord

BYTE_ORDER_MARK = b"\xef\xbb\xbf"

KeyPath = tuple[str | int, ...]

# YAML 1.2.2, section 10.3 (core schema), without octal and hexadecimal numbers: 0x40 stays text.
INTEGER = re.compile(r"[-+]?[0-9]+")
FLOAT = re.compile(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?")
WORDS: dict[str, object] = {
    **dict.fromkeys(("", "~", "null", "Null", "NULL"), None),
    **dict.fromkeys(("true", "True", "TRUE"), True),
    **dict.fromkeys(("false", "False", "FALSE"), False),
    **dict.fromkeys((".nan", ".NaN", ".NAN"), float("nan")),
    **dict.fromkeys((".inf", ".Inf", ".INF", "+.inf", "+.Inf", "+.INF"), float("inf")),
    **dict.fromkeys(("-.inf", "-.Inf", "-.INF"), float("-inf")),
}


@dataclass(slots=True)
class Tree:
    """The plain data of a file and where each part of it stands.

    ``lines`` leads from a key path to the line of its value (for groups and lists: of their key),
    ``key_lines`` to the line of the key. ``faults`` holds what YAML allows and we do not;
    ``spoiled`` are the key paths whose value is therefore not known.
    """

    path: str
    data: object = None
    lines: dict[KeyPath, int] = field(default_factory=dict)
    key_lines: dict[KeyPath, int] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)
    spoiled: set[KeyPath] = field(default_factory=set)

    def line(self, where: KeyPath) -> int:
        """The line of the value, or of the nearest thing around it that has one."""
        while where and where not in self.lines:
            where = where[:-1]
        return self.lines.get(where, 1)

    def say(self, where: KeyPath, text: str, line: int | None = None) -> None:
        """Note a fault at that place."""
        self.faults.append(
            Fault(self.path, self.line(where) if line is None else line, dotted(where), text)
        )

    def is_spoiled(self, where: KeyPath) -> bool:
        """Whether the value, or something around it, could not be taken over."""
        return any(where[:n] in self.spoiled for n in range(len(where) + 1))


def dotted(where: KeyPath) -> str:
    """The key path as people write it: ``required[2].margin_mm``."""
    text = ""
    for part in where:
        if isinstance(part, int):
            text += f"[{part}]"
        else:
            text += ("." if text else "") + shown(part)
    return text


def key_path(text: str) -> KeyPath:
    """The key path that `dotted` writes, of plain keys: ``a.b[2]`` is ``("a", "b", 2)``."""
    parts = re.findall(r"[^.\[\]]+|\[[0-9]+\]", text)
    return tuple(int(p[1:-1]) if p.startswith("[") else p for p in parts)


def shown(text: str, limit: int = 60) -> str:
    """The text on one line, cut to a length, with nothing in it that a terminal would obey."""
    if not text.isprintable():
        text = ascii(text)[1:-1]
    return text if len(text) <= limit else text[: limit - 3] + "..."


def read_text(path: Path) -> str:
    """The file's text.

    Raises
    ------
    NotReadable
        If it is missing, no file, larger than 256 KiB, binary or not UTF-8.
    """
    try:
        if not path.is_file():
            kind = "is a folder, not a file" if path.is_dir() else "there is no such file"
            raise NotReadable(f"{path}: {kind}")
        with path.open("rb") as stream:
            raw = stream.read(MAX_BYTES + 1)
    except NotReadable:
        raise
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else str(error)
        raise NotReadable(f"{shown(str(path))}: cannot be opened ({reason})") from error
    if len(raw) > MAX_BYTES:
        raise NotReadable(f"{path}: is larger than {MAX_BYTES // 1024} KiB, the limit for a file")
    if b"\0" in raw:
        raise NotReadable(f"{path}: is a binary file, expected YAML text")
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise NotReadable(f"{path}:{line}: is not UTF-8 text; save it as UTF-8") from error


def read_tree(path: Path) -> Tree:
    """The data of a YAML file with its lines; see `read_text` and `tree_of`."""
    return tree_of(read_text(path), str(path))


def tree_of(text: str, path: str) -> Tree:
    """The data of a YAML text with its lines.

    Raises
    ------
    NotReadable
        If the text is no YAML, is empty, holds more than one document, or goes past 12 levels
        or 5000 nodes. The message is one sentence with file and line.
    """
    from ruamel.yaml import YAML
    from ruamel.yaml.error import MarkedYAMLError, YAMLError

    tree = Tree(path)
    try:
        _Builder(tree, iter(YAML(typ="safe", pure=True).parse(text.removeprefix("\ufeff")))).run()
    except MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        place = f"{path}:{mark.line + 1}" if mark else path
        told = shown(error.problem or error.context or "broken text", 120)
        raise NotReadable(f"{place}: is not readable as YAML: {told}") from error
    except YAMLError as error:
        told = shown(str(error).split("\n")[0], 120)
        raise NotReadable(f"{path}: is not readable as YAML: {told}") from error
    except (ValueError, OverflowError, IndexError, KeyError, AttributeError) as error:
        # the scanner leaks these on a few malformed escapes and directives
        raise NotReadable(f"{path}: is not readable as YAML") from error
    return tree


class _Builder:
    """Turns the parser's events into a `Tree`."""

    def __init__(self, tree: Tree, events: Iterator[Any]) -> None:
        self.tree, self.events, self.nodes = tree, events, 0

    def run(self) -> None:
        """Fill the tree with the one document of the stream."""
        next(self.events)  # start of the stream
        start = next(self.events)
        if type(start).__name__ != "DocumentStartEvent":
            raise NotReadable(f"{self.tree.path}: is empty, expected a case or a unit")
        if start.version or start.tags:
            raise self.refuse(start, "starts with a % directive; leave it out")
        self.tree.lines[()] = 1
        self.tree.data = self.node(next(self.events), ())
        next(self.events)  # end of the document
        after = next(self.events)
        if type(after).__name__ != "StreamEndEvent":
            raise self.refuse(after, "holds a second document; one file is one case or unit")

    def refuse(self, event: Any, text: str) -> NotReadable:
        """The error that stops the reading at the event's line."""
        return NotReadable(f"{self.tree.path}:{event.start_mark.line + 1}: {text}")

    def node(self, event: Any, where: KeyPath) -> object:
        """The plain value that begins with the event; notes its lines and faults."""
        self.nodes += 1
        if self.nodes > MAX_NODES:
            raise self.refuse(event, f"holds more than {MAX_NODES} values, the limit for a file")
        if len(where) >= MAX_DEPTH:
            raise self.refuse(event, f"is nested deeper than {MAX_DEPTH} levels")
        kind, line = type(event).__name__, event.start_mark.line + 1
        tree = self.tree
        # an empty value has no place of its own, a group or list is best found by its key
        says_something = kind == "ScalarEvent" and (event.value or event.style)
        tree.lines[where] = line if says_something else tree.key_lines.get(where, line)
        if kind == "AliasEvent":
            tree.spoiled.add(where)
            tree.say(
                where, f"aliases (*{shown(event.anchor)}) are not allowed; write the value out"
            )
            return None
        if event.anchor:
            tree.say(where, f"anchors (&{shown(event.anchor)}) are not allowed; leave it out", line)
        if event.tag:
            tree.spoiled.add(where)
            tree.say(where, f"tags ({shown(str(event.tag))}) are not allowed; leave it out", line)
        if kind == "ScalarEvent":
            return event.value if event.style or event.tag else plain_value(event.value)
        return self.sequence(where) if kind == "SequenceStartEvent" else self.mapping(where)

    def sequence(self, where: KeyPath) -> list[object]:
        """The list whose items follow."""
        found: list[object] = []
        while type(event := next(self.events)).__name__ != "SequenceEndEvent":
            found.append(self.node(event, (*where, len(found))))
        return found

    def mapping(self, where: KeyPath) -> dict[str, object]:
        """The group of keys that follows; a key said twice is a fault, the first one stands."""
        found: dict[str, object] = {}
        while type(event := next(self.events)).__name__ != "MappingEndEvent":
            line = event.start_mark.line + 1
            if type(event).__name__ != "ScalarEvent":
                raise self.refuse(event, "a key must be plain text")
            if event.anchor or event.tag:
                self.tree.say(where, "a key must be plain text without anchor or tag", line)
            key: str = event.value
            below = (*where, key)
            if key == "<<":
                self.tree.say(below, "merging with << is not allowed; write the keys out", line)
                self.tree.spoiled.add(below)
            if key in found:
                first = self.tree.key_lines[below]
                self.tree.say(below, f"is given twice, first in line {first}", line)
                self.skip(next(self.events), below)
                continue
            self.tree.key_lines[below] = line
            found[key] = self.node(next(self.events), below)
        return found

    def skip(self, event: Any, where: KeyPath) -> None:
        """Read over a value; the limits hold, its lines and faults are dropped."""
        kept, self.tree = self.tree, Tree(self.tree.path)
        self.node(event, where)
        self.tree = kept


def plain_value(text: str) -> object:
    """What an unquoted word stands for in YAML 1.2: nothing, truth, number or the text itself."""
    if text in WORDS:
        return WORDS[text]
    if INTEGER.fullmatch(text) and len(text) <= 16:
        return int(text)
    if FLOAT.fullmatch(text):
        return float(text)
    return text


def _writer() -> YAML:
    from ruamel.yaml import YAML

    yaml = YAML(typ="rt", pure=True)
    yaml.preserve_quotes = True
    yaml.width = LINE_WIDTH
    yaml.indent(mapping=2, sequence=4, offset=2)
    return yaml


def load_document(path: Path) -> Any:
    """The file as a document that remembers comments, order and quotes; change it, then `dump`.

    Raises
    ------
    NotReadable
        As `read_tree`, and also if the file holds an alias, tag or repeated key: check it first.
    """
    text = read_text(path)
    tree = tree_of(text, str(path))
    if tree.faults:
        raise NotReadable(str(tree.faults[0]))
    return _writer().load(text.removeprefix("\ufeff").replace("\r\n", "\n"))


def dump(document: Any) -> str:
    """The document as YAML text with comments, order and quotes; unchanged files come out alike.

    Lists stand two blanks inside their key, as in the shipped files; a file that is laid out in
    another way keeps its meaning and comments, not its blanks.
    """
    from io import StringIO

    stream = StringIO()
    _writer().dump(document, stream)
    return stream.getvalue()

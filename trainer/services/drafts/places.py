"""Where every value of a YAML text stands, so that one can be changed and the rest stays."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from trainer.services.yaml_text import KeyPath

COMMENT = re.compile(r"(?:^|(?<=[ \t]))#[^\n]*", re.MULTILINE)


@dataclass(frozen=True, slots=True)
class Place:
    """Where a value stands, in characters from the start of the text.

    ``begins`` is where its key or its dash begins, ``after`` the place behind the colon or dash,
    ``start`` and ``end`` hold the value itself. ``column`` is that of the key or dash. ``style`` is
    the quote or the sign of a block of text, ``[`` or ``{`` for a list or group in brackets, ``-``
    or ``:`` for one in lines, and empty for a plain word. ``bracketed`` says that it stands within
    brackets.
    """

    begins: int
    after: int
    start: int
    end: int
    column: int
    style: str
    bracketed: bool


@dataclass(slots=True)
class Places:
    """The places of a text by key path; ``words`` are the spans of all keys and scalars.

    They are kept for the next change of the same text, so nobody may change them.
    """

    text: str
    by_path: dict[KeyPath, Place] = field(default_factory=dict)
    words: list[tuple[int, int]] = field(default_factory=list)

    def comments(self, start: int, end: int) -> list[str]:
        """The comments between two places, without those signs in values that look like one."""
        found = []
        match = COMMENT.search(self.text, start, end)
        while match is not None:
            at, go_on = match.start(), match.end()
            word = next((high for low, high in self.words if low <= at < high), None)
            if word is None:
                found.append(match[0].rstrip())
            else:
                go_on = word
            match = COMMENT.search(self.text, go_on, end)
        return found

    def line_start(self, at: int) -> int:
        """Where the line of that place begins."""
        return self.text.rfind("\n", 0, at) + 1

    def line_end(self, at: int) -> int:
        """Where the line of that place ends, before its line break."""
        found = self.text.find("\n", at)
        return len(self.text) if found < 0 else found


@lru_cache(maxsize=8)
def places_of(text: str) -> Places:
    """The places of everything in a text that `yaml_text.tree_of` reads."""
    from ruamel.yaml import YAML

    found = Places(text)
    events = iter(YAML(typ="safe", pure=True).parse(text))
    next(events)  # start of the stream
    next(events)  # start of the document
    _Finder(found, events).node(next(events), (), _Before(0, 0, 0), bracketed=False)
    return found


@dataclass(frozen=True, slots=True)
class _Before:
    """What stands before a value: its key or dash."""

    begins: int
    after: int
    column: int


class _Finder:
    """Walks through the parser's events and notes places."""

    def __init__(self, found: Places, events: Iterator[Any]) -> None:
        self.found, self.events, self.text = found, events, found.text

    def node(self, event: Any, where: KeyPath, before: _Before, bracketed: bool) -> int:
        """Note the value that begins with the event and what is in it; where it ends."""
        kind, start = type(event).__name__, event.start_mark.index
        if kind == "SequenceStartEvent":
            style, end = self.sequence(event, where, bracketed)
        elif kind == "MappingStartEvent":
            style, end = self.mapping(event, where, bracketed)
        else:
            style, end = self.scalar(event)
            if start == end and not style:
                start = end = before.after  # nothing is said; the parser tells a place further on
            self.found.words.append((start, end))
        self.found.by_path[where] = Place(
            before.begins, before.after, start, end, before.column, style, bracketed
        )
        return end

    def scalar(self, event: Any) -> tuple[str, int]:
        """Style and end of a scalar; blank lines below a block of text are not part of it."""
        start, end = event.start_mark.index, event.end_mark.index
        style = getattr(event, "style", None) or ""
        if style in ("|", ">"):
            end = start + len(self.text[start:end].rstrip())
        return style, end

    def sequence(self, event: Any, where: KeyPath, bracketed: bool) -> tuple[str, int]:
        """Style and end of a list whose items follow."""
        flow, column = bool(event.flow_style), event.start_mark.column
        end = event.start_mark.index
        number = 0
        while type(below := next(self.events)).__name__ != "SequenceEndEvent":
            at = below.start_mark.index
            dash = at if flow else self.dash(at, column)
            before = _Before(dash, dash if flow else dash + 1, column)
            end = self.node(below, (*where, number), before, bracketed or flow)
            number += 1
        return ("[", below.end_mark.index) if flow else ("-", end)

    def dash(self, at: int, column: int) -> int:
        """The dash in that column that stands before the place."""
        line = self.found.line_start(at)
        while self.text[line + column : line + column + 1] != "-" or line + column > at:
            if line == 0:
                return at
            line = self.found.line_start(line - 1)
        return line + column

    def mapping(self, event: Any, where: KeyPath, bracketed: bool) -> tuple[str, int]:
        """Style and end of a group whose keys follow; of a repeated key the first place stays."""
        flow = bool(event.flow_style)
        end = event.start_mark.index
        while type(key := next(self.events)).__name__ != "MappingEndEvent":
            begins, ends = key.start_mark.index, key.end_mark.index
            self.found.words.append((begins, ends))
            colon = self.text.find(":", ends)
            before = _Before(begins, colon + 1, key.start_mark.column)
            path = (*where, key.value)
            kept = {p: q for p, q in self.found.by_path.items() if p[: len(path)] == path}
            end = self.node(next(self.events), path, before, bracketed or flow)
            self.found.by_path |= kept
        return ("{", key.end_mark.index) if flow else (":", end)

"""Values as YAML text, laid out as the shipped files are."""

from __future__ import annotations

import re
from typing import Any

from trainer.services.yaml_text import plain_value

WIDTH = 100  # columns of a shipped file
LONG = 60  # a text longer than this stands in lines of its own
# Words that other readers take for a truth, and signs that begin something else in YAML.
TRUTHS = frozenset(("yes", "no", "on", "off", "y", "n"))
BEGINS_PLAIN = re.compile(r"[^\W_].*[^\W\d_]|[^\W\d_]")
BEGINS_NUMBER = re.compile(r"0[xob]|\d+[-:]\d")
IN_BRACKETS = re.compile(r"[^\W\d_][\w-]*")
ODD_IN_PLAIN = re.compile(r": |:$| #")


def spelled(value: Any, column: int, style: str = "") -> str:
    """What follows the colon of a key in that column, or the dash of an item.

    ``style`` is that of the value before (see `places.Place`); quotes and brackets are kept.
    """
    if isinstance(value, dict):
        if not value:
            return " {}"
        pad = "\n" + " " * (column + 2)
        return "".join(f"{pad}{key}:{spelled(below, column + 2)}" for key, below in value.items())
    if isinstance(value, list):
        return _list(value, column, style)
    return " " + scalar(value, column, style)


def item(value: Any, column: int) -> str:
    """What follows the dash of an item in that column; a group begins beside its dash."""
    text = spelled(value, column)
    pad = "\n" + " " * (column + 2)
    return " " + text.removeprefix(pad) if isinstance(value, dict) and value else text


def _list(value: list[Any], column: int, style: str) -> str:
    if not any(isinstance(v, (dict, list)) for v in value):
        flow = " [" + ", ".join(_in_brackets(v) for v in value) + "]"
        # room for the key before it
        fits = column + len(flow) <= WIDTH - 30
        if not value or style == "[" or (style != "-" and fits):
            return flow
    pad = "\n" + " " * (column + 2) + "-"
    return "".join(pad + item(v, column + 2) for v in value)


def _in_brackets(value: Any) -> str:
    if isinstance(value, str):
        sure = IN_BRACKETS.fullmatch(value) and _is_plain(value)
        return value if sure else _quoted(value)
    return scalar(value, 0)


def scalar(value: Any, column: int, style: str = "") -> str:
    """A truth, a number or a text; long texts stand in lines of their own below the key."""
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (int, float)):
        return repr(value).removesuffix(".0")
    text = str(value)
    wanted = style in (">", "|") or "\n" in text or len(text) > LONG
    if wanted and _foldable(text):
        return ">-" + _folded(text, column + 2)
    if style == '"':
        return _escaped(text)
    if style != "'" and _is_plain(text):
        return text
    return _quoted(text)


def _is_plain(text: str) -> bool:
    """Whether the text means itself without quotes, to this program and to others."""
    return (
        bool(BEGINS_PLAIN.match(text))
        and BEGINS_NUMBER.match(text) is None
        and text.isprintable()
        and text == text.strip()
        and ODD_IN_PLAIN.search(text) is None
        and plain_value(text) == text
        and text.lower() not in TRUTHS
    )


def _quoted(text: str) -> str:
    if text.isprintable():
        return "'" + text.replace("'", "''") + "'"
    return _escaped(text)


def _escaped(text: str) -> str:
    signs = {"\\": "\\\\", '"': '\\"', "\n": "\\n", "\t": "\\t"}
    found = (signs.get(c) or (c if c.isprintable() else f"\\U{ord(c):08x}") for c in text)
    return '"' + "".join(found) + '"'


def _foldable(text: str) -> bool:
    """Whether folding keeps the text: no blanks at the edges of its lines, none doubled."""
    lines = text.split("\n")
    return (
        bool(lines[0] and lines[-1])
        and all(line == line.strip() and "  " not in line for line in lines)
        and text.replace("\n", "").isprintable()
    )


def _folded(text: str, column: int) -> str:
    """The text in lines that end before the file's width, each after a line break."""
    pad = "\n" + " " * column
    found = []
    for paragraph in text.split("\n"):
        line = ""
        for word in paragraph.split(" "):
            if line and column + len(line) + 1 + len(word) > WIDTH:
                found.append(pad + line)
                line = word
            else:
                line = f"{line} {word}" if line else word
        found.append(pad + line if line else "")
        found.append("\n")
    return "".join(found[:-1])

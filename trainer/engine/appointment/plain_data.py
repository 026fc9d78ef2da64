"""Commands and events as plain data (what JSON can hold), and back. Closed and strict.

A command is its name in small letters with hyphens under ``do``, and its fields by their names:
``{"do": "ask-identity", "at_s": 12.5, "item": "name", "open_question": true}``. Fields with a
default may be left out. Anything that is not expected is refused, every fault at once.
"""

from __future__ import annotations

import hashlib
import json
import re
import sys
import types
from collections.abc import Iterable, Mapping
from dataclasses import MISSING, fields, is_dataclass
from enum import Enum
from functools import cache
from typing import Any, TypeVar, Union, get_args, get_origin, get_type_hints

from trainer.errors import Fault, NotValid
from trainer.models.appointment_commands import COMMANDS, Command
from trainer.models.appointment_events import Effect, Event

# What a fault calls the kinds of value.
NAMES = {float: "a finite number", int: "a whole number", bool: "true or false", str: "a text"}
Plain = Any  # None, bool, int, float, str, list or dict of such


def name_of(kind: type) -> str:
    """The name of a command or event in files: ``AskIdentity`` is ``ask-identity``."""
    return re.sub(r"(?<!^)(?=[A-Z])", "-", kind.__name__).lower()


Made = TypeVar("Made")
KINDS: dict[str, type[Command]] = {name_of(kind): kind for kind in COMMANDS}


def command_to_data(command: Command) -> dict[str, Plain]:
    """The command as plain data."""
    return {"do": name_of(type(command)), **_fields_to_data(command)}


def command_from_data(data: object, path: str = "command", line: int = 0) -> Command:
    """The command that the data stand for.

    Raises
    ------
    NotValid
        With every fault: key, what was expected, what was found.
    """
    if not isinstance(data, Mapping):
        raise NotValid([Fault(path, line, "", f"must be an object, got {_kind(data)}")])
    name = data.get("do")
    kind = KINDS.get(name) if isinstance(name, str) else None
    if kind is None:
        text = f"must be one of {', '.join(KINDS)}, got {name!r}"
        raise NotValid([Fault(path, line, "do", text)])
    rest = {key: value for key, value in data.items() if key != "do"}
    return from_data(kind, rest, path, line)


def from_data(kind: type[Made], data: object, path: str, line: int = 0) -> Made:
    """Any frozen dataclass of the appointment's models from plain data: `to_data` the other way.

    For a visit's script or local rules in a case file. ``path`` and ``line`` go into faults.

    Raises
    ------
    NotValid
        With every fault: key, what was expected, what was found.
    """
    if not isinstance(data, Mapping):
        raise NotValid([Fault(path, line, "", f"must be an object, got {_kind(data)}")])
    reader = _Reader(path, line)
    found = reader.object(kind, data, "")
    if reader.faults:
        raise NotValid(reader.faults)
    assert isinstance(found, kind)
    return found


def event_to_data(event: Event | Effect) -> dict[str, Plain]:
    """The event or effect as plain data, under ``happened`` instead of ``do``."""
    return {"happened": name_of(type(event)), **_fields_to_data(event)}


def events_digest(before: str, events: Iterable[Event]) -> str:
    """SHA-256 over the digest before and the events' plain data, as hexadecimal digits."""
    found = hashlib.sha256(before.encode("ascii"))
    for event in events:
        found.update(canonical(event_to_data(event)).encode("utf-8"))
    return found.hexdigest()


def canonical(data: Plain) -> str:
    """The one way to write plain data as JSON: ASCII, keys in order, no spaces, no NaN."""
    return json.dumps(data, sort_keys=True, separators=(",", ":"), allow_nan=False)


def to_data(value: object) -> Plain:
    """Any value of this package as plain data."""
    if isinstance(value, Enum):
        return value.value
    if is_dataclass(value) and not isinstance(value, type):
        return _fields_to_data(value)
    if isinstance(value, Mapping):
        return {str(to_data(k)): to_data(v) for k, v in value.items()}
    if isinstance(value, frozenset):
        return sorted(to_data(v) for v in value)
    if isinstance(value, tuple | list):
        return [to_data(v) for v in value]
    return value


def _fields_to_data(value: Any) -> dict[str, Plain]:
    return {f.name: to_data(getattr(value, f.name)) for f in fields(value)}


class _Reader:
    """Reads plain data into dataclasses and gathers every fault on the way."""

    def __init__(self, path: str, line: int) -> None:
        self.faults: list[Fault] = []
        self._path, self._line = path, line

    def say(self, key: str, text: str) -> None:
        """One more fault."""
        self.faults.append(Fault(self._path, self._line, key, text))

    def object(self, kind: Any, data: Mapping[str, object], at: str) -> object:
        """A dataclass; None when there are faults."""
        hints, known, before = _hints(kind), fields(kind), len(self.faults)
        names = [f.name for f in known]
        for key in data:
            if key not in names:
                self.say(f"{at}{key}", f"unknown; expected {', '.join(names)}")
        values = {}
        for f in known:
            key, hint = f"{at}{f.name}", hints[f.name]
            if f.name in data:
                values[f.name] = self.value(hint, data[f.name], key)
            elif f.default is MISSING and f.default_factory is MISSING:
                self.say(key, f"missing; {_expected(hint)}")
        if len(self.faults) > before:
            return None
        try:
            return kind(**values)
        except NotValid as error:
            for fault in error.faults:
                self.say(f"{at}{fault.key}", fault.text)
            return None

    def value(self, hint: Any, data: Any, key: str) -> Any:
        """A value of the hinted type; None, and a fault, when it is none."""
        origin, args = get_origin(hint), get_args(hint)
        if origin in (Union, types.UnionType):
            kinds = [a for a in args if a is not type(None)]
            if data is None and len(kinds) < len(args):
                return None
            if len(kinds) == 1:
                return self.value(kinds[0], data, key)
            if any(_is_plain(k, data) for k in kinds):
                return data
        elif origin in (tuple, frozenset) and isinstance(data, list):
            kinds = list(args) if _is_fixed(hint) else [args[0]] * len(data)
            if len(kinds) == len(data):
                pairs = enumerate(zip(kinds, data, strict=True))
                return origin(self.value(k, d, f"{key}[{i}]") for i, (k, d) in pairs)
        elif origin is Mapping and isinstance(data, dict) and all(type(k) is str for k in data):
            return {
                self.value(args[0], k, f"{key}.{k}"): self.value(args[1], v, f"{key}.{k}")
                for k, v in data.items()
            }
        elif is_dataclass(hint) and isinstance(data, dict):
            return self.object(hint, data, f"{key}.")
        elif _is_enum(hint) and data in [m.value for m in hint]:
            return hint(data)
        elif _is_plain(hint, data):
            return float(data) if hint is float else data
        self.say(key, f"{_expected(hint)}, got {_shown(data)}")
        return None


@cache
def _hints(kind: type) -> dict[str, Any]:
    return get_type_hints(kind)


def _is_enum(hint: Any) -> bool:
    return isinstance(hint, type) and issubclass(hint, Enum)


def _is_fixed(hint: Any) -> bool:
    """Whether the hint is a tuple with a kind for each of its parts."""
    return get_origin(hint) is tuple and Ellipsis not in get_args(hint)


def _is_plain(hint: Any, data: Any) -> bool:
    """Whether the data are a truth value, a whole number, a text or a finite number, as hinted."""
    if hint is float:
        return type(data) in (int, float) and abs(data) <= sys.float_info.max
    return hint in NAMES and type(data) is hint


def _expected(hint: Any) -> str:
    origin, args = get_origin(hint), get_args(hint)
    if origin in (Union, types.UnionType):
        words = ["null" if a is type(None) else _expected(a)[len("must be ") :] for a in args]
        return f"must be {' or '.join(words)}"
    if _is_fixed(hint):
        return f"must be a list of {len(args)}"
    if origin in (tuple, frozenset):
        return f"must be a list, each {_expected(args[0])[len('must be ') :]}"
    if _is_enum(hint):
        return f"must be one of {', '.join(m.value for m in hint)}"
    if is_dataclass(hint) or origin is not None:
        return "must be an object"
    return f"must be {NAMES[hint]}"


def _kind(data: object) -> str:
    kinds = {dict: "an object", list: "a list", type(None): "null", **NAMES}
    return kinds.get(type(data), type(data).__name__)


def _shown(data: object) -> str:
    return repr(data) if isinstance(data, bool | int | float | str) else _kind(data)

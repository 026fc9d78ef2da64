"""What holds when a case leaves a key out: the defaults of the models that it is read into."""

from __future__ import annotations

import types
from dataclasses import MISSING, fields, is_dataclass
from enum import Enum
from functools import cache
from typing import Any, Union, get_args, get_origin, get_type_hints

from trainer.models.appointment_visit import Visit
from trainer.models.scenario import AttitudeLimits
from trainer.models.subject import Person
from trainer.services.person_io import POSTURE_KEYS, SIZE_KEYS
from trainer.services.yaml_text import KeyPath

# What the groups of a case file are read into, and the keys that the models call otherwise.
MODELS: dict[str, type] = {"visit": Visit, "subject": Person, "attitude": AttitudeLimits}
NAMES = {**SIZE_KEYS, **POSTURE_KEYS}


def usual_words(where: KeyPath) -> str:
    """The value that holds without the key at that place, in words; empty if none is fixed."""
    keys = tuple(part for part in where if isinstance(part, str))
    return _words(keys)


@cache
def _words(keys: tuple[str, ...]) -> str:
    kind: Any = MODELS.get(keys[0]) if len(keys) > 1 else None
    for n, key in enumerate(keys[1:], 2):
        if not is_dataclass(kind):
            return ""
        name = NAMES.get(key, key)
        found = next((f for f in fields(kind) if f.name == name), None)
        if found is None:
            return ""
        if n == len(keys):
            made = found.default_factory
            return _told(made() if made is not MISSING else found.default)
        kind = _inner(get_type_hints(kind)[name])
    return ""


def _inner(hint: Any) -> Any:
    """The class within an optional value or a tuple of such."""
    origin, inner = get_origin(hint), get_args(hint)
    if origin is tuple:
        return inner[0]
    if origin in (types.UnionType, Union):
        return next(kind for kind in inner if kind is not type(None))
    return hint


def _told(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Enum):
        return str(value.value).replace("-", " ")
    if isinstance(value, (int, float)):
        return f"{value:g}"
    return value if isinstance(value, str) else ""

"""A file against its JSON Schema, told in sentences with key and line."""

from __future__ import annotations

import difflib
import json
import math
import unicodedata
from collections.abc import Callable, Collection, Iterable, Sequence
from functools import cache
from pathlib import Path
from typing import Any

from trainer.errors import Fault, NotValid
from trainer.services.yaml_text import KeyPath, Tree, read_tree, shown

SCHEMA_FOLDER = Path(__file__).parent / "schemas"
TYPE_WORDS = {
    "number": "a number",
    "integer": "a whole number",
    "string": "text",
    "boolean": "true or false",
    "object": "a group of keys",
    "array": "a list",
    "null": "null",
}
UNIT_WORDS = {"mm": "mm", "deg": "deg", "um": "µm", "years": "years"}


def sound_tree(path: Path, faults_of: Callable[[Tree], Sequence[Fault]]) -> Tree:
    """The tree of a file that has no faults.

    Raises
    ------
    NotReadable
        If the file is missing, too large, or no YAML text.
    NotValid
        With every fault of the file.
    """
    tree = read_tree(path)
    faults = faults_of(tree)
    if faults:
        raise NotValid(faults)
    return tree


@cache
def schema_text(kind: str) -> str:
    """The JSON Schema of that kind of file (``case``, ``unit`` ...), as text."""
    return (SCHEMA_FOLDER / f"{kind}.schema.json").read_text(encoding="utf-8")


def near_hint(word: str, known: Iterable[str]) -> str:
    """``, did you mean 'x'?`` when a known word is near, else nothing."""
    near = difflib.get_close_matches(word[:100], list(known), n=1)
    return f", did you mean {near[0]!r}?" if near else ""


def got(value: object) -> str:
    """The value as a message shows it."""
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (int, float)):
        return f"{value:.10g}"
    if isinstance(value, str):
        return f"'{shown(value)}'"
    return "a list" if isinstance(value, list) else "a group of keys"


def schema_faults(tree: Tree, kind: str) -> None:
    """Add to ``tree.faults`` everything that breaks the schema of the kind; spoil what is wrong."""
    from jsonschema import Draft202012Validator

    _odd_values(tree, tree.data, ())
    validator = Draft202012Validator(json.loads(schema_text(kind)))
    for error in validator.iter_errors(tree.data):
        where: KeyPath = tuple(error.absolute_path)
        if tree.is_spoiled(where):
            continue
        _tell(tree, where, error)


def _odd_values(tree: Tree, value: object, where: KeyPath) -> None:
    """Find what JSON cannot say: infinite numbers, control characters, halves of a character."""
    if isinstance(value, dict):
        for key, below in value.items():
            _odd_values(tree, below, (*where, key))
    elif isinstance(value, list):
        for n, below in enumerate(value):
            _odd_values(tree, below, (*where, n))
    elif isinstance(value, float) and not math.isfinite(value):
        _spoil(tree, where, f"must be a finite number, got {value:g}")
    elif isinstance(value, str) and any(
        unicodedata.category(c) in ("Cc", "Cs") and c != "\n" for c in value
    ):
        _spoil(tree, where, f"must not hold control characters, got {got(value)}")


def _spoil(tree: Tree, where: KeyPath, text: str) -> None:
    if not tree.is_spoiled(where):
        tree.spoiled.add(where)
        tree.say(where, text)


def _tell(tree: Tree, where: KeyPath, error: Any) -> None:
    """Put one finding of the validator into words."""
    schema, value, rule = error.schema, error.instance, error.validator
    if rule == "additionalProperties":
        import re

        known = schema.get("properties", {})
        patterns = schema.get("patternProperties", {})
        missing = [key for key in known if key not in value]
        for key in value:
            if key in known or any(re.search(p, key) for p in patterns):
                continue
            place = (*where, key)
            if not tree.is_spoiled(place):
                hint = near_hint(key, missing) or near_hint(key, known)
                more = "" if hint else f"; known here: {', '.join(known)}"
                tree.say(place, f"unknown key{hint}{more}", tree.key_lines.get(place))
        return
    if rule == "required":
        key = error.message.split("'")[1]
        if not tree.is_spoiled((*where, key)):
            tree.say((*where, key), "is missing", tree.line(where))
        return
    if rule not in ("uniqueItems", "minItems", "minProperties"):
        tree.spoiled.add(where)
    if rule in ("minimum", "maximum", "exclusiveMinimum", "exclusiveMaximum"):
        text = f"must be {_range_words(schema, where)}, got {got(value)}"
    elif rule == "type":
        types = schema["type"] if isinstance(schema["type"], list) else [schema["type"]]
        text = f"must be {' or '.join(TYPE_WORDS[t] for t in types)}, got {got(value)}"
        if schema["type"] == "string" and isinstance(value, (int, float)):
            text += " (put it in quotes)"
    elif rule == "enum":
        choices = [str(c) for c in schema["enum"]]
        hint = near_hint(value, choices) if isinstance(value, str) else ""
        text = f"must be one of {', '.join(choices)}; got {got(value)}{hint}"
    elif rule == "const":
        text = f"must be {schema['const']}, got {got(value)}"
    elif rule == "pattern":
        text = f"must be {schema['description']}, got {got(value)}"
    elif rule in ("minLength", "maxLength"):
        least, most = schema.get("minLength", 0), schema["maxLength"]
        text = f"must be {least} to {most} characters long, got {len(value)}"
    elif rule in ("minItems", "maxItems"):
        least, most = schema.get("minItems", 0), schema["maxItems"]
        text = f"must hold {least} to {most} entries, got {len(value)}"
    elif rule == "minProperties":
        text = f"must hold at least one of {', '.join(schema['properties'])}"
    elif rule == "uniqueItems":
        twice = next(v for n, v in enumerate(value) if v in value[:n])
        place = (*where, max(n for n, v in enumerate(value) if v == twice))
        tree.say(place, f"{got(twice)} is listed twice")
        return
    else:
        raise AssertionError(f"the schema uses {rule!r}, which has no sentence here")
    tree.say(where, text)


def unit_word(key: object) -> str:
    """The unit that a key carries as its last part, with a blank before it, or nothing."""
    last = str(key).rsplit("_", 1)[-1]
    return f" {UNIT_WORDS[last]}" if last in UNIT_WORDS else ""


def _range_words(schema: dict[str, Any], where: KeyPath) -> str:
    # lowest, highest and step of a travel have the unit of the control above them
    unit = next((u for part in reversed(where) if (u := unit_word(part))), "")
    low, high = schema.get("minimum"), schema.get("maximum")
    above = schema.get("exclusiveMinimum")
    if above is not None:
        return f"above {above:g}{unit}" + (f" and at most {high:g}{unit}" if high else "")
    if high is None:
        return f"at least {low:g}{unit}"
    return f"{low:g} to {high:g}{unit}"


def name_fault(tree: Tree, where: KeyPath, value: str, known: Collection[str], what: str) -> bool:
    """Whether the name is unknown; then the fault is noted with the nearest known one."""
    if value in known:
        return False
    hint = near_hint(value, known) or f"; there are {', '.join(sorted(known)[:12])}"
    tree.say(where, f"unknown {what} {got(value)}{hint}")
    return True


def in_order(tree: Tree) -> tuple[Fault, ...]:
    """The tree's faults from top to bottom."""
    return tuple(sorted(tree.faults, key=lambda f: (f.line, f.key, f.text)))


def known(tree: Tree, *where: str | int) -> Any:
    """The value at that place, or nothing if it is missing or was found to be wrong."""
    value: Any = tree.data
    if tree.is_spoiled(where):
        return None
    for part in where:
        if isinstance(part, str) and isinstance(value, dict):
            value = value.get(part)
        elif isinstance(part, int) and isinstance(value, list) and part < len(value):
            value = value[part]
        else:
            return None
    return value


def numbers(tree: Tree, base: KeyPath, *keys: str) -> list[float] | None:
    """The values of the keys below that place, or nothing unless all are there and numbers."""
    found = [known(tree, *base, key) for key in keys]
    if all(isinstance(v, (int, float)) and not isinstance(v, bool) for v in found):
        return found
    return None


def entries(tree: Tree, *where: str) -> range:
    """The indices of the list at that place; empty if there is no list."""
    value = known(tree, *where)
    return range(len(value)) if isinstance(value, list) else range(0)


def repeated_ids(tree: Tree, *where: str) -> None:
    """Tell every ``id`` of the list at that place that was used before."""
    first: dict[str, int] = {}
    for n in entries(tree, *where):
        name = known(tree, *where, n, "id")
        if not isinstance(name, str):
            continue
        if name in first:
            line = tree.line((*where, first[name], "id"))
            tree.say((*where, n, "id"), f"{got(name)} is used twice, first in line {line}")
        else:
            first[name] = n

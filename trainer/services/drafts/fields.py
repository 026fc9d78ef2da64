"""What a file of a kind may say: every field with label, unit, range and choices, from its schema.

Forms are made from these, so that nothing about a file is written down twice.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cache
from typing import Any

from trainer.models.controls import CONTROLS
from trainer.services.file_check import UNIT_WORDS, schema_text
from trainer.services.yaml_text import KeyPath

# Texts that may be longer than this are written in several lines.
ONE_LINE = 100
TOOTH_WORDS = "FDI number"


class FieldKind(StrEnum):
    """How a field is filled in."""

    TEXT = "text"
    LONG_TEXT = "long-text"
    TEXTS = "texts"
    NUMBER = "number"
    WHOLE = "whole"
    CHOICE = "choice"
    SWITCH = "switch"
    SEVERAL = "several"
    TEETH = "teeth"
    NAMES = "names"
    NUMBERS = "numbers"
    NUMBER_LIST = "number-list"
    GROUP = "group"
    ROWS = "rows"


@dataclass(frozen=True, slots=True)
class Field:
    """One field of a file.

    ``where`` leads to it from the top; within a list of groups, from the row. ``unit`` is a word
    such as ``mm``, ``lowest`` and ``highest`` bound a number or the length of a text or list, and
    ``above`` says that the lowest itself is out. ``parts`` are the fields of a group or of a row.
    ``as_text`` says that tooth numbers are written as texts, ``count`` how many numbers there are
    at least,
    ``usual`` what holds when it is left out.
    """

    where: KeyPath
    kind: FieldKind
    label: str
    must: bool = False
    unit: str = ""
    lowest: float | None = None
    highest: float | None = None
    above: bool = False
    choices: tuple[str, ...] = ()
    hint: str = ""
    parts: tuple[Field, ...] = ()
    as_text: bool = False
    count: int = 0
    usual: str = ""

    @property
    def key(self) -> str:
        """The field's own key; empty for the whole file."""
        return str(self.where[-1]) if self.where else ""

    def part(self, *keys: str) -> Field:
        """The field below it by keys; `LookupError` if there is none."""
        found = self
        for key in keys:
            found = next(p for p in found.parts if p.key == key)
        return found

    def range_words(self) -> str:
        """Unit and range as a person reads them: ``mm, 0 to 20``; empty if there are none."""
        low, high = self.lowest, self.highest
        if self.kind in (FieldKind.TEXT, FieldKind.LONG_TEXT):
            return f"up to {high:g} characters" if high is not None else ""
        numbers = (FieldKind.NUMBER, FieldKind.WHOLE, FieldKind.NUMBERS, FieldKind.NUMBER_LIST)
        if self.kind not in numbers:
            return ""
        words = ""
        if self.choices:
            words = f"one of {', '.join(self.choices)}"
        elif low is not None and high is not None:
            words = f"above {low:g}, up to {high:g}" if self.above else f"{low:g} to {high:g}"
        return ", ".join(filter(None, (self.unit, words)))


@cache
def schema_of(kind: str) -> Mapping[str, Any]:
    """The JSON Schema of that kind of file as plain data."""
    found: Mapping[str, Any] = json.loads(schema_text(kind))
    return found


@cache
def fields_of(kind: str) -> Field:
    """The whole file as one group of fields."""
    schema = schema_of(kind)
    return _field((), schema, schema, must=True)


def order_of(kind: str, where: KeyPath) -> tuple[str, ...]:
    """The keys of the group at that place in the order of its schema."""
    found: Field | None = fields_of(kind)
    for part in where:
        if isinstance(part, str) and found is not None:
            found = next((p for p in found.parts if p.key == part), None)
    if found is None:
        return ()
    return ("en", "de") if found.kind is FieldKind.TEXTS else tuple(p.key for p in found.parts)


def field_at(kind: str, where: KeyPath) -> Field | None:
    """The field at that place; for a row's, with its whole path. ``None`` if there is none."""
    found = fields_of(kind)
    for n, part in enumerate(where):
        if isinstance(part, int):
            continue
        below = next((p for p in found.parts if p.key == part), None)
        if below is None:
            return None
        found = replace(below, where=where[: n + 1])
    return found


def blank(field: Field) -> Any:
    """A value that the field may begin with: what must be there, as little as possible."""
    match field.kind:
        case FieldKind.GROUP:
            return {p.key: blank(p) for p in field.parts if p.must}
        case FieldKind.NUMBER | FieldKind.WHOLE:
            low = field.lowest if field.lowest is not None else 0.0
            start = max(low, min(0.0, field.highest if field.highest is not None else 0.0))
            step = 1.0 if field.above else 0.0
            return int(start + step)
        case FieldKind.CHOICE:
            return field.choices[0]
        case FieldKind.SWITCH:
            return False
        case FieldKind.TEXTS:
            return {"en": "…"}
        case FieldKind.NUMBERS | FieldKind.NUMBER_LIST:
            return [int(field.lowest or 0)] * field.count
        case FieldKind.ROWS:
            return [{p.key: blank(p) for p in field.parts if p.must}] if field.must else []
        case FieldKind.SEVERAL | FieldKind.TEETH | FieldKind.NAMES:
            return []
        case _:
            return "…" if field.lowest else ""


def _field(
    where: KeyPath, schema: Mapping[str, Any], whole: Mapping[str, Any], must: bool
) -> Field:
    """The field that a part of the schema describes."""
    reference = str(schema.get("$ref", "")).rsplit("/", 1)[-1]
    if reference:
        schema = {**whole["$defs"][reference], **schema}
    label, unit = _label_and_unit(where)
    found = Field(where, FieldKind.TEXT, label, must, unit, hint=str(schema.get("description", "")))
    if reference == "texts":
        return replace(found, kind=FieldKind.TEXTS)
    kind = schema.get("type")
    if "enum" in schema:
        return replace(found, kind=FieldKind.CHOICE, choices=tuple(map(str, schema["enum"])))
    if "const" in schema:
        return replace(found, kind=FieldKind.CHOICE, choices=(str(schema["const"]),))
    if kind == "boolean":
        return replace(found, kind=FieldKind.SWITCH)
    if kind in ("number", "integer"):
        low = schema.get("exclusiveMinimum", schema.get("minimum"))
        return replace(
            found,
            kind=FieldKind.NUMBER if kind == "number" else FieldKind.WHOLE,
            lowest=low, highest=schema.get("maximum"), above="exclusiveMinimum" in schema,
        )  # fmt: skip
    if kind == "object":
        parts = schema.get("properties", {})
        needed = schema.get("required", ())
        below = tuple(_field((*where, k), p, whole, k in needed) for k, p in parts.items())
        return replace(found, kind=FieldKind.GROUP, parts=below)
    if kind == "array":
        return _list_field(found, schema, whole)
    most = schema.get("maxLength")
    long = most is not None and most > ONE_LINE
    return replace(
        found,
        kind=FieldKind.LONG_TEXT if long else FieldKind.TEXT,
        lowest=schema.get("minLength"), highest=most,
    )  # fmt: skip


def _list_field(found: Field, schema: Mapping[str, Any], whole: Mapping[str, Any]) -> Field:
    items = schema["items"]
    reference = str(items.get("$ref", "")).rsplit("/", 1)[-1]
    items = {**whole["$defs"].get(reference, {}), **items}
    bounds = replace(found, lowest=schema.get("minItems"), highest=schema.get("maxItems"))
    about = str(items.get("description", "")) + found.hint
    if TOOTH_WORDS in about:
        return replace(bounds, kind=FieldKind.TEETH, as_text=items.get("type") == "string")
    if items.get("type") == "object":
        row = _field((), items, whole, must=True)
        return replace(bounds, kind=FieldKind.ROWS, parts=row.parts)
    one = _field(found.where, items, whole, must=True)
    if one.kind is FieldKind.CHOICE:
        return replace(bounds, kind=FieldKind.SEVERAL, choices=one.choices)
    if one.kind is FieldKind.NUMBER or one.kind is FieldKind.WHOLE:
        fixed = schema["minItems"] == schema.get("maxItems")
        kind = FieldKind.NUMBERS if fixed else FieldKind.NUMBER_LIST
        return replace(
            found,
            kind=kind,
            lowest=one.lowest, highest=one.highest, count=int(schema["minItems"]),
        )  # fmt: skip
    return replace(bounds, kind=FieldKind.NAMES)


def _label_and_unit(where: KeyPath) -> tuple[str, str]:
    """A key in words and its unit: ``chin_standing_mm`` is "Chin standing" in mm."""
    key = str(where[-1]) if where else ""
    words = key.split("_")
    unit = ""
    if len(words) > 1 and words[-1] in (*UNIT_WORDS, "sd", "s"):
        unit = {"sd": "standard deviations", "s": "s"}.get(words[-1]) or UNIT_WORDS[words[-1]]
        words = words[:-1]
    elif len(where) > 1 and str(where[-2]).rpartition("_")[2] in UNIT_WORDS:
        unit = UNIT_WORDS[str(where[-2]).rpartition("_")[2]]  # of a group with a unit in its name
    control = next((c.label for c in CONTROLS if c.key == key), None)
    if control is not None and where[:1] == ("start",):
        return control, unit
    text = " ".join(words).replace("-", " ")
    return text[:1].upper() + text[1:], unit

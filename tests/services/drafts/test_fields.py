"""Fields of a case, from its schema."""

from __future__ import annotations

import json
from collections.abc import Iterator

import pytest

from trainer.services.assets import SCENARIOS
from trainer.services.drafts.changes import data_of
from trainer.services.drafts.fields import (
    Field,
    FieldKind,
    field_at,
    fields_of,
    order_of,
    schema_of,
)
from trainer.services.file_check import UNIT_WORDS, schema_text


def every(field: Field) -> Iterator[Field]:
    """The field and all below it."""
    yield field
    for part in field.parts:
        yield from every(part)


@pytest.mark.parametrize("kind", ["case", "rules"])
def test_every_key_of_the_schema_is_a_field(kind: str) -> None:
    """No key of the file's top level is left out, and the order is the schema's."""
    keys = list(json.loads(schema_text(kind))["properties"])
    assert [part.key for part in fields_of(kind).parts] == keys
    assert order_of(kind, ()) == tuple(keys)


def test_every_number_tells_its_unit_and_range() -> None:
    """A key that ends in a unit has that unit, and a bounded number tells its range."""
    numbers = [f for f in every(fields_of("case")) if f.kind in (FieldKind.NUMBER, FieldKind.WHOLE)]
    assert len(numbers) > 25
    for field in numbers:
        ending = field.key.rsplit("_", 1)[-1]
        if "_" in field.key and ending in UNIT_WORDS:
            assert field.unit == UNIT_WORDS[ending]
        if field.lowest is not None and field.highest is not None:
            assert f"{field.highest:g}" in field.range_words()


def test_ranges_of_known_fields() -> None:
    """Bounds, unit and need of some fields are those of docs/case-files.md."""
    margin = fields_of("case").part("required", "margin_mm")
    assert (margin.unit, margin.lowest, margin.highest, margin.must) == ("mm", 0, 20, True)
    pitch = field_at("case", ("attitude", "pitch_deg"))
    assert pitch is not None
    assert pitch.range_words() == "deg, above 0, up to 45"
    age = field_at("case", ("subject", "age_years"))
    assert age is not None
    assert (age.kind, age.range_words(), age.must) == (FieldKind.WHOLE, "years, 6 to 100", False)
    direction = fields_of("case").part("visit", "scripted_motion", "direction")
    assert (direction.kind, direction.count) == (FieldKind.NUMBERS, 6)
    assert fields_of("case").part("subject", "mouth", "missing").kind is FieldKind.TEETH
    assert fields_of("case").part("visit", "card", "prescription", "teeth").as_text
    assert fields_of("case").part("visit", "traits").kind is FieldKind.SEVERAL
    assert fields_of("case").part("aim").kind is FieldKind.TEXTS


def test_every_place_of_every_shipped_case_has_a_field() -> None:
    """Whatever a shipped case says, there is a field for it."""

    def walk(value: object, where: tuple[str | int, ...]) -> Iterator[tuple[str | int, ...]]:
        if isinstance(value, dict):
            for key, below in value.items():
                yield (*where, key)
                yield from walk(below, (*where, key))
        elif isinstance(value, list):
            for n, below in enumerate(value):
                yield from walk(below, (*where, n))

    texts = {("title",), ("request",), ("aim",)}
    for path in SCENARIOS.glob("*.yaml"):
        for where in walk(data_of(path.read_text(encoding="utf-8")), ()):
            if where[:1] not in texts:
                assert field_at("case", where) is not None, (path.name, where)
    assert field_at("case", ("visit", "no_such_key")) is None


def test_the_schema_is_read_once() -> None:
    """The schema is the file's, and the same object for everybody."""
    assert schema_of("case") is schema_of("case")
    assert schema_of("case") == json.loads(schema_text("case"))

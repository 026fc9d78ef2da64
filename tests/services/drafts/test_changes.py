"""Changes of YAML texts: what was asked is said, everything else stays byte for byte."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trainer.errors import NotAllowedNow
from trainer.services.assets import SCENARIOS
from trainer.services.drafts.changes import (
    data_of,
    move_down,
    put_in,
    set_value,
    take_out,
    value_at,
)
from trainer.services.drafts.places import places_of
from trainer.services.yaml_text import KeyPath, dump, load_document, tree_of

# Cases, units, rules and command lists: every shipped file.
FILES = sorted(SCENARIOS.rglob("*.yaml"))
CASES = sorted(SCENARIOS.glob("*.yaml"))


@cache
def text_of(path: Path) -> str:
    """The text of a shipped file."""
    return path.read_text(encoding="utf-8")


@cache
def paths_of(path: Path) -> tuple[KeyPath, ...]:
    """Every place in a shipped file but the top."""
    return tuple(where for where in places_of(text_of(path)).by_path if where)


def comments_of(text: str) -> list[str]:
    """All comments of a text, in no order."""
    return sorted(places_of(text).comments(0, len(text)))


PLACES = st.sampled_from(CASES).flatmap(
    lambda path: st.tuples(st.just(text_of(path)), st.sampled_from(paths_of(path)))
)
WORDS = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cs", "Cc"]) | st.just("\n"), max_size=130
)
SCALARS = (
    st.booleans()
    | st.integers(-(10**9), 10**9)
    | st.floats(allow_nan=False, allow_infinity=False)
    | WORDS
    | st.sampled_from(
        ["48", "1990-01-01", "yes", "no", "null", "~", "0x40", "12:30", "a: b", "a #b", "- a", "#"]
    )
)
KEYS = st.from_regex(r"[a-z][a-z_]{0,8}", fullmatch=True)
VALUES = st.recursive(
    SCALARS,
    lambda below: st.lists(below, max_size=3) | st.dictionaries(KEYS, below, max_size=3),
    max_leaves=6,
)


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_reading_and_writing_is_byte_identical(path: Path) -> None:
    """Every shipped file comes out of the document's round trip as it went in."""
    assert dump(load_document(path)) == text_of(path)


@pytest.mark.parametrize("path", CASES, ids=lambda p: p.stem)
def test_every_place_holds_its_value(path: Path) -> None:
    """The characters at the place of every plain or quoted scalar read as the value there."""
    text = text_of(path)
    for where, place in places_of(text).by_path.items():
        value = value_at(data_of(text), where)
        if not isinstance(value, (dict, list)) and place.style not in (">", "|"):
            assert tree_of(text[place.start : place.end], "").data == value, where


@given(PLACES, VALUES)
@settings(max_examples=60)
def test_any_value_at_any_place(case: tuple[str, KeyPath], value: object) -> None:
    """Any value that is set is what the text says then; no comment is lost, the rest stays."""
    text, where = case
    changed = set_value(text, where, value)
    assert value_at(data_of(changed), where) == value
    assert type(value_at(data_of(changed), where)) in (type(value), int)
    assert comments_of(changed) == comments_of(text)


@given(PLACES, SCALARS)
@settings(max_examples=50)
def test_set_and_set_back(case: tuple[str, KeyPath], value: object) -> None:
    """A scalar that is changed and changed back leaves the file as it was, byte for byte."""
    text, where = case
    before = value_at(data_of(text), where)
    if isinstance(before, (dict, list)):
        return
    assert set_value(set_value(text, where, value, (), text), where, before, (), text) == text


@given(PLACES)
@settings(max_examples=50)
def test_taking_out(case: tuple[str, KeyPath]) -> None:
    """A key or item that is taken out is gone, its neighbours and every comment are there."""
    text, where = case
    changed = take_out(text, where)
    holder = value_at(data_of(text), where[:-1])
    if isinstance(holder, dict):
        rest: object = {key: v for key, v in holder.items() if key != where[-1]}
    else:
        rest = [v for n, v in enumerate(holder) if n != where[-1]]
    assert value_at(data_of(changed), where[:-1]) == rest
    assert comments_of(changed) == comments_of(text)


@given(st.sampled_from(CASES), st.data())
@settings(max_examples=40)
def test_items_come_and_go(path: Path, data: st.DataObject) -> None:
    """An item put into a list and taken out, or moved down and up, leaves the file as it was."""
    text = text_of(path)
    lists = [p for p in paths_of(path) if isinstance(value_at(data_of(text), p), list)]
    where = data.draw(st.sampled_from(lists))
    items = value_at(data_of(text), where)
    number = data.draw(st.integers(0, len(items)))
    longer = put_in(text, where, number, items[0] if items else "one")
    assert len(value_at(data_of(longer), where)) == len(items) + 1
    if items:
        assert take_out(longer, (*where, number)) == text
    if len(items) > 1:
        down = move_down(text, where, 0)
        assert value_at(data_of(down), where) == [items[1], items[0], *items[2:]]
        assert move_down(down, where, 0) == text


def test_a_new_key_stands_where_its_schema_has_it() -> None:
    """A key is put behind the last of those that come before it in the order given."""
    text = "a: 1  # one\nd: 4\n"
    order = ("a", "b", "c", "d")
    assert set_value(text, ("c",), 3, order) == "a: 1  # one\nc: 3\nd: 4\n"
    assert set_value("c: 3\n", ("a",), 1, order) == "a: 1\nc: 3\n"
    inner = set_value("g:\n  a: 1\n  # low\nd: 4\n", ("g", "b"), 2, order)
    assert inner == "g:\n  a: 1\n  b: 2\n  # low\nd: 4\n"
    whole = set_value("a: 1\n", ("b",), {"x": [1, 2]}, order)
    assert whole == "a: 1\n\nb:\n  x: [1, 2]\n"


def test_comments_of_what_goes_stay() -> None:
    """A comment beside or within what is taken out stays on a line of its own."""
    text = "a:\n  - x: 1  # first\n    # of y\n    y: 2\n  - x: 3\nb: 5  # five\n"
    assert take_out(text, ("a", 0)) == "a:\n  # first\n  # of y\n  - x: 3\nb: 5  # five\n"
    assert take_out(text, ("b",)).endswith("  - x: 3\n# five\n")
    flat = take_out(text, ("a", 0, "x"))
    assert flat.startswith("a:\n  # first\n  # of y\n  - y: 2\n")


def test_files_laid_out_in_another_way() -> None:
    """Brackets, quotes, blanks and folding of other hands are kept where nothing is changed."""
    text = "{a: 1, b: 'two'}\n"
    assert data_of(set_value(text, ("a",), 3)) == {"a": 3, "b": "two"}
    text = 'a:    "q"   # c\nb: [1,   2]\nc: >\n  one\n  two\n\n# end'
    changed = set_value(text, ("a",), "r")
    assert changed == text.replace('"q"', '"r"')
    assert set_value(text, ("c",), "x") == text.replace(">\n  one\n  two", ">-\n  x")
    assert set_value(text, ("b",), [1]) == text.replace("[1,   2]", "[1]")
    assert set_value("a:\nb: 2\n", ("a",), 1) == "a: 1\nb: 2\n"


def test_what_is_not_understood_is_refused() -> None:
    """A layout in which a change cannot be made is refused in words, and never half changed."""
    with pytest.raises(NotAllowedNow, match="text editor"):
        take_out("? a\n: b\nc: d\n", ("a",))
    with pytest.raises(NotAllowedNow, match="text editor"):
        set_value("a: [1]\n", ("a", "key"), 2)
    with pytest.raises(NotAllowedNow, match="text editor"):
        set_value("a: 1\n", ("b", "c"), 2)


def test_a_long_text_is_folded_within_the_width() -> None:
    """A long text stands below its key in lines of at most 100 columns, with its paragraphs."""
    words = " ".join(f"word{n}" for n in range(60))
    changed = set_value("t:\n  en: a\n", ("t", "en"), f"{words}\n{words}")
    assert value_at(data_of(changed), ("t", "en")) == f"{words}\n{words}"
    assert max(map(len, changed.split("\n"))) <= 100
    assert changed.startswith("t:\n  en: >-\n    word0 ")
    assert re.search(r"word59\n\n    word0", changed)

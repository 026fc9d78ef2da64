"""Changes of a YAML text: a value set, a key or an item put in or taken out, all else as it was.

Every function takes and returns a text. Comments are never lost: one that stands within what is
taken out stays, on a line of its own. `trainer.services.yaml_text` reads the texts; what it does
not read cannot be changed here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any

from trainer.errors import NotAllowedNow, NotReadable
from trainer.services.drafts.places import Place, Places, places_of
from trainer.services.drafts.spelling import item, spelled
from trainer.services.yaml_text import KeyPath, tree_of

ODD_LAYOUT = (
    "This file is laid out in a way in which this change cannot be made here. Nothing was changed; "
    "make it in a text editor."
)


@lru_cache(maxsize=8)
def data_of(text: str) -> Any:
    """The plain data of a text; kept for the next one who asks, so nobody may change them."""
    return tree_of(text, "").data


def value_at(data: Any, where: KeyPath) -> Any:
    """The value at that place of plain data; ``None`` when there is none."""
    for part in where:
        if isinstance(part, str) and isinstance(data, Mapping):
            data = data.get(part)
        elif isinstance(part, int) and isinstance(data, list) and part < len(data):
            data = data[part]
        else:
            return None
    return data


def set_value(
    text: str, where: KeyPath, value: Any, order: Sequence[str] = (), like: str = ""
) -> str:
    """The text with that value there; what holds it must be there.

    ``order`` are the keys of the group that holds it, as its schema lists them: a new key stands
    behind the last of those that come before it. ``like`` is an earlier text of the file; where it
    holds the same value at the same place, its spelling is taken.

    Raises
    ------
    NotAllowedNow
        If the layout of the file does not allow it.
    """
    places = places_of(text)
    if where not in places.by_path:
        if where[:-1] not in places.by_path:
            raise NotAllowedNow(ODD_LAYOUT)
        return _sure(_with_key(places, where, value, order), text, where, value)
    outer = _in_brackets(places, where)
    if outer is not None and outer != where:
        whole = _changed(value_at(data_of(text), outer), where[len(outer) :], value)
        return set_value(text, outer, whole, (), like)
    place = places.by_path[where]
    new = _earlier_spelling(like, where, value, place.column)
    if new is None:
        new = _spelled_at(place, value, text)
        gap = text[place.after : place.start]
        if gap and not gap.strip(" ") and not new.startswith("\n"):
            new = gap + new.lstrip(" ")
    lifted = places.comments(place.after, place.end)
    changed = text[: place.after] + new + text[place.end :]
    return _sure(_above(changed, places, place, lifted), text, where, value)


def take_out(text: str, where: KeyPath) -> str:
    """The text without that key or item; what holds it becomes ``{}`` or ``[]`` if it was the last.

    Raises
    ------
    NotAllowedNow
        If the layout of the file does not allow it.
    """
    places, above = places_of(text), where[:-1]
    holder = value_at(data_of(text), above)
    rest = _without(holder, where[-1])
    if not rest or _in_brackets(places, above) is not None:
        return set_value(text, above, rest)
    place = places.by_path[where]
    line, end = places.line_start(place.begins), places.line_end(place.end)
    beside = bool(text[line : place.begins].strip())
    if beside and isinstance(rest, list):
        return set_value(text, above, rest)
    if beside:
        # the first key beside a dash: the next one takes its place
        follower = places.by_path[(*above, next(iter(rest)))]
        lifted = places.comments(place.after, follower.begins)
        changed = text[: place.begins] + text[follower.begins :]
        return _sure(_above(changed, places, place, lifted), text, above, rest)
    pad = " " * place.column
    kept = "".join(f"{pad}{comment}\n" for comment in places.comments(line, end))
    return _sure(text[:line] + kept + text[end + 1 :], text, above, rest)


def put_in(text: str, where: KeyPath, number: int, value: Any) -> str:
    """The text with a new item at that number of the list.

    Raises
    ------
    NotAllowedNow
        If the layout of the file does not allow it.
    """
    places = places_of(text)
    items = list(value_at(data_of(text), where) or [])
    whole = [*items[:number], value, *items[number:]]
    if not items or _in_brackets(places, where) is not None:
        return set_value(text, where, whole)
    column = places.by_path[(*where, 0)].column
    new = " " * column + "-" + item(value, column) + "\n"
    if number < len(items):
        at = places.line_start(places.by_path[(*where, number)].begins)
    else:
        at = places.line_end(places.by_path[(*where, len(items) - 1)].end) + 1
        if at > len(text):
            text += "\n"
    return _sure(text[:at] + new + text[at:], text, where, whole)


def move_down(text: str, where: KeyPath, number: int) -> str:
    """The text with that item of the list and the next one changed about.

    Raises
    ------
    NotAllowedNow
        If the layout of the file does not allow it.
    """
    places = places_of(text)
    items = list(value_at(data_of(text), where))
    items[number : number + 2] = items[number + 1], items[number]
    if _in_brackets(places, where) is not None:
        return set_value(text, where, items)
    one, two = (places.by_path[(*where, n)] for n in (number, number + 1))
    first = slice(places.line_start(one.begins), places.line_end(one.end))
    second = slice(places.line_start(two.begins), places.line_end(two.end))
    between = text[first.stop : second.start]
    changed = text[: first.start] + text[second] + between + text[first] + text[second.stop :]
    return _sure(changed, text, where, items)


def _in_brackets(places: Places, where: KeyPath) -> KeyPath | None:
    """The outermost list or group in brackets around that place, itself included."""
    for length in range(len(where) + 1):
        if places.by_path[where[:length]].style in ("[", "{"):
            return where[:length]
    return None


def _changed(data: Any, where: KeyPath, value: Any) -> Any:
    """A copy of plain data with another value at that place."""
    if not where:
        return value
    if isinstance(data, list):
        head = int(where[0])
        return [_changed(v, where[1:], value) if n == head else v for n, v in enumerate(data)]
    found = dict(data or {})
    return found | {where[0]: _changed(found.get(where[0]), where[1:], value)}


def _without(data: Any, part: str | int) -> Any:
    if isinstance(data, list):
        return [v for n, v in enumerate(data) if n != part]
    return {key: v for key, v in data.items() if key != part}


def _earlier_spelling(like: str, where: KeyPath, value: Any, column: int) -> str | None:
    """How the earlier text spells the value there, unless it holds comments or stands elsewhere."""
    if not like:
        return None
    places = places_of(like)
    place = places.by_path.get(where)
    if place is None or place.bracketed or place.column != column:
        return None
    before = value_at(data_of(like), where)
    if type(before) is not type(value) and isinstance(before, (bool, str, list, dict, type(None))):
        return None
    if before != value or places.comments(place.after, place.end):
        return None
    return like[place.after : place.end]


def _spelled_at(place: Place, value: Any, text: str) -> str:
    if text[place.begins : place.after] == "-":
        return item(value, place.column)
    return spelled(value, place.column, place.style)


def _above(changed: str, places: Places, place: Place, comments: Sequence[str]) -> str:
    """The text with these comments above the line in which the place begins."""
    line = places.line_start(place.begins)
    indent = len(places.text[line : place.begins]) - len(places.text[line : place.begins].lstrip())
    lines = "".join(f"{' ' * indent}{comment}\n" for comment in comments)
    return changed[:line] + lines + changed[line:]


def _with_key(places: Places, where: KeyPath, value: Any, order: Sequence[str]) -> str:
    """The text with a new key in the group that holds it."""
    text, above, key = places.text, where[:-1], where[-1]
    group = value_at(data_of(text), above)
    if not isinstance(key, str) or isinstance(group, (list, str)):
        raise NotAllowedNow(ODD_LAYOUT)
    if not group or _in_brackets(places, above) is not None:
        return set_value(text, above, _in_order({**(group or {}), key: value}, order))
    first = places.by_path[(*above, next(iter(group)))]
    new = f"{key}:{spelled(value, first.column)}"
    earlier = list(order)[: list(order).index(key)] if key in order else list(group)
    before = [(*above, k) for k in group if k in earlier]
    pad = " " * first.column
    if not before:
        return f"{text[: first.begins]}{new}\n{pad}{text[first.begins :]}"
    at = max(places.line_end(places.by_path[path].end) for path in before)
    # a large group of its own stands apart from what is above it
    gap = "\n" if not above and isinstance(value, dict) and text[at - 1 : at] != "\n" else ""
    return f"{text[:at]}{gap}\n{pad}{new}{text[at:]}"


def _in_order(group: dict[str, Any], order: Sequence[str]) -> dict[str, Any]:
    ranks = {key: n for n, key in enumerate(order)}
    return dict(sorted(group.items(), key=lambda pair: ranks.get(pair[0], len(ranks))))


def _sure(changed: str, text: str, where: KeyPath, value: Any) -> str:
    """The changed text, if it says what it should.

    Raises
    ------
    NotAllowedNow
        If it does not: the layout was not understood.
    """
    try:
        said = data_of(changed)
    except NotReadable:
        raise NotAllowedNow(ODD_LAYOUT) from None
    if said != _changed(data_of(text), where, value):
        raise NotAllowedNow(ODD_LAYOUT)
    return changed

"""One thing found about a unit."""

from __future__ import annotations

from dataclasses import dataclass

KeyPath = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Finding:
    """A sentence about a unit, and the keys of its file that it concerns, the first one foremost.

    ``is_error``: such a unit cannot work or may not be used. Otherwise the numbers are possible,
    and uncommon enough to be looked at again.
    """

    keys: tuple[KeyPath, ...]
    text: str
    is_error: bool = False

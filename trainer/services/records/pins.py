"""PINs: hashed with Argon2id by its library, and how long a wrong one makes wait.

A PIN keeps others in the room out of a profile. It does not keep out somebody who can read the
database's file: four digits are tried through in minutes, whatever the hash.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from trainer.errors import Fault, NotAllowedNow, NotValid

if TYPE_CHECKING:
    from argon2 import PasswordHasher

SHORTEST, LONGEST = 4, 12
FREE_TRIES = 2  # wrong PINs that cost no waiting
FIRST_WAIT_S, LONGEST_WAIT_S = 15, 900  # doubled with every further wrong PIN; own working values


class WrongPin(NotAllowedNow):
    """A wrong PIN, or one given too early; ``wait_s`` is how long no PIN is taken."""

    def __init__(self, text: str, wait_s: int = 0) -> None:
        super().__init__(text)
        self.wait_s = wait_s


def pin_hash(pin: str) -> str:
    """What is kept of a PIN; empty for none.

    Raises
    ------
    NotValid
        If it is not 4 to 12 digits.
    """
    if not pin:
        return ""
    if not (pin.isascii() and pin.isdecimal() and SHORTEST <= len(pin) <= LONGEST):
        text = f"must be {SHORTEST} to {LONGEST} digits"
        raise NotValid([Fault("profile", 0, "PIN", text)])
    return _hasher().hash(pin)


def fits(pin: str, kept: str) -> bool:
    """Whether the PIN is the one whose hash is kept; without a kept hash only an empty one is."""
    if not kept:
        return not pin
    from argon2.exceptions import InvalidHashError, VerificationError

    try:
        return _hasher().verify(kept, pin)
    except (VerificationError, InvalidHashError):
        return False


def _hasher() -> PasswordHasher:
    """The library's hasher with its own settings, those of RFC 9106 for little memory."""
    from argon2 import PasswordHasher

    return PasswordHasher()


def wait_s_after(wrong: int) -> int:
    """How many seconds no PIN is taken after so many wrong ones in a row."""
    if wrong <= FREE_TRIES:
        return 0
    return int(min(FIRST_WAIT_S * 2 ** (wrong - FREE_TRIES - 1), LONGEST_WAIT_S))


def still_waiting(wait_until: str, now: datetime) -> int:
    """Whole seconds until a PIN is taken again, at least 0 and at most the longest wait.

    A clock that was set back does not lock anybody out for longer.
    """
    if not wait_until:
        return 0
    left = datetime.fromisoformat(wait_until) - now
    return max(0, min(-(-left // timedelta(seconds=1)), LONGEST_WAIT_S))


def in_words(seconds: int) -> str:
    """A waiting time as it is said."""
    if seconds < 60:
        return f"{seconds} second" + ("" if seconds == 1 else "s")
    minutes = -(-seconds // 60)
    return f"{minutes} minute" + ("" if minutes == 1 else "s")

"""The people of the records: profiles, PINs, and who may see whom.

Who sees whom is a rule among people who use the program. It does not encrypt anything: whoever can
read the database itself reads all of it, so folder or server need their own protection.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime, timedelta
from random import Random
from typing import Any

from sqlalchemy import Connection, insert, select, update
from sqlalchemy.exc import IntegrityError

from trainer.errors import Fault, NotAllowedNow, NotFound, NotValid
from trainer.models.records import Learner
from trainer.services.records import chain
from trainer.services.records.database import Database
from trainer.services.records.pins import (
    WrongPin,
    fits,
    in_words,
    pin_hash,
    still_waiting,
    wait_s_after,
)
from trainer.services.records.tables import LEARNERS

LONGEST_NAME = 80
# Made-up names are a bird and a number, so that nobody is named by accident.
BIRDS = (
    "Dunlin",
    "Heron",
    "Jay",
    "Kestrel",
    "Linnet",
    "Martin",
    "Plover",
    "Siskin",
    "Teal",
    "Wren",
)


def new_pseudonym(taken: Iterable[str], chance: Random) -> str:
    """A made-up name that nobody has yet."""
    used = {name.casefold() for name in taken}
    numbers = 90
    while True:
        name = f"{chance.choice(BIRDS)} {chance.randrange(10, 10 + numbers)}"
        if name.casefold() not in used:
            return name
        numbers *= 2


class Learners:
    """Profiles in a records database."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def all(self, seen_by: Learner | None = None) -> tuple[Learner, ...]:
        """Every learner by pseudonym; with ``seen_by`` only those whom that person may see."""
        with self._database.reading() as connection:
            rows = connection.execute(select(LEARNERS).order_by(LEARNERS.c.pseudonym)).mappings()
            found = tuple(_learner(row) for row in rows)
        return found if seen_by is None else tuple(x for x in found if _sees(seen_by, x))

    def get(self, learner_id: str) -> Learner:
        """The learner of that id; NotFound when there is none."""
        with self._database.reading() as connection:
            return _learner(row_of(connection, learner_id))

    def named(self, named: str) -> Learner:
        """The learner of that pseudonym, in any case of letters, or id; NotFound without one."""
        for learner in self.all():
            if named == learner.id or named.casefold() == learner.pseudonym.casefold():
                return learner
        raise NotFound(
            f"nobody called {named!r} in these records; 'trainer records list' tells who"
        )

    def may_see(self, viewer: Learner, learner_id: str) -> bool:
        """Whether the viewer is that learner, or an instructor of the same group."""
        return viewer.id == learner_id or _sees(viewer, self.get(learner_id))

    def add(
        self,
        pseudonym: str,
        *,
        now: datetime,
        name: str = "",
        group: str = "",
        is_instructor: bool = False,
        pin: str = "",
        by: Learner | None = None,
    ) -> Learner:
        """A new profile. The first instructor of a group needs nobody; further ones need ``by``.

        Raises
        ------
        NotValid
            If a name is too long, empty or taken, or the PIN is none; with every fault.
        NotAllowedNow
            If an instructor is added to a group that has one, by nobody of that group.
        """
        made = Learner(
            uuid.uuid4().hex, pseudonym.strip(), name.strip(), group.strip(), is_instructor, now
        )
        _check(made)
        kept = pin_hash(pin)
        with self._database.writing() as connection:
            if is_instructor and not _leads(by, made):
                _without_instructor_or_refused(connection, made.group)
            values = {
                **_columns(made),
                "entries": 0,
                "head": chain.START,
                "pin_hash": kept,
                "wrong_pins": 0,
                "wait_until": "",
            }
            _free_or_refused(connection, made)
            try:
                connection.execute(insert(LEARNERS), chain.sealed(values))
            except IntegrityError:  # another program took the name at the same moment
                raise _taken(made.pseudonym) from None
        return made

    def change(self, before: Learner, after: Learner) -> None:
        """Changes pseudonym, name or group from what the caller has seen to something new.

        Raises
        ------
        NotAllowedNow
            If the profile is no longer as ``before`` says: another window has changed it. Or if an
            instructor would join a group that has one, and so see its people.
        NotValid
            As `add`.
        """
        after = replace(
            after, id=before.id, is_instructor=before.is_instructor, made_at=before.made_at
        )
        _check(after)
        with self._database.writing() as connection:
            row = row_of(connection, before.id, lock=True)
            if _learner(row) != before:
                raise NotAllowedNow(
                    "This profile has been changed in another window meanwhile. Nothing was "
                    "changed here; look at it again, then make your change."
                )
            if before.is_instructor and after.group != before.group:
                _without_instructor_or_refused(connection, after.group)
            _free_or_refused(connection, after)
            try:
                write_row(connection, {**row, **_columns(after)})
            except IntegrityError:
                raise _taken(after.pseudonym) from None

    def has_pin(self, learner_id: str) -> bool:
        """Whether the profile asks for a PIN."""
        with self._database.reading() as connection:
            return bool(row_of(connection, learner_id)["pin_hash"])

    def sign_in(self, learner_id: str, pin: str, now: datetime) -> Learner:
        """The learner, if the PIN is theirs; wrong ones are counted.

        Raises
        ------
        WrongPin
            With how long to wait until the next try, in words and as ``wait_s``.
        """
        with self._database.writing() as connection:
            row = row_of(connection, learner_id, lock=True)
            learner, refused = _learner(row), None
            waiting = still_waiting(row["wait_until"], now)
            if waiting:
                text = f"Too many wrong PINs. Wait {in_words(waiting)}, then try again."
                raise WrongPin(text, waiting)
            if fits(pin, row["pin_hash"]):
                if row["wrong_pins"]:
                    write_row(connection, {**row, "wrong_pins": 0, "wait_until": ""})
            else:
                wrong = row["wrong_pins"] + 1
                wait_s = wait_s_after(wrong)
                until = (now + timedelta(seconds=wait_s)).isoformat() if wait_s else ""
                write_row(connection, {**row, "wrong_pins": wrong, "wait_until": until})
                todo = f"Wait {in_words(wait_s)}, then try" if wait_s else "Try"
                text = f"This is not the PIN. {todo} again, or ask your instructor to reset it."
                refused = WrongPin(text, wait_s)
        if refused is not None:
            raise refused  # after the count has been kept
        return learner

    def change_pin(self, learner_id: str, old: str, new: str, now: datetime) -> None:
        """Another PIN, or none for an empty one; raises as `sign_in`, and NotValid."""
        kept = pin_hash(new)
        self.sign_in(learner_id, old, now)
        self._set_pin(learner_id, kept)

    def reset_pin(self, learner_id: str, new: str, by: Learner) -> None:
        """Another PIN given by an instructor who may see the learner.

        Raises
        ------
        NotAllowedNow
            If ``by`` is no instructor of the learner's group.
        NotValid
            If the new one is no PIN.
        """
        kept = pin_hash(new)
        if not _leads(by, self.get(learner_id)):
            raise NotAllowedNow("Only an instructor of the same group can reset a PIN.")
        self._set_pin(learner_id, kept)

    def _set_pin(self, learner_id: str, kept: str) -> None:
        with self._database.writing() as connection:
            row = row_of(connection, learner_id, lock=True)
            signing_in = {"pin_hash": kept, "wrong_pins": 0, "wait_until": ""}
            write_row(connection, {**row, **signing_in})


def row_of(connection: Connection, learner_id: str, lock: bool = False) -> dict[str, Any]:
    """The learner's row; with ``lock`` nobody else changes it until the transaction ends.

    Raises
    ------
    NotFound
        If there is no such learner.
    """
    wanted = select(LEARNERS).where(LEARNERS.c.id == learner_id)
    row = connection.execute(wanted.with_for_update() if lock else wanted).mappings().first()
    if row is None:
        raise NotFound(f"no learner {learner_id!r} in these records; they may have been erased")
    return dict(row)


def write_row(connection: Connection, row: dict[str, Any]) -> None:
    """Writes the learner's row anew, with its seal."""
    same = LEARNERS.c.id == row["id"]
    connection.execute(update(LEARNERS).where(same).values(chain.sealed(row)))


def _free_or_refused(connection: Connection, learner: Learner) -> None:
    names = connection.execute(
        select(LEARNERS.c.pseudonym).where(LEARNERS.c.id != learner.id)
    ).scalars()
    if learner.pseudonym.casefold() in {name.casefold() for name in names}:
        raise _taken(learner.pseudonym)


def _taken(pseudonym: str) -> NotValid:
    text = f"{pseudonym!r} is taken; choose another"
    return NotValid([Fault("profile", 0, "pseudonym", text)])


def _without_instructor_or_refused(connection: Connection, group: str) -> None:
    leads = (LEARNERS.c.group_name == group) & (LEARNERS.c.is_instructor == 1)
    if connection.execute(select(LEARNERS.c.id).where(leads)).first() is not None:
        text = "has an instructor already: that person has to add the next one"
        raise NotAllowedNow(f"The group {group!r} {text}.")


def _check(learner: Learner) -> None:
    faults = []
    for key in ("pseudonym", "name", "group"):
        value = getattr(learner, key)
        if len(value) > LONGEST_NAME:
            faults.append(Fault("profile", 0, key, f"must be at most {LONGEST_NAME} characters"))
        elif not value.isprintable():
            faults.append(Fault("profile", 0, key, "must be printable characters on one line"))
    if not learner.pseudonym:
        faults.append(Fault("profile", 0, "pseudonym", "must not be empty"))
    if faults:
        raise NotValid(faults)


def _leads(person: Learner | None, learner: Learner) -> bool:
    return person is not None and person.is_instructor and person.group == learner.group


def _sees(viewer: Learner, learner: Learner) -> bool:
    return viewer.id == learner.id or _leads(viewer, learner)


def _columns(learner: Learner) -> dict[str, Any]:
    return {
        "id": learner.id,
        "pseudonym": learner.pseudonym,
        "name": learner.name,
        "group_name": learner.group,
        "is_instructor": int(learner.is_instructor),
        "made_at": learner.made_at.isoformat() if learner.made_at else "",
    }


def _learner(row: Any) -> Learner:
    made = row["made_at"]
    return Learner(
        row["id"],
        row["pseudonym"],
        row["name"],
        row["group_name"],
        bool(row["is_instructor"]),
        datetime.fromisoformat(made) if made else None,
    )

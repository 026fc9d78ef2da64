"""Profiles: names, PINs, waiting, who sees whom, and changes from two windows."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from argon2 import PasswordHasher
from helpers.records import NOW, PIN
from hypothesis import given
from hypothesis import strategies as st

from trainer.errors import NotAllowedNow, NotFound, NotValid
from trainer.services.records.learners import new_pseudonym
from trainer.services.records.pins import (
    LONGEST_WAIT_S,
    WrongPin,
    fits,
    in_words,
    pin_hash,
    still_waiting,
    wait_s_after,
)


def test_profiles_come_back(records, learner, instructor):
    """All are listed by pseudonym, and each is found by id and by name."""
    assert records.learners.all() == (learner, instructor)
    assert records.learners.get(learner.id) == learner
    assert records.learners.named("heron 12") == records.learners.named(learner.id) == learner
    with pytest.raises(NotFound, match="nobody called 'Rook'"):
        records.learners.named("Rook")


def test_a_profile_needs_no_name_of_the_person(records):
    """A pseudonym is enough."""
    made = records.learners.add(" Jay 20 ", now=NOW)
    assert (made.pseudonym, made.name, made.group) == ("Jay 20", "", "")


def test_names_that_cannot_be_kept_are_told_together(records, learner):
    """Empty, too long, unprintable and taken names are refused, whatever the case of letters."""
    with pytest.raises(NotValid) as told:
        records.learners.add(" ", now=NOW, name="x" * 81, group="a\nb")
    assert [fault.key for fault in told.value.faults] == ["name", "group", "pseudonym"]
    with pytest.raises(NotValid, match="'HERON 12' is taken"):
        records.learners.add("HERON 12", now=NOW)
    assert records.learners.all() == (learner,)


def test_made_up_names_are_new():
    """A made-up name is a bird and a number, and never one that is taken."""
    chance, taken = random.Random(4), []
    for _ in range(1200):  # more than the birds have two-digit numbers
        taken.append(new_pseudonym(taken, chance))
    assert len({name.casefold() for name in taken}) == 1200
    assert all(name.split()[0].isalpha() and name.split()[1].isdecimal() for name in taken)


def test_the_right_pin_signs_in(records, learner):
    """A PIN is asked for where there is one, and only the right one is taken."""
    assert records.learners.has_pin(learner.id)
    assert records.learners.sign_in(learner.id, PIN, NOW) == learner
    for wrong in ("", "4712", "47110", "471"):
        with pytest.raises(WrongPin, match="This is not the PIN"):
            records.learners.sign_in(learner.id, wrong, NOW + timedelta(hours=1))
        records.learners.sign_in(learner.id, PIN, NOW + timedelta(hours=2))
    open_one = records.learners.add("Jay 20", now=NOW)
    assert not records.learners.has_pin(open_one.id)
    assert records.learners.sign_in(open_one.id, "", NOW) == open_one


def test_wrong_pins_make_wait_longer_and_longer(records, learner):
    """Two are free, then the wait doubles; the right PIN is not taken before its end."""
    now, waits = NOW, []
    for _ in range(12):
        with pytest.raises(WrongPin, match="This is not the PIN") as told:
            records.learners.sign_in(learner.id, "0000", now)
        waits.append(told.value.wait_s)
        if waits[-1]:
            with pytest.raises(WrongPin, match=rf"Wait {in_words(waits[-1])}, then try") as early:
                records.learners.sign_in(learner.id, PIN, now)
            assert early.value.wait_s == waits[-1]
        now += timedelta(seconds=waits[-1])
    assert waits == [0, 0, 15, 30, 60, 120, 240, 480, 900, 900, 900, 900]
    assert records.learners.sign_in(learner.id, PIN, now) == learner
    with pytest.raises(WrongPin) as told:
        records.learners.sign_in(learner.id, "0000", now)
    assert told.value.wait_s == 0


@given(st.integers(0, 10**6), st.integers(-(10**9), 10**9))
def test_a_wait_is_never_longer_than_the_longest(wrong, clock_s):
    """However many wrong PINs, and wherever the clock is set, a profile opens again."""
    wait_s = wait_s_after(min(wrong, 1000))
    assert 0 <= wait_s <= LONGEST_WAIT_S
    until = (NOW + timedelta(seconds=wait_s)).isoformat()
    left = still_waiting(until, NOW + timedelta(seconds=clock_s))
    assert 0 <= left <= LONGEST_WAIT_S
    assert left == 0 or clock_s < wait_s


@pytest.mark.parametrize(
    ("seconds", "said"), [(1, "1 second"), (59, "59 seconds"), (60, "1 minute"), (61, "2 minutes")]
)
def test_waiting_is_said_in_words(seconds, said):
    """Under a minute in seconds, then in minutes rounded up."""
    assert in_words(seconds) == said


@pytest.mark.parametrize("pin", ["123", "1234567890123", "12a4", "12 4", "١٢٣٤", "12.4"])
def test_what_is_no_pin_is_refused(records, learner, pin):
    """Four to twelve digits and nothing else."""
    with pytest.raises(NotValid, match="PIN: must be 4 to 12 digits"):
        records.learners.change_pin(learner.id, PIN, pin, NOW)
    assert records.learners.sign_in(learner.id, PIN, NOW) == learner


def test_pins_are_hashed_with_argon2id_and_salt(monkeypatch):
    """RFC 9106's Argon2id with its settings for little memory; never the same text twice."""
    monkeypatch.setattr("trainer.services.records.pins._hasher", PasswordHasher)
    one, two = pin_hash("123456"), pin_hash("123456")
    # RFC 9106, section 4: t=3, p=4, m=2^16 KiB
    assert one != two and one.startswith("$argon2id$v=19$m=65536,t=3,p=4$")
    assert fits("123456", one) and not fits("123457", one) and not fits("", one)
    assert not fits("1", "no hash") and fits("", "") and not fits("1", "")


def test_no_pin_stands_in_the_database(file_records, tmp_path: Path):
    """The digits are in none of the folder's files."""
    file_records.learners.add("Heron 12", now=NOW, pin="730519284466")
    found = [p.read_bytes() for p in tmp_path.rglob("*") if p.is_file()]
    assert found and not any(b"730519284466" in data for data in found)


def test_pins_are_changed_by_their_owner_and_reset_by_the_instructor(records, learner, instructor):
    """The old PIN is needed to change it; only the group's instructor gives a new one without."""
    records.learners.change_pin(learner.id, PIN, "555555", NOW)
    with pytest.raises(WrongPin):
        records.learners.change_pin(learner.id, PIN, "1234", NOW)
    records.learners.reset_pin(learner.id, "2222", instructor)
    assert records.learners.sign_in(learner.id, "2222", NOW) == learner
    other = records.learners.add("Mr Alder", now=NOW, group="autumn", is_instructor=True)
    for by in (other, learner, records.learners.add("Jay 20", now=NOW, group="spring")):
        with pytest.raises(NotAllowedNow, match="Only an instructor of the same group"):
            records.learners.reset_pin(learner.id, "3333", by)
    records.learners.reset_pin(learner.id, "", instructor)
    assert not records.learners.has_pin(learner.id)


def test_instructors_see_their_own_group(records, learner, instructor):
    """Group and themselves; a learner sees nobody else."""
    mate = records.learners.add("Jay 20", now=NOW, group="spring")
    other = records.learners.add("Teal 33", now=NOW, group="autumn")
    assert set(records.learners.all(seen_by=instructor)) == {learner, mate, instructor}
    assert records.learners.all(seen_by=learner) == (learner,)
    assert records.learners.may_see(instructor, mate.id)
    assert not records.learners.may_see(instructor, other.id)
    assert not records.learners.may_see(mate, learner.id)


def test_a_group_with_an_instructor_gets_others_only_through_them(records, learner, instructor):
    """Nobody makes themselves instructor of a group, nor joins one as its instructor."""
    with pytest.raises(NotAllowedNow, match="'spring' has an instructor already"):
        records.learners.add("Jay 20", now=NOW, group="spring", is_instructor=True)
    with pytest.raises(NotAllowedNow, match="has an instructor already"):
        records.learners.add("Jay 20", now=NOW, group="spring", is_instructor=True, by=learner)
    second = records.learners.add(
        "Mr Alder", now=NOW, group="spring", is_instructor=True, by=instructor
    )
    assert second.is_instructor
    guest = records.learners.add("Mr Elder", now=NOW, group="autumn", is_instructor=True)
    with pytest.raises(NotAllowedNow, match="has an instructor already"):
        records.learners.change(guest, replace(guest, group="spring"))


def test_profiles_are_renamed(records, learner):
    """Pseudonym, name and group change; id, role and first day do not."""
    wanted = replace(learner, pseudonym="Heron 13", name="Ann", group="autumn", is_instructor=True)
    records.learners.change(learner, wanted)
    assert records.learners.get(learner.id) == replace(wanted, is_instructor=False)
    mate = records.learners.add("Jay 20", now=NOW)
    with pytest.raises(NotValid, match="is taken"):
        records.learners.change(mate, replace(mate, pseudonym="heron 13"))


def test_two_windows_do_not_write_over_each_other(records, learner):
    """The second change of a profile seen before the first is refused, and the first stays."""
    first, second = replace(learner, name="Ann"), replace(learner, group="autumn")
    records.learners.change(learner, first)
    with pytest.raises(NotAllowedNow, match="changed in another window meanwhile"):
        records.learners.change(learner, second)
    assert records.learners.get(learner.id) == first
    records.learners.change(first, replace(first, group="autumn"))
    assert records.learners.get(learner.id).group == "autumn"

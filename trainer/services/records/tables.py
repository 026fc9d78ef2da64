"""The records' tables: learners, and the entries of each learner's chain.

Everything that is kept of a learner's work is an entry: its kind, its content as JSON in one way
only, an attempt's log beside it, and the digest that chains it to the entry before (`chain`).
Entries are added, never changed. So a new kind of entry needs no new table, and one rule guards
all kinds. Times and dates are ISO 8601 texts, the same on every database.
"""

from __future__ import annotations

from sqlalchemy import Column, ForeignKey, Index, Integer, LargeBinary, MetaData, Table, Text

METADATA = MetaData()

LEARNERS = Table(
    "learners",
    METADATA,
    Column("id", Text, primary_key=True),
    Column("pseudonym", Text, nullable=False, unique=True),
    Column("name", Text, nullable=False),
    Column("group_name", Text, nullable=False),
    Column("is_instructor", Integer, nullable=False),
    Column("made_at", Text, nullable=False),
    # the chain's length and last digest: they tell when entries are missing at its end
    Column("entries", Integer, nullable=False),
    Column("head", Text, nullable=False),
    # signing in
    Column("pin_hash", Text, nullable=False),
    Column("wrong_pins", Integer, nullable=False),
    Column("wait_until", Text, nullable=False),
    Column("seal", Text, nullable=False),
)

ENTRIES = Table(
    "entries",
    METADATA,
    Column("learner_id", Text, ForeignKey("learners.id"), primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("kind", Text, nullable=False),
    Column("id", Text, nullable=False, unique=True),
    Column("made_at", Text, nullable=False),
    Column("body", Text, nullable=False),
    Column("log", LargeBinary, nullable=False),  # empty where there is none
    Column("digest", Text, nullable=False),
    Index("entries_by_kind", "kind", "learner_id"),
)

"""The first tables: learners, and the entries of their chains."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Makes both tables."""
    op.create_table(
        "learners",
        sa.Column("id", sa.Text, primary_key=True),
        sa.Column("pseudonym", sa.Text, nullable=False, unique=True),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("group_name", sa.Text, nullable=False),
        sa.Column("is_instructor", sa.Integer, nullable=False),
        sa.Column("made_at", sa.Text, nullable=False),
        sa.Column("entries", sa.Integer, nullable=False),
        sa.Column("head", sa.Text, nullable=False),
        sa.Column("pin_hash", sa.Text, nullable=False),
        sa.Column("wrong_pins", sa.Integer, nullable=False),
        sa.Column("wait_until", sa.Text, nullable=False),
        sa.Column("seal", sa.Text, nullable=False),
    )
    op.create_table(
        "entries",
        sa.Column("learner_id", sa.Text, sa.ForeignKey("learners.id"), primary_key=True),
        sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("id", sa.Text, nullable=False, unique=True),
        sa.Column("made_at", sa.Text, nullable=False),
        sa.Column("body", sa.Text, nullable=False),
        sa.Column("log", sa.LargeBinary, nullable=False),
        sa.Column("digest", sa.Text, nullable=False),
    )

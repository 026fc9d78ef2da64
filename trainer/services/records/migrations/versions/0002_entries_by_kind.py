"""An index by kind: a group's attempts are found without reading every other entry."""

from __future__ import annotations

from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Makes the index."""
    op.create_index("entries_by_kind", "entries", ["kind", "learner_id"])

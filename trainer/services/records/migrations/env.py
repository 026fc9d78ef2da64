"""Runs migrations on the connection, and in the transaction, that the program passes in."""

from __future__ import annotations

from alembic import context

context.configure(connection=context.config.attributes["connection"])
context.run_migrations()

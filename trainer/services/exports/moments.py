"""Moments as exports write them."""

from __future__ import annotations

from datetime import UTC, datetime


def utc(moment: datetime) -> datetime:
    """The moment in UTC; without a zone it is UTC already."""
    return moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment.astimezone(UTC)

"""Rejects in words: counted here and published, each with its interval."""

from __future__ import annotations

from collections.abc import Iterator
from math import isnan

from trainer.engine.appointment.state import spoken
from trainer.engine.statistics.rates import Interval
from trainer.engine.statistics.rejects import (
    POOLED_RATE,
    PUBLISHED,
    PUBLISHED_CAUSES,
    Rejects,
)
from trainer.engine.wording import sentence_start


def reject_lines(found: Rejects) -> Iterator[str]:
    """Rejects and their causes for reading, with intervals and warnings."""
    yield f"{sentence_start(found.what)}: {found.rejected} of {found.images}{_of(found.rate)}"
    for cause in found.causes:
        if cause.count:
            yield f"  {spoken(cause.cause)}: {cause.count}{_of(cause.share)}"
    yield from (f"  {warning}" for warning in found.warnings)


def published_lines(digits: int = 1) -> Iterator[str]:
    """Published rates and causes for reading; intervals are ours."""
    yield "Published, each counted in its own way (compare orders of size only):"
    for each in PUBLISHED:
        yield f"  {each.what}: {each.count} of {each.n}{_of(each.rate, digits)}"
    yield f"  pooled over 26 papers: {100 * POOLED_RATE:.2f} % (Yeung & Wong 2021)"
    whole = sum(cause.count for cause in PUBLISHED_CAUSES)
    yield f"Published causes of the {whole} repeats in Hong Kong:"
    for cause in PUBLISHED_CAUSES:
        yield f"  {spoken(cause.cause)}: {cause.count}{_of(cause.share)}"


def _of(rate: Interval, digits: int = 0) -> str:
    if isnan(rate.rate):
        return ""
    shown = (f"{100 * share:.{digits}f}" for share in (rate.rate, rate.low, rate.high))
    return " ({} %, 95 % interval {}–{} %)".format(*shown)

"""Rejected images and their causes, beside what others have published.

Simulated attempts and supervised cases are never added up; each has its own count.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from trainer.engine.statistics.rates import Interval, wilson
from trainer.models.appointment_words import Grade, RetakeCause
from trainer.models.records import StoredAttempt, SupervisedCase

# Images of one kind that an analysis wants, and the share that must be acceptable in digital
# imaging (SDCEP practice support manual, citing national guidance).
FEWEST_IMAGES = 100
ACCEPTABLE_TARGET = 0.95


@dataclass(frozen=True, slots=True)
class PublishedRate:
    """A rate that was published: ``count`` of ``n``, and what was counted."""

    source: str
    what: str
    count: int
    n: int

    @property
    def rate(self) -> Interval:
        """The rate with its 95 % interval (ours)."""
        return wilson(self.count, self.n)


@dataclass(frozen=True, slots=True)
class CauseShare:
    """How much of all rejects one cause makes up."""

    cause: RetakeCause
    count: int
    share: Interval


@dataclass(frozen=True, slots=True)
class Rejects:
    """Rejected of all, with causes in their usual order; causes with no reject are there too."""

    what: str
    rejected: int
    images: int
    rate: Interval
    causes: tuple[CauseShare, ...]
    warnings: tuple[str, ...]


# Rates seen in abstracts; the intervals are computed here.
PUBLISHED: tuple[PublishedRate, ...] = (
    PublishedRate(
        "Image retake rates of CBCT in a dental institution, Clin Oral Investig 2020;24:4501",
        "repeated, dental hospital in Hong Kong, 2016–2019",
        80,
        1737,
    ),
    PublishedRate(
        "Habibi et al., Re-exposure in cone beam CT of the dentomaxillofacial region",
        "repeated, university clinic in Mainz",
        82,
        4986,
    ),
    PublishedRate(
        "Factors affecting patient movement and re-exposure in CBCT, Oral Surg Oral Med Oral "
        "Pathol Oral Radiol 2015",
        "repeated, watched by video, Denmark",
        16,
        248,
    ),
    PublishedRate(
        "Repetition of examination due to motion artifacts in horizontal CBCT, JISPCD 2017",
        "repeated for motion only, lying patients, Italy",
        41,
        750,
    ),
    PublishedRate(
        "A reject analysis of CBCT in under-aged patients, DMFR 2019;48:20180138",
        "judged a reject afterwards, under age, Ghent (raters agreed little)",
        16,
        79,
    ),
)
# Pooled over 26 papers, without counts (Yeung & Wong, IJERPH 2021;18:8076).
POOLED_RATE = 0.0277

# Causes of the 80 repeats in Hong Kong: 57.5 % coverage, 27.5 % motion, the rest not told apart
# (counts from the percentages: ours).
PUBLISHED_CAUSES: tuple[CauseShare, ...] = tuple(
    CauseShare(cause, count, wilson(count, 80))
    for cause, count in (
        (RetakeCause.COVERAGE, 46),
        (RetakeCause.MOTION, 22),
        (RetakeCause.OTHER, 12),
    )
)


def rejects(what: str, causes: Sequence[RetakeCause], images: int) -> Rejects:
    """The rejects among so many images, one cause each.

    Parameters
    ----------
    what : str
        What was counted, in words.
    causes : sequence of RetakeCause
        One for each rejected image.
    images : int
        All images, rejected ones too.
    """
    counted = Counter(causes)
    total = len(causes)
    warnings = []
    if images < FEWEST_IMAGES:
        warnings.append(
            f"{images} images; an analysis wants at least {FEWEST_IMAGES} of one kind (SDCEP)."
        )
    return Rejects(
        what,
        total,
        images,
        wilson(total, images),
        tuple(CauseShare(c, counted[c], wilson(counted[c], total)) for c in RetakeCause),
        tuple(warnings),
    )


def simulated_rejects(attempts: Iterable[StoredAttempt]) -> Rejects:
    """The simulated examinations whose images did not answer, each by its first cause.

    First in the order of `RetakeCause`. Attempts without an image are left out.
    """
    imaged = [a for a in attempts if a.score["acceptable"] is not None]
    causes = [_first_cause(a) for a in imaged if not a.score["acceptable"]]
    return rejects("simulated examinations that do not answer", causes, len(imaged))


def supervised_rejects(cases: Iterable[SupervisedCase]) -> Rejects:
    """The supervised examinations that were graded not acceptable.

    A cause that is none of `RetakeCause` counts as "other".
    """
    known = {str(cause) for cause in RetakeCause}
    listed = list(cases)
    causes = [
        RetakeCause(c.cause) if c.cause in known else RetakeCause.OTHER
        for c in listed
        if c.grade == Grade.N
    ]
    return rejects("supervised examinations graded not acceptable", causes, len(listed))


def _first_cause(attempt: StoredAttempt) -> RetakeCause:
    spoiled_by = set(attempt.score["spoiled_by"])
    return next((c for c in RetakeCause if c in spoiled_by), RetakeCause.OTHER)

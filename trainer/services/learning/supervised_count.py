"""How far a learner's supervised work has come, counted beside a proposal. Nothing simulated.

No published minimum of supervised cases was found for those who position patients in a cone-beam
unit. What is published is for others: in Germany dentists work up 25 given cases for their course
in cone-beam imaging (overview article of that course); a dental nurse's record of competence in the
United Kingdom asked for at least 50 images of other kinds (one course provider's summary). So the
numbers here are own working values, and local rules decide.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from trainer.engine.statistics.rates import failure_bound
from trainer.models.records import Observation, SupervisedCase
from trainer.services.records.forms import PATIENT_GROUPS, POSITIONED_BY, REGIONS, SETTINGS

CASES = 25
UPPER, LOWER, WHOLE, JOINT, SINUS, _ = REGIONS
_, CHILD, _, LIMITED = PATIENT_GROUPS
REGIONS_WANTED = (((UPPER,), 3), ((LOWER,), 3), ((WHOLE,), 3), ((JOINT, SINUS), 2))
HARD_TO_KEEP_STILL = (CHILD, LIMITED)
HARD_WANTED = 3
OBSERVATIONS, OBSERVERS = 6, 2
LATEST, FREE_LEVEL = 3, 4  # the latest observations: in the room (4) or on call (5)
REAL = SETTINGS[0]
SOURCE = (
    "No published minimum was found for operators (published for others: 25 cases worked up by "
    "dentists in Germany, 50 images of other kinds by dental nurses in one course in the United "
    "Kingdom). The numbers are this program's own proposal; your local rules and your supervisor "
    "decide."
)


@dataclass(frozen=True, slots=True)
class Count:
    """So many of something, beside how many are proposed."""

    what: str
    done: int
    proposed: int

    @property
    def text(self) -> str:
        """In words, what is proposed in brackets."""
        return f"{self.what} {self.done} ({self.proposed})"


@dataclass(frozen=True, slots=True)
class SupervisedCount:
    """Counts of supervised work. ``rejected`` of the counted cases were not acceptable."""

    cases: tuple[Count, ...]
    observations: tuple[Count, ...]
    rejected: int


def supervised_count(
    cases: Sequence[SupervisedCase], observations: Sequence[Observation]
) -> SupervisedCount:
    """One learner's count: cases the learner positioned, and observations of real procedures."""
    own = [c for c in cases if c.positioned_by in POSITIONED_BY[:2]]
    real = sorted((o for o in observations if o.setting == REAL), key=lambda o: o.on)
    free = [o for o in real[-LATEST:] if o.supervision >= FREE_LEVEL]
    hard = sum(c.patient_group in HARD_TO_KEEP_STILL for c in own)
    return SupervisedCount(
        (
            Count("cases", len(own), CASES),
            *(
                Count(" or ".join(regions), sum(c.region in regions for c in own), wanted)
                for regions, wanted in REGIONS_WANTED
            ),
            Count(" or ".join(HARD_TO_KEEP_STILL), hard, HARD_WANTED),
        ),
        (
            Count("observations of real procedures", len(real), OBSERVATIONS),
            Count("observers", len({o.observer for o in real}), OBSERVERS),
            Count(f"latest {LATEST} with the supervisor in the room or on call", len(free), LATEST),
        ),
        sum(c.grade == "N" for c in own),
    )


def count_text(count: SupervisedCount) -> str:
    """The count for reading, with what it cannot show and who decides."""
    return "\n".join(_lines(count))


def _lines(count: SupervisedCount) -> Iterator[str]:
    for start, counts in (
        ("Positioned by the learner (in brackets what is proposed)", count.cases),
        ("Watched", count.observations),
    ):
        yield f"{start}: {'; '.join(c.text for c in counts)}."
    if n := count.cases[0].done:
        bound = 100.0 * failure_bound(count.rejected, n)
        yield (
            f"{count.rejected} of these {n} images were not acceptable; the true rate may still be "
            f"up to {bound:.1f} % (95 %, one-sided)."
        )
    yield SOURCE

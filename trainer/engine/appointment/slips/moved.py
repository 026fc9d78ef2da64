"""Slips during the run: movement, spacer, contact, letting go (E12, E13, E17, E20, E21)."""

from __future__ import annotations

from collections.abc import Iterator

from trainer.engine.appointment.slips.sight import Sight
from trainer.engine.appointment.state import spoken
from trainer.engine.motion import NOTICED_MM
from trainer.engine.wording import amount
from trainer.models.appointment_words import RetakeCause, RunEnd
from trainer.models.motion import MotionSign, SpacerGrip
from trainer.models.slips import ImageEffect, Slip, SlipCode

# A tremor this large hides fine structures in cross-sections, a jaw that drifts this far doubles
# its edges: own working values.
TREMOR_SPOILS_MM, DRIFT_SPOILS_MM = 1.0, 1.5
# Fewer views than this leave streaks that hide the answer: own working value. ("Movement late or
# small: continue and judge".)
VIEWS_ENOUGH = 0.9


def moved(sight: Sight) -> Iterator[Slip]:
    """The head moved enough to show (E12)."""
    motion = sight.run.motion
    if motion.visible:
        words = f"The head moved by up to {amount(motion.largest_mm, 'mm')}: {spoken(motion.sign)}."
        spoils = RetakeCause.MOTION if motion.sign is MotionSign.DOUBLE_EDGES else None
        yield Slip(SlipCode.MOVED, words, ImageEffect(plays_motion=True), spoils)


def tremor_or_swallow(sight: Sight) -> Iterator[Slip]:
    """A tremor or a swallow (E13)."""
    size = sight.run.motion.tremor_or_swallow_mm
    if size >= NOTICED_MM:
        words = f"A tremor or a swallow of {amount(size, 'mm')}."
        effect = ImageEffect(plays_motion=True, plays_jaw_drift=True)
        spoils = RetakeCause.MOTION if size >= TREMOR_SPOILS_MM else None
        yield Slip(SlipCode.TREMOR_OR_SWALLOW, words, effect, spoils)


def spacer(sight: Sight) -> Iterator[Slip]:
    """The jaw drifted on a spacer that tips (E17)."""
    drift = sight.run.motion.jaw_drift_mm
    if sight.run.cause.spacer is SpacerGrip.UNSTEADY and drift >= NOTICED_MM:
        words = f"The spacer tipped and the lower jaw drifted by {amount(drift, 'mm')}."
        spoils = RetakeCause.MOTION if drift >= DRIFT_SPOILS_MM else None
        effect = ImageEffect(plays_jaw_drift=True)
        yield Slip(SlipCode.SPACER_UNSTEADY, words, effect, spoils)


def touched(sight: Sight) -> Iterator[Slip]:
    """The moving part touched the person or the chair (E20)."""
    run = sight.run
    if run.conditions.touches:
        words = f"The moving part touched: {', '.join(run.conditions.touches)}."
        effect = ImageEffect(
            plays_motion=run.motion.jerked, recorded_share=round(run.recorded_share, 3)
        )
        stopped = run.end is RunEnd.TOUCHED
        spoils = RetakeCause.MOTION if stopped or run.motion.visible else None
        yield Slip(SlipCode.TOUCHED, words, effect, spoils)


def released(sight: Sight) -> Iterator[Slip]:
    """The switch was let go before the end (E21)."""
    run = sight.run
    if run.end is RunEnd.RELEASED:
        share = round(run.recorded_share, 3)
        words = f"The switch was let go after {100.0 * share:.0f} % of the run."
        spoils = RetakeCause.TECHNICAL if share < VIEWS_ENOUGH else None
        effect = ImageEffect(recorded_share=share)
        yield Slip(SlipCode.RELEASED_EARLY, words, effect, spoils)


FINDERS = (moved, tremor_or_swallow, spacer, touched, released)

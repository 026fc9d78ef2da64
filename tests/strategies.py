"""Hypothesis strategies, bounded to what people and units can do."""

from __future__ import annotations

import numpy as np
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from trainer.geometry.transforms import attitude_rotation
from trainer.models.frames import Frame, RigidTransform
from trainer.models.subject import (
    FARTHEST_SIZE,
    MOST_KYPHOSIS_DEG,
    OLDEST,
    YOUNGEST,
    Mouth,
    Person,
    Posture,
    Profile,
    Sex,
    Sizes,
    Worn,
)


def angles_rad(most_deg: float = 30.0) -> st.SearchStrategy[float]:
    """Angles a head can take."""
    return st.floats(-most_deg, most_deg).map(np.deg2rad)


def points_mm(most: int = 40, reach_mm: float = 200.0) -> st.SearchStrategy[np.ndarray]:
    """Some points within reach of a head."""
    return st.integers(1, most).flatmap(
        lambda n: hnp.arrays(np.float64, (n, 3), elements=st.floats(-reach_mm, reach_mm))
    )


@st.composite
def rigid(draw: st.DrawFn, source: Frame, target: Frame) -> RigidTransform:
    """A rigid transform between two frames."""
    rotation = attitude_rotation(draw(angles_rad()), draw(angles_rad()), draw(angles_rad()))
    move = draw(hnp.arrays(np.float64, 3, elements=st.floats(-200, 200)))
    return RigidTransform(source, target, rotation, move)


def sizes() -> st.SearchStrategy[Sizes]:
    """Any combination of sizes that a person may have."""
    return st.builds(Sizes, **dict.fromkeys(Sizes.__slots__, _deviations()))


def people(
    ages: st.SearchStrategy[int] | None = None, with_gaps: bool = True
) -> st.SearchStrategy[Person]:
    """Any person; ``with_gaps`` allows missing teeth and lost ridges (adults only)."""

    @st.composite
    def person(draw: st.DrawFn) -> Person:
        age = draw(st.integers(YOUNGEST, OLDEST) if ages is None else ages)
        mouth = Mouth()
        if with_gaps and age >= 18:
            adult = [10 * q + n for q in (1, 2, 3, 4) for n in range(1, 9)]
            few = st.lists(st.sampled_from(adult), unique=True, max_size=8)
            jaws = st.sampled_from([adult[:16], adult[16:], adult])
            missing = tuple(sorted(draw(few | jaws)))
            # bone is lost only where teeth are missing
            upper, lower = (
                draw(st.floats(0.0, 1.0)) if any(n // 10 in quadrants for n in missing) else 0.0
                for quadrants in ((1, 2), (3, 4))
            )
            mouth = Mouth(missing=missing, lost_ridge_upper=upper, lost_ridge_lower=lower)
        posture = Posture(
            draw(_deviations()), draw(_deviations()), draw(st.floats(0.0, MOST_KYPHOSIS_DEG))
        )
        worn = tuple(sorted(draw(st.sets(st.sampled_from(Worn)))))
        profile = draw(st.sampled_from(Profile))
        return Person(draw(st.sampled_from(Sex)), age, draw(sizes()), profile, mouth, posture, worn)

    return person()


def _deviations() -> st.SearchStrategy[float]:
    return st.floats(-FARTHEST_SIZE, FARTHEST_SIZE)

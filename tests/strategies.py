"""Hypothesis strategies, bounded to what people and units can do."""

from __future__ import annotations

import numpy as np
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from trainer.geometry.transforms import attitude_rotation
from trainer.models.frames import Frame, RigidTransform


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

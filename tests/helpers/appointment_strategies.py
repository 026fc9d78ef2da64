"""Any command of an appointment, with any values that it takes."""

from __future__ import annotations

from enum import Enum
from typing import Any, get_args, get_origin, get_type_hints

from hypothesis import strategies as st

from trainer.models.appointment_commands import COMMANDS, Command
from trainer.models.appointment_visit import Programme
from trainer.models.device import Region
from trainer.models.learning import Prediction

NUMBERS = st.floats(-100.0, 100.0)
VALUES = st.fixed_dictionaries(
    {},
    optional={
        "yaw_deg": NUMBERS,
        "chin_height_mm": NUMBERS,
        "arm_turned": st.booleans(),
        "region": st.sampled_from(Region),
        "field": st.text(min_size=1, max_size=8),
    },
).filter(bool)
# Fields whose class checks more than the type.
SPECIAL = {"at_s": st.floats(0.0, 1e6), "gap_mm": st.floats(0.5, 20.0), "values": VALUES}


def of(hint: Any, name: str) -> st.SearchStrategy[Any]:
    """Values of a hinted type."""
    if name in SPECIAL:
        return SPECIAL[name]
    if hint is Programme:
        return st.builds(Programme, voxel_um=st.integers(50, 600))
    if hint is Prediction:
        cut = st.frozensets(st.sampled_from(["tooth-48", "canal-at-48", "chin"]), max_size=2)
        return st.builds(Prediction, cut, st.integers(0, 100), st.booleans())
    origin, args = get_origin(hint), get_args(hint)
    if origin is tuple:
        return st.lists(of(args[0], ""), max_size=5).map(tuple)
    if type(None) in args:
        return st.none() | of(next(a for a in args if a is not type(None)), "")
    if isinstance(hint, type) and issubclass(hint, Enum):
        return st.sampled_from(hint)
    return {
        bool: st.booleans(),
        int: st.integers(0, 10**6),
        float: st.floats(-500.0, 500.0),
        str: st.text(max_size=40),
    }[hint]


def commands() -> st.SearchStrategy[Command]:
    """Any command with any values that it takes."""
    return st.sampled_from(COMMANDS).flatmap(
        lambda kind: st.builds(
            kind, **{name: of(hint, name) for name, hint in get_type_hints(kind).items()}
        )
    )

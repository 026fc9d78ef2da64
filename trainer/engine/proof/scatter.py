"""How placings scatter: by how much the target and the head's attitude miss what was meant.

The shift is that of the target's centre, since that is what was published, and the head turns
about it: an operator sets the height after the attitude, by what they see of the target. All
parts are normal and independent. Nothing says how far an operator with the light lines of a
particular unit is off; these are spreads to compare cases by, not a forecast for a person.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from trainer.engine.proof.best import cylinder_of
from trainer.engine.proof.target import ATTITUDE, Target, turns
from trainer.errors import Fault, NotValid
from trainer.models.device import Unit
from trainer.models.setup import Setup

Array = NDArray[np.float64]

# Purpose of the random numbers, beside those in `engine.chance`.
SCATTER = 7
# Head inclination differed by 0.4 ± 4.7 deg between two lateral films of the same adults
# (repeatability study of lateral cephalograms, PMC9700941, 2022; confirmed). That is a difference
# of two placings: one alone scatters by 1/sqrt(2) of it if both do alike. It is kept whole for a
# learner's placing: own choice, on the wide side.
INCLINATION_DEG = 4.7
# Sella moved by 5.34 ± 3.50 mm between the same films (same study, confirmed). Own working: root
# mean square of the distance, spread evenly over two axes and two placings.
_SELLA_MEAN_MM, _SELLA_SD_MM = 5.34, 3.50
FORWARD_MM = math.hypot(_SELLA_MEAN_MM, _SELLA_SD_MM) / 2.0
# With the chin rest alone the field for one lower third molar has to be 11.9 mm taller in the worst
# case than in the best (Füssinger et al. 2025, 215 teeth, 140 patients; confirmed; the order of its
# two numbers is inferred), so about ±6 mm. Own working: as wide as an even spread over ±6 mm.
HEIGHT_MM = 6.0 / math.sqrt(3.0)
MOST_DEG, MOST_MM = 30.0, 50.0


@dataclass(frozen=True, slots=True)
class Scatter:
    """Standard deviations of a placing: attitude [deg], and the target's centre [mm].

    Raises
    ------
    NotValid
        If one is negative, not finite or beyond what makes sense.
    """

    id: str
    name: str
    pitch_deg: float
    yaw_deg: float
    roll_deg: float
    sideways_mm: float
    forward_mm: float
    height_mm: float
    source: str

    def __post_init__(self) -> None:
        faults = []
        for key in SPREADS:
            value, most = getattr(self, key), MOST_DEG if key.endswith("_deg") else MOST_MM
            if not 0.0 <= value <= most:
                faults.append(Fault("scatter", 0, key, f"must be 0 to {most:g}, got {value:g}"))
        if faults:
            raise NotValid(faults)

    def with_values(self, **values: float) -> Scatter:
        """The same with some spreads changed; it is then nobody's published one."""
        source = f"{', '.join(sorted(values))} as given; else {self.source}"
        return replace(self, id="own", name="own values", source=source, **values)


SPREADS = tuple(f.name for f in fields(Scatter) if f.name.endswith(("_deg", "_mm")))

WITHOUT_SCOUTS = Scatter(
    id="without-scouts",
    name="placed by light lines, without scouts",
    pitch_deg=INCLINATION_DEG,
    yaw_deg=3.0,
    roll_deg=3.0,
    sideways_mm=2.0,
    forward_mm=FORWARD_MM,
    height_mm=HEIGHT_MM,
    source=(
        "pitch and forward: repeated lateral films of the same adults (PMC9700941, 2022); height: "
        "chin rest alone (Füssinger et al. 2025), worked out here; yaw, roll and sideways: own "
        "working values, no source"
    ),
)
AFTER_SCOUTS = Scatter(
    id="after-scouts",
    name="after scouts and their correction",
    pitch_deg=2.0,
    yaw_deg=2.0,
    roll_deg=2.0,
    sideways_mm=1.0,
    forward_mm=1.0,
    height_mm=1.0,
    source="own working values, no source: a scout read to about a millimetre and 2 degrees",
)
PRESETS = (WITHOUT_SCOUTS, AFTER_SCOUTS)


def with_spreads(values: Mapping[str, float]) -> tuple[Scatter, ...]:
    """The presets, the one without scouts with some spreads changed.

    Raises
    ------
    NotValid
        If a key is none of `SPREADS`, or a value is negative or too large.
    """
    faults = [
        Fault("scatter", 0, key, f"there is no such spread; there are {', '.join(SPREADS)}")
        for key in values
        if key not in SPREADS
    ]
    if faults:
        raise NotValid(faults)
    return (WITHOUT_SCOUTS.with_values(**values), AFTER_SCOUTS) if values else PRESETS


def fitting(scatters: Sequence[Scatter], unit: Unit) -> tuple[Scatter, ...]:
    """Those that the unit allows: without scouts only, where it makes none."""
    return tuple(s for s in scatters if s is not AFTER_SCOUTS or not unit.is_panoramic)


def normal_numbers(draws: int, seed: int) -> Array:
    """Standard normal numbers (draws, 6) that follow from the seed, on every platform.

    From PCG64's raw words (see `engine.chance`) by the inverse of the normal distribution. Every
    case takes the same ones, so cases are compared by their geometry and not by luck.
    """
    bits = np.random.PCG64(np.random.SeedSequence([seed, SCATTER]))
    words = np.asarray(bits.random_raw(draws * len(SPREADS)), np.uint64) >> np.uint64(11)
    # the middle of each of 2^53 steps: never 0, never 1
    return np.asarray(ndtri((words.astype(np.float64) + 0.5) * 2.0**-53)).reshape(draws, -1)


def scattered(target: Target, setup: Setup, scatter: Scatter, normal: Array) -> dict[str, Array]:
    """Values of the controls (n,) for n placings about a setup; see `target.slacks`.

    ``normal`` (n, 6): one standard normal number for each of `SPREADS`. The controls are not held
    to their steps or travel: a head that is off is off, whatever the unit's scale says.
    """
    by = normal * [getattr(scatter, key) for key in SPREADS]
    values = {key: getattr(setup, key) + by[:, i] for i, key in enumerate(ATTITUDE)}
    centre = cylinder_of(target, setup).centre_mm
    # the head turns about the target's centre, so the chin goes the other way round
    unturned = turns(setup, {}).T @ centre
    swung = turns(setup, values) @ unturned - centre
    shift = by[:, len(ATTITUDE) :] - swung * [1.0, -1.0, 1.0]  # left, forward, up
    for i, key in enumerate(("sideways_mm", "forward_mm", "chin_height_mm")):
        values[key] = getattr(setup, key) + shift[:, i]
    return values

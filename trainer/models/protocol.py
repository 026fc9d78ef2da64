"""How a unit exposes: its tube, the presets it offers, and what one exposure asks of them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from trainer.errors import NotFound, TrainerError

# A subject below this age is judged with the figures for children: own working value. The
# published children are phantoms of about ten years, the published adolescents lie between.
CHILD_UNDER_YEARS = 16


class ExposureKind(StrEnum):
    """What one exposure makes: a low-dose preview from the front or the side, or the volume."""

    FRONTAL_SCOUT = "frontal-scout"
    LATERAL_SCOUT = "lateral-scout"
    FULL = "full"

    @property
    def is_scout(self) -> bool:
        """Whether it is a preview."""
        return self is not ExposureKind.FULL


SCOUTS = (ExposureKind.FRONTAL_SCOUT, ExposureKind.LATERAL_SCOUT)


class AgeGroup(StrEnum):
    """Whose published figures apply."""

    ADULT = "adult"
    CHILD = "child"


def age_group(age_years: float) -> AgeGroup:
    """The group of a subject of that age."""
    return AgeGroup.CHILD if age_years < CHILD_UNDER_YEARS else AgeGroup.ADULT


@dataclass(frozen=True, slots=True)
class Protocol:
    """A preset of the unit, for a size of person or a shorter rotation.

    ``turn_mas`` is the tube charge that a whole turn would take at the unit's usual voxel;
    ``beam_on_s`` is shorter than ``scan_s`` when the beam is pulsed. Both times are for the
    protocol's own rotation.

    Raises
    ------
    TrainerError
        If a number is not positive, the rotation not within 180 to 360 degrees, or the beam on for
        longer than the scan lasts.
    """

    id: str
    name: str
    turn_mas: float
    rotation_deg: float
    beam_on_s: float
    scan_s: float

    def __post_init__(self) -> None:
        _positive(f"protocol {self.id}", turn_mas=self.turn_mas, beam_on_s=self.beam_on_s)
        if not 180.0 <= self.rotation_deg <= 360.0:
            raise TrainerError(
                f"protocol {self.id}: rotation_deg {self.rotation_deg:g}, must be 180 to 360"
            )
        if not self.beam_on_s <= self.scan_s < math.inf:
            raise TrainerError(
                f"protocol {self.id}: beam_on_s {self.beam_on_s:g} must not be above scan_s "
                f"{self.scan_s:g}"
            )

    @property
    def mas(self) -> float:
        """Tube charge of the protocol's own rotation [mAs]; views are evenly spread over it."""
        return self.turn_mas * self.rotation_deg / 360.0

    @property
    def current_ma(self) -> float:
        """Tube current while the beam is on [mA], at the unit's usual voxel."""
        return self.mas / self.beam_on_s


@dataclass(frozen=True, slots=True)
class VoxelFactor:
    """What voxels up to that edge [um] cost: the tube charge is multiplied by ``mas_factor``."""

    up_to_um: int
    mas_factor: float


@dataclass(frozen=True, slots=True)
class Tube:
    """The tube of a unit and what its settings do to the tube charge.

    Attributes
    ----------
    kvp : float
        Tube voltage [kV].
    aluminium_mm, copper_mm : float
        Total filtration.
    protocols : tuple of Protocol
        The first one is the default.
    voxel_factors : tuple of VoxelFactor
        By rising edge; a voxel takes the first that reaches it. The tube's current is raised or
        lowered, not its time.
    low_dose_factor : float
        What low dose leaves of the tube charge, 0 to 1.
    scout_factors : mapping of ExposureKind to float
        Tube charge of each scout as a share of a whole turn's, whatever voxel or low dose is set.

    Raises
    ------
    TrainerError
        If a number is not positive, names repeat, voxel edges do not rise, finer voxels cost less
        than coarser ones, or a scout has no factor or more than a scan.
    """

    kvp: float
    aluminium_mm: float
    copper_mm: float
    protocols: tuple[Protocol, ...]
    voxel_factors: tuple[VoxelFactor, ...]
    low_dose_factor: float
    scout_factors: Mapping[ExposureKind, float] = field(hash=False)

    def __post_init__(self) -> None:
        _positive("tube", kvp=self.kvp, aluminium_mm=self.aluminium_mm)
        if not 0.0 <= self.copper_mm < math.inf:
            raise TrainerError(f"tube: copper_mm {self.copper_mm:g}, must not be below 0")
        names = [p.id for p in self.protocols]
        if not names or len(set(names)) != len(names):
            raise TrainerError(f"tube: needs protocols with different names, got {names}")
        edges = [v.up_to_um for v in self.voxel_factors]
        costs = [v.mas_factor for v in self.voxel_factors]
        if not edges or edges != sorted(set(edges)):
            raise TrainerError(f"tube: voxel edges must rise, got {edges} um")
        if costs != sorted(costs, reverse=True) or not 0.0 < costs[-1] <= costs[0] < math.inf:
            raise TrainerError(
                f"tube: finer voxels cannot cost less than coarser ones, got {costs}"
            )
        if not 0.0 < self.low_dose_factor <= 1.0:
            raise TrainerError(f"tube: low_dose_factor {self.low_dose_factor:g}, above 0 to 1")
        if set(self.scout_factors) != set(SCOUTS):
            raise TrainerError(f"tube: needs a factor for each of {', '.join(SCOUTS)}")
        if not all(0.0 < share < 1.0 for share in self.scout_factors.values()):
            raise TrainerError("tube: scout factors must be above 0 and below 1")

    def protocol(self, protocol_id: str) -> Protocol:
        """The protocol of that name.

        Raises
        ------
        NotFound
            If there is none; the message names those there are.
        """
        for p in self.protocols:
            if p.id == protocol_id:
                return p
        have = ", ".join(p.id for p in self.protocols)
        raise NotFound(f"the tube has no protocol {protocol_id!r}; it has {have}")

    def voxel_factor(self, voxel_um: int) -> float:
        """What that voxel edge does to the tube charge.

        Raises
        ------
        NotFound
            If it is coarser than all edges there are.
        """
        for v in self.voxel_factors:
            if voxel_um <= v.up_to_um:
                return v.mas_factor
        raise NotFound(
            f"no tube charge for voxels of {voxel_um} um; the coarsest are "
            f"{self.voxel_factors[-1].up_to_um} um"
        )


@dataclass(frozen=True, slots=True)
class Exposure:
    """One exposure as asked for: what it makes, and the settings it is made with."""

    kind: ExposureKind
    protocol: str
    voxel_um: int
    low_dose: bool = False


def exposure_mas(tube: Tube, exposure: Exposure) -> float:
    """Tube charge of an exposure [mAs].

    A scan takes its protocol's charge, times the factors for voxel and low dose. A scout takes its
    share of the protocol's whole turn.

    Raises
    ------
    NotFound
        If the tube lacks the protocol or the voxel.
    """
    protocol = tube.protocol(exposure.protocol)
    if exposure.kind.is_scout:
        return protocol.turn_mas * tube.scout_factors[exposure.kind]
    low = tube.low_dose_factor if exposure.low_dose else 1.0
    return protocol.mas * tube.voxel_factor(exposure.voxel_um) * low


def _positive(what: str, **numbers: float) -> None:
    for name, value in numbers.items():
        if not 0.0 < value < math.inf:
            raise TrainerError(f"{what}: {name} {value:g}, must be above 0")

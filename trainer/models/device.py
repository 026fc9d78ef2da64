"""The imaging unit as data. All shipped units are invented."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from trainer.errors import NotFound
from trainer.models.protocol import Tube


class Region(StrEnum):
    """What the request names; decides where the field starts above the zero plane."""

    LOWER_JAW = "lower-jaw"
    UPPER_JAW = "upper-jaw"
    BOTH_JAWS = "both-jaws"
    JOINTS = "joints"


@dataclass(frozen=True, slots=True)
class RegionPlace:
    """Where a region's field starts and where the central ray runs, above the zero plane [mm]."""

    start_mm: float
    central_ray_mm: float


@dataclass(frozen=True, slots=True)
class LayerArc:
    """A piece of a sharp layer's middle: its length, and the radius that the beam turns by [mm]."""

    length_mm: float
    radius_mm: float


@dataclass(frozen=True, slots=True)
class SharpLayer:
    """The horseshoe that a panoramic picture shows sharply.

    Its middle is a chain of ``arcs`` from the midline backwards, the same on both sides: the narrow
    beam stands square to it and turns about one centre after another. ``groove_behind_mm`` is how
    far the groove for the front teeth stands behind the field's front edge, ``front_behind_mm`` how
    far the layer's middle does there. ``slit_mm`` is the beam's width on the detector.
    """

    groove_behind_mm: float
    front_behind_mm: float
    arcs: tuple[LayerArc, ...]
    slit_mm: float


@dataclass(frozen=True, slots=True)
class FieldSize:
    """A cylinder the unit can record: name, diameter and height [mm], and the regions it serves.

    With a ``layer`` it is what a panoramic picture takes in, of which the layer is sharp; then
    ``voxels_um`` are the picture's points.
    """

    id: str
    diameter_mm: float
    height_mm: float
    regions: tuple[Region, ...]
    voxels_um: tuple[int, ...]
    layer: SharpLayer | None = None

    @property
    def volume_mm3(self) -> float:
        """Volume of the whole cylinder."""
        return 3.141592653589793 / 4.0 * self.diameter_mm**2 * self.height_mm


@dataclass(frozen=True, slots=True)
class Travel:
    """How far a control can go, and its smallest step, in the control's own unit (mm or deg)."""

    lowest: float
    highest: float
    step: float


class LightAxis(StrEnum):
    """Which way the light plane's normal points."""

    SIDEWAYS = "sideways"
    FORWARD = "forward"
    HEIGHT = "height"


class LightPlace(StrEnum):
    """What a light plane marks and moves with."""

    MIDLINE = "unit-midline"
    ZERO_PLANE = "zero-plane"
    FIELD_FRONT = "field-front"
    FIELD_CENTRE = "field-centre"
    FIELD_FLOOR = "field-floor"
    FIELD_ROOF = "field-roof"
    GROOVE = "groove"


@dataclass(frozen=True, slots=True)
class LightPlane:
    """A sheet of light on the skin; ``arm_turned_only`` ones show with the arm turned by 90 deg."""

    id: str
    axis: LightAxis
    place: LightPlace
    arm_turned_only: bool


@dataclass(frozen=True, slots=True)
class Beam:
    """The cone: source and detector against the rotation axis, which stands in the field's centre.

    For a panoramic picture the layer's middle takes the place of the axis.

    ``detector_below_mm`` and ``detector_above_mm`` count from the central ray on the detector.
    ``detector_width_mm`` is none where nothing is said of it, ``detector_offset_mm`` how far the
    detector's middle stands beside the central ray.
    """

    source_to_axis_mm: float
    source_to_detector_mm: float
    detector_below_mm: float
    detector_above_mm: float
    detector_width_mm: float | None = None
    detector_offset_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Turn:
    """How the arm turns about the axis: from where to where, against its parked place [deg].

    Counted from the patient's back over the patient's left.
    """

    from_deg: float
    sweep_deg: float


WHOLE_TURN = Turn(0.0, 360.0)


@dataclass(frozen=True, slots=True)
class MovingPart:
    """What goes round the patient, as a box that faces the rotation axis.

    ``nearest_mm`` and ``farthest_mm`` count from the axis along the box's middle, ``half_width_mm``
    across it; ``bottom_mm`` and ``top_mm`` from the zero plane. ``angle_deg`` is where the middle
    stands when parked: 0 behind the patient, 90 on the patient's left.
    """

    id: str
    nearest_mm: float
    farthest_mm: float
    half_width_mm: float
    bottom_mm: float
    top_mm: float
    angle_deg: float

    @property
    def name(self) -> str:
        """Plain English, for sentences."""
        return f"the {self.id.replace('-', ' ')}"


@dataclass(frozen=True, slots=True)
class Unit:
    """A generic imaging unit.

    ``support_forward_mm``: chin support's midline point ahead of the parked axis.
    ``front_line_mm``: where the field's front edge stands when the field is not moved, ahead of
    the chin support's midline point. ``travel`` is keyed by control (see `models.controls`).
    ``moving_parts`` go round the patient by ``turn``, about an axis in the field's centre. Without
    a ``tube`` nothing is known of how it exposes.
    """

    id: str
    name: str
    note: str
    support_forward_mm: float
    front_line_mm: float
    regions: Mapping[Region, RegionPlace]
    fields: tuple[FieldSize, ...]
    travel: Mapping[str, Travel]
    lights: tuple[LightPlane, ...]
    beam: Beam
    turn: Turn = WHOLE_TURN
    moving_parts: tuple[MovingPart, ...] = ()
    tube: Tube | None = None

    def field(self, field_id: str) -> FieldSize:
        """The field of that name.

        Raises
        ------
        NotFound
            If the unit has none; the message names those it has.
        """
        for f in self.fields:
            if f.id == field_id:
                return f
        have = ", ".join(f.id for f in self.fields)
        raise NotFound(f"unit {self.id} has no field {field_id!r}; it has {have}")

    @property
    def is_panoramic(self) -> bool:
        """Whether it makes panoramic pictures and no volumes; all its fields are then of a kind."""
        return any(f.layer is not None for f in self.fields)

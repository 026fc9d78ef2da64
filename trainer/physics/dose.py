"""What an exposure costs: its kerma-area product, and a range of effective dose.

The kerma-area product follows from the tube: air kerma at the axis times the beam's area there.
Kerma falls with the square of the distance as the area grows with it, so the product is the same
wherever it is taken. Effective dose is the product times a published coefficient. The coefficients
of different papers lie apart by a factor of nine, so it is a range, never one number; and it
describes a reference person, not the one in front of the unit.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from trainer.errors import TrainerError
from trainer.models.device import FieldSize, SharpLayer, Unit
from trainer.models.protocol import AgeGroup, Exposure, Tube, exposure_mas
from trainer.physics.dose_tables import background_usv_per_year, coefficient, panoramic_dose
from trainer.physics.spectrum import Spectrum, air_kerma_ugy, tube_spectrum

DOSE_CAUTION = (
    "An estimate for learning, from an invented unit and published averages for a reference "
    "person. It is not the dose or the risk of any patient; the unit's own display, local rules "
    "and licensed practitioners decide."
)
# Where every product computed here comes from.
KAP_SOURCE = (
    "kerma-area product: tube spectra computed with spekpy 2.5.4 (model casim, 12 degrees anode); "
    "voltage, filters and tube charge are those of the invented unit"
)
_OUTPUT_AT_MM = 1000.0
_DAYS_OF_YEAR = 365.0


@dataclass(frozen=True, slots=True)
class DoseEstimate:
    """Kerma-area product [mGy cm2] and effective dose [uSv] as a range.

    ``sources`` names where every figure in it comes from; ``caution`` is to be shown with it.
    """

    kap_mgy_cm2: float
    low_usv: float
    middle_usv: float
    high_usv: float
    sources: tuple[str, ...]
    caution: str = DOSE_CAUTION

    @property
    def background_days(self) -> tuple[float, float, float]:
        """Low, middle and high as days of mean background; see `background_days`."""
        return (
            background_days(self.low_usv),
            background_days(self.middle_usv),
            background_days(self.high_usv),
        )


def spectrum_of(tube: Tube) -> Spectrum:
    """What leaves the tube through its filters.

    Raises
    ------
    NotFound
        If no spectrum is known for the voltage or the filtration.
    """
    return tube_spectrum(tube.kvp, tube.aluminium_mm, tube.copper_mm)


def kerma_mgy(tube: Tube, mas: float, distance_mm: float) -> float:
    """Air kerma in the open beam [mGy] at a distance from the focus: the inverse square law.

    Raises
    ------
    TrainerError
        If the distance is not positive.
    NotFound
        If no spectrum is known for the tube.
    """
    if not distance_mm > 0.0:
        raise TrainerError(f"distance from the focus {distance_mm:g} mm, must be above 0")
    at_one_metre = air_kerma_ugy(spectrum_of(tube)) / 1000.0 * mas
    return at_one_metre * (_OUTPUT_AT_MM / distance_mm) ** 2


def field_area_cm2(field: FieldSize) -> float:
    """Diameter x height: what the beam of a scan covers at the axis."""
    return field.diameter_mm * field.height_mm / 100.0


def slit_area_cm2(unit: Unit, layer: SharpLayer) -> float:
    """What the beam of a panoramic picture covers at the layer: width of the slit x height."""
    beam = unit.beam
    smaller = beam.source_to_axis_mm / beam.source_to_detector_mm
    height_mm = beam.detector_below_mm + beam.detector_above_mm
    return layer.slit_mm * height_mm * smaller**2 / 100.0


def scout_area_cm2(unit: Unit) -> float:
    """What the beam of a scout covers at the axis: the whole detector (see `views`)."""
    beam = unit.beam
    half_fan = math.asin(max(f.diameter_mm for f in unit.fields) / 2.0 / beam.source_to_axis_mm)
    width_mm = 2.0 * beam.source_to_axis_mm * math.tan(half_fan)
    height_mm = beam.detector_below_mm + beam.detector_above_mm
    return width_mm * height_mm * beam.source_to_axis_mm / beam.source_to_detector_mm / 100.0


def kap_mgy_cm2(unit: Unit, tube: Tube, field: FieldSize, exposure: Exposure) -> float:
    """Kerma-area product of an exposure [mGy cm2].

    A scan's beam is closed to the field, that of a panoramic picture to its slit; a scout's is open
    over the whole detector.

    Raises
    ------
    NotFound
        If the tube lacks the protocol or voxel, or no spectrum is known for it.
    """
    area = _area_cm2(unit, field, exposure)
    mas = exposure_mas(tube, exposure)
    return kerma_mgy(tube, mas, unit.beam.source_to_axis_mm) * area


def dose_of(
    unit: Unit, tube: Tube, field: FieldSize, exposure: Exposure, group: AgeGroup
) -> DoseEstimate:
    """What an exposure costs a reference person of the group; errors as `kap_mgy_cm2`.

    A scout takes the coefficient of scans of as large an area: own assumption, for want of one. A
    panoramic picture costs what is published for such pictures, whatever its product.
    """
    area = _area_cm2(unit, field, exposure)
    kap = kap_mgy_cm2(unit, tube, field, exposure)
    if field.layer is not None:
        known = panoramic_dose(group)
        sources = (KAP_SOURCE, f"effective dose of one panoramic picture: {known.cited}")
        return DoseEstimate(kap, known.low, known.middle, known.high, sources)
    return dose_of_kap(kap, area, group, KAP_SOURCE)


def _area_cm2(unit: Unit, field: FieldSize, exposure: Exposure) -> float:
    if exposure.kind.is_scout:
        return scout_area_cm2(unit)
    return field_area_cm2(field) if field.layer is None else slit_area_cm2(unit, field.layer)


def dose_of_kap(
    kap: float, area_cm2: float, group: AgeGroup, kap_source: str = "as displayed"
) -> DoseEstimate:
    """The effective dose that a kerma-area product [mGy cm2] over that area stands for."""
    per_kap = coefficient(area_cm2, group)
    return DoseEstimate(
        kap_mgy_cm2=kap,
        low_usv=kap * per_kap.low,
        middle_usv=kap * per_kap.middle,
        high_usv=kap * per_kap.high,
        sources=(kap_source, f"effective dose per kerma-area product: {per_kap.cited}"),
    )


def total_dose(estimates: Iterable[DoseEstimate]) -> DoseEstimate:
    """Several exposures together: every one counts in full, a retake too; nothing for none."""
    all_of_them = list(estimates)
    return DoseEstimate(
        kap_mgy_cm2=sum((e.kap_mgy_cm2 for e in all_of_them), 0.0),
        low_usv=sum((e.low_usv for e in all_of_them), 0.0),
        middle_usv=sum((e.middle_usv for e in all_of_them), 0.0),
        high_usv=sum((e.high_usv for e in all_of_them), 0.0),
        sources=tuple(dict.fromkeys(s for e in all_of_them for s in e.sources)),
    )


def background_days(dose_usv: float) -> float:
    """An effective dose [uSv] as days of mean background (all sources, United Kingdom)."""
    return dose_usv / background_usv_per_year().middle * _DAYS_OF_YEAR

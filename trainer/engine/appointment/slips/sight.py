"""What a slip's finder looks at: the run, what was ordered, and where things lay."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from trainer.engine.appointment.state import Context, held_by
from trainer.engine.placement import Placement, StructurePlacement
from trainer.models.appointment import Run
from trainer.models.appointment_visit import Prescription, WornItem
from trainer.models.appointment_words import Shield, WornPlace
from trainer.models.slips import ImageEffect, Slip, SlipCode

# Heights above the chin contact [mm], head upright: a mean man's landmarks, ears by what hangs from
# them, neck and hair own working values. A child's are smaller by a fifth or so, which the spread
# below covers.
PLACE_HEIGHT_MM = {
    WornPlace.NECK: -50.0,
    WornPlace.LIP: 45.0,
    WornPlace.LOWER_TEETH: 45.0,
    WornPlace.TONGUE: 45.0,
    WornPlace.UPPER_TEETH: 52.0,
    WornPlace.EARS: 75.0,
    WornPlace.NOSE: 77.0,
    WornPlace.EYES: 115.0,
    WornPlace.HAIR: 180.0,
}
# A hearing aid sits at the ear canal: porion of a mean man, not the lobe.
HEARING_AID_MM = 103.0
# Upper edge of a shield: a high collar reaches up to the lower jaw's border. Own working values.
SHIELD_TOP_MM = {Shield.APRON: -80.0, Shield.COLLAR_LOW: -40.0, Shield.COLLAR_HIGH: 15.0}
# The cone reaches this far beyond the field on its way, and places vary: own working value.
SPREAD_MM = 10.0


@dataclass(frozen=True, slots=True)
class Sight:
    """A run with everything that tells what went wrong in it.

    ``partners`` are the other runs of an examination that is made of several.
    """

    context: Context
    ordered: Prescription
    run: Run
    placement: Placement
    partners: tuple[Run, ...] = ()

    @property
    def lacking(self) -> list[StructurePlacement]:
        """Required structures without their margin, which this run should have held.

        Of several runs, the one that comes nearest to holding a structure answers for it.
        """
        out = [s for s in self.placement.required if not s.holds]
        if not out or not self.partners:
            return out
        others = tuple(r.conditions.setup for r in self.partners)
        held = held_by(self.context, (self.run.conditions.setup, *others))
        best: dict[str, float] = {}
        for placement in map(self.context.placing, others):
            for s in placement.required:
                best[s.structure.id] = max(s.margin_mm, best.get(s.structure.id, s.margin_mm))
        return [
            s
            for s in out
            if s.structure.id not in held and s.margin_mm >= best.get(s.structure.id, s.margin_mm)
        ]

    @property
    def field_floor_mm(self) -> float:
        """Lower edge of the field above the chin contact [mm]."""
        setup = self.run.conditions.setup
        return self.context.unit.regions[setup.region].start_mm - setup.chin_height_mm

    @property
    def field_roof_mm(self) -> float:
        """Upper edge of the field above the chin contact [mm]."""
        return self.field_floor_mm + self.placement.field.height_mm

    def in_beam(self, item: WornItem) -> bool:
        """Whether the item stands in the beam."""
        return self.field_floor_mm - SPREAD_MM <= height_mm(item) <= self.field_roof_mm + SPREAD_MM

    def beside_target(self, item: WornItem) -> bool:
        """Whether the item's shadow falls across the target: they stand at one height."""
        target = self.placement.target
        if target is None or not self.in_beam(item):
            return False
        middle = (self.field_floor_mm + self.field_roof_mm) / 2.0 + float(target.centre_mm[2])
        away = abs(height_mm(item) - middle)
        return away <= target.height_mm / 2.0 + SPREAD_MM

    def worn(self) -> Iterator[WornItem]:
        """What was worn during the run."""
        for item in self.context.visit.items:
            if item.id in self.run.conditions.worn:
                yield item


def height_mm(item: WornItem) -> float:
    """Height of an item above the chin contact [mm]."""
    return HEARING_AID_MM if item.hears else PLACE_HEIGHT_MM[item.place]


def slip(code: SlipCode, found: str, effect: ImageEffect | None = None) -> Slip:
    """A slip that does not spoil the image."""
    return Slip(code, found, effect or ImageEffect())

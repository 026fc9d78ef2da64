"""How much a field is meant to hold."""

from __future__ import annotations

from enum import StrEnum

from trainer.models.device import FieldSize

# From these sizes on a field holds a whole arch, or both jaws: own working values, inside the usual
# classes (one tooth to a few teeth, one jaw, both jaws, face).
ARCH_DIAMETER_MM = 70.0
BOTH_JAWS_HEIGHT_MM = 70.0
# Largest of the three classes by diameter x height in Mah, Ritenour & Yao, Dentomaxillofac Radiol
# 50:20200225, 2021: above 225 cm2.
LARGE_AREA_CM2 = 225.0


class FieldClass(StrEnum):
    """How much a field is meant to hold."""

    SMALL = "small"
    ONE_JAW = "one-jaw"
    BOTH_JAWS = "both-jaws"
    LARGE = "large"


def field_class(field_size: FieldSize) -> FieldClass:
    """The class of a field, by its diameter, height and their product."""
    if field_size.diameter_mm * field_size.height_mm / 100.0 > LARGE_AREA_CM2:
        return FieldClass.LARGE
    if field_size.diameter_mm < ARCH_DIAMETER_MM:
        return FieldClass.SMALL
    if field_size.height_mm < BOTH_JAWS_HEIGHT_MM:
        return FieldClass.ONE_JAW
    return FieldClass.BOTH_JAWS

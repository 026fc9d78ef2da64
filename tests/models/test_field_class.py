"""How much a field is meant to hold."""

from __future__ import annotations

import pytest

from trainer.models.device import FieldSize, Region
from trainer.models.field_class import FieldClass, field_class


@pytest.mark.parametrize(
    ("diameter_mm", "height_mm", "size"),
    [
        (40, 40, FieldClass.SMALL),
        (60, 60, FieldClass.SMALL),
        (80, 50, FieldClass.ONE_JAW),
        (140, 60, FieldClass.ONE_JAW),
        (80, 80, FieldClass.BOTH_JAWS),
        (105, 95, FieldClass.BOTH_JAWS),
        (150, 150, FieldClass.BOTH_JAWS),
        (160, 150, FieldClass.LARGE),
        (200, 179, FieldClass.LARGE),
    ],
)
def test_classes_of_usual_fields(diameter_mm: float, height_mm: float, size: FieldClass) -> None:
    """Usual fields fall into the classes the trade puts them in (common practice, no source)."""
    field = FieldSize("f", diameter_mm, height_mm, (Region.LOWER_JAW,), (200,))
    assert field_class(field) is size

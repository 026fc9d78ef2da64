"""Files of panoramic pictures: what does not go together is told with line and key."""

from __future__ import annotations

from pathlib import Path

import pytest

from trainer.services.assets import SCENARIOS, UNITS
from trainer.services.scenario_io import check_file
from trainer.services.unit_io import load_unit

ROWAN, ALDER = UNITS / "rowan_slit.yaml", UNITS / "alder_bench.yaml"
PANORAMIC, VOLUME = SCENARIOS / "panoramic_overview.yaml", SCENARIOS / "both_jaws.yaml"
PLAIN_FIELD = (
    "  - id: plain\n    diameter_mm: 60\n    height_mm: 60\n    regions: [both-jaws]\n"
    "    voxels_um: [100]\n"
)
FAULTS = {
    "no limit for the groove": (
        PANORAMIC, "groove_off_mm: 2\n", "", "groove_off_mm", "is missing; unit rowan-slit makes",
    ),
    "a limit without a groove": (
        VOLUME, "guard_rim_mm: 1\n", "guard_rim_mm: 1\ngroove_off_mm: 2\n", "groove_off_mm",
        "makes no panoramic pictures; leave it out",
    ),
    "groove in the back half": (
        ROWAN, "groove_behind_mm: 20", "groove_behind_mm: 80", "fields[0].layer.groove_behind_mm",
        "must lie in the front half of the field (150 mm), got 80",
    ),
    "layer in the back half": (
        ROWAN, "front_behind_mm: 27.5", "front_behind_mm: 75", "fields[0].layer.front_behind_mm",
        "must lie in the front half of the field (150 mm), got 75",
    ),
    "a field without layer beside": (
        ROWAN, "      slit_mm: 3\n", f"      slit_mm: 3\n{PLAIN_FIELD}", "fields[1]",
        "has no layer, others have",
    ),
    "a groove's light without a groove": (
        ALDER, "place: field-front", "place: groove", "lights[3].place",
        "no field of this unit has a layer",
    ),
    "no slit": (
        ROWAN, "      slit_mm: 3\n", "", "fields[0].layer.slit_mm", "is missing",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", FAULTS)
def test_what_does_not_go_together_is_told(name: str, tmp_path: Path) -> None:
    """One fault, at its key, in words that say what to do."""
    source, old, new, key, words = FAULTS[name]
    text = source.read_text(encoding="utf-8")
    assert text.count(old) == 1
    path = tmp_path / source.name
    path.write_text(text.replace(old, new), encoding="utf-8")
    (fault,) = check_file(path, UNITS)
    assert fault.key == key
    assert words in fault.text


def test_the_shipped_layer_is_read_as_it_is_written() -> None:
    """Its arcs and numbers are the file's; the other shipped units have none."""
    unit = load_unit(ROWAN)
    (field,) = unit.fields
    assert field.layer is not None and unit.is_panoramic
    assert [(a.length_mm, a.radius_mm) for a in field.layer.arcs] == [
        (22.0, 24.0), (12.0, 60.0), (70.0, 150.0),
    ]  # fmt: skip
    assert (field.layer.groove_behind_mm, field.layer.front_behind_mm) == (20.0, 27.5)
    assert not load_unit(ALDER).is_panoramic

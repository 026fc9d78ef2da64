"""All that is found about a unit."""

from __future__ import annotations

from collections.abc import Sequence

from trainer.engine.unit_check.beam import beam_findings
from trainer.engine.unit_check.finding import Finding
from trainer.engine.unit_check.places import place_findings
from trainer.engine.unit_check.reach import head_findings
from trainer.engine.unit_check.tube import tube_findings
from trainer.models.device import Unit
from trainer.models.meshes import HeadMeshes


def check_unit_geometry(unit: Unit, heads: Sequence[HeadMeshes] = ()) -> tuple[Finding, ...]:
    """Everything about the unit that cannot be, is not allowed, or is uncommon; errors first.

    ``heads`` are tried in the unit: mean people. The moving parts sit on one arm, so they cannot
    hit one another. What a unit's file is refused for is not told again: parts and fields that
    overlap, fields taller than the detector sees at the axis.
    """
    found = [*beam_findings(unit), *place_findings(unit), *tube_findings(unit)]
    if not any(f.is_error for f in found):
        found += head_findings(unit, heads)
    return tuple(sorted(found, key=lambda f: not f.is_error))

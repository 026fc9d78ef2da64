"""What a run costs, and which organs its beam goes through, in numbers and in words."""

from __future__ import annotations

from dataclasses import dataclass

from trainer.engine.placement import chain_of
from trainer.geometry.transforms import apply
from trainer.models.protocol import Exposure, ExposureKind, age_group
from trainer.physics.beam_share import beam_share
from trainer.physics.dose import dose_of
from trainer.services.appointment_report import dose_words
from trainer.services.volumes.record import protocol_of
from trainer.services.volumes.scan import FOR_LEARNERS, VolumeAsk, planned_scan
from trainer.services.workbench import Workbench

# Organs of the head that dose reports name (ICRP 103 names salivary glands and thyroid, ICRP 118
# the lens), as the head's structures.
ORGANS = {
    "lenses of the eyes": ("lens-left", "lens-right"),
    "parotid glands": ("parotid-left", "parotid-right"),
    "submandibular glands": ("submandibular-gland-left", "submandibular-gland-right"),
    "sublingual glands": ("sublingual-gland-left", "sublingual-gland-right"),
    "thyroid": ("thyroid",),
}
ORGANS_SOURCE = (
    "Share of the organ's volume in the open beam, averaged over the views, worked out on the "
    "synthetic head. Scatter reaches organs outside of the beam too: for a large scan about 4 mGy "
    "to the lens and 1.6 mGy to the thyroid were measured (Goren et al., Dentomaxillofac Radiol "
    "2013); the lens's dose follows the field's size (Albahiti et al., Int J Biomed 14:77-82, "
    "2024)."
)


@dataclass(frozen=True, slots=True)
class OrganShare:
    """Of an organ, both sides together: the mean share in the beam, and the share ever in it."""

    organ: str
    mean: float
    ever: float


def organ_shares(bench: Workbench, ask: VolumeAsk) -> tuple[OrganShare, ...]:
    """What of each organ stands in the beam of a run while the person keeps still.

    Raises
    ------
    NotFound
        If the unit lacks field or region, or its tube the protocol.
    """
    scan, _ = planned_scan(bench, ask, protocol_of(bench, ask), FOR_LEARNERS)
    steps, structures = (
        chain_of(bench.meshes.head, bench.unit, ask.setup),
        bench.meshes.head.structures,
    )
    found = []
    for organ, names in ORGANS.items():
        parts = [structures[n] for n in names]
        shares = [
            beam_share(apply(steps.to_field(s.frame), s.samples_mm), s.weights, scan) for s in parts
        ]
        mean, ever = (sum(s[i] for s in shares) / len(shares) for i in (0, 1))
        found.append(OrganShare(organ, mean, ever))
    return tuple(found)


def dose_text(bench: Workbench, ask: VolumeAsk) -> str:
    """What the run costs a reference person, with source and caution.

    Raises
    ------
    NotFound
        As `organ_shares`.
    """
    if bench.unit.tube is None:
        return "Radiation: this unit's file names no tube, so no dose can be estimated."
    used = ask.programme
    exposure = Exposure(ExposureKind.FULL, used.protocol, used.voxel_um, used.low_dose)
    group = age_group(bench.case.subject.person.age_years)
    field = bench.unit.field(ask.setup.field)
    dose = dose_of(bench.unit, bench.unit.tube, field, exposure, group)
    sources = "; ".join(dose.sources)
    return f"Radiation of the whole run: {dose_words(dose)}. {dose.caution} Sources: {sources}."


def organs_text(shares: tuple[OrganShare, ...]) -> str:
    """The shares in one line, what is outside last, and how they were found."""
    inside = [s for s in shares if s.ever >= 0.005]
    outside = [s.organ for s in shares if s.ever < 0.005]
    told = [f"{s.organ} {100.0 * s.mean:.0f} %" for s in inside]
    parts = [f"In the beam, on average: {', '.join(told) or 'none of the organs named here'}."]
    if outside:
        parts.append(f"Outside of it: {', '.join(outside)}.")
    return " ".join([*parts, ORGANS_SOURCE])

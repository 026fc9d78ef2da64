"""Field chooser evidence: what every field of a unit holds of a case's target, and what it costs.

For each field the probability that scattered placings hold everything, without scouts and after
them, beside the effective dose: why a tight field needs scouts.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from trainer.engine.proof.best import Best, best_setup, field_fits
from trainer.engine.proof.limits import limits_of, ordered, ordered_setup
from trainer.engine.proof.proof import run_targets
from trainer.engine.proof.scatter import AFTER_SCOUTS, fitting, normal_numbers
from trainer.engine.proof.success import Success, success
from trainer.engine.proof.target import outline
from trainer.errors import TrainerError
from trainer.models.appointment_visit import Programme
from trainer.models.device import FieldSize, Region, Unit
from trainer.models.protocol import SCOUTS, Exposure, ExposureKind, age_group
from trainer.physics.dose import DOSE_CAUTION, DoseEstimate, dose_of, total_dose
from trainer.services.cautions import SHORT_CAUTION
from trainer.services.proof import ProofOrder
from trainer.services.workbench import Workbench


@dataclass(frozen=True, slots=True)
class FieldEvidence:
    """One field: its best setups hold with ``slack_mm`` to spare, and scattered ones so often.

    ``doses``: for each of ``successes`` that of all runs, with a pair of scouts a run where the
    placing used them.
    """

    field: FieldSize
    region: Region
    voxel_um: int
    slack_mm: float
    successes: tuple[Success, ...]
    doses: tuple[DoseEstimate, ...]


@dataclass(frozen=True, slots=True)
class Evidence:
    """All fields of a unit for one case, the smallest first; ``ordered`` is the order's field."""

    case_id: str
    title: str
    unit_id: str
    ordered: str
    order: ProofOrder
    fields: tuple[FieldEvidence, ...]


def field_evidence(
    bench: Workbench, order: ProofOrder, tell: Callable[[str], None] = lambda _: None
) -> Evidence:
    """What every field of the bench's unit does for its case.

    Fields other than the ordered one are entered with the region they serve and, where they lack
    the ordered voxel, with the nearest they have. ``tell`` is called with each field's name; it may
    raise to end the work.

    Raises
    ------
    TrainerError
        If nothing is known of how the unit exposes, or as `engine.proof.proof.run_targets`.
    """
    case, unit, head = bench.case, bench.unit, bench.meshes.head
    if unit.tube is None:
        raise TrainerError(
            f"unit {unit.id} has no tube in its file, so nothing is known of its dose. Add 'tube' "
            "to the unit's file, or let the case take another unit."
        )
    order = replace(order, scatters=fitting(order.scatters, unit))
    limits = limits_of(case, unit)
    meant = ordered_setup(case, limits)
    targets = run_targets(case, head, unit)
    outlines = [outline(t) for t in targets]
    normal = normal_numbers(order.draws, order.seed)
    found = []
    for fit in field_fits(case, outlines[0], meant, limits):
        tell(fit.field.id)
        entered = meant.with_values({"region": fit.region, "field": fit.field.id})
        best: list[Best] = [best_setup(case, t, entered, limits) for t in outlines]
        setups = [b.setup for b in best]
        voxel, doses = _doses(bench, unit, fit.field, order, len(targets))
        found.append(
            FieldEvidence(
                field=fit.field,
                region=fit.region,
                voxel_um=voxel,
                slack_mm=min(b.slack_mm for b in best),
                successes=tuple(success(outlines, setups, s, normal) for s in order.scatters),
                doses=doses,
            )
        )
    return Evidence(case.id, case.text(case.title), unit.id, meant.field, order, tuple(found))


def _doses(
    bench: Workbench, unit: Unit, field: FieldSize, order: ProofOrder, runs: int
) -> tuple[int, tuple[DoseEstimate, ...]]:
    """The voxel that is entered, and the dose of all runs for each scatter."""
    assert unit.tube is not None
    prescription = ordered(bench.case)
    asked = prescription.programme if prescription else Programme()
    protocols = [p.id for p in unit.tube.protocols]
    protocol = asked.protocol if asked.protocol in protocols else protocols[0]
    voxel = min(field.voxels_um, key=lambda v: (abs(v - asked.voxel_um), v))
    group = age_group(bench.case.subject.person.age_years)

    def dose(kind: ExposureKind) -> DoseEstimate:
        exposure = Exposure(kind, protocol, voxel, asked.low_dose)
        return dose_of(unit, unit.tube, field, exposure, group)  # type: ignore[arg-type]

    full, scouts = [dose(ExposureKind.FULL)] * runs, [dose(k) for k in SCOUTS] * runs
    return voxel, tuple(
        total_dose(full + scouts if s is AFTER_SCOUTS else full) for s in order.scatters
    )


def evidence_text(evidence: Evidence) -> str:
    """The evidence as a table, with what it means and where the figures come from."""
    lines = [
        f"{evidence.title} ({evidence.case_id}, unit {evidence.unit_id})",
        "",
        "field     region      spare mm  "
        + "  ".join(f"{s.id:>24} {'uSv':>16}" for s in evidence.order.scatters),
    ]
    for f in evidence.fields:
        shares = "  ".join(
            f"{_share(s):>24} {f'{d.low_usv:.0f} to {d.high_usv:.0f}':>16}"
            for s, d in zip(f.successes, f.doses, strict=True)
        )
        mark = "  <- ordered" if f.field.id == evidence.ordered else ""
        region = str(f.region).replace("-", " ")
        lines.append(f"{f.field.id:8}  {region:10} {f.slack_mm:9.1f}  {shares}{mark}")
    lines += ["", *_notes(evidence)]
    return "\n".join([*lines, "", DOSE_CAUTION, SHORT_CAUTION])


def _share(found: Success) -> str:
    low, high = found.interval
    return f"{100 * found.probability:.1f} % ({100 * low:.1f}–{100 * high:.1f})"


def _notes(evidence: Evidence) -> list[str]:
    """What the figures are, and their sources."""
    sources = dict.fromkeys(s for f in evidence.fields for d in f.doses for s in d.sources)
    return [
        f"Probability of holding everything, 95 % interval, {evidence.order.draws} draws a field; "
        "effective dose of all runs as a range, after scouts with theirs.",
        *(f"Scatter {s.id}: {s.source}." for s in evidence.order.scatters),
        *(f"Dose: {source}." for source in sources),
    ]

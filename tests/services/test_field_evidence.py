"""What every field of a unit holds, its dose, and the plot."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from trainer.errors import TrainerError
from trainer.physics.dose import DOSE_CAUTION
from trainer.services.cautions import SHORT_CAUTION
from trainer.services.field_evidence import evidence_text, field_evidence
from trainer.services.field_plot import draw_doses, draw_probabilities, save_plot
from trainer.services.proof import ProofOrder, prove_bench
from trainer.services.workbench import open_workbench

ORDER = ProofOrder(draws=200)


@pytest.fixture(scope="module")
def bench():
    """The third molar's case."""
    return open_workbench("lower-third-molar")


@pytest.fixture(scope="module")
def evidence(bench):
    """Its evidence."""
    return field_evidence(bench, ORDER)


def test_every_field_is_there(bench, evidence):
    """All fields of the unit stand there, the smallest first; the ordered one is named."""
    assert {f.field.id for f in evidence.fields} == {f.id for f in bench.unit.fields}
    volumes = [f.field.volume_mm3 for f in evidence.fields]
    assert volumes == sorted(volumes)
    assert evidence.ordered == "40x40"


def test_a_tight_field_needs_scouts(evidence):
    """Without scouts the ordered field misses one time in five or more; after them hardly ever."""
    tight = evidence.fields[0]
    without, after = (s.probability for s in tight.successes)
    assert tight.field.id == "40x40"
    assert without < 0.85 and after > 0.97
    roomy = next(f for f in evidence.fields if f.field.id == "60x60")
    assert roomy.successes[0].probability > 0.97


def test_it_is_the_probability_of_the_proof(bench, evidence):
    """The ordered field has the share that the proof of the case finds."""
    proof = prove_bench(bench, ORDER)
    assert evidence.fields[0].successes[0].held == proof.successes[0].held


def test_a_larger_field_of_one_region_holds_more_and_costs_more(evidence):
    """Among lower-jaw fields a taller and wider one holds no less and has a higher dose."""
    jaw = {f.field.id: f for f in evidence.fields if f.region == "lower-jaw"}
    for small, large in pairwise(["40x40", "50x50", "80x50"]):
        a, b = jaw[small], jaw[large]
        assert a.successes[0].held <= b.successes[0].held
        assert a.doses[0].kap_mgy_cm2 < b.doses[0].kap_mgy_cm2


def test_scouts_add_their_dose(evidence):
    """After scouts the dose is that of the run and a little more: a pair takes a few per cent."""
    for found in evidence.fields:
        run, with_scouts = (d.middle_usv for d in found.doses)
        assert run < with_scouts < 1.1 * run


def test_the_voxel_is_the_nearest_offered(evidence):
    """The order's 100 um where the field has them, else the nearest."""
    voxels = {f.field.id: f.voxel_um for f in evidence.fields}
    assert (voxels["40x40"], voxels["60x60"], voxels["140x60"]) == (100, 120, 250)


def test_two_runs_cost_twice():
    """Both joints in a field each cost twice what one run does."""
    bench = open_workbench("both-joints")
    found = field_evidence(bench, ProofOrder(draws=20)).fields
    case = bench.case
    card = case.visit.card
    once = replace(card, prescription=replace(card.prescription, runs=1))
    left = tuple(r for r in case.required if r.structure.endswith("left"))
    single = replace(case, required=left, visit=replace(case.visit, card=once))
    one = field_evidence(replace(bench, case=single), ProofOrder(draws=20)).fields
    for two_runs, one_run in zip(found, one, strict=True):
        for two, run in zip(two_runs.doses, one_run.doses, strict=True):
            assert two.kap_mgy_cm2 == pytest.approx(2.0 * run.kap_mgy_cm2)


def test_a_unit_without_a_tube_is_told(bench):
    """Nothing is known of its dose, and the way out is named."""
    bare = replace(bench, unit=replace(bench.unit, tube=None))
    with pytest.raises(TrainerError, match="Add 'tube' to the unit's file"):
        field_evidence(bare, ORDER)


def test_progress_is_told_and_may_end_the_work(bench):
    """Each field is named before it is worked on; what is raised then goes through."""
    told = []

    def tell(name):
        told.append(name)
        if len(told) == 2:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        field_evidence(bench, ORDER, tell)
    assert told == ["40x40", "50x50"]


def test_the_text_has_range_source_and_caution(evidence):
    """The table tells intervals and dose ranges, their sources, and both cautions."""
    text = evidence_text(evidence)
    assert "<- ordered" in text and "Mah, Ritenour & Yao" in text and "PMC9700941" in text
    assert DOSE_CAUTION in text and text.endswith(SHORT_CAUTION)


def test_the_plot_needs_no_colour(evidence, tmp_path):
    """The picture is there, and every pixel of it is a shade of grey."""
    from matplotlib.image import imread

    path = save_plot(evidence, tmp_path / "fields.png")
    pixels = imread(path)
    assert pixels.shape[0] > 600 and pixels.shape[1] > 1000
    assert np.ptp(pixels[..., :3], axis=2).max() == 0.0
    assert (pixels[..., 0] < 0.3).mean() > 0.005


def test_the_plot_shows_the_numbers(evidence):
    """Marks stand at each field's probability and dose, with different shapes for the scatters."""
    from matplotlib.figure import Figure

    left, right = Figure().subplots(1, 2)
    draw_probabilities(left, evidence)
    draw_doses(right, evidence)
    for axes in (left, right):
        marks = [line for line in axes.lines if line.get_marker() in ("o", "s")]
        assert [m.get_marker() for m in marks] == ["o", "s"]
    for number, line in enumerate(m for m in left.lines if m.get_marker() in ("o", "s")):
        want = [100.0 * f.successes[number].probability for f in evidence.fields]
        np.testing.assert_allclose(np.asarray(line.get_xdata(), float), want)
    names = [label.get_text() for label in left.get_yticklabels()]
    assert names[0] == "40x40 (ordered)" and len(names) == len(evidence.fields)

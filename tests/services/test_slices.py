"""Slices through a phantom of three blocks, whose places are known."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.helpers.appointments import real_case
from trainer.engine.placement import chain_of, place
from trainer.models.frames import Frame
from trainer.models.images import LabelVolume, Phantom
from trainer.services import slices
from trainer.services.slices import BRIGHT, DARK, Cut, SlicedHead
from trainer.services.workbench import DEMO_CASE, open_workbench

MATERIALS = ("air", "soft tissue", "enamel", "cortical bone")
SETUP = {"chin_height_mm": -44.0, "field_sideways_mm": -30.0, "field_forward_mm": -34.0}


def block(frame: Frame, low: tuple, high: tuple, material: int) -> LabelVolume:
    """A volume of 1 mm voxels over the head's middle with one block in it (x, y, z) [mm]."""
    origin = np.array([-80.0, -110.0, -110.0])
    labels = np.zeros((140, 120, 161), np.uint8)
    a, b = (np.array(v) - origin for v in (low, high))
    labels[int(a[2]) : int(b[2]), int(a[1]) : int(b[1]), int(a[0]) : int(b[0])] = material
    return LabelVolume(frame, labels, origin, 1.0, MATERIALS)


@pytest.fixture
def placed():
    """The shipped case with the support too low."""
    case, unit, head, points = real_case()
    return place(case, head, points, unit, case.start.with_values({**SETUP, "jaw_gap_mm": 0.0}))


@pytest.fixture
def sliced(monkeypatch):
    """Makes the shipped head's slices with this skull and jaw for a phantom."""

    def make(skull: LabelVolume, jaw: LabelVolume) -> SlicedHead:
        monkeypatch.setattr(slices, "stored_phantom", lambda *args: Phantom(skull, jaw))
        bench = open_workbench(DEMO_CASE)
        return SlicedHead(bench, bench.case.subject.person)

    return make


NOTHING = block(Frame.SKULL, (0, 0, 0), (0, 0, 0), 0)
NO_JAW = replace(NOTHING, frame=Frame.MANDIBLE)


def middle_of(found, mask) -> tuple[float, float]:
    """Across and up of the middle of some pixels [mm]."""
    left, right, low, high = found.window_mm
    rows, columns = mask.shape
    row, column = (v.mean() + 0.5 for v in np.nonzero(mask))
    return left + (right - left) * column / columns, high - (high - low) * row / rows


def test_left_front_and_up_are_where_they_belong(sliced, placed) -> None:
    """A block at a known place of the skull shows there: across left on the right, front on top."""
    low, high = (-34.0, -60.0, -110.0), (-28.0, -50.0, 20.0)
    head = sliced(block(Frame.SKULL, low, high, 2), NO_JAW)
    _, unit, real, _ = real_case()
    steps = chain_of(real, unit, placed.setup)
    middle = (np.array(low) + np.array(high) - 1.0) / 2.0
    at = steps.skull_to_gantry.rotation @ middle + steps.skull_to_gantry.translation_mm
    across = head.slice(placed, Cut.ACROSS)
    spot = middle_of(across, across.grey > 200)
    np.testing.assert_allclose(spot, (at[0], -at[1]), atol=0.6)  # mm; pixels are 0.42 mm
    along = head.slice(placed, Cut.ALONG, float(at[0]))
    spot = middle_of(along, along.grey > 200)
    assert spot[0] == pytest.approx(-at[1], abs=0.6)


def test_the_jaw_goes_its_own_way_and_counts_over_the_skull(sliced, placed) -> None:
    """With the jaw open its block moves with it; where both are, the jaw's material shows."""
    low, high = (-60.0, -100.0, -100.0), (0.0, 0.0, 0.0)
    skull = block(Frame.SKULL, low, high, 1)
    jaw = block(Frame.MANDIBLE, (-40.0, -60.0, -60.0), (-20.0, -40.0, -40.0), 2)
    head = sliced(skull, jaw)
    closed = head.slice(placed, Cut.ALONG)
    assert (closed.grey > 200).any()
    case, unit, real, points = real_case()
    gap = place(case, real, points, unit, placed.setup.with_values({"jaw_gap_mm": 12.0}))
    opened = head.slice(gap, Cut.ALONG, closed.at_mm)
    before, after = (middle_of(s, s.grey > 200) for s in (closed, opened))
    # the chin stays on its support, so the jaw only turns; the skull behind it moves
    assert np.hypot(*(np.array(after) - np.array(before))) > 1.0


def test_the_field_is_drawn_as_large_as_it_is(sliced, placed) -> None:
    """Across it is a circle of the field's diameter; along a shape of its width and height."""
    head = sliced(NOTHING, NO_JAW)
    _, unit, real, _ = real_case()
    centre = -chain_of(real, unit, placed.setup).gantry_to_field.translation_mm
    across = head.slice(placed, Cut.ACROSS, float(centre[2]))
    off = across.field_mm - [centre[0], -centre[1]]
    np.testing.assert_allclose(np.hypot(*off.T), placed.field.diameter_mm / 2.0, atol=0.2)
    along = head.slice(placed, Cut.ALONG, float(centre[0]))
    size = np.ptp(along.field_mm, axis=0)
    np.testing.assert_allclose(
        size, (placed.field.diameter_mm, 2.0 * placed.region.half_height_mm), atol=1.0
    )
    aside = head.slice(placed, Cut.ALONG, float(centre[0]) + 12.0)
    chord = 2.0 * np.sqrt((placed.field.diameter_mm / 2.0) ** 2 - 144.0)
    assert np.ptp(aside.field_mm[:, 0]) == pytest.approx(chord, abs=0.2)
    beyond = head.slice(placed, Cut.ALONG, float(centre[0]) + placed.field.diameter_mm)
    assert len(beyond.field_mm) == 0


def test_what_is_missed_fills_its_own_place(sliced, placed) -> None:
    """The missed canal is marked where its samples lie in the slice, and is not among the held."""
    head = sliced(NOTHING, NO_JAW)
    _, unit, real, _ = real_case()
    step = chain_of(real, unit, placed.setup).mandible_to_gantry
    missed = {s.structure.id: s for s in placed.required if not s.holds}
    canal = missed["canal-at-48"].structure
    samples = canal.samples_mm @ step.rotation.T + step.translation_mm
    height = float(samples[:, 2].mean())
    found = head.slice(placed, Cut.ACROSS, height)
    assert set(found.missed) <= set(missed)
    assert not set(found.held) & set(missed)
    near = samples[np.abs(samples[:, 2] - height) < canal.cell_mm]
    spot = middle_of(found, found.missed["canal-at-48"])
    np.testing.assert_allclose(spot, (near[:, 0].mean(), -near[:, 1].mean()), atol=1.0)


def test_grey_follows_attenuation() -> None:
    """Cortical bone near 1935 and air at -999 against water at 60 keV, black below, white above.

    Mass attenuation of cortical bone (ICRU-44) 0.3148 and of water 0.2059 cm2/g: NIST tables of
    X-ray mass attenuation, from memory; density 1.92 g/cm3.
    """
    air, soft, enamel, bone = slices._numbers(MATERIALS)
    assert bone == pytest.approx(1000.0 * (0.3148 * 1.92 / 0.2059 - 1.0), rel=0.02)
    assert air == pytest.approx(-999.0, abs=1.0)
    assert 0.0 < soft < 120.0
    assert enamel > BRIGHT
    grey = slices._grey(np.array([DARK - 1.0, DARK, soft, bone, BRIGHT]))
    assert grey[0] == grey[1] == 0
    assert 0 < grey[2] < grey[3] < grey[4] == 255

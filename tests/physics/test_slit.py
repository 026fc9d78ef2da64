"""The slit of a panoramic picture: where things fall, how wide and high they are shown.

Beads of metal are pictured by rays through a solid's closed form, and compared with the layer's
formulas, which follow from speeds (see `geometry.layer`): two ways to the same numbers.
"""

from __future__ import annotations

import numpy as np
import pytest

from trainer.geometry.layer import against_layer, place_at
from trainer.models.device import Beam, FieldSize, LayerArc, Region, SharpLayer
from trainer.models.frames import Frame, RigidTransform
from trainer.models.materials import Material
from trainer.physics.slit import SlitRun, row_of, slit_run
from trainer.physics.solids import Block, solid_lengths

BEAM = Beam(400.0, 520.0, 60.0, 90.0)
LAYER = SharpLayer(
    20.0, 26.0, (LayerArc(22.0, 24.0), LayerArc(12.0, 60.0), LayerArc(70.0, 150.0)), 3.0
)
FIELD = FieldSize("panorama", 150.0, 110.0, (Region.BOTH_JAWS,), (100,), LAYER)
RAY_MM, PIXEL_MM, FINE_MM = -10.0, 0.5, 0.2
NEAR_MM = 12.0
METAL = Material("metal", 8.0, {"Fe": 1.0})
FRONT = np.array([0.0, 26.0 - 150.0 / 2.0, 0.0])


@pytest.fixture(scope="module")
def run() -> SlitRun:
    return slit_run(FIELD, BEAM, RAY_MM, PIXEL_MM)


@pytest.fixture(scope="module")
def fine() -> SlitRun:
    """In smaller points, to measure sizes on."""
    return slit_run(FIELD, BEAM, RAY_MM, FINE_MM)


def film(run: SlitRun, block: Block) -> np.ndarray:
    """The picture of a block: mean length of its rays, column by column."""
    rows = run.views[0].shape[0]
    total, met = np.zeros((rows, run.columns)), np.zeros(run.columns)
    same = RigidTransform(Frame.FIELD, block.frame, np.eye(3), np.zeros(3))
    for n, view in enumerate(run.views):
        here = slice(n, n + run.wide)
        total[:, here] += solid_lengths(block, view, same)
        met[here] += 1.0
    return total / met


def bead(along: float, off: float, up: float, half: float = 1.0, deep: float = 1.0) -> Block:
    """A small block beside the layer's middle, square to the beam there."""
    places, ways = place_at(LAYER, np.array([along]))
    out = np.array([*ways[0], 0.0])
    left = np.array([-out[1], out[0], 0.0])
    middle = FRONT + np.array([*places[0], up]) + off * out
    axes = np.stack([left, out, [0.0, 0.0, 1.0]], axis=1)
    return Block(Frame.SKULL, middle, np.array([half, deep, half]), axes, METAL)


def near(run: SlitRun, picture: np.ndarray, along: float) -> np.ndarray:
    """Only what is shown round a place: from the far side, things leave a second shadow."""
    column = round(float(run.column_of(along)))
    kept = np.zeros_like(picture)
    reach = round(NEAR_MM / run.pixel_mm)
    part = slice(max(0, column - reach), column + reach + 1)
    kept[:, part] = picture[:, part]
    return kept


def centre_of(picture: np.ndarray) -> tuple[float, float]:
    """Row and column of a picture's centre of mass."""
    rows, columns = np.indices(picture.shape)
    whole = picture.sum()
    return float((rows * picture).sum() / whole), float((columns * picture).sum() / whole)


def sizes_of(picture: np.ndarray, pixel_mm: float = PIXEL_MM) -> tuple[float, float]:
    """Width and height that an even shape with the same spread would have [mm on the film]."""
    row, column = centre_of(picture)
    rows, columns = np.indices(picture.shape)
    whole = picture.sum()
    spread = [
        np.sqrt(12.0 * ((grid - middle) ** 2 * picture).sum() / whole)
        for grid, middle in ((columns, column), (rows, row))
    ]
    return float(spread[0]) * pixel_mm, float(spread[1]) * pixel_mm


def test_the_picture_runs_from_the_patients_right_to_the_left(run: SlitRun) -> None:
    """As it is read: the patient's right is on the picture's left (common practice, no source)."""
    right, left = (centre_of(film(run, bead(a, 0.0, 0.0)))[1] for a in (-40.0, 40.0))
    assert right < run.columns / 2.0 < left
    assert right + left == pytest.approx(run.columns - 1.0, abs=0.5)


@pytest.mark.parametrize("along", [0.0, 15.0, -25.0, 33.0, -60.0, 90.0])
@pytest.mark.parametrize("up", [-20.0, 0.0, 30.0])
def test_a_bead_in_the_layer_falls_where_it_should(run: SlitRun, along: float, up: float) -> None:
    """Within a pixel, along the film and in height."""
    row, column = centre_of(near(run, film(run, bead(along, 0.0, up)), along))
    assert column == pytest.approx(float(run.column_of(along)), abs=1.0)
    assert row == pytest.approx(row_of(run, BEAM, RAY_MM, up, 0.0), abs=1.0)


@pytest.mark.parametrize(("along", "radius"), [(8.0, 24.0), (28.0, 60.0), (-70.0, 150.0)])
@pytest.mark.parametrize("off", [-4.0, 4.0, 8.0])
def test_width_and_height_beside_the_layer(
    fine: SlitRun, along: float, radius: float, off: float
) -> None:
    """A cube's shown width over height follows the ratio of speeds, smear taken off."""
    place = (bead(along, off, 0.0).middle_mm - FRONT)[None, :]
    found = against_layer(LAYER, BEAM, place)
    assert float(found.radius_mm[0]) == radius
    plate = film(fine, bead(along, off, RAY_MM, half=3.0, deep=0.3))
    wide, high = sizes_of(near(fine, plate, along), FINE_MM)
    # what the slit smears adds to the square of the width
    smear = float(found.smear_mm[0])
    sharp = np.sqrt(max(wide**2 - smear**2, 0.0))
    shown = 6.0 * 520.0 / (400.0 + off)
    # edges fall on whole points: within one of them
    assert high == pytest.approx(shown, abs=FINE_MM)
    assert sharp / shown == pytest.approx(float(found.width_ratio[0]), abs=FINE_MM / shown)


def test_what_stands_outside_is_narrow_and_smeared_inside_wide(run: SlitRun) -> None:
    """Courses on panoramic technique: in front narrow, behind wide, both unsharp."""
    sizes = {off: sizes_of(film(run, bead(0.0, off, RAY_MM, half=2.0))) for off in (-5.0, 0.0, 6.0)}
    ratios = {off: wide / high for off, (wide, high) in sizes.items()}
    assert ratios[6.0] < ratios[0.0] == pytest.approx(1.0, abs=0.05)
    assert ratios[-5.0] > 1.2


def test_far_things_leave_a_wide_pale_shadow(run: SlitRun) -> None:
    """A bead far behind the layer, as the spine is, is smeared over the whole slit and more."""
    far = film(run, bead(0.0, -90.0, 0.0, half=2.0))
    close = film(run, bead(0.0, 0.0, 0.0, half=2.0))
    assert far.max() < 0.5 * close.max()


def test_all_views_stand_square_to_the_layer(run: SlitRun) -> None:
    """Each view's middle ray goes through the layer's middle at its magnification."""
    assert len(run.views) == len(run.along_mm) == run.columns - run.wide + 1
    assert run.wide == 6 and run.magnification == pytest.approx(1.3)
    for view in run.views[:: len(run.views) // 7]:
        assert view.shape == (300, 6)
        across = view.column_step_mm @ (
            view.first_pixel_mm + 2.5 * view.column_step_mm - view.source_mm
        )
        assert across == pytest.approx(0.0, abs=1e-9)
    assert run.views[0].frame is Frame.FIELD

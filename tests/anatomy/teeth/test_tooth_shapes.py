"""Single teeth: sizes against the table, cusps and roots against textbook counts."""

from functools import cache

import numpy as np
import pytest
from scipy import ndimage

from trainer.anatomy.shapes.implicit import Shape
from trainer.anatomy.shapes.meshing import Mesh, surface
from trainer.anatomy.teeth.tooth_shapes import tooth_model
from trainer.anatomy.teeth.tooth_tables import SIZES

TEETH = sorted(SIZES)
SPACING_MM = 0.25
# The sizes must come out within this; the contract of the generator, finer than the spread of
# living teeth (SD about 0.5 mesiodistally, from memory: Ash & Nelson).
SIZE_WITHIN_MM = 0.2


@cache
def _mesh(jaw: str, place: int) -> Mesh:
    return surface(tooth_model(jaw, place).solid, SPACING_MM)


def _heights(shape: Shape, half_mm: float, step_mm: float, top_mm: float) -> np.ndarray:
    """Height of the biting surface over a square grid, nan where it is over 4 mm below the top."""
    axis = np.arange(-half_mm, half_mm + step_mm, step_mm)
    x, y = np.meshgrid(axis, axis, indexing="ij")
    z = np.arange(top_mm - 4.0, top_mm + 0.3, 0.1)
    points = np.stack(np.broadcast_arrays(x[..., None], y[..., None], z), axis=-1)
    inside = shape(points.reshape(-1, 3)).reshape(*x.shape, len(z)) < 0
    highest = len(z) - 1 - np.argmax(inside[..., ::-1], axis=-1)
    return np.where(inside.any(axis=-1), z[highest], np.nan)


@pytest.mark.parametrize(("jaw", "place"), TEETH)
def test_sizes_are_the_tables(jaw: str, place: int) -> None:
    """Crown, longest root and both diameters, measured on the mesh, are those of the table."""
    # Ash & Nelson, Wheeler's Dental Anatomy, table 1-1 and appendix B; see tooth_tables for marks
    size, v = SIZES[jaw, place], _mesh(jaw, place).vertices_mm
    crown = v[v[:, 2] > 0]
    assert v[:, 2].max() == pytest.approx(size.crown_mm, abs=SIZE_WITHIN_MM)
    assert -v[:, 2].min() == pytest.approx(max(size.root_mm), abs=SIZE_WITHIN_MM)
    assert np.ptp(crown[:, 0]) == pytest.approx(size.md_mm, abs=SIZE_WITHIN_MM)
    assert np.ptp(crown[:, 1]) == pytest.approx(size.bl_mm, abs=SIZE_WITHIN_MM)


@pytest.mark.parametrize(("jaw", "place"), TEETH)
def test_the_neck_is_the_tables(jaw: str, place: int) -> None:
    """The section at the neck has the table's diameters."""
    size = SIZES[jaw, place]
    v = _mesh(jaw, place).vertices_mm
    neck = v[np.abs(v[:, 2]) <= SPACING_MM / 2 + 1e-6]
    assert np.ptp(neck[:, 0]) == pytest.approx(size.md_neck_mm, abs=SIZE_WITHIN_MM)
    assert np.ptp(neck[:, 1]) == pytest.approx(size.bl_neck_mm, abs=SIZE_WITHIN_MM)


@pytest.mark.parametrize(("jaw", "place"), TEETH)
def test_each_root_has_its_length(jaw: str, place: int) -> None:
    """Every root's axis ends at its length below the neck, just inside the tooth's own apex."""
    model = tooth_model(jaw, place)
    for root, length in zip(model.roots, model.size.root_mm, strict=True):
        apex = root.axis_mm[-1]
        assert -apex[2] == pytest.approx(length, abs=0.1)
        assert model.solid(apex + [0.0, 0.0, 0.3])[0] < 0 < model.solid(apex - [0.0, 0.0, 0.3])[0]


@pytest.mark.parametrize(("jaw", "place"), TEETH)
def test_the_surface_is_closed_and_one_piece(jaw: str, place: int) -> None:
    """A tooth's mesh is watertight and in one piece."""
    trimesh = pytest.importorskip("trimesh")
    mesh = _mesh(jaw, place)
    body = trimesh.Trimesh(mesh.vertices_mm, mesh.faces, process=True)
    assert body.is_watertight
    assert body.body_count == 1


@pytest.mark.parametrize(("jaw", "place"), TEETH)
def test_root_sections(jaw: str, place: int) -> None:
    """Cut across at four fifths of the root, a tooth shows as many islands as it has roots."""
    model = tooth_model(jaw, place)
    axis = np.arange(-8.0, 8.01, 0.15)
    x, y = np.meshgrid(axis, axis, indexing="ij")
    at = np.full_like(x, -0.8 * min(model.size.root_mm))
    inside = model.solid(np.stack([x, y, at], axis=-1).reshape(-1, 3)).reshape(x.shape) < 0
    assert ndimage.label(inside)[1] == len(model.size.roots)


@pytest.mark.parametrize(
    ("jaw", "place", "count"),
    [
        # textbook counts (common anatomy); lower second premolar in its three-cusp form
        ("upper", 3, 1), ("lower", 3, 1),
        ("upper", 4, 2), ("upper", 5, 2), ("lower", 4, 2), ("lower", 5, 3),
        ("upper", 6, 4), ("upper", 7, 4), ("upper", 8, 3),
        ("lower", 6, 5), ("lower", 7, 4), ("lower", 8, 4),
    ],
)  # fmt: skip
def test_cusp_counts(jaw: str, place: int, count: int) -> None:
    """The biting surface has as many tops, a quarter millimetre proud, as the tooth has cusps."""
    morphology = pytest.importorskip("skimage.morphology")
    model = tooth_model(jaw, place)
    height = np.nan_to_num(
        _heights(model.crown, 6.0, 0.2, model.size.crown_mm), nan=model.size.crown_mm - 4.0
    )
    assert ndimage.label(morphology.h_maxima(height, 0.25), np.ones((3, 3)))[1] == count


@pytest.mark.parametrize(("jaw", "place"), [("upper", 1), ("upper", 2), ("lower", 1), ("lower", 2)])
def test_incisors_are_thin_at_the_edge(jaw: str, place: int) -> None:
    """An incisor is under 2 mm thick a millimetre below its edge, far thicker at the cingulum."""
    v = _mesh(jaw, place).vertices_mm
    size = SIZES[jaw, place]
    middle = v[np.abs(v[:, 0]) < 0.5]
    edge = middle[np.abs(middle[:, 2] - (size.crown_mm - 1.0)) < 0.2]
    low = middle[np.abs(middle[:, 2] - 0.22 * size.crown_mm) < 0.2]
    assert np.ptp(edge[:, 1]) < 2.0
    assert np.ptp(low[:, 1]) > 0.9 * size.bl_mm


def test_the_upper_first_molar_is_rhomboid() -> None:
    """Its mesiobuccal and distolingual corners reach further out than the other two."""
    v = _mesh("upper", 6).vertices_mm
    crown = v[(v[:, 2] > 2.0) & (v[:, 2] < 6.0)]
    sharp = (crown[:, 0] + crown[:, 1]).max(), (-crown[:, 0] - crown[:, 1]).max()
    blunt = (crown[:, 0] - crown[:, 1]).max(), (crown[:, 1] - crown[:, 0]).max()
    assert min(sharp) > max(blunt) + 0.5


@pytest.mark.parametrize(("jaw", "place"), TEETH)
def test_roots_sweep_to_distal(jaw: str, place: int) -> None:
    """The middle of a tooth's apices lies distal of the middle of its neck."""
    apices = np.array([r.axis_mm[-1] for r in tooth_model(jaw, place).roots])
    assert apices[:, 0].mean() < -0.2


def test_upper_molar_roots_splay() -> None:
    """The upper first molar's palatal apex stands well apart from the buccal ones."""
    roots = {r.name: r.axis_mm[-1] for r in tooth_model("upper", 6).roots}
    assert roots["palatal"][1] < -3.0 < 2.0 < min(roots["mesiobuccal"][1], roots["distobuccal"][1])
    assert roots["mesiobuccal"][0] - roots["distobuccal"][0] > 2.0


def test_lower_molar_roots_are_flattened() -> None:
    """The lower first molar's roots are about twice as deep buccolingually as mesiodistally."""
    for root in tooth_model("lower", 6).roots:
        middle = root.half_mm[len(root.half_mm) // 2]
        assert middle[1] / middle[0] > 1.8


@pytest.mark.parametrize(("jaw", "place"), TEETH)
def test_crown_and_pulp_lie_inside_the_tooth(jaw: str, place: int) -> None:
    """Crown and pulp are parts of the solid; in the crown the pulp's wall is 0.5 mm or more."""
    model = tooth_model(jaw, place)
    crown = surface(model.crown, 0.6).vertices_mm
    pulp = surface(model.pulp, 0.4).vertices_mm
    assert model.solid(crown).max() < 0.25
    assert model.solid(pulp).max() < 0.05
    assert model.solid(pulp[pulp[:, 2] > 0]).max() < -0.5


@pytest.mark.parametrize(("jaw", "place"), TEETH)
def test_boxes_hold_their_solids(jaw: str, place: int) -> None:
    """No part of a tooth reaches out of the box that its shapes carry."""
    model = tooth_model(jaw, place)
    v = _mesh(jaw, place).vertices_mm
    assert np.all(v > model.solid.lower_mm - 0.15)
    assert np.all(v < model.solid.upper_mm + 0.15)

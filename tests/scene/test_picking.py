"""Which structures lie under a point of a view."""

from __future__ import annotations

import numpy as np
import pytest
import pyvista

from trainer.engine.placement import Chain, chain_of
from trainer.models.meshes import HeadMeshes
from trainer.scene.drawing import frame_step
from trainer.scene.outlines import Flat
from trainer.scene.picking import NEAR_MM, flat_sight_line, sight_line, structures_on
from trainer.scene.vtk_frames import LOOKS_AT_HEIGHT_MM, Look, camera_place, on_screen
from trainer.services.workbench import Workbench, open_workbench

SIZE = (640, 480)


@pytest.fixture(scope="module")
def bench() -> Workbench:
    """A shipped case with the mean man's head."""
    return open_workbench("lower-third-molar")


@pytest.fixture(scope="module")
def steps(bench: Workbench) -> Chain:
    """Where its start puts everything."""
    return chain_of(bench.meshes.head, bench.unit, bench.case.start)


def centre_mm(bench: Workbench, steps: Chain, name: str) -> np.ndarray:
    """The middle of a structure in the gantry frame [mm]."""
    structure = bench.meshes.head.structure(name)
    step = frame_step(steps, structure.frame)
    return step.rotation @ structure.centre_mm + step.translation_mm


@pytest.mark.parametrize("look", Look)
def test_a_line_of_sight_meets_what_its_pixel_shows(look: Look) -> None:
    """Every point of a line of sight is seen at the pixel that the line was asked for."""
    place = camera_place(look, np.array([0.0, 20.0, LOOKS_AT_HEIGHT_MM]))
    start, along = sight_line(place, 123.0, 321.0, *SIZE)
    assert np.linalg.norm(along) == pytest.approx(1.0, abs=1e-12)
    for far_mm in (0.0, 900.0, 1700.0):
        found = on_screen(place, start + far_mm * along, *SIZE)[0]
        np.testing.assert_allclose(found, [123.0, 321.0], rtol=0, atol=1e-6)  # pixels


@pytest.mark.parametrize("name", ["tooth-48", "tooth-48-apex-distal", "canal-at-48", "chin"])
@pytest.mark.parametrize("look", [Look.FRONT, Look.RIGHT_SIDE, Look.RIGHT_FRONT])
def test_a_structure_is_found_where_it_is_seen(bench, steps, name: str, look: Look) -> None:
    """A click on the middle of a structure finds it, also behind others and inside the bone."""
    place = camera_place(look, np.array([0.0, 20.0, LOOKS_AT_HEIGHT_MM]))
    corners = bench.meshes.of_structure[name].vertices_mm.astype(float)
    step = frame_step(steps, bench.meshes.head.structure(name).frame)
    x, y = on_screen(place, step.rotation @ corners[0] + step.translation_mm, *SIZE)[0]
    found = structures_on(bench.meshes, steps, *sight_line(place, x, y, *SIZE))
    assert name in found


def test_the_nearest_comes_first(bench, steps) -> None:
    """From the right side the right second molar lies before the left one, as in anatomy."""
    view = Flat.SIDE
    at = centre_mm(bench, steps, "tooth-47-crown")
    found = structures_on(bench.meshes, steps, *flat_sight_line(view, -at[1], at[2]))
    left = [name for name in found if name.startswith("tooth-3")]
    assert found.index("tooth-47-crown") < found.index(left[0])


def test_the_flat_views_look_the_same_way(bench, steps) -> None:
    """A click in the front view finds the tooth at that place of the patient's own side."""
    at = centre_mm(bench, steps, "tooth-11-crown")
    found = structures_on(bench.meshes, steps, *flat_sight_line(Flat.FRONT, at[0], at[2]))
    assert found[0] in ("tooth-11", "tooth-11-crown")
    assert not any(name.startswith("tooth-21") for name in found)


def crossed_by_vtk(meshes: HeadMeshes, steps: Chain, start, along) -> set[str]:
    """The structures that VTK's own ray tracer meets."""
    found = set()
    for name, part in meshes.of_structure.items():
        step = frame_step(steps, part.frame)
        at = part.vertices_mm.astype(float) @ step.rotation.T + step.translation_mm
        faces = np.column_stack([np.full(len(part.faces), 3), part.faces]).ravel()
        points, _ = pyvista.PolyData(at, faces).ray_trace(start, start + 2000.0 * along)
        if len(points):
            found.add(name)
    return found


def test_against_the_ray_tracer_of_vtk(bench, steps) -> None:
    """Whatever vtkOBBTree (through pyvista) meets is found; what is found besides is near."""
    generator = np.random.default_rng(4)
    for _ in range(6):
        across, up = generator.uniform([-35.0, -20.0], [35.0, 60.0])
        start, along = flat_sight_line(Flat.FRONT, across, up)
        found = set(structures_on(bench.meshes, steps, start, along))
        crossed = crossed_by_vtk(bench.meshes, steps, start, along)
        assert crossed <= found
        for name in found - crossed:
            part = bench.meshes.of_structure[name]
            step = frame_step(steps, part.frame)
            away = part.vertices_mm.astype(float) @ step.rotation.T + step.translation_mm - start
            off = np.linalg.norm(away - np.outer(away @ along, along), axis=1)
            assert off.min() < NEAR_MM

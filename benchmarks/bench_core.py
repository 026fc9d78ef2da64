"""Times placement, advice and light curves, each beside a peer library in the same run.

    python benchmarks/bench_core.py

Budgets (2 cores): setup to full placement of all structures 2 ms; light curves of all planes
5 ms; advice 200 ms. Peers: manifold3d's exact mesh ∩ region for one tooth; VTK's cutter and
trimesh for the planes. A benchmark prints; it never fails.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from functools import partial

import manifold3d
import numpy as np
import pyvista as pv
import trimesh

from trainer.engine.advice import advise
from trainer.engine.placement import chain_of, place
from trainer.geometry.region import region_profile
from trainer.geometry.sections import plane_section
from trainer.models.frames import Frame
from trainer.models.meshes import Tissue
from trainer.services.workbench import open_workbench

CASES = (
    "lower-third-molar",
    "upper-premolar-site",
    "whole-lower-jaw",
    "both-jaws",
    "one-jaw-joint",
    "upper-front-teeth",
)


def timed(name: str, work: Callable[[], object], runs: int) -> None:
    """Print the median, the 95th percentile and the largest time of some runs."""
    work()
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        times.append((time.perf_counter() - start) * 1e3)
    p50, p95 = np.percentile(times, [50, 95])
    print(f"{name:52} p50 {p50:8.2f} ms   p95 {p95:8.2f} ms   max {max(times):8.2f} ms")


def _by_vtk(surface: pv.PolyData, normal: np.ndarray, offset_mm: float) -> object:
    return surface.slice(normal, origin=normal * offset_mm)


def _by_trimesh(mesh: trimesh.Trimesh, normal: np.ndarray, offset_mm: float) -> object:
    return trimesh.intersections.mesh_plane(mesh, normal, normal * offset_mm)


def _each(cut: Callable[[np.ndarray, float], object]) -> list[object]:
    """What ``cut`` gives for each of four planes."""
    return [cut(np.eye(3)[i % 3], float(offset)) for i, offset in enumerate((0, -90, -50, -10))]


def main() -> None:
    """Run all timings."""
    for name in CASES:
        b = open_workbench(name)
        head, start = b.meshes.head, b.case.start
        timed(
            f"placement, {len(b.points.structures)} structures, {name}",
            lambda b=b, head=head, start=start: place(b.case, head, b.points, b.unit, start),
            100,
        )
        timed(
            f"advice, {name}",
            lambda b=b, head=head, start=start: advise(b.case, head, b.unit, start),
            5,
        )

    bench = open_workbench("lower-third-molar")
    head, setup = bench.meshes.head, bench.case.start
    placement = place(bench.case, head, bench.points, bench.unit, setup)
    mark = bench.meshes.of_structure["tooth-48"]
    to_field = chain_of(head, bench.unit, setup).to_field(Frame.MANDIBLE)
    matrix = np.hstack([to_field.rotation, to_field.translation_mm[:, None]])
    body = manifold3d.Manifold(
        manifold3d.Mesh(mark.vertices_mm, mark.faces.astype(np.uint32))
    ).transform(matrix)
    region = placement.region

    def boolean() -> float:
        cross = manifold3d.CrossSection([region_profile(region)[::-1]])
        return float((body ^ manifold3d.Manifold.revolve(cross, 128)).volume())

    timed("peer: manifold3d, one tooth of 200 triangles", boolean, 30)

    for label, parts in (("coarse", bench.meshes.coarse), ("fine", bench.meshes.fine)):
        skin = next(p for p in parts if p.tissue is Tissue.SKIN)
        vertices = skin.vertices_mm.astype(float)
        surface = pv.make_tri_mesh(vertices, skin.faces)
        mesh = trimesh.Trimesh(vertices, skin.faces, process=False)
        for name, cut in (
            ("light curves", partial(plane_section, vertices, skin.faces)),
            ("peer: VTK cutter", partial(_by_vtk, surface)),
            ("peer: trimesh", partial(_by_trimesh, mesh)),
        ):
            label_of = f"{name}, 4 planes, {label} skin ({len(skin.faces)} triangles)"
            timed(label_of, partial(_each, cut), 50)

    # another setup each time, as when a control is turned
    angles = iter(np.linspace(-10, 10, 400))
    timed(
        "placement, a new yaw each time, lower-third-molar",
        lambda: place(
            bench.case, head, bench.points, bench.unit, replace(setup, yaw_deg=float(next(angles)))
        ),
        300,
    )


if __name__ == "__main__":
    main()

"""Times a reconstruction, beside RTK where it is, and a learner's whole result.

    python benchmarks/bench_volume.py [CASE ... | all]

Budgets (2 cores): 2 s for 128 x 128 x 128 voxels from 180 views of 160 x 160 pixels, and at least
twice as fast as RTK in the same run (.venv-core has it); 20 s for the volume of a case's solution,
with its motion, from the head in the cache to grey values; 2 GiB of memory. On a busy machine read
the processor time: half of it is what two free cores need where both are used. A benchmark prints;
it never fails.
"""

from __future__ import annotations

import importlib.util
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from trainer.physics.fdk.reconstruct import grid_about, reconstruct
from trainer.services.appointment import play
from trainer.services.assets import MESHES
from trainer.services.command_list import load_commands
from trainer.services.head_store import stored_phantom
from trainer.services.solutions import solution_files
from trainer.services.volumes.record import HEAD_SPACING_MM, ask_of_run, record_volume
from trainer.services.workbench import open_workbench

ROOT = Path(__file__).parents[1]
ONE = "one"
USUAL_CASES = ("lower-third-molar", "metal-neighbours")


def timed(name: str, work: Callable[[], object], runs: int) -> float:
    """Print median and least time of some runs, and the least processor time; returns the least."""
    times, busy = [], []
    for _ in range(runs):
        start, before = time.perf_counter(), time.process_time()
        work()
        times.append(time.perf_counter() - start)
        busy.append(time.process_time() - before)
    print(
        f"{name:46} p50 {np.median(times):5.2f} s  least {min(times):5.2f} s  "
        f"least processor time {min(busy):5.2f} s"
    )
    return min(times)


def one_reconstruction() -> None:
    """128^3 from 180 views, ours and RTK's."""
    sys.path.insert(0, str(ROOT / "tests"))
    from helpers.balls import BALL_MM, VOXEL_MM, WATER_PER_MM, Ball, lines_of, reference_scan

    scan = reference_scan()
    lines = lines_of(scan, [Ball((0.0, 0.0, 0.0), BALL_MM, WATER_PER_MM)])
    grid = grid_about(np.zeros(3), np.full(3, 160.0), VOXEL_MM)

    def ours() -> np.ndarray:
        return reconstruct(lines, scan, grid, water_per_mm=WATER_PER_MM)

    ours()  # numba's start
    our = timed("128^3 from 180 views", ours, 5)
    if importlib.util.find_spec("itk") is None:
        print("RTK is not installed here: .venv-core has it")
        return
    from helpers.rtk import fdk_reconstructor

    theirs = fdk_reconstructor(lines, scan, grid)
    theirs()
    their = timed("the same by RTK", theirs, 5)
    most = np.abs(ours() - theirs()).max() / WATER_PER_MM
    print(f"{their / our:.1f} times as fast; largest difference {100 * most:.4f} % of water")


def learners_result(case: str, folder: Path) -> None:
    """The volume of a case's solution, computed anew."""
    commands = load_commands(solution_files()[case])
    bench = open_workbench(case)
    runs = play(commands, bench, folder / f"{case}.log", case).runs
    if not runs:
        print(f"{case:24} is rightly not exposed")
        return
    ask = ask_of_run(bench, runs[-1])
    stored_phantom(ask.person, HEAD_SPACING_MM, MESHES)  # scouts have made it before
    start, before = time.perf_counter(), time.process_time()
    volume = record_volume(bench, ask)
    took, busy = time.perf_counter() - start, time.process_time() - before
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
    shape = " x ".join(map(str, volume.values.shape))
    print(
        f"{case:24} {shape:15} of {volume.spacing_mm:.3f} mm (ordered "
        f"{volume.requested_voxel_um / 1000:.3f}), {volume.views} views: {took:5.1f} s, processor "
        f"{busy:5.1f} s, most memory {peak:5.0f} MiB"
    )


def main() -> None:
    """Run all timings; each case in a process of its own, so that its memory is its own."""
    cases = sys.argv[1:] or list(USUAL_CASES)
    if cases[0] == ONE:
        with tempfile.TemporaryDirectory() as name:
            os.environ["XDG_CACHE_HOME"] = name  # nothing from an earlier run
            learners_result(cases[1], Path(name))
        return
    if cases == ["all"]:
        cases = list(solution_files())
    one_reconstruction()
    for case in cases:
        subprocess.run([sys.executable, __file__, ONE, case], check=True)


if __name__ == "__main__":
    main()

"""Times the proof of cases: many placings at once beside one by one, and a sweep on two processes.

    python benchmarks/bench_proof.py [CASE ...]

Budget (2 cores): 2000 scattered placings of a case and its whole proof in a few seconds. The peer
is the placement itself, draw by draw, of the required structures alone; it also tells shares and
directions, which the many-at-once way does not. A benchmark prints; it never fails.
"""

from __future__ import annotations

import multiprocessing
import sys
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor

from trainer.engine.placement import place
from trainer.engine.points import pack
from trainer.engine.proof.best import best_setup
from trainer.engine.proof.limits import limits_of, ordered_setup
from trainer.engine.proof.scatter import WITHOUT_SCOUTS, normal_numbers, scattered
from trainer.engine.proof.success import success
from trainer.engine.proof.target import outline, target_of
from trainer.services.proof import ProofOrder, prove_bench, prove_library
from trainer.services.workbench import open_workbench

CASES = ("lower-third-molar", "whole-lower-jaw", "both-jaws", "wide-field-joints")
DRAWS, ONE_BY_ONE = 2000, 200


def timed(name: str, work: Callable[[], object], runs: int = 3) -> float:
    """Print and return the least wall time of some runs [s]; processor time stands beside it."""
    wall, cpu = [], []
    for _ in range(runs):
        a, b = time.perf_counter(), time.process_time()
        work()
        wall.append(time.perf_counter() - a)
        cpu.append(time.process_time() - b)
    print(f"{name:58} {min(wall):8.3f} s   processor {min(cpu):8.3f} s")
    return min(wall)


def main(names: tuple[str, ...]) -> None:
    """Run all timings."""
    for name in names:
        bench = open_workbench(name)
        case, unit, head = bench.case, bench.unit, bench.meshes.head
        target = target_of(case, head, unit)
        limits = limits_of(case, unit)
        setup = best_setup(case, outline(target), ordered_setup(case, limits), limits).setup
        normal = normal_numbers(DRAWS, 1)
        corners = len(target.needs_mm)

        def many(target=target, setup=setup, normal=normal) -> object:
            return success([target], [setup], WITHOUT_SCOUTS, normal)

        points = pack([head.structure(r.structure) for r in case.required])
        values = scattered(target, setup, WITHOUT_SCOUTS, normal[:ONE_BY_ONE])
        setups = [
            setup.with_values({k: float(v[i]) for k, v in values.items()})
            for i in range(ONE_BY_ONE)
        ]

        def one_by_one(bench=bench, points=points, setups=setups) -> None:
            for one in setups:
                place(bench.case, bench.meshes.head, points, bench.unit, one)

        print(f"{name}: {len(case.required)} structures, {corners} corners")
        at_once = timed(f"  {DRAWS} placings at once", many)
        single = timed(f"  peer: {ONE_BY_ONE} placings one by one", one_by_one, 2)
        ratio = (single / ONE_BY_ONE) / (at_once / DRAWS)
        print(f"  each placing {ratio:.0f} times as fast")
        timed("  the whole proof", lambda bench=bench: prove_bench(bench, ProofOrder()))
    order = ProofOrder()
    alone = timed(f"{len(names)} cases, here", lambda: prove_library(names, order), 1)
    fresh = multiprocessing.get_context("spawn")

    def on_two() -> None:
        with ProcessPoolExecutor(2, fresh) as pool:
            prove_library(names, order, pool)

    two = timed(f"{len(names)} cases, two processes, their start included", on_two, 1)
    print(f"two processes take {two / alone:.2f} of the time")


if __name__ == "__main__":
    main(tuple(sys.argv[1:]) or CASES)

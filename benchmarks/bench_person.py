"""Times a new person: to surfaces with structures, and to a phantom of 0.4 mm.

    python benchmarks/bench_person.py

Budgets (2 cores): 3 s to the surfaces, 10 s to the phantom, both of somebody nobody has seen
before. The first person also waits for the reference to be read, and once after an installation
for numba. No peer library does the same work. A benchmark prints; it never fails.
"""

from __future__ import annotations

import os
import tempfile
import time
from collections.abc import Callable

import numpy as np

from trainer.anatomy.head.build import build_head
from trainer.anatomy.head.phantom import build_phantom
from trainer.anatomy.head.reference import reference
from trainer.models.subject import Mouth, Person, Sex, Sizes
from trainer.services.assets import MESHES
from trainer.services.head_store import stored_head, stored_phantom

PEOPLE = (
    Person(Sex.FEMALE, sizes=Sizes(face_width=0.5)),
    Person(Sex.MALE, sizes=Sizes(head_length=-0.5, tooth_size=0.5)),
    Person(Sex.FEMALE, sizes=Sizes(jaw_length=0.8)),
    Person(Sex.MALE, mouth=Mouth(missing=(16, 36))),
    Person(Sex.FEMALE, 16),
)
CHILDREN = (Person(Sex.FEMALE, 7), Person(Sex.MALE, 10))
SPACING_MM = 0.4


def seconds(work: Callable[[], object]) -> float:
    """How long it takes."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def tell(name: str, times: list[float]) -> None:
    """Print the median and the extremes."""
    print(f"{name:52} median {np.median(times):6.2f} s   {min(times):.2f} to {max(times):.2f} s")


def main() -> None:
    """Run all timings."""
    if hasattr(os, "getloadavg"):
        print(f"load before the start: {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
    tell("reading the reference", [seconds(reference)])
    tell("first person in a process", [seconds(lambda: build_head(Person(Sex.FEMALE, 33)))])
    tell("a new person, adults", [seconds(lambda p=p: build_head(p)) for p in PEOPLE])
    tell("a new person, children", [seconds(lambda p=p: build_head(p)) for p in CHILDREN])
    tell(
        f"a new phantom of {SPACING_MM} mm, adults",
        [seconds(lambda p=p: build_phantom(p, SPACING_MM)) for p in PEOPLE[:3]],
    )
    tell(
        f"a new phantom of {SPACING_MM} mm, a child",
        [seconds(lambda: build_phantom(CHILDREN[0], SPACING_MM))],
    )
    with tempfile.TemporaryDirectory() as folder:
        for name in ("XDG_CACHE_HOME", "LOCALAPPDATA", "HOME"):
            os.environ[name] = folder
        person = PEOPLE[0]
        for again in ("first", "second"):
            tell(f"with the store, {again} time", [seconds(lambda: stored_head(person, MESHES))])
        for again in ("first", "second"):
            tell(
                f"phantom with the store, {again} time",
                [seconds(lambda: stored_phantom(person, SPACING_MM, MESHES))],
            )


if __name__ == "__main__":
    main()

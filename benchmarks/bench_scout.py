"""Times a pair of scouts through a head-sized volume.

    OMP_NUM_THREADS=1 python benchmarks/bench_scout.py

Budget (2 cores): 0.3 s for a frontal and a lateral picture of 400 × 400 pixels through a skull and
a lower jaw in voxels of 0.5 mm, with the kernel warm and the volumes in bricks, both of which
happen once. They are a stand-in: an egg of soft tissue with a skull's shell, a sponge of bone and
rows of teeth, on purpose with more borders than a head. Where RTK is installed (.venv-core), its
projector is timed on the same skull. On a busy machine read the least processor time: half of it is
what two free cores need. A benchmark prints; it never fails.
"""

from __future__ import annotations

import importlib.util
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np

from trainer.geometry.pose import gantry_to_field
from trainer.geometry.transforms import attitude_rotation, chain, inverse, turn_about
from trainer.models.device import Region
from trainer.models.frames import Frame, RigidTransform
from trainer.models.images import LabelVolume
from trainer.models.materials import Material
from trainer.models.setup import Setup
from trainer.physics.attenuation import linear_attenuation_per_mm
from trainer.physics.bricks import BrickVolume, bricks_of
from trainer.physics.detector import open_photons, transmitted, with_photon_noise
from trainer.physics.projection import head_line_integrals, line_integrals
from trainer.physics.spectrum import tube_spectrum
from trainer.physics.views import ViewGeometry, scout_geometry
from trainer.services.unit_io import load_unit

ROOT = Path(__file__).parents[1]
Head = tuple[BrickVolume, BrickVolume]
WATER = {"H": 0.1119, "O": 0.8881}
BONE = {"H": 0.034, "C": 0.155, "N": 0.042, "O": 0.435, "P": 0.103, "Ca": 0.225, "Mg": 0.006}
MATERIALS = (
    Material("air", 0.001205, {"N": 0.7553, "O": 0.2318, "Ar": 0.0129}),
    Material("soft tissue", 1.06, WATER),
    Material("bone", 1.92, BONE),
    Material("marrow", 1.0, WATER),
    Material("tooth", 2.5, BONE),
)
SCOUT_MAS = 0.056
SETUP = Setup(
    unit_height_mm=1300.0,
    chin_height_mm=0.0,
    sideways_mm=0.0,
    forward_mm=0.0,
    pitch_deg=0.0,
    yaw_deg=0.0,
    roll_deg=0.0,
    jaw_gap_mm=0.0,
    region=Region.BOTH_JAWS,
    field="80x80",
    field_sideways_mm=0.0,
    field_forward_mm=0.0,
    arm_turned=False,
)


def stand_in() -> LabelVolume:
    """A head-sized volume of 0.5 mm voxels, 400 × 480 × 560 along x, y, z."""
    shape = (560, 480, 400)
    labels = np.zeros(shape, np.uint8)
    random = np.random.default_rng(1)
    y, x = np.ogrid[-1:1:480j, -1:1:400j]
    for number, layer in enumerate(labels):
        z = -1.0 + 2.0 * number / (shape[0] - 1)
        r = np.sqrt(x * x * 1.6 + y * y * 1.3 + z * z * 1.1)
        layer[r < 0.97] = 1
        layer[(r < 0.90) & (r > 0.84)] = 2
        if -0.7 < z < -0.3:  # spongy bone in voxels of 1 mm, and teeth on an arch
            grains = random.random((240, 200)).repeat(2, 0).repeat(2, 1) < 0.3
            inner = (r < 0.84) & (y < -0.2)
            layer[inner] = 3
            layer[inner & grains] = 2
            arch = np.abs(np.sqrt(x * x * 4 + y * y) - 0.6) < 0.05
            layer[arch & (y < -0.1) & (np.sin(np.arctan2(x, -y) * 30) > -0.6)] = 4
    origin = np.array([-99.75, -119.75, -139.75])
    return LabelVolume(Frame.SKULL, labels, origin, 0.5, tuple(m.name for m in MATERIALS))


def timed(name: str, work: Callable[[], object], runs: int) -> None:
    """Print median and largest time of some runs, and the least processor time of all threads."""
    times, busy = [], []
    for _ in range(runs):
        start, before = time.perf_counter(), time.process_time()
        work()
        times.append((time.perf_counter() - start) * 1e3)
        busy.append((time.process_time() - before) * 1e3)
    p50, most = np.median(times), max(times)
    print(
        f"{name:46} p50 {p50:5.0f} ms  max {most:5.0f} ms  least processor time {min(busy):5.0f} ms"
    )


def square(view: ViewGeometry) -> ViewGeometry:
    """The view with 400 × 400 pixels about the same middle."""
    rows, columns = view.shape
    move = (rows - 400) / 2 * view.row_step_mm + (columns - 400) / 2 * view.column_step_mm
    return replace(view, first_pixel_mm=view.first_pixel_mm + move, shape=(400, 400))


def whole_pair(head: Head, views: list[ViewGeometry], to_view: RigidTransform) -> None:
    """Two pictures with noise, from the bricks of skull and jaw to shares of the open beam."""
    random, spectrum = np.random.default_rng(1), tube_spectrum()
    jaw_to_view = replace(to_view, source=Frame.MANDIBLE)
    for view in views:
        _, paths = head_line_integrals(*head, view, to_view, jaw_to_view, "soft tissue")
        shares, grain = transmitted(paths, MATERIALS, spectrum)
        with_photon_noise(shares, open_photons(spectrum, SCOUT_MAS, view), random, grain)


def against_rtk(volume: LabelVolume, views: list[ViewGeometry], to_volume: RigidTransform) -> None:
    """The same skull by Joseph's method, for one energy, if the toolkit is there."""
    if importlib.util.find_spec("itk") is None:
        print("RTK is not installed here: .venv-core has it")
        return
    sys.path.insert(0, str(ROOT / "tests"))
    from helpers.rtk import joseph_projector

    per_mm = np.array([linear_attenuation_per_mm(m, 60.0) for m in MATERIALS], np.float32)
    project = joseph_projector(per_mm[volume.labels], volume)
    project(views[0], to_volume)
    timed("RTK, Joseph, one energy", lambda: [project(v, to_volume) for v in views], 5)
    bricks = bricks_of(volume)
    ours = [np.tensordot(per_mm, line_integrals(bricks, v, to_volume), axes=1) for v in views]
    apart = [our - project(v, to_volume) for our, v in zip(ours, views, strict=True)]
    most = max(our.max() for our in ours)
    rms = np.sqrt(np.mean(np.square(apart)))
    print(f"apart from RTK: {100 * rms / most:.2f} % RMS of the largest line integral, {most:.1f}")


def main() -> None:
    """Run all timings."""
    unit = load_unit(ROOT / "scenarios" / "units" / "alder_bench.yaml")
    volume = stand_in()
    timed("volume in bricks, once", lambda: bricks_of(volume), 3)
    bricks = bricks_of(volume)
    mixed = len(bricks.bricks) / bricks.table.size
    print(f"{mixed:.1%} of the bricks are mixed, {bricks.bricks.nbytes / 1e6:.0f} MB")
    # a lower jaw's worth of it again, in a volume of its own
    jaw = replace(
        volume,
        frame=Frame.MANDIBLE,
        labels=volume.labels[80:280, :200, 80:320],
        origin_mm=volume.origin_mm + 0.5 * np.array([80, 0, 80]),
    )
    head = bricks, bricks_of(jaw)
    # the head turned and tipped, its middle 60 mm above the field's
    turn = attitude_rotation(np.radians(5.0), np.radians(8.0), np.radians(-4.0))
    to_volume = chain(
        gantry_to_field(SETUP, unit),
        turn_about(Frame.FIELD, Frame.SKULL, turn, np.zeros(3), np.array([0.0, 0.0, -60.0])),
    )
    detector = [scout_geometry(unit, SETUP, name) for name in ("frontal", "lateral")]
    start = time.perf_counter()
    line_integrals(bricks, detector[0], to_volume)
    print(f"first picture, with numba's start: {time.perf_counter() - start:.1f} s")
    views = [square(v) for v in detector]
    for name, pair in (("the detector", detector), ("400 x 400", views)):
        shape = " x ".join(map(str, pair[0].shape))
        timed(
            f"a pair with noise, {name}, {shape}",
            lambda pair=pair: whole_pair(head, pair, inverse(to_volume)),
            9,
        )
    timed("paths in the skull", lambda: [line_integrals(bricks, v, to_volume) for v in views], 9)
    against_rtk(volume, views, to_volume)


if __name__ == "__main__":
    main()

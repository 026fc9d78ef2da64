"""The commands about what a run records: volume, panorama."""

from __future__ import annotations

import argparse
import sys
from dataclasses import replace
from pathlib import Path

from trainer.cli.common import DONE, Add, add_case, add_set, seed
from trainer.errors import NotReadable


def add_commands(add: Add) -> None:
    """Add this module's commands."""
    sub = add("volume", _volume, "Compute the volume of a whole run and save it as a NIfTI file.")
    add_case(sub)
    add_set(sub)
    sub.add_argument("--out", metavar="FILE.nii.gz", required=True, type=Path)
    sub.add_argument("--spacing", metavar="MM", type=float, default=0.5, help="voxel of the head")
    sub.add_argument("--seed", type=seed, default=1, help="of the photon noise")
    sub.add_argument("--voxel", metavar="UM", type=int, help="voxel instead of the ordered one")
    sub.add_argument("--low-dose", action="store_true", help="with the low-dose protocol")
    sub.add_argument(
        "--metal", choices=("off", "low", "high"), help="metal correction instead of the ordered"
    )
    sub.add_argument(
        "--ordered-voxel",
        action="store_true",
        help="the voxel as ordered, in a cube of 20 mm about what is required; takes minutes",
    )

    sub = add("panorama", _panorama, "Compute a panoramic picture and save it as a PNG file.")
    add_case(sub)
    add_set(sub)
    sub.add_argument("--out", metavar="FILE.png", required=True, type=Path)
    sub.add_argument("--seed", type=seed, default=1, help="of the photon noise")
    sub.add_argument("--tongue-low", action="store_true", help="the tongue is not at the palate")


def _panorama(arguments: argparse.Namespace) -> int:
    from trainer.services.workbench import open_workbench, setup_from_words

    bench = open_workbench(arguments.case)
    setup = setup_from_words(bench.case.start, bench.unit, arguments.changes)
    try:
        from trainer.services.panorama import (
            low_tongue,
            panorama_text,
            save_panorama,
            take_panorama,
        )
        from trainer.services.volumes.organs import dose_text
        from trainer.services.volumes.record import default_programme, still_ask
    except ImportError as error:
        raise NotReadable(f"The libraries for simulated images are missing ({error}).") from error
    ask = still_ask(bench, setup, default_programme(bench, setup), arguments.seed)
    if arguments.tongue_low:
        ask = replace(ask, solids=(low_tongue(bench.meshes.head),))
    picture = take_panorama(bench, ask, _progress)
    print(f"Saved {save_panorama(bench, picture, arguments.out)}", flush=True)
    print(panorama_text(picture))
    print(dose_text(bench, ask))
    return DONE


def _volume(arguments: argparse.Namespace) -> int:
    from trainer.models.appointment_words import MetalLevel
    from trainer.services.volume_io import check_place, save_recorded
    from trainer.services.workbench import open_workbench, setup_from_words

    check_place(arguments.out)  # to be told before the work
    bench = open_workbench(arguments.case)
    setup = setup_from_words(bench.case.start, bench.unit, arguments.changes)
    try:
        from trainer.services.volumes.organs import dose_text, organ_shares, organs_text
        from trainer.services.volumes.record import default_programme, record_volume, still_ask
        from trainer.services.volumes.scan import FOR_LEARNERS, ORDERED_VOXEL
        from trainer.services.volumes.words import volume_text
    except ImportError as error:
        raise NotReadable(f"The libraries for simulated images are missing ({error}).") from error
    ordered = default_programme(bench, setup)
    programme = replace(
        ordered,
        voxel_um=arguments.voxel or ordered.voxel_um,
        low_dose=arguments.low_dose or ordered.low_dose,
        metal_level=MetalLevel(arguments.metal or ordered.metal_level),
    )
    ask = still_ask(bench, setup, programme, arguments.seed)
    effort = ORDERED_VOXEL if arguments.ordered_voxel else FOR_LEARNERS
    volume = record_volume(bench, ask, _progress, effort=effort, head_spacing_mm=arguments.spacing)
    print(f"Saved {save_recorded(volume, arguments.out)}", flush=True)
    print(volume_text(volume))
    print(dose_text(bench, ask))
    print(organs_text(organ_shares(bench, ask)))
    return DONE


def _progress(part: str, share: float) -> None:
    """One line that is written over while somebody watches; nothing in a file or pipe."""
    if sys.stderr.isatty():
        print(f"\r\x1b[K{100.0 * share:3.0f} %  {part}", end="", file=sys.stderr, flush=True)

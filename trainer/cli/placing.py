"""Commands about one case and its placement: window, assess, render, scout, demo."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from trainer.cli.common import DONE, Add, add_case, add_set, say, seed, tell
from trainer.errors import NotReadable


def add_commands(add: Add) -> None:
    """Add this module's commands."""
    add_case(
        add("window", run_window, "Open the window, on a case if one is named."), optional=True
    )
    sub = add("assess", _assess, "Tell what the field holds and what to change.")
    add_case(sub)
    add_set(sub)
    sub.add_argument("--json", action="store_true", help="print everything as JSON")
    sub = add("render", _render, "Draw a case off screen into a PNG file.")
    add_case(sub)
    add_set(sub)
    sub.add_argument("--out", metavar="FILE.png", required=True, type=Path)
    sub.add_argument("--skin-only", action="store_true", help="hide skull and field")
    sub = add("scout", _scout, "Draw the simulated frontal and lateral preview of a case.")
    add_case(sub)
    add_set(sub)
    sub.add_argument("--out", metavar="FOLDER", required=True, type=Path)
    sub.add_argument("--spacing", metavar="MM", type=float, default=0.8, help="voxel of the head")
    sub.add_argument("--seed", type=seed, default=1, help="of the photon noise")
    sub = add("demo", _demo, "Play the demo case and leave a report and pictures.")
    sub.add_argument("--out", metavar="FOLDER", type=Path, default=Path("demo-output"))


def run_window(arguments: argparse.Namespace) -> int:
    """Open the window."""
    try:
        from trainer.app.main import run
    except ImportError as error:
        raise NotReadable(
            f"The window's libraries are not installed ({error}). Run 'python3 start.py', which "
            "installs them; the commands 'trainer assess' and 'trainer check' work without."
        ) from error
    return run(arguments.case)


def _assess(arguments: argparse.Namespace) -> int:
    from trainer.services.assessment import assess, assessment_data, assessment_text
    from trainer.services.workbench import open_workbench, setup_from_words

    bench = open_workbench(arguments.case)
    setup = setup_from_words(bench.case.start, bench.unit, arguments.changes)
    if arguments.json:
        print(json.dumps(assessment_data(assess(bench, setup)), indent=1))
    else:
        print(assessment_text(assess(bench, setup)))
    return DONE


def _render(arguments: argparse.Namespace) -> int:
    from trainer.services.workbench import open_workbench, setup_from_words

    bench = open_workbench(arguments.case)
    setup = setup_from_words(bench.case.start, bench.unit, arguments.changes)
    try:
        from trainer.scene.snapshot import save_picture
    except ImportError as error:
        raise NotReadable(
            f"The drawing libraries are not installed ({error}). Run 'python3 start.py', which "
            "installs them."
        ) from error
    save_picture(bench, setup, arguments.out, look_inside=not arguments.skin_only)
    print(f"Saved {arguments.out}")
    return DONE


def _scout(arguments: argparse.Namespace) -> int:
    from trainer.services.workbench import open_workbench, setup_from_words

    bench = open_workbench(arguments.case)
    setup = setup_from_words(bench.case.start, bench.unit, arguments.changes)
    try:
        from trainer.services.scouts import save_scouts
    except ImportError as error:
        raise NotReadable(f"The libraries for simulated images are missing ({error}).") from error
    for path in save_scouts(bench, setup, arguments.out, arguments.spacing, arguments.seed, tell):
        print(f"Saved {path}")
    return DONE


def _demo(arguments: argparse.Namespace) -> int:
    from trainer.services.demo import play_demo

    try:
        from trainer.scene.snapshot import save_picture
    except ImportError:
        save_picture = None  # type: ignore[assignment]
        say("The drawing libraries are not installed: the demo leaves its report, no pictures.")
    for path in play_demo(arguments.out, save_picture):
        print(f"Saved {path}")
    return DONE

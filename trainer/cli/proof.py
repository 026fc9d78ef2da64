"""Commands that instructors judge cases by: prove, fields."""

from __future__ import annotations

import argparse
import json
import os
from pathlib import Path
from typing import TYPE_CHECKING

from trainer.cli.common import DONE, FAULTY, UNREADABLE, Add, add_case, say, seed, tell

if TYPE_CHECKING:
    from trainer.services.proof import ProofOrder

MOST_DRAWS, MOST_PROCESSES = 1_000_000, 64


def add_commands(add: Add) -> None:
    """Add this module's commands."""
    sub = add(
        "prove", _prove, "Prove that cases can be solved, start wrong, and how hard they are."
    )
    sub.add_argument(
        "cases", metavar="CASE", nargs="*", help="shipped cases or files; none: all shipped ones"
    )
    _add_order(sub)
    sub.add_argument("--json", action="store_true", help="print everything as JSON")
    sub.add_argument(
        "--processes", metavar="N", type=_processes, default=1, help="so many cases at once"
    )
    sub = add("fields", _fields, "Draw what every field of the unit holds of a case, and its dose.")
    add_case(sub)
    _add_order(sub)
    sub.add_argument("--out", metavar="FILE.png", required=True, type=Path)


def _add_order(sub: argparse.ArgumentParser) -> None:
    sub.add_argument(
        "--scatter",
        metavar="KEY=VALUE",
        nargs="+",
        type=_spread,
        default=[],
        help="spreads (SD) in the place of the published ones, for example pitch_deg=3 height_mm=2",
    )
    sub.add_argument("--draws", metavar="N", type=_draws, default=2000, help="placings drawn")
    sub.add_argument("--seed", type=seed, default=1, help="of the draws")


def _prove(arguments: argparse.Namespace) -> int:
    from trainer.services.assets import SCENARIOS
    from trainer.services.proof import prove_library
    from trainer.services.proof_report import library_data, library_text, proof_text
    from trainer.services.scenario_io import case_files

    order = _order(arguments)
    names = arguments.cases or list(case_files(SCENARIOS))
    progress = _progress if len(names) > 1 else (lambda done, of: None)
    if arguments.processes > 1 and len(names) > 1:
        import multiprocessing
        from concurrent.futures import ProcessPoolExecutor

        # a fresh start for each: a fork would share what libraries hold in threads
        fresh = multiprocessing.get_context("spawn")
        with ProcessPoolExecutor(arguments.processes, fresh) as pool:
            found = prove_library(names, order, pool, progress)
    else:
        found = prove_library(names, order, None, progress)
    if arguments.json:
        print(json.dumps(library_data(found, order), indent=1))
    elif len(found) == 1:
        print(proof_text(found[0]))
    else:
        print(library_text(found, order))
    if any(f.missing for f in found):
        return UNREADABLE
    return DONE if all(f.proved for f in found) else FAULTY


def _fields(arguments: argparse.Namespace) -> int:
    from trainer.services.field_evidence import evidence_text, field_evidence
    from trainer.services.field_plot import save_plot
    from trainer.services.workbench import open_workbench

    bench = open_workbench(arguments.case)
    evidence = field_evidence(bench, _order(arguments), tell=say)
    save_plot(evidence, arguments.out)
    print(evidence_text(evidence))
    tell(f"Saved {arguments.out}")
    return DONE


def _order(arguments: argparse.Namespace) -> ProofOrder:
    from trainer.engine.proof.scatter import with_spreads
    from trainer.services.proof import ProofOrder

    scatters = with_spreads(dict(arguments.scatter))
    return ProofOrder(scatters, arguments.draws, arguments.seed)


def _progress(done: int, of: int) -> None:
    if done:
        say(f"{done} of {of} cases")


def _spread(text: str) -> tuple[str, float]:
    key, equals, value = text.partition("=")
    if not equals:
        raise argparse.ArgumentTypeError(f"must be KEY=VALUE, got {text!r}")
    try:
        return key.strip(), float(value)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{key} must be a number, got {value!r}") from None


def _draws(text: str) -> int:
    return _whole(text, 1, MOST_DRAWS)


def _processes(text: str) -> int:
    return _whole(text, 1, min(MOST_PROCESSES, 4 * (os.cpu_count() or 1)))


def _whole(text: str, least: int, most: int) -> int:
    if text.isdecimal() and least <= int(text) <= most:
        return int(text)
    raise argparse.ArgumentTypeError(f"must be a whole number, {least} to {most}; got {text!r}")

"""The demo case played through: start, advice followed, result; report and pictures."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

from trainer.engine.session import Change, open_case, step
from trainer.models.setup import Setup
from trainer.services.assessment import assess, assessment_data, assessment_text
from trainer.services.workbench import DEMO_CASE, Workbench, open_workbench

SavePicture = Callable[[Workbench, Setup, Path], None]
# The demo follows the first advice this often at most.
MOST_MOVES = 5


def play_demo(folder: Path, save_picture: SavePicture | None) -> list[Path]:
    """Play the demo case by following the advice; the files written, in order.

    ``save_picture`` draws a setup into a file, or is ``None`` where nothing can be drawn.
    """
    bench = open_workbench(DEMO_CASE)
    folder.mkdir(parents=True, exist_ok=True)
    state = open_case(bench.case, bench.unit)
    written: list[Path] = []
    texts: list[str] = []
    for move in range(MOST_MOVES + 1):
        name = "start" if move == 0 else f"move-{move}"
        assessed = assess(bench, state.setup)
        texts.append(f"--- {name} ---\n{assessment_text(assessed)}\n")
        data = folder / f"{name}.json"
        data.write_text(json.dumps(assessment_data(assessed), indent=1), encoding="utf-8")
        written.append(data)
        if save_picture is not None:
            picture = folder / f"{name}.png"
            save_picture(bench, state.setup, picture)
            written.append(picture)
        if not assessed.advice or not assessed.advice[0].changes:
            break
        state = step(state, Change(assessed.advice[0].changes)).state
    report = folder / "report.txt"
    report.write_text("\n".join(texts), encoding="utf-8")
    return [report, *written]

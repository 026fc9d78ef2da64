"""Draws one head's panoramic picture placed well, and with one fault at a time, side by side.

.venv/bin/python docs/make_panorama_sheet.py docs/pictures/panorama.png
"""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

from PIL import Image, ImageDraw, ImageFont

from trainer.services.panorama import (
    HEAD_SPACING_MM,
    SHOWN_DEPTHS,
    grey_of_depths,
    low_tongue,
    shown_depths,
    take_panorama,
)
from trainer.services.scouts import person_head
from trainer.services.volumes.record import default_programme, still_ask
from trainer.services.workbench import open_workbench

STRAIGHT = {"forward_mm": 0.0, "yaw_deg": 0.0, "sideways_mm": 0.0}
SHOWN = (
    ("well placed", {}, False),
    ("front teeth 6 mm ahead of the groove", {"forward_mm": 6.0}, False),
    ("face turned 12° to the right", {"yaw_deg": -12.0}, False),
    ("tongue not at the palate", {}, True),
    ("chin up 12°", {"pitch_deg": 12.0}, False),
    ("chin down 12°", {"pitch_deg": -12.0}, False),
)
COLUMNS, WIDTH, BAND = 2, 480, 24
INK, PAPER, GREYS = 30, 255, 48


def main(path: Path) -> None:
    """Take the pictures and put them on one sheet."""
    bench = open_workbench("panoramic-overview")
    head = person_head(bench.case.subject.person, HEAD_SPACING_MM)
    cells = []
    for words, changes, tongue in SHOWN:
        setup = bench.case.start.with_values(STRAIGHT | changes)
        ask = still_ask(bench, setup, default_programme(bench, setup), 1)
        if tongue:
            ask = replace(ask, solids=(low_tongue(bench.meshes.head),))
        depths = shown_depths(take_panorama(bench, ask, head=head))
        cells.append((words, Image.fromarray(grey_of_depths(depths, *SHOWN_DEPTHS))))
    high = round(WIDTH * cells[0][1].height / cells[0][1].width)
    rows = -(-len(cells) // COLUMNS)
    sheet = Image.new("L", (COLUMNS * (WIDTH + 8), rows * (high + BAND + 8)), PAPER)
    pen = ImageDraw.Draw(sheet)
    font = ImageFont.load_default(15)
    for n, (words, picture) in enumerate(cells):
        x, y = n % COLUMNS * (WIDTH + 8), n // COLUMNS * (high + BAND + 8)
        pen.text((x + 2, y + 3), f"R   {words} (simulated)", fill=INK, font=font)
        pen.text((x + WIDTH - 14, y + 3), "L", fill=INK, font=font)
        sheet.paste(picture.resize((WIDTH, high), Image.Resampling.LANCZOS), (x, y + BAND))
    sheet.quantize(GREYS).save(path, optimize=True)


if __name__ == "__main__":
    main(Path(sys.argv[1]))

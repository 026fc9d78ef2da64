"""Numbers of teeth in the numbering that the local rules ask for."""

from __future__ import annotations

import re

from trainer.models.learning import ToothNumbering

LETTERS = "ABCDEFGHIJKLMNOPQRST"


def universal_number(fdi: int) -> str:
    """The tooth's place in the row from upper right round to lower right: ``46`` is ``30``.

    Permanent teeth count 1 to 32, milk teeth A to T (universal numbering, as taught in dental
    textbooks, from memory; two digits after ISO 3950).

    Raises
    ------
    ValueError
        If no tooth has that number.
    """
    quadrant, place = divmod(fdi, 10)
    milk = quadrant > 4
    most = 5 if milk else 8
    if not (1 <= quadrant <= 8 and 1 <= place <= most):
        raise ValueError(f"{fdi}: no tooth has this number")
    turn = (quadrant - 1) % 4
    number = turn * most + (place if turn % 2 else most + 1 - place)
    return LETTERS[number - 1] if milk else str(number)


def numbered(text: str, numbering: ToothNumbering) -> str:
    """A structure's name with the number of its tooth as the local rules want it.

    Two digits stay, since requests and files have them; the other number stands behind in brackets.
    """
    if numbering is ToothNumbering.FDI:
        return text
    return re.sub(
        r"\b([1-4][1-8]|[5-8][1-5])\b", lambda m: f"{m[0]} ({universal_number(int(m[0]))})", text
    )

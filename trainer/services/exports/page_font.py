"""The letters of printed pages: one font that comes with matplotlib, embedded in the file.

DejaVu Sans holds Latin, Greek, Cyrillic, Armenian and Georgian letters. It has no Chinese,
Japanese, Korean, Thai or Indian scripts; Arabic and Hebrew it has in part, but they run from right
to left and are not set here.
"""

from __future__ import annotations

import unicodedata
from pathlib import Path
from typing import Any

from trainer.errors import NotReadable

PLAIN, STRONG = "TrainerSans", "TrainerSans-Bold"
FILES = {PLAIN: "DejaVuSans.ttf", STRONG: "DejaVuSans-Bold.ttf"}
# U+FFFD, the replacement character, stands where a letter cannot be set.
CANNOT = "\ufffd"
RIGHT_TO_LEFT = ("R", "AL", "AN")


def load_fonts() -> None:
    """Makes both fonts known to the library that writes pages.

    Raises
    ------
    NotReadable
        If that library or the fonts are not installed.
    """
    try:
        import matplotlib
        from reportlab.pdfbase import pdfmetrics
        from reportlab.pdfbase.ttfonts import TTFError, TTFont
    except ImportError as error:
        raise NotReadable(
            f"The library for printed pages is not installed ({error}). Run 'python3 start.py', "
            "which installs it."
        ) from error
    folder = Path(matplotlib.get_data_path(), "fonts", "ttf")
    try:
        for name, file in FILES.items():
            if name not in pdfmetrics.getRegisteredFontNames():
                pdfmetrics.registerFont(TTFont(name, str(folder / file)))
    except (TTFError, OSError) as error:
        raise NotReadable(f"{folder}: the page's font cannot be read: {error}") from error
    pdfmetrics.registerFontFamily(PLAIN, PLAIN, STRONG, PLAIN, STRONG)


def unprintable(text: str) -> tuple[str, ...]:
    """The letters of the text that cannot be set, each once; `load_fonts` comes first."""
    glyphs = _glyphs()
    return tuple(dict.fromkeys(c for c in composed(text) if not _can_set(c, glyphs)))


def printable(text: str) -> str:
    """The text with U+FFFD in place of every letter that cannot be set."""
    glyphs = _glyphs()
    return "".join(c if _can_set(c, glyphs) else CANNOT for c in composed(text))


def composed(text: str) -> str:
    """The text with accents joined to their letters, and any white space as one blank."""
    return " ".join(unicodedata.normalize("NFC", text).split())


def _can_set(letter: str, glyphs: dict[int, Any]) -> bool:
    return ord(letter) in glyphs and unicodedata.bidirectional(letter) not in RIGHT_TO_LEFT


def _glyphs() -> dict[int, Any]:
    from reportlab.pdfbase import pdfmetrics

    return dict(pdfmetrics.getFont(PLAIN).face.charToGlyph)

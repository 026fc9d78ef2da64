"""Colours, once, for the window, the flat views, the 3-D view and exported pictures.

Our own choice: a light, quiet ground, and two signal colours, blue and vermilion, that stay apart
for the common kinds of colour blindness (Okabe & Ito, "Color universal design", 2008: blue against
vermilion). No state is told by colour alone: words and hatching stand beside it.
"""

from __future__ import annotations

Rgb = tuple[int, int, int]

PAPER: Rgb = (255, 255, 255)
GROUND: Rgb = (244, 246, 248)
TEXT: Rgb = (31, 39, 46)
QUIET_TEXT: Rgb = (82, 92, 102)
LINE: Rgb = (128, 138, 148)
SKIN: Rgb = (233, 205, 184)
SKIN_LINE: Rgb = (122, 92, 72)
SKIN_SHADOW: Rgb = (246, 235, 226)
BONE: Rgb = (222, 216, 200)
BONE_LINE: Rgb = (132, 122, 100)
TOOTH: Rgb = (248, 246, 238)
TOOTH_LINE: Rgb = (110, 106, 92)
NERVE: Rgb = (196, 160, 52)
METAL: Rgb = (74, 82, 96)
METAL_LINE: Rgb = (38, 44, 54)
CERAMIC: Rgb = (104, 138, 162)
CERAMIC_LINE: Rgb = (54, 84, 106)
PLASTIC: Rgb = (158, 98, 112)
PLASTIC_LINE: Rgb = (104, 54, 68)
SUPPORT: Rgb = (112, 124, 136)
LIGHT: Rgb = (10, 112, 52)
FIELD: Rgb = (84, 150, 214)
FIELD_LINE: Rgb = (16, 78, 150)
INSIDE: Rgb = (0, 92, 168)
CLOSE: Rgb = (128, 84, 0)
MISSED: Rgb = (184, 52, 8)
MISSED_GROUND: Rgb = (253, 238, 230)
INSIDE_GROUND: Rgb = (231, 241, 251)

# Words and what they stand on; a test holds each pair to 4.5:1 (WCAG 2.2, 1.4.3).
TEXT_PAIRS: tuple[tuple[Rgb, Rgb], ...] = (
    (TEXT, PAPER),
    (TEXT, GROUND),
    (QUIET_TEXT, PAPER),
    (QUIET_TEXT, GROUND),
    (MISSED, PAPER),
    (MISSED, MISSED_GROUND),
    (TEXT, MISSED_GROUND),
    (INSIDE, PAPER),
    (INSIDE, INSIDE_GROUND),
    (TEXT, INSIDE_GROUND),
    (CLOSE, PAPER),
    (LIGHT, PAPER),
    (FIELD_LINE, PAPER),
)
# Lines and marks and what they stand on; 3:1 (WCAG 2.2, 1.4.11).
MARK_PAIRS: tuple[tuple[Rgb, Rgb], ...] = (
    (LIGHT, SKIN),
    (MISSED, BONE),
    (MISSED, TOOTH),
    (INSIDE, BONE),
    (INSIDE, TOOTH),
    (FIELD_LINE, GROUND),
    (FIELD_LINE, SKIN_SHADOW),
    (SKIN_LINE, PAPER),
    (LINE, PAPER),
    (SUPPORT, PAPER),
    (METAL, SKIN),
    (METAL, BONE),
    (METAL, TOOTH),
    (CERAMIC, TOOTH),
    (PLASTIC, SKIN),
    (PLASTIC, BONE),
    (PLASTIC, TOOTH),
)


def unit_rgb(colour: Rgb) -> tuple[float, float, float]:
    """The colour in parts of one."""
    return (colour[0] / 255.0, colour[1] / 255.0, colour[2] / 255.0)


def css(colour: Rgb) -> str:
    """The colour as style sheets write it."""
    return f"#{colour[0]:02x}{colour[1]:02x}{colour[2]:02x}"


def contrast(one: Rgb, other: Rgb) -> float:
    """Contrast of two colours, 1 to 21 (relative luminance: WCAG 2.2, definitions)."""
    high, low = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def _luminance(colour: Rgb) -> float:
    def linear(part: int) -> float:
        c = part / 255.0
        return c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4

    r, g, b = (linear(c) for c in colour)
    return float(0.2126 * r + 0.7152 * g + 0.0722 * b)

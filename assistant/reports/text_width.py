"""How wide a text is in print, and where it breaks into lines, without asking any font.

The advance widths are those of DejaVu Sans 2.37 and its bold, wide as sans serifs go, in thousandths of the size, read from
 the fonts' own `hmtx` tables; its condensed cut, in which our pictures are set, is nine tenths of that.
"""

from __future__ import annotations

from functools import lru_cache

REGULAR = (
    318, 401, 460, 838, 636, 950, 780, 275, 390, 390, 500, 838, 318, 361, 318, 337, 636, 636, 636, 636, 636, 636, 636, 636,
    636, 636, 337, 337, 838, 838, 838, 531, 1000, 684, 686, 698, 770, 632, 575, 775, 752, 295, 295, 656, 557, 863, 748, 787,
    603, 787, 695, 635, 611, 732, 684, 989, 685, 611, 685, 390, 337, 390, 838, 500, 500, 613, 635, 550, 635, 615, 352, 635,
    634, 278, 278, 579, 278, 974, 634, 612, 635, 635, 411, 521, 392, 634, 592, 818, 592, 592, 525, 636, 337, 636, 838,
)  # fmt: skip
BOLD = (
    348, 456, 521, 838, 696, 1002, 872, 306, 457, 457, 523, 838, 380, 415, 380, 365, 696, 696, 696, 696, 696, 696, 696, 696,
    696, 696, 400, 400, 838, 838, 838, 580, 1000, 774, 762, 734, 830, 683, 683, 821, 837, 372, 372, 775, 637, 995, 837, 850,
    733, 850, 770, 720, 682, 812, 774, 1103, 771, 724, 725, 457, 365, 457, 838, 500, 500, 675, 716, 593, 716, 678, 435, 716,
    712, 343, 343, 665, 343, 1042, 712, 687, 716, 716, 493, 595, 478, 712, 652, 924, 645, 652, 582, 712, 365, 712, 838,
)  # fmt: skip
"""From the space (U+0020) to the tilde (U+007E)."""
OTHERS = {"°": 500, "·": 380, "…": 1000}
WIDEST = 1100
"""Taken for any other sign."""
CONDENSED = 0.9


@lru_cache(maxsize=20_000)
def width(text: str, size: float, *, bold: bool = False) -> float:
    """Units of length of the text set condensed in that size.

    >>> round(width("iiii", 10), 2), round(width("WWWW", 10), 2)
    (10.01, 35.6)
    """
    table = BOLD if bold else REGULAR
    return sum(_advance(sign, table) for sign in text) * size / 1000 * CONDENSED


def _advance(sign: str, table: tuple[int, ...]) -> int:
    at = ord(sign) - 32
    return table[at] if 0 <= at < len(table) else OTHERS.get(sign, WIDEST)


def wrapped(text: str, size: float, room: float, *, bold: bool = False) -> list[str]:
    """The text in lines no wider than `room`; a word that is wider by itself is broken."""
    lines, line = [], ""
    for word in text.split():
        both = f"{line} {word}".strip()
        if width(both, size, bold=bold) <= room:
            line = both
            continue
        lines += [line] if line else []
        *broken, line = _pieces(word, size, room, bold=bold)
        lines += broken
    return [*lines, line] if line else lines


def _pieces(word: str, size: float, room: float, *, bold: bool) -> list[str]:
    pieces, piece = [], ""
    for sign in word:
        if piece and width(piece + sign, size, bold=bold) > room:
            pieces.append(piece)
            piece = ""
        piece += sign
    return [*pieces, piece]

"""Pieces of a drawing: text that cannot break the page, rules, the shape of a verdict, and the frame around all of it.

Presentation attributes only, no style and no ids, so that a drawing may stand many times in a page that forbids inline style.
Sizes are CSS pixels at the drawn size. Widths of text are reckoned for DejaVu Sans, as wide as sans serifs go: in a
narrower font it only has more room.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from html import escape

from assistant.reports.text_width import CONDENSED, width
from assistant.reports.text_width import wrapped as wrapped_condensed

WIDTH = 680
EDGE = 3
"""Around it, for what leans out of its own box (the J of some fonts does): so a page of A4 with margins of 14 mm (688 px) has
room for it without making it smaller."""
SIZE, LINE = 13, 17
SMALL = 12
"""The least size of a text (WCAG has no least size; 12 px: common practice, no source)."""
INK, QUIET, RULE, BAND = "#111", "#444", "#ccc", "#e2e2e2"
FONT = "Liberation Sans, Arial, DejaVu Sans, sans-serif"
SHAPES = {"within": "circle", "low": "down", "high": "up", "outside": "diamond", "unsure": "square", "": "dash"}
"""The shape drawn beside each verdict's word."""
PATHS = {
    "down": "M0.5 1.5h11L6 11z",
    "up": "M0.5 10.5h11L6 1z",
    "diamond": "M6 0l6 6-6 6-6-6z",
    "circle": "M1.5 6C1.5 3.5 3.5 1.5 6 1.5S10.5 3.5 10.5 6 8.5 10.5 6 10.5 1.5 8.5 1.5 6z",
    "square": "M1 1h10v10h-10z",
    "dash": "M1 6h10",
}
HOLLOW = ("circle", "square", "dash")
SHAPE = 12


@dataclass(frozen=True)
class Drawn:
    """One figure: of which step ("" of the whole job) and which reading, and its SVG text.

    `caption` stands under it; `alt` says what the picture says, with the figures, for who cannot see it. All but `svg` are
    plain text, to be escaped by the page.
    """

    step: str
    name: str
    title: str
    caption: str
    alt: str
    svg: str


def framed(parts: Iterable[str], height: float, alt: str) -> str:
    """The SVG element around these parts; `alt` is its name for who cannot see it."""
    wide, tall = WIDTH + 2 * EDGE, f"{height:.0f}"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}" height="{tall}" viewBox="{-EDGE} 0 {wide} {tall}" role="img" '
        f'aria-label="{printable(alt)}" font-family="{FONT}" font-size="{SIZE}" fill="{INK}">\n'
        + "\n".join(parts)
        + "\n</svg>"
    )


def text(x: float, y: float, words: str, *, anchor: str = "start", size: int = SIZE, bold: bool = False) -> str:
    """A line of text on the base line y; `anchor` is start, middle or end."""
    at = "" if anchor == "start" else f' text-anchor="{anchor}"'
    weight = ' font-weight="700"' if bold else ""
    return f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size}"{at}{weight}>{printable(words)}</text>'


def lines(x: float, y: float, words: Iterable[str], *, size: int = SIZE, bold: bool = False) -> Iterable[str]:
    """Lines of text one under another, the first on the base line y."""
    return (text(x, y + n * LINE, line, size=size, bold=bold) for n, line in enumerate(words))


def rule(
    x0: float, y0: float, x1: float, y1: float, *, dashed: bool = False, ink: str = INK, thick: float = 1.5
) -> str:
    """A straight line."""
    dashes = ' stroke-dasharray="6 4"' if dashed else ""
    return f'<path d="M{x0:.1f} {y0:.1f}L{x1:.1f} {y1:.1f}" stroke="{ink}" stroke-width="{thick}"{dashes} fill="none"/>'


def box(x: float, y: float, wide: float, tall: float, *, fill: str = "none", edge: str = "none") -> str:
    """A rectangle from its top left corner; a width below nothing is nothing."""
    return (
        f'<rect x="{x:.1f}" y="{y:.1f}" width="{max(wide, 0):.1f}" height="{max(tall, 0):.1f}" fill="{fill}" '
        f'stroke="{edge}" stroke-width="1.5"/>'
    )


def hatched(x: float, y: float, wide: float, tall: float) -> str:
    """A rectangle with slanting lines: what stands beside, and is not judged."""
    slants, at = [], x - tall
    while at < x + wide:
        low, high = max(at, x), min(at + tall, x + wide)
        if high > low:
            slants.append(f"M{low:.1f} {y + tall - (low - at):.1f}L{high:.1f} {y + tall - (high - at):.1f}")
        at += 6
    return box(x, y, wide, tall, fill="#fff", edge=INK) + f'<path d="{"".join(slants)}" stroke="{INK}" fill="none"/>'


def shape(verdict: str, x: float, y: float) -> str:
    """The shape of a verdict, 12 by 12 px, its middle at x and y."""
    kind = SHAPES.get(verdict, "square")
    fill = "#fff" if kind in HOLLOW else INK
    moved = f"translate({x - SHAPE / 2:.1f} {y - SHAPE / 2:.1f})"
    return f'<path d="{PATHS[kind]}" transform="{moved}" fill="{fill}" stroke="{INK}" stroke-width="1.8"/>'


def long(words: str, size: int = SIZE, *, bold: bool = False) -> float:
    """How wide a text is.

    >>> round(long("0" * 10), 2)
    82.68
    """
    return width(words, size, bold=bold) / CONDENSED


def wrapped(words: str, room: float, size: int = SIZE, *, bold: bool = False) -> list[str]:
    """The text in lines no wider than `room`; one empty line where there is none."""
    return wrapped_condensed(shown_signs(words), size, room * CONDENSED, bold=bold) or [""]


def shown_signs(words: str) -> str:
    """The text without signs that XML refuses or that turn, hide or break a line: control signs as their pictures.

    >>> shown_signs("a\\x1db\\ufffe\\u202ec\\n")
    'a\\u241db\\ufffd\\ufffdc '
    """
    return words if words.isprintable() else "".join(map(_shown, words))


def _shown(sign: str) -> str:
    if sign.isprintable():
        return sign
    if sign in "\t\n\r" or (sign.isspace() and ord(sign) > 0x20):
        return " "
    return chr(0x2400 + ord(sign)) if ord(sign) < 0x20 else "\N{REPLACEMENT CHARACTER}"


def printable(words: str) -> str:
    """The text as it may stand in an element or an attribute."""
    return escape(shown_signs(words))

"""The small pieces of a wall card as SVG: texts of a known width, and our own marks."""

from __future__ import annotations

from html import escape

from assistant.reports.text_width import width

FAMILY = "'DejaVu Sans Condensed','DejaVu Sans',sans-serif"
INK, LIGHT, TINT = "#111111", "#9a9a9a", "#f6ead2"
BANDS = (
    "#9a2a00",
    "#00518a",
    "#8a2f6a",
    "#00624a",
    "#5c4a00",
    "#4a4a4a",
    "#4b3a8f",
    "#8a1c30",
    "#00616b",
    "#3f5a00",
    "#6a3a14",
    "#1f3f6f",
)
"""Dark enough for white letters: a contrast of 4.5 or more (WCAG 2.1, 1.4.3), and so in grey."""


def text(
    x: float,
    y: float,
    size: float,
    content: str,
    *,
    bold: bool = False,
    fill: str = INK,
    anchor: str = "start",
    turned: bool = False,
) -> str:
    """One line, in exactly the width that it was measured to have, whatever font is at hand. `turned`: upwards."""
    long = width(content, size, bold=bold)
    where = f'transform="translate({x:.2f} {y:.2f}) rotate(-90)"' if turned else f'x="{x:.2f}" y="{y:.2f}"'
    return (
        f'<text {where} font-size="{size:.2f}" fill="{fill}" text-anchor="{anchor}"'
        f'{" font-weight=" + chr(34) + "bold" + chr(34) if bold else ""} textLength="{long:.2f}" '
        f'lengthAdjust="spacingAndGlyphs">{escape(content)}</text>'
    )


def caution_sign(x: float, y: float, size: float) -> str:
    """A pennant with a stroke and a point in it; `x`, `y` its upper left corner, `size` its height."""
    stroke, middle = size * 0.14, y + size / 2
    flag = f"{x:.2f},{y:.2f} {x + size * 1.15:.2f},{middle:.2f} {x:.2f},{y + size:.2f}"
    return (
        f'<polygon points="{flag}" fill="{INK}"/>'
        f'<path d="M{x + size * 0.16:.2f} {middle:.2f} h{size * 0.4:.2f}" stroke="white" stroke-width="{stroke:.2f}"/>'
        f'<circle cx="{x + size * 0.76:.2f}" cy="{middle:.2f}" r="{stroke * 0.62:.2f}" fill="white"/>'
    )


def detail_mark(kind: str, x: float, y: float, size: float) -> str:
    """What stands before a detail: a box for a part, a clock for a count, a balloon for a reading; `y` is the base line."""
    top = y - size * 0.78
    match kind:
        case "part":
            side = size * 0.74
            box = f"M{x:.2f} {top:.2f} h{side:.2f} v{side:.2f} h{-side:.2f} z"
            return _line(f"{box} M{x:.2f} {top + side * 0.35:.2f} h{side:.2f}")
        case "count":
            r, middle = size * 0.37, y - size * 0.36
            face = f'<circle cx="{x + r:.2f}" cy="{middle:.2f}" r="{r:.2f}" fill="none" stroke="{INK}" stroke-width="0.8"/>'
            return face + _line(f"M{x + r:.2f} {middle - r * 0.7:.2f} V{middle:.2f} h{r * 0.6:.2f}")
        case "reading":
            wide, high, tail = size * 0.78, size * 0.5, size * 0.26
            right = f"M{x:.2f} {top:.2f} h{wide:.2f} v{high:.2f} h{-wide * 0.45:.2f}"
            return _line(f"{right} l{-wide * 0.28:.2f} {tail:.2f} v{-tail:.2f} h{-wide * 0.27:.2f} z")
        case _:
            return ""


def _line(path: str) -> str:
    return f'<path d="{path}" fill="none" stroke="{INK}" stroke-width="0.8"/>'


def dot(x: float, y: float, *, on_band: bool) -> str:
    """That a condition is looked at before the step."""
    fill = "white" if on_band else INK
    return f'<circle cx="{x:.2f}" cy="{y:.2f}" r="1.7" fill="{fill}"/>'

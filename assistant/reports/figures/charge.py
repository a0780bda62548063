"""A scale of amounts with the states of charge that named tables give them; values, limits and a spread upon it.

Several tables stand one under another where the procedure does not say which holds. Off the scale is told, never reckoned.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from assistant.core.trade.table import Table
from assistant.core.units import plain
from assistant.reports.figures.drawing import (
    BAND,
    INK,
    LINE,
    RULE,
    SIZE,
    SMALL,
    WIDTH,
    box,
    lines,
    rule,
    shape,
    text,
    wrapped,
)
from assistant.reports.figures.notes import Mark, Note, Span, marks_across, marks_height, notes_at, span_at
from assistant.reports.figures.scale import Band, Scale, apart
from assistant.reports.looks import told

LEFT, RIGHT = 30.0, WIDTH - 30.0
STRIP = 20.0
BEYOND = Decimal("0.12")
"""Room beside the tables, as a share of their length: for a battery fuller than full, or flat."""


@dataclass(frozen=True)
class Read:
    """One value on the scale: its row's words, and its verdict."""

    at: Decimal
    words: str
    verdict: str


@dataclass(frozen=True)
class ChargeScale:
    """What is drawn: the values, each in a row of its own, over the tables; `span` as in `rows.Chart`."""

    reads: tuple[Read, ...]
    tables: tuple[tuple[str, Table], ...]
    unit: str
    band: Band = (None, None)
    marks: tuple[Mark, ...] = ()
    span: Span | None = None
    notes: tuple[Note, ...] = ()


def drawn_scale(chart: ChargeScale) -> tuple[list[str], float]:
    """The parts of the drawing, and how tall it is."""
    scale = scale_of([table for _, table in chart.tables])
    y = marks_height(chart.marks)
    parts = list(marks_across(chart.marks, scale, y))
    for read in chart.reads:
        found, y = _read(read, chart, scale, y)
        parts += found
    if chart.span:
        found, y = span_at(chart.span, scale, y)
        parts += found
        y += 4
    for name, table in chart.tables:
        found, y = _table(name, table, scale, y + 4, chart.unit)
        parts += found
    found, y = notes_at(chart.notes, y)
    return parts + found, y + 8


def scale_of(tables: Sequence[Table]) -> Scale:
    """The scale that all tables fit on, with room beside them."""
    ends = [x for table in tables for x, _ in (table.rows[0], table.rows[-1])]
    room = (max(ends) - min(ends)) * BEYOND
    return Scale(float(min(ends) - room), float(max(ends) + room), LEFT, RIGHT)


def _read(read: Read, chart: ChargeScale, scale: Scale, y: float) -> tuple[list[str], float]:
    """A value's words, and under them its shape on a strip of the scale with band and marks, which so cross no words."""
    words = read.words if scale.holds(read.at) else f"{read.words}; off this scale"
    found = wrapped(f"{words}; {told(read.verdict)}", WIDTH, bold=True)
    parts = list(lines(0, y + SIZE, found, bold=True))
    top = y + LINE * len(found) + 2
    low, high = chart.band
    if chart.band != (None, None):
        left = scale.at(low) if low is not None else scale.start
        right = scale.at(high) if high is not None else scale.end
        parts.append(box(left, top, right - left, STRIP, fill=BAND))
    parts.append(box(scale.start, top, scale.end - scale.start, STRIP, edge=RULE))
    parts += [rule(scale.at(mark.at), top, scale.at(mark.at), top + STRIP, dashed=True) for mark in chart.marks]
    parts.append(_pointer(read, scale, scale.at(read.at), top + STRIP / 2))
    return parts, top + STRIP + 5


def _pointer(read: Read, scale: Scale, x: float, y: float) -> str:
    if scale.holds(read.at):
        return shape(read.verdict, x, y)
    ahead = 8 if float(read.at) > scale.high else -8
    return (
        rule(x - ahead, y, x + ahead, y)
        + rule(x + ahead / 4, y - 6, x + ahead, y)
        + rule(x + ahead / 4, y + 6, x + ahead, y)
    )


def _table(name: str, table: Table, scale: Scale, y: float, unit: str) -> tuple[list[str], float]:
    """One table: its line, its amounts, and the percentages under them."""
    parts = [rule(scale.start, y, scale.end, y)]
    amounts = [(scale.at(amount), f"{amount} {unit}".strip()) for amount, _ in table.rows]
    shares = [(scale.at(amount), f"{plain(share)} %") for amount, share in table.rows]
    parts += [rule(x, y, x, y + 6, ink=INK, thick=1) for x, _ in amounts]
    for down, labels in ((19, amounts), (35, shares)):
        parts += [text(x, y + down, words, anchor="middle", size=SMALL) for x, words in apart(labels)]
    found = wrapped(name, WIDTH, SMALL)
    parts += [text(0, y + 52 + n * LINE, line, size=SMALL) for n, line in enumerate(found)]
    return parts, y + 52 + LINE * len(found) - 4

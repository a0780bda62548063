"""Bars or points in rows, one a place: label, scale with band and marks, value in words, verdict in shape and word.

Rows have room for any number of places and for numbers of any length; the widths follow the longest text.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from assistant.reports.figures.drawing import (
    BAND,
    INK,
    LINE,
    RULE,
    SHAPE,
    SIZE,
    WIDTH,
    box,
    hatched,
    lines,
    long,
    rule,
    shape,
    wrapped,
)
from assistant.reports.figures.notes import Mark, Note, Span, marks_across, marks_height, notes_at, span_at
from assistant.reports.figures.scale import AXIS, Band, Scale, axis, scale_over
from assistant.reports.looks import told

LABEL_MOST, WORDS_MOST, VERDICT_MOST = 130, 190, 92
GAP, PAD = 12, 7
BAR, BESIDE = 18, 10
PLACES_MOST = 16
"""A figure has so many rows at most: with two bars each they fit a page of A4."""


@dataclass(frozen=True)
class Bar:
    """One number with its words. `beside`: it is not what was judged, and is drawn hatched."""

    at: Decimal
    words: str
    beside: bool = False


@dataclass(frozen=True)
class Row:
    """One place: its bars one under another, and the verdict."""

    label: str
    bars: tuple[Bar, ...]
    verdict: str


@dataclass(frozen=True)
class Chart:
    """What is drawn. `points` instead of bars, where nothing means nothing; `span` from lowest to highest, in words."""

    rows: tuple[Row, ...]
    unit: str
    band: Band = (None, None)
    marks: tuple[Mark, ...] = ()
    span: Span | None = None
    notes: tuple[Note, ...] = ()
    points: bool = False


def drawn_rows(chart: Chart) -> tuple[list[str], float]:
    """The parts of the drawing, and how tall it is."""
    frame = _Frame(chart)
    parts = [*frame.head(), *frame.body()]
    return parts, frame.foot(parts)


class _Frame:
    """Where the columns and rows of a chart lie."""

    def __init__(self, chart: Chart) -> None:
        self.chart = chart
        labels = _room((row.label for row in chart.rows), LABEL_MOST)
        self.words = _room((bar.words for row in chart.rows for bar in row.bars), WORDS_MOST, bold=True)
        self.verdicts = SHAPE + 6 + _room((told(row.verdict) for row in chart.rows), VERDICT_MOST, bold=True)
        self.labels = labels
        self.right = WIDTH - self.verdicts - GAP - self.words - GAP
        numbers = [bar.at for row in chart.rows for bar in row.bars]
        bounds = [bound for bound in chart.band if bound is not None]
        marks = [mark.at for mark in chart.marks]
        self.scale: Scale = scale_over([*numbers, *bounds, *marks], labels + GAP, self.right, zero=not chart.points)
        self.top = marks_height(chart.marks)
        self.tops = [self.top]
        for row in chart.rows:
            self.tops.append(self.tops[-1] + self.tall(row))

    def tall(self, row: Row) -> float:
        """How tall a row is: as its longest column."""
        lines_of_words = sum(len(self.wrapped(bar)) for bar in row.bars)
        rows = max(len(wrapped(row.label, self.labels)), lines_of_words, len(self.verdict(row)))
        drawn = sum(BESIDE if bar.beside else BAR for bar in row.bars) + 3 * (len(row.bars) - 1)
        return max(rows * LINE, drawn) + 2 * PAD

    def wrapped(self, bar: Bar) -> list[str]:
        return wrapped(bar.words, self.words, bold=not bar.beside)

    def verdict(self, row: Row) -> list[str]:
        return wrapped(told(row.verdict), self.verdicts - SHAPE - 6, bold=True)

    def head(self) -> Iterator[str]:
        """The band, and the marks: the rightmost highest, each with its words left of its line, so that none cross."""
        low, high = self.chart.band
        bottom = self.tops[-1]
        if low is not None or high is not None:
            left = self.scale.at(low) if low is not None else self.scale.start
            right = self.scale.at(high) if high is not None else self.scale.end
            yield box(left, self.top, right - left, bottom - self.top, fill=BAND)
        yield from marks_across(self.chart.marks, self.scale, bottom)

    def body(self) -> Iterator[str]:
        for row, top in zip(self.chart.rows, self.tops, strict=False):
            if top > self.top:
                yield rule(0, top, WIDTH, top, ink=RULE, thick=1)
            yield from lines(0, top + PAD + SIZE, wrapped(row.label, self.labels))
            yield from self._bars(row, top)
            x = WIDTH - self.verdicts
            yield shape(row.verdict, x + SHAPE / 2, top + PAD + SIZE - 5)
            bold = row.verdict not in ("within", "")
            yield from lines(x + SHAPE + 6, top + PAD + SIZE, self.verdict(row), bold=bold)
        yield rule(self._zero(), self.top, self._zero(), self.tops[-1])
        yield from axis(self.scale, self.tops[-1], self.chart.unit)

    def _zero(self) -> float:
        return self.scale.start if self.chart.points else self.scale.at(0)

    def _bars(self, row: Row, top: float) -> Iterator[str]:
        y, base = top + PAD, top + PAD + SIZE
        for bar in row.bars:
            yield from lines(self.right + GAP, base, self.wrapped(bar), bold=not bar.beside)
            base += LINE * len(self.wrapped(bar))
            if self.chart.points:
                yield self._point(bar, row.verdict, y + BAR / 2)
            else:
                yield self._bar(bar, row.verdict, y)
            y += (BESIDE if bar.beside else BAR) + 3

    def _bar(self, bar: Bar, verdict: str, y: float) -> str:
        ends = sorted((self._zero(), self.scale.at(bar.at)))
        if bar.beside:
            return hatched(ends[0], y, ends[1] - ends[0], BESIDE)
        bad = verdict in ("low", "high", "outside")
        return box(ends[0], y, ends[1] - ends[0], BAR, fill=INK if bad else "#fff", edge=INK)

    def _point(self, bar: Bar, verdict: str, y: float) -> str:
        x = self.scale.at(bar.at)
        if bar.beside:
            return rule(x - 5, y - 9, x + 5, y - 9 + 10) + rule(x - 5, y + 1, x + 5, y - 9)
        return rule(self.scale.start, y, x, y, ink=RULE) + shape(verdict, x, y)

    def foot(self, parts: list[str]) -> float:
        """Adds the span from lowest to highest and the notes under the rows; how tall all of it is."""
        y = self.tops[-1] + AXIS
        if self.chart.span:
            found, y = span_at(self.chart.span, self.scale, y)
            parts += found
        found, y = notes_at(self.chart.notes, y + 2)
        parts += found
        return y + 6


def _room(texts: Iterator[str], most: float, *, bold: bool = False) -> float:
    return min(max((long(words, bold=bold) for words in texts), default=0), most)

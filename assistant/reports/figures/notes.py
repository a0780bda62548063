"""What stands over and under a scale: marks across it, the span from lowest to highest, and notes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from assistant.reports.figures.drawing import LINE, SHAPE, SIZE, WIDTH, box, lines, long, rule, shape, text, wrapped
from assistant.reports.figures.scale import Band, Scale, short

OVER = 4.0
BOUND_WORDS_MOST = WIDTH - 16


@dataclass(frozen=True)
class Mark:
    """A dashed line across all rows, with its words above."""

    at: Decimal
    words: str


@dataclass(frozen=True)
class Span:
    """From lowest to highest, and what is told of it."""

    low: Decimal
    high: Decimal
    words: str


@dataclass(frozen=True)
class Note:
    """A line under the drawing; with a verdict its shape stands before it."""

    words: str
    verdict: str | None = None


def edges_of(band: Band, unit: str) -> tuple[Mark, ...]:
    """The edges of a band as marks."""
    edges = (("at least", band[0]), ("at most", band[1]))
    return tuple(Mark(edge, f"{words} {short(edge, unit)}") for words, edge in edges if edge is not None)


def marks_height(marks: Sequence[Mark]) -> float:
    """How tall their words are, each on a line of its own."""
    return OVER + LINE * len(marks) + (OVER if marks else 0)


def marks_across(marks: Sequence[Mark], scale: Scale, bottom: float) -> Iterator[str]:
    """The rightmost highest, each with its words left of its line where they fit, so that none is crossed."""
    for n, mark in enumerate(sorted(marks, key=lambda one: -one.at)):
        x, y = scale.at(mark.at), OVER + LINE * (n + 1) - 4
        yield rule(x, y - 10, x, bottom, dashed=True)
        words = wrapped(mark.words, BOUND_WORDS_MOST)[0]
        left = x - 6 - long(words)
        if left < 0:
            left = min(x + 6, WIDTH - long(words) - 4)
        yield box(left - 3, y - SIZE, long(words) + 6, LINE, fill="#fff")
        yield text(left, y, words)


def span_at(span: Span, scale: Scale, y: float) -> tuple[list[str], float]:
    """A measuring line between both, the words centred under it where they fit; where the next thing may begin."""
    left, right, middle = scale.at(span.low), scale.at(span.high), y + 8
    parts = [rule(left, middle, right, middle)]
    parts += [rule(x, middle - 6, x, middle + 6) for x in (left, right)]
    found = wrapped(span.words, WIDTH)
    for n, line in enumerate(found):
        x = min(max((left + right) / 2 - long(line) / 2, 0), WIDTH - long(line))
        parts.append(text(x, middle + 21 + n * LINE, line))
    return parts, middle + 10 + LINE * len(found)


def notes_at(notes: Sequence[Note], y: float) -> tuple[list[str], float]:
    """The notes one under another; where they end."""
    parts: list[str] = []
    for note in notes:
        indent = 0 if note.verdict is None else SHAPE + 6
        if note.verdict is not None:
            parts.append(shape(note.verdict, SHAPE / 2, y + SIZE - 5))
        found = wrapped(note.words, WIDTH - indent)
        parts += lines(indent, y + SIZE, found)
        y += LINE * len(found)
    return parts, y

"""A table in a drawing: cells of words that wrap, some with the shape of a verdict, and rows as tall as their longest cell."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from assistant.reports.figures.drawing import LINE, RULE, SHAPE, SIZE, SMALL, WIDTH, lines, rule, shape, text, wrapped

PAD, GAP = 5, 10


@dataclass(frozen=True)
class Cell:
    """Words; with a verdict its shape stands before them."""

    words: str
    bold: bool = False
    verdict: str | None = None


@dataclass(frozen=True)
class Columns:
    """Heads and widths, from left to right; the widths come to the width of a drawing or less."""

    heads: tuple[str, ...]
    widths: tuple[float, ...]

    def left(self, column: int) -> float:
        """Where a column begins."""
        return sum(self.widths[:column])


def heads_at(columns: Columns, y: float) -> tuple[list[str], float]:
    """The line of heads, and where the first row begins."""
    parts = [
        text(columns.left(n), y + SIZE, head, size=SMALL, bold=True) for n, head in enumerate(columns.heads) if head
    ]
    return [*parts, rule(0, y + LINE + 4, WIDTH, y + LINE + 4)], y + LINE + 4


def row_at(columns: Columns, row: Sequence[Cell], y: float) -> tuple[list[str], float]:
    """One row, a thin rule under it; where it ends."""
    parts: list[str] = []
    tallest = 1
    for n, cell in enumerate(row):
        left, room = columns.left(n), columns.widths[n] - GAP
        if cell.verdict is not None:
            parts.append(shape(cell.verdict, left + SHAPE / 2, y + PAD + SIZE - 5))
            left, room = left + SHAPE + 5, room - SHAPE - 5
        found = wrapped(cell.words, room, bold=cell.bold)
        parts += lines(left, y + PAD + SIZE, found, bold=cell.bold)
        tallest = max(tallest, len(found))
    end = y + tallest * LINE + 2 * PAD
    return [*parts, rule(0, end, WIDTH, end, ink=RULE, thick=1)], end

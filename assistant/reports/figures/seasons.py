"""This season against the last: a row for each reading and place that both have, with the change in words.

What was kept last season stands in the job's first entry. Change and units are those of `core.trade.seasons`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from assistant.core.entries import JobOpened
from assistant.core.speech.limit_wording import limit_written
from assistant.core.trade.seasons import Change, Season, change_since_last, in_this_unit, legible
from assistant.core.units import KINDS, Amount
from assistant.reports.figures.drawing import BAND, RULE, Drawn, box, framed, rule, shape
from assistant.reports.figures.grid import Cell, Columns, heads_at, row_at
from assistant.reports.figures.places import sentence
from assistant.reports.figures.scale import fixed_band, scale_over
from assistant.reports.figures.told import Point, ReadingSet, number_of
from assistant.reports.looks import told
from assistant.reports.values import spaced, written

TALLEST = 900.0
"""What fits a page of A4 with its title (1017 px without margins)."""
HEADS = ("Reading", "Last season", "This season", "", "Change", "Limit")
COLUMNS = Columns(HEADS, (150, 90, 112, 108, 94, 126))
PICTURE = 3
LEGEND = "Upright bar: last season; shape: this season; grey: its limit. Each row has its own scale."


@dataclass(frozen=True)
class _Row:
    """One reading at one place in both seasons, in this season's unit where it can be had."""

    found: ReadingSet
    point: Point
    before: Amount | None
    before_told: str
    change: str


def seasons(sets: Sequence[ReadingSet], opened: JobOpened | None) -> tuple[Drawn, ...]:
    """The figures, as many as the rows need; none where no reading was kept last season."""
    earlier = _earlier(opened)
    rows = [(row, _cells(row)) for row in _rows(sets, earlier)]
    pages: list[list[_Row]] = []
    end = TALLEST
    for row, cells in rows:
        _, tall = row_at(COLUMNS, cells, 0)
        if end + tall > TALLEST:
            pages.append([])
            end = 0
        pages[-1].append(row)
        end += tall
    missing = len(earlier) - len(rows)
    return tuple(_drawn(page, n, len(pages), missing) for n, page in enumerate(pages, start=1))


def _earlier(opened: JobOpened | None) -> dict[tuple[str, str, str], tuple[str, str]]:
    """(step, name, place) -> value and unit, of the numbers."""
    rows = opened.earlier if opened else ()
    return {
        (step, name, place): (value, unit)
        for step, name, place, value, unit in rows
        if unit in KINDS and number_of(value) is not None
    }


def _rows(sets: Sequence[ReadingSet], earlier: Mapping[tuple[str, str, str], tuple[str, str]]) -> Iterator[_Row]:
    for found in sets:
        for point in found.points:
            was = earlier.get((found.step, found.name, point.value.place))
            if was is not None:
                yield _row(found, point, *was)


def _row(found: ReadingSet, point: Point, value: str, unit: str) -> _Row:
    before = Season("last season", "", None, Amount(number_of(value) or Decimal(0), unit), Decimal(0))
    now = Season("this season", "", None, point.amount, Decimal(0))
    try:
        both = in_this_unit((before, now))
    except ValueError:
        return _Row(found, point, None, written(value, unit), "measured in another kind of unit")
    change = change_since_last(both)
    return _Row(
        found, point, both[0].value, written(value, unit), _in_words(change) if isinstance(change, Change) else ""
    )


def _in_words(change: Change) -> str:
    """How a value has changed."""
    by = change.amount.value
    if not by:
        return "the same"
    return f"{legible(Amount(abs(by), change.amount.unit))} {'higher' if by > 0 else 'lower'}"


def _drawn(rows: Sequence[_Row], page: int, pages: int, missing: int) -> Drawn:
    title = "This season against the last" + (f" ({page} of {pages})" if pages > 1 else "")
    parts, y = heads_at(COLUMNS, 0)
    for row in rows:
        cells, end = row_at(COLUMNS, _cells(row), y)
        parts += cells
        if row.before is not None:
            parts += _picture(row, row.before, (y + end) / 2)
        y = end
    said = "; ".join(f"{_named(row)} {row.before_told}, now {row.point.value.written}, {row.change}" for row in rows)
    left = f"Kept last season and not now: {missing}." if missing and page == pages else ""
    alt = sentence(f"{title}: {said}")
    return Drawn("", f"seasons {page}", title, f"{LEGEND} {left}".strip(), alt, framed(parts, y + 6, alt))


def _named(row: _Row) -> str:
    return ", ".join(filter(None, (spaced(row.found.name), row.point.value.place)))


def _cells(row: _Row) -> tuple[Cell, ...]:
    value = row.point.value
    verdict = f", {told(value.verdict)}" if value.verdict else ""
    return (
        Cell(_named(row)),
        Cell(row.before_told),
        Cell(f"{value.written}{verdict}", bold=True, verdict=value.verdict),
        Cell(""),
        Cell(row.change),
        Cell(_limits(row)),
    )


def _limits(row: _Row) -> str:
    """The limits without their sources, which stand with the values."""
    limits = row.found.limits
    return (
        spaced("; ".join(limit_written(replace(one, source="")) for one in limits)) or row.point.value.limit or "none"
    )


def _picture(row: _Row, before: Amount, y: float) -> list[str]:
    """Both values on a small scale of the row's own, with the band of its fixed limits."""
    band = fixed_band(row.found.limits, row.found.unit)
    left = COLUMNS.left(PICTURE)
    numbers = [before.value, row.point.number]
    scale = scale_over([*numbers, *(b for b in band if b is not None)], left + 8, left + COLUMNS.widths[PICTURE] - 18)
    parts = []
    if band != (None, None):
        low, high = band
        first = scale.at(low) if low is not None else scale.start
        last = scale.at(high) if high is not None else scale.end
        parts.append(box(first, y - 9, last - first, 18, fill=BAND))
    was, now = scale.at(before.value), scale.at(row.point.number)
    parts += [rule(scale.start, y, scale.end, y, ink=RULE, thick=1), rule(was, y, now, y)]
    return [*parts, rule(was, y - 8, was, y + 8, thick=3), shape(row.point.value.verdict, now, y)]

"""Bars of a reading that is taken at several places (compression by cylinder), with the band it should lie in.

The figure is numbers only, in the units of its own drawing; the template draws it. Verdicts are told by word and shape,
so that it reads in grey.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from assistant.core.units import WRITTEN, plain
from assistant.reports.values import Value

HEIGHT, BASE, TOP = 230, 190, 10
BAR, GAP, LEFT = 76, 30, 130
ROOM_FOR_TEXT = 24
"""A bar lower than this has its value above it."""
NUMBER = r"(-?\d+(?:\.\d+)?)"


@dataclass(frozen=True)
class Bar:
    """One place. `x`, `y`, `width`, `height` in drawing units from the top left; `text_y` of its value."""

    x: int
    y: float
    width: int
    height: float
    text_y: float
    inside: bool
    place: str
    value: str
    verdict: str


@dataclass(frozen=True)
class Line:
    """An edge of the band that the values should lie in; `words` are "at least" or "at most"."""

    y: float
    words: str
    text: str


@dataclass(frozen=True)
class Figure:
    """The bars of one reading; `band` is (y, height) of where the values should lie, None if no limit says so.

    `left` and `base` are where its axes lie.
    """

    title: str
    limit: str
    unit: str
    left: int
    base: int
    width: int
    height: int
    bars: tuple[Bar, ...]
    lines: tuple[Line, ...]
    band: tuple[float, float] | None


def figures_of(values: Iterable[Value]) -> tuple[Figure, ...]:
    """A figure for each reading with numbers at two places or more, in one unit."""
    sets: dict[tuple[str, str], list[tuple[Value, Decimal]]] = {}
    for value in values:
        number = _number(value.value)
        if value.place and number is not None and number >= 0:
            sets.setdefault((value.name, value.unit), []).append((value, number))
    return tuple(_figure(points) for points in sets.values() if len(points) > 1)


def band_of(limit: str, unit: str, numbers: Iterable[Decimal]) -> tuple[Decimal | None, Decimal | None]:
    """Lowest and highest allowed, as far as a limit in print says so in this unit; "above" and "below" draw the same band.

    A limit against another value, or by a computation, bounds something else (`core.speech.limit_wording`).

    >>> band_of("at least 175 psi (page 4); lowest within 10 % of highest", "psi", [Decimal(200)])
    (Decimal('180'), None)
    """
    written = re.escape(WRITTEN.get(unit, unit))
    end = rf"\s*{written}(?!\w)" if written else ""
    lows, highs = [], []
    limit = "; ".join(clause for clause in limit.split("; ") if not clause.startswith(("against ", "by ")))
    for low, high in re.findall(rf"\b{NUMBER}{end} to {NUMBER}{end}", limit):
        lows.append(Decimal(low))
        highs.append(Decimal(high))
    lows += [Decimal(low) for low in re.findall(rf"(?:at least|above) {NUMBER}{end}", limit)]
    highs += [Decimal(high) for high in re.findall(rf"(?:at most|below) {NUMBER}{end}", limit)]
    for share in re.findall(rf"lowest within {NUMBER} % of highest", limit):
        lows.append(max(numbers, default=Decimal(0)) * (100 - Decimal(share)) / 100)
    return max(lows, default=None), min(highs, default=None)


def _figure(points: list[tuple[Value, Decimal]]) -> Figure:
    first = points[0][0]
    numbers = [number for _, number in points]
    low, high = band_of(first.limit, first.unit, numbers)
    top = max([*numbers, high or Decimal(0), low or Decimal(0)]) or Decimal(1)
    width = LEFT + len(points) * (BAR + GAP) + GAP
    return Figure(
        title=first.name,
        limit=first.limit,
        unit=WRITTEN.get(first.unit, first.unit),
        left=LEFT,
        base=BASE,
        width=width,
        height=HEIGHT,
        bars=tuple(_bar(i, value, number, top) for i, (value, number) in enumerate(points)),
        lines=tuple(
            Line(_y(edge, top), words, plain(edge))
            for words, edge in (("at least", low), ("at most", high))
            if edge is not None
        ),
        band=None if low is None and high is None else _band(low, high, top),
    )


def _bar(index: int, value: Value, number: Decimal, top: Decimal) -> Bar:
    y = _y(number, top)
    inside = BASE - y >= ROOM_FOR_TEXT
    text_y = BASE - 9.0 if inside else y - 6
    x = LEFT + GAP + index * (BAR + GAP)
    return Bar(x, y, BAR, BASE - y, text_y, inside, value.place, value.written, value.verdict)


def _band(low: Decimal | None, high: Decimal | None, top: Decimal) -> tuple[float, float]:
    upper = _y(high, top) if high is not None else float(TOP)
    lower = _y(low, top) if low is not None else float(BASE)
    return upper, max(lower - upper, 0.0)


def _y(number: Decimal, top: Decimal) -> float:
    return round(BASE - float(number / top) * (BASE - TOP - 14), 1)


def _number(text: str) -> Decimal | None:
    try:
        number = Decimal(text)
    except InvalidOperation:
        return None
    return number if number.is_finite() else None

"""From amounts to places in a drawing: one straight scale, its round numbers, and the band that a limit allows."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import ceil, floor, log10

from assistant.core.procedure import Limit, Value
from assistant.core.speech.limit_wording import short_written
from assistant.core.units import WRITTEN, Amount, convert, kind_of, plain
from assistant.reports.figures.drawing import INK, SMALL, WIDTH, long, rule, text

NUMBER = r"(-?\d{1,12}(?:\.\d{1,30})?)"
"""A number of a limit in print; no limit of the trade has more digits."""
Band = tuple[Decimal | None, Decimal | None]
"""Lowest and highest allowed, None where nothing says so."""
MARGIN = 0.06
"""Room beyond the outermost value, as a share of the scale."""
AXIS = 42.0
"""How tall a scale with its numbers and unit is."""
LEAST_SPAN = 1e-6
"""A scale is at least so long, as a share of its greatest number: floats tell no less apart."""


@dataclass(frozen=True)
class Scale:
    """A straight scale: `low` is drawn at `start`, `high` at `end` (both in px, either way round)."""

    low: float
    high: float
    start: float
    end: float

    def at(self, value: Decimal | float) -> float:
        """Where a value is drawn; what lies outside of the scale is put on its end."""
        share = (float(value) - self.low) / (self.high - self.low)
        return round(self.start + min(max(share, 0.0), 1.0) * (self.end - self.start), 1)

    def holds(self, value: Decimal | float) -> bool:
        """Does it lie on the scale."""
        return self.low <= float(value) <= self.high


def scale_over(values: Iterable[Decimal], start: float, end: float, *, zero: bool = False) -> Scale:
    """A scale that holds all of these (one or more), with a margin; with `zero` also that, and no margin beyond it."""
    found = [float(value) for value in values] + ([0.0] if zero else [])
    low, high = min(found), max(found)
    span = max(high - low, LEAST_SPAN * max(abs(low), abs(high))) or 1.0
    return Scale(
        low if zero and low == 0 else low - span * MARGIN, high if zero and high == 0 < -low else high + span * MARGIN,
        start, end,
    )  # fmt: skip


def ticks(low: float, high: float) -> tuple[Decimal, ...]:
    """Two to six round numbers from low to high: multiples of 1, 2 or 5 of some power of ten.

    >>> [plain(tick) for tick in ticks(172.9, 200.1)]
    ['180', '190', '200']
    """
    power = Decimal(10) ** floor(log10((high - low) / 2))
    step = max(power * n for n in (1, 2, 5) if float(power) * n <= (high - low) / 2)
    first = ceil(low / float(step))
    return tuple(step * n for n in range(first, floor(high / float(step)) + 1))


def axis(scale: Scale, y: float, unit: str) -> Iterable[str]:
    """The line of a scale at y from left to right, with its round numbers under it and the unit under those."""
    yield rule(scale.start, y, scale.end, y)
    for x, words in apart([(scale.at(tick), plain(tick)) for tick in ticks(scale.low, scale.high)]):
        yield rule(x, y, x, y + 5, ink=INK, thick=1)
        yield text(_inside(x, words), y + 18, words, anchor="middle", size=SMALL)
    yield text(scale.start, y + 34, unit, size=SMALL)


def apart(labels: Sequence[tuple[float, str]]) -> list[tuple[float, str]]:
    """Those of these labels (their middle, and words; from left to right) that do not touch the one before."""
    kept: list[tuple[float, str]] = []
    end = float("-inf")
    for x, words in labels:
        half = long(words, SMALL) / 2
        if _inside(x, words) - half >= end + 6:
            kept.append((x, words))
            end = _inside(x, words) + half
    return kept


def _inside(x: float, words: str) -> float:
    half = long(words, SMALL) / 2
    return min(max(x, half), WIDTH - half)


# Bands


def band_of(limit: str, unit: str, numbers: Iterable[Decimal]) -> Band:
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


def fixed_band(limits: Iterable[Limit], unit: str) -> Band:
    """The narrowest band that limits with fixed bounds leave (`Limit.alone`), in this unit."""
    bounds = [bounds_in(limit, unit) for limit in limits if limit.alone]
    lows = [low for low, _ in bounds if low is not None]
    highs = [high for _, high in bounds if high is not None]
    return max(lows, default=None), min(highs, default=None)


def bounds_in(limit: Limit, unit: str) -> Band:
    """Both bounds of one limit in this unit, None where it has none or a name still stands for it."""
    return _number(limit.low, unit), _number(limit.high, unit)


def band_told(band: Band, unit: str) -> str:
    """A band in words.

    >>> band_told((Decimal(175), None), "psi"), band_told((None, None), "psi")
    ('at least 175 psi', '')
    """
    low, high = band
    if low is not None and high is not None:
        return f"{short(low, unit)} to {short(high, unit)}"
    if low is not None:
        return f"at least {short(low, unit)}"
    return f"at most {short(high, unit)}" if high is not None else ""


def short(number: Decimal, unit: str) -> str:
    """An amount in print, six figures of it."""
    return short_written(Amount(number, unit))


def _number(bound: Value | None, unit: str) -> Decimal | None:
    if isinstance(bound, Amount) and kind_of(bound.unit) == kind_of(unit) is not None:
        return convert(bound, unit).value
    return None

"""A value beside its limit: a small drawing of the band with the value on it, and the margin in words."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from assistant.core.units import KINDS, WRITTEN, plain
from assistant.reports.figures.scale import Band, band_of
from assistant.reports.figures.told import number_of
from assistant.reports.values import LONG_TAIL, Value

WIDTH, EDGE = 160.0, 10.0
"""Of the drawing, in its own units (CSS px); `EDGE` is kept free at both ends for the mark."""
ROOM = Decimal("0.35")
"""What is drawn beyond the outermost of value and bounds, as a share of what lies between them."""


@dataclass(frozen=True)
class Gauge:
    """Where to draw, from the left: the band from `low` to `high` (open where the limit has only one bound), the value `at`.

    `margin` says how far from the nearest bound the value lies, and on which side.
    """

    low: float
    high: float
    at: float
    margin: str
    inside: bool
    open_low: bool
    open_high: bool


def gauge_of(value: Value, others: tuple[Decimal, ...] = ()) -> Gauge | None:
    """The drawing for a value whose limit has a bound in its unit; else None. `others` are the values of the same set."""
    number = number_of(value.value)
    if number is None or value.unit not in KINDS:
        return None
    band = band_of(value.limit, value.unit, (number, *others))
    low, high = band
    if low is None and high is None:
        return None
    ends = [end for end in (low, high, number) if end is not None]
    span = (max(ends) - min(ends)) or abs(number) or Decimal(1)
    first, last = min(ends) - span * ROOM, max(ends) + span * ROOM
    per = (WIDTH - 2 * EDGE) / float(last - first)
    inside = (low is None or number >= low) and (high is None or number <= high)

    def x(end: Decimal) -> float:
        return round(EDGE + float(end - first) * per, 1)

    return Gauge(
        low=x(low) if low is not None else 0.0,
        high=x(high) if high is not None else WIDTH,
        at=x(number),
        margin=_margin(number, band, value.unit),
        inside=inside,
        open_low=low is None,
        open_high=high is None,
    )


def _margin(number: Decimal, band: Band, unit: str) -> str:
    """ "5 psi above the least", "12 psi below the most", "0.2 V under the least"."""
    low, high = band
    told = []
    if low is not None:
        told.append((abs(number - low), "above the least" if number >= low else "under the least"))
    if high is not None:
        told.append((abs(high - number), "below the most" if number <= high else "over the most"))
    far, where = min(told, key=lambda one: one[0])
    if far == 0:
        return f"just at the {where.rpartition(' ')[2]}"
    return f"{LONG_TAIL.sub('', plain(far))} {WRITTEN.get(unit, unit)} {where}"

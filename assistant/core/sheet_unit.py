"""A reading is taken in the unit of the sheet's values that it is judged by, whatever unit the procedure was written in.

The prompt says the sheet's value with its unit ("tighten to 20 newton metres"), so a bare "twenty" in answer means that
unit. Kept as twenty of another it would be a wrong value in silence.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

from assistant.core.procedure import Limit, Reading
from assistant.core.speech.amounts import places_in, span_in
from assistant.core.units import Amount, kind_of

MOST_PLACES = 4


def in_sheet_unit(reading: Reading, written: tuple[Limit, ...]) -> Reading:
    """The bound reading in the unit of its bounds, where all of them have one and the same, of the kind of its own.

    `written`: its limits as they were before they were bound; only a bound that was a name comes from the sheet, and so may
    have been said. `plausible` is widened to whole last places; a larger unit gets more places.
    """
    units = {bound.unit for limit in reading.limits for bound in _bounds(limit)}
    unit = units.pop() if len(units) == 1 and any(_named(limit) for limit in written) else reading.unit
    if reading.kind != "measured" or unit == reading.unit or kind_of(unit) != kind_of(reading.unit):
        return reading
    low, high = span_in(reading, unit)
    places = min(max(places_in(reading, unit), reading.places), MOST_PLACES)
    step = Decimal(1).scaleb(-places)
    plausible = (low.quantize(step, ROUND_FLOOR), high.quantize(step, ROUND_CEILING))
    return replace(reading, unit=unit, plausible=plausible, places=places)


def _bounds(limit: Limit) -> tuple[Amount, ...]:
    """The amounts that the value itself is held against: not those of a difference, nor of what is computed of it."""
    if limit.by or limit.compared:
        return ()
    return tuple(bound for bound in (limit.low, limit.high) if isinstance(bound, Amount))


def _named(limit: Limit) -> bool:
    return any(isinstance(bound, str) for bound in (limit.low, limit.high, limit.target))

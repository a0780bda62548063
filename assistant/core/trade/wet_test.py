"""The compression test again with oil in the cylinder: what the change suggests.

Oil seals worn rings for a few strokes and does nothing for a leaking valve. Sources (reference.md 7.4): repeat with oil
what is more than 10 psi low (TM 10-3930-618-20 para 2-12); a rise of 10 psi or more means rings or bore, none means
valves, two neighbours low mean the head gasket (TM 10-3930-647-14&P, which may carry a maker's text: not confirmed).
What lies between no rise and 10 psi, no source says: unsure. That it is the *not rising* pair that points to the gasket is
from memory.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal

from assistant.core.trade.compression import CRANKING
from assistant.core.trade.compression_balance import SIDE_BY_SIDE, low_ones, ten_psi_in
from assistant.core.trade.cylinders import compared, cranking_pressure, cranking_pressures
from assistant.core.trade.figure import Figure
from assistant.core.trade.given import given
from assistant.core.trade.inputs import Count, Pressure
from assistant.core.trade.rounding import in_short

RINGS = "rings or bore"
VALVES = "valves"
BETWEEN = "unsure, between the rules"
AGAIN = "unsure, lower with oil: test again"
NOT_LOW = "not low, nothing to explain"
SOURCES = (
    "TM 10-3930-647-14&P for what a rise means, unconfirmed",
    "TM 10-3930-618-20 para 2-12 for which to test again",
)
OIL = (
    "About a tablespoon of oil for each cylinder, then a few turns to spread it (from memory). More fills the chamber and"
    " raises any reading; a cylinder full of liquid breaks the engine when it is cranked.",
    "The change suggests, it proves nothing: a leak-down test hears where the air goes.",
)


def wet_test(*, dry: tuple[Pressure, ...], wet: tuple[Pressure, ...], cylinders: tuple[Count, ...] = ()) -> Figure:
    """What the wet test suggests for each cylinder that was low when dry; unsure where no rule says.

    `dry`: all cylinders in the order in which they stand. `wet`: the ones tested again, which are `cylinders`, or all. A
    single dry reading counts as low. Sources: the module's. Raises ValueError where the sets do not fit each other, or
    for a reading not from 0 to 1000 psi.
    """
    before, unit = _dry(dry)
    after = [cranking_pressure("wet", reading, unit) for reading in wet]
    tested = dict(zip(_tested(cylinders, len(before), len(after)), after, strict=True))
    rises = {at: number - before[at - 1] for at, number in tested.items()}
    low = low_ones(before, unit) if len(before) > 1 else [1]
    ten = ten_psi_in(unit)
    found = {at: _suggests(rises[at], ten) if at in low else NOT_LOW for at in tested}
    gaskets = [at for at in found if found[at] == found.get(at + 1) == VALVES]
    told = [f"cylinder {at}: {what}" for at, what in found.items() if what != NOT_LOW]
    told += [f"cylinders {at} and {at + 1}: neither rises, perhaps the head gasket between them" for at in gaskets]
    untested = [at for at in low if at not in tested]
    return Figure(
        "; ".join(told) or NOT_LOW,
        tuple(_told(before, tested, unit)),
        SOURCES,
        verdict="unsure" if BETWEEN in found.values() or AGAIN in found.values() else None,
        beside=tuple((f"cylinder_{at}", what) for at, what in found.items()),
        cautions=(*_untested(untested), *OIL, f"Order: {SIDE_BY_SIDE}.", *CRANKING),
    )


def _dry(readings: Sequence[Pressure]) -> tuple[list[Decimal], str]:
    if len(readings) == 1:
        return [cranking_pressure("dry", readings[0], readings[0].unit)], readings[0].unit
    return cranking_pressures("dry", readings)


def _suggests(rise: Decimal, ten: Decimal) -> str:
    """Ten psi or more: rings; none or less: valves; but as much lower cannot come from the oil."""
    rise, ten = compared(rise), compared(ten)
    if rise >= ten:
        return RINGS
    if rise > 0:
        return BETWEEN
    return VALVES if rise > -ten else AGAIN


def _tested(cylinders: Sequence[Count], count: int, readings: int) -> list[int]:
    if not cylinders:
        if readings != count:
            raise ValueError(f"'wet' has {readings} readings for {count} cylinders: say which in 'cylinders'")
        return list(range(1, count + 1))
    numbers = [
        given("cylinders", one, "count", least="1", most=str(count), source="as many as are dry") for one in cylinders
    ]
    if any(number != int(number) for number in numbers) or len(set(numbers)) != len(numbers):
        raise ValueError("'cylinders' must be whole numbers, each once")
    if len(numbers) != readings:
        raise ValueError(f"'wet' has {readings} readings for {len(numbers)} 'cylinders'")
    return [int(number) for number in numbers]


def _told(before: Sequence[Decimal], tested: Mapping[int, Decimal], unit: str) -> list[str]:
    lines = [
        f"cylinder {at}: {in_short(before[at - 1])} dry, {in_short(number)} with oil,"
        f" {in_short(number - before[at - 1])} {unit} more"
        for at, number in tested.items()
    ]
    return [
        *lines,
        f"the rules' 10 psi are {in_short(ten_psi_in(unit))} {unit}; low is more than that below {in_short(max(before))}",
    ]


def _untested(cylinders: Sequence[int]) -> tuple[str, ...]:
    return tuple(f"Cylinder {at} was low too, and has no reading with oil." for at in cylinders)


COMPUTATIONS = (wet_test,)

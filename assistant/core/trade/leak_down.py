"""Leak-down: how much of the air put into a cylinder at top dead centre gets out again, and where it is heard.

Source: AC 43.13-1B para 8-14 (reference.md section 7.5): the air is set to 80 psi, and a loss in excess of 25 percent
makes the cylinder suspect. 60 psi left of 80 is exactly 25 percent, and passes (trap T14).
"""

from __future__ import annotations

from decimal import Decimal
from typing import Literal, get_args

from assistant.core.trade.cylinders import named, where
from assistant.core.trade.figure import Figure, Verdict
from assistant.core.trade.given import above_zero, given
from assistant.core.trade.inputs import Length, Pressure
from assistant.core.trade.rounding import shown, to_figures
from assistant.core.units import Amount

Heard = Literal["exhaust", "intake", "crankcase", "next_cylinder", "coolant", "fitting"]
LEAKS: dict[str, str] = {
    "exhaust": "exhaust valve",
    "intake": "intake valve",
    "crankcase": "piston rings, piston or bore",
    "next_cylinder": "head gasket between the two",
    "coolant": "head gasket, or a crack in head or block",
    "fitting": "the tester's own fitting: tighten it and measure again",
}
"""Where the air is heard, or bubbles -> what leaks. The first three as pilots' advice has it (reference.md 7.5), the
others common practice, no source."""
HEARD_SOURCE = "where the air is heard: aopa.org for exhaust, intake and breather; else common practice"
AC_SOURCE = "AC 43.13-1B para 8-14: a loss of more than 25 % of 80 psi is suspect"
SUSPECT_PERCENT = Decimal(25)
AC_LEAST_PSI, AC_MOST_PSI = Decimal(79), Decimal(81)
"""What counts as set to 80 psi: a gauge is read to 1 psi (common practice, no source)."""
MOST_SUPPLY_PSI = "120"
"""The most that AC 43.13-1B has at the tester's inlet."""
WITH_AIR = (
    "Air in the cylinder can swing the crankshaft hard: ignition and fuel disabled, everybody clear of propeller, impeller"
    " and belts, no bar left on the crank. Piston at top dead centre of compression.",
    "Raise the air slowly: 20 psi first, then the test pressure. Goggles on; never stand before the plug hole.",
    "Engine warm and just shut down, or its own oil film is missing.",
)
TWO_STROKE = "A two-stroke has ports: air at exhaust or crankcase with the piston at the top means rings or bore."
RECHECK = "Over 25 %: run the engine for at least 3 minutes and measure again, before anything is taken apart."
OTHER_RIG = "The 25 % of AC 43.13-1B is for 80 psi and its orifice. Judge this by what the tester's maker says of it."


def leak_down(*, supply: Pressure, cylinder: Pressure, heard: tuple[Heard, ...] = ()) -> Figure:
    """The loss of one cylinder in percent, (supply - cylinder) / supply: within or high where the supply is 80 psi.

    Gauge pressures. 25 percent is within, more is high; other supplies have the same formula and no verdict. Rounded to 4
    significant figures, judged exactly. Source: the module's. Raises ValueError for a supply that is not above zero or is
    over 120 psi, more left than was put in, or a place to hear that is none of `Heard`.
    """
    put = _supply(supply)
    left = _left("cylinder", cylinder, put, supply)
    leaks = [f"heard at {place.replace('_', ' ')}: {_leak(place)}" for place in heard]
    verdict = _verdict(put, [left])
    return Figure(
        Amount(to_figures(_loss(put, left), 4), "percent"),
        (
            f"{supply} put in, {cylinder} left: {shown(put - left)} psi of {shown(put)} psi lost",
            f"{shown(put - left)} / {shown(put)} = {shown(_loss(put, left))} %",
            _rule_told(put),
            *leaks,
        ),
        (AC_SOURCE, HEARD_SOURCE) if heard else (AC_SOURCE,),
        verdict=verdict,
        beside=tuple((f"heard_at_{place}", _leak(place)) for place in heard),
        cautions=_cautions(verdict),
    )


def leak_down_cylinders(*, supply: Pressure, cylinders: tuple[Pressure, ...]) -> Figure:
    """Which cylinders leak most, all at the same supply: each one's loss beside it, high where any loses more than 25 percent.

    Source, rounding and errors as `leak_down`; two readings at least.
    """
    if len(cylinders) < 2:
        raise ValueError(f"'cylinders' needs at least two readings, and has {len(cylinders)}")
    put = _supply(supply)
    left = [_left("cylinders", reading, put, supply) for reading in cylinders]
    worst = where(left, lambda one: one == min(left)) if min(left) < max(left) else []
    suspects = where(left, lambda one: _loss(put, one) > SUSPECT_PERCENT)
    verdict = _verdict(put, left)
    working = [
        f"cylinder {at}: {shown(put - one)} / {shown(put)} = {shown(_loss(put, one))} %"
        for at, one in enumerate(left, 1)
    ]
    return Figure(
        named(worst),
        (*working, f"most: {named(worst)}; over 25 %: {named(suspects)}", _rule_told(put)),
        (AC_SOURCE,),
        verdict=verdict,
        beside=tuple(
            (f"cylinder_{at}", Amount(to_figures(_loss(put, one), 4), "percent")) for at, one in enumerate(left, 1)
        ),
        cautions=_cautions(verdict),
    )


def air_heard(*, heard: Heard) -> Figure:
    """What leaks, by where the air is heard or bubbles. Source: `LEAKS`. Raises ValueError for another place."""
    leak = _leak(heard)
    return Figure(
        leak, (f"air at {heard.replace('_', ' ')}: {leak}",), (HEARD_SOURCE,), cautions=(TWO_STROKE, *WITH_AIR)
    )


def leak_down_orifice(*, bore: Length) -> Figure:
    """The orifice of a differential tester, inches: 0.040 for a bore under 5.00 in, 0.060 from 5.00 in up.

    Source: AC 43.13-1B para 8-14 as restated (reference.md 7.5); 0.250 in long, 60 degree approach. Raises ValueError
    for a bore that is not above zero.
    """
    inches = above_zero("bore", bore, "inch")
    orifice = Amount(Decimal("0.040" if inches < 5 else "0.060"), "inch")
    return Figure(
        orifice,
        (
            f"bore {shown(inches, 3)} in is {'under' if inches < 5 else 'not under'} 5.00 in: {orifice}",
            "0.250 in long, with an approach of 60 degrees",
        ),
        ("AC 43.13-1B para 8-14, as restated by secondary pages",),
    )


def _supply(supply: Amount) -> Decimal:
    above_zero("supply", supply, "psi")
    return given("supply", supply, "psi", least="0", most=MOST_SUPPLY_PSI, source="AC 43.13-1B para 8-14")


def _left(name: str, reading: Amount, put: Decimal, supply: Amount) -> Decimal:
    left = given(name, reading, "psi", least="0")
    if left > put:
        raise ValueError(f"'{name}' is {reading}, more than the {supply} that were put in: one of the gauges is wrong")
    return left


def _loss(put: Decimal, left: Decimal) -> Decimal:
    return (put - left) * 100 / put


def _by_the_circular(put: Decimal) -> bool:
    return AC_LEAST_PSI <= put <= AC_MOST_PSI


def _verdict(put: Decimal, left: list[Decimal]) -> Verdict | None:
    if not _by_the_circular(put):
        return None
    return "high" if any(_loss(put, one) > SUSPECT_PERCENT for one in left) else "within"


def _rule_told(put: Decimal) -> str:
    rule = "AC 43.13-1B: suspect over 25 %, 25 % passes"
    return rule if _by_the_circular(put) else f"{rule}; it is for 80 psi, not for {shown(put)} psi: no verdict"


def _leak(place: str) -> str:
    if place not in LEAKS:
        raise ValueError(f"'heard' is '{place}', and must be one of {', '.join(get_args(Heard))}")
    return LEAKS[place]


def _cautions(verdict: Verdict | None) -> tuple[str, ...]:
    said = {"high": (RECHECK,), "within": (), None: (OTHER_RIG,)}[verdict]
    return (*said, *WITH_AIR, TWO_STROKE)


COMPUTATIONS = (leak_down, leak_down_cylinders, air_heard, leak_down_orifice)

"""How much to pour and how long to spray: additives by the label's ratio, two-stroke oil, fogging, what is held back.

Proportions are worked out exactly, in litres. An additive is rounded up to a step that the measuring cup shows: a little
more does no harm, too little does (common practice, no source). The answer is in the unit of the label or of the cup.
"""

from __future__ import annotations

from decimal import ROUND_CEILING, Decimal, localcontext

from assistant.core.trade.figure import Figure
from assistant.core.trade.given import above_zero, given
from assistant.core.trade.inputs import Count, Time, Volume
from assistant.core.trade.reckoning import about, whole
from assistant.core.trade.rounding import to_figures
from assistant.core.units import Amount, convert

EXACT_DIGITS = 50
"""Enough for the product of any two volumes, so that no whole step is lost or added by rounding."""
CUP_UNIT = {"us_gal": "us_fl_oz", "us_qt": "us_fl_oz", "us_pt": "us_fl_oz", "us_fl_oz": "us_fl_oz"}
"""In what a dose for a fuel in that unit is measured; millilitres for all others."""
MIX_FIGURES = 4
LABEL = "the additive's label; proportion"
ROUNDED_UP = "rounded up to the measuring cup: common practice, no source"
COMMON = "common practice, no source"
PARTS = "a label's 1:500 is one part to 500 parts of fuel: common practice, no source"
MIX = "parts of fuel to one of oil, by volume: proportion; ratios from 10 to 150: common practice, no source"
FOGGING = "proportion, from a spray that was measured; the amount is the manual's"
FUEL = "Fuel burns, and its vapour sinks and creeps: outdoors or good air, no flame or spark, the engine off and cold."
IN_THE_TANK = (
    "Take the fuel that is in the tank, not what the tank holds; then run the engine until the mix is in all lines."
)
TWO_STROKE = "Only for an engine without an oil pump of its own, or as its manual says; too little oil seizes it."
SPRAY = "Fogging oil burns and blows back: goggles on, no flame or spark, good air; a running engine only outdoors."


def dose_by_volume(*, volume: Volume, dose: Volume, treats: Volume, round_up_to: Volume) -> Figure:
    """What to add to `volume` when the label says `dose` for every `treats`; in the dose's unit.

    "1 oz in 2.5 gal", or "2 mL per litre" with `treats` one litre. Rounded up to a whole `round_up_to`.
    Source: the label; proportion. Raises ValueError for what is no volume, or below zero, a `dose`, `treats` or step that is
    not above zero, or a label that treats no more than its dose.
    """
    litres = given("volume", volume, "L", least="0")
    part, parts = above_zero("dose", dose, "L"), above_zero("treats", treats, "L")
    if part >= parts:
        raise ValueError(
            f"'dose' is {dose} and 'treats' is {treats}: a label treats more than its dose; are they exchanged?"
        )
    ratio = f"{volume} at {dose} for every {treats}"
    return _up_to_the_cup(litres, part, parts, round_up_to, dose.unit, ratio, (LABEL, ROUNDED_UP))


def dose_by_ratio(*, volume: Volume, parts: Count, round_up_to: Volume) -> Figure:
    """What to add to `volume` when the label says one part to `parts` parts, "1:500"; in the unit of `round_up_to`.

    Source: `PARTS`. Raises ValueError for what is no volume, or below zero, or parts that are not from 2 to 10000.
    """
    litres = given("volume", volume, "L", least="0")
    ratio = given("parts", parts, "count", least="2", most="10000", source=COMMON)
    sources = (LABEL, PARTS, ROUNDED_UP)
    said = f"{volume} at 1 to {parts}"
    return _up_to_the_cup(litres, Decimal(1), ratio, round_up_to, round_up_to.unit, said, sources)


def _up_to_the_cup(
    litres: Decimal, part: Decimal, parts: Decimal, step: Amount, unit: str, said: str, sources: tuple[str, ...]
) -> Figure:
    """litres x part / parts, up to a whole step, in `unit`."""
    step_litres = above_zero("round_up_to", step, "L")
    with localcontext() as context:
        context.prec = EXACT_DIGITS
        steps = (litres * part / (parts * step_litres)).to_integral_value(ROUND_CEILING)
        exact = convert(Amount(litres * part / parts, "L"), unit)
    answer = Amount(steps * convert(step, unit).value, unit)
    lines = (f"{said}: {about(exact)}", f"up to whole {step}: {about(answer)}")
    return Figure(answer, lines, sources, cautions=(FUEL, IN_THE_TANK))


def two_stroke_oil(*, fuel: Volume, parts: Count) -> Figure:
    """The oil for `fuel` in a mix of one part to `parts`, "50:1", to four figures: in mL, for US gallons in US fluid ounces.

    Source: `MIX`. Raises ValueError for a volume that is not above zero, or parts that are not from 10 to 150.
    """
    litres = above_zero("fuel", fuel, "L")
    ratio = given("parts", parts, "count", least="10", most="150", source=MIX)
    unit = CUP_UNIT.get(fuel.unit, "mL")
    answer = Amount(to_figures(convert(Amount(litres / ratio, "L"), unit).value, MIX_FIGURES), unit)
    return Figure(answer, (f"{fuel} / {parts} = {answer}",), (MIX,), cautions=(FUEL, TWO_STROKE))


def fogging_time(*, oil: Volume, sprayed: Volume, sprayed_in: Time, cylinders: Count) -> Figure:
    """How many seconds each cylinder is fogged, to give it `oil`, up to a whole second; all cylinders stand beside.

    `sprayed` comes out in `sprayed_in`: measured into a cup, or what a can holds and how long it lasts.
    Source: `FOGGING`. Raises ValueError for what is not above zero, or no whole number of cylinders from 1 to 16.
    """
    count = whole("cylinders", cylinders, 1, 16)
    wanted, out = above_zero("oil", oil, "mL"), above_zero("sprayed", sprayed, "mL")
    exact = wanted * above_zero("sprayed_in", sprayed_in, "s") / out
    seconds = exact.to_integral_value(ROUND_CEILING)
    answer, total = Amount(seconds, "s"), Amount(seconds * count, "s")
    lines = (
        f"{oil} x {sprayed_in} / {sprayed} = {about(Amount(exact, 's'))}, up to a whole second: {answer}",
        f"{count} cylinders: {total}",
    )
    return Figure(answer, lines, (FOGGING,), beside=(("all_cylinders", total),), cautions=(SPRAY,))


def hold_back(*, capacity: Volume, held: Volume) -> Figure:
    """What is poured at first when the last of it waits for the dipstick; in the capacity's unit.

    Source: common practice, no source. Raises ValueError where nothing or all of it is held back, or what is no volume.
    """
    above_zero("capacity", capacity, "L")
    given("held", held, "L")
    rest = capacity.value - convert(held, capacity.unit).value
    if not 0 < rest < capacity.value:
        raise ValueError(f"{held} cannot be held back from {capacity}")
    answer = Amount(rest, capacity.unit)
    return Figure(answer, (f"{capacity} less {held} is {answer}",), (COMMON,))


COMPUTATIONS = (dose_by_volume, dose_by_ratio, two_stroke_oil, fogging_time, hold_back)

"""A rested 12 V lead-acid battery: gravity at 80 degF, state of charge on a named scale, cells against each other.

Gravities are brought to 80 degF by both published rules; where one answer is needed it is worked from the lower, on which
the battery is emptier. Shares are rounded to 0.1 percent. Tables: `battery_tables`, never extrapolated.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Literal

from assistant.core.trade.battery_tables import (
    AGM_BY_VOLTAGE,
    AGM_OTHER,
    AGM_WEAK,
    ARMY_SCALE,
    BY_GRAVITY,
    CAUTIONS,
    FLOODED_BY_VOLTAGE,
    INDUSTRY,
    NAVY_RULE,
    OTHER_AGM,
    OTHER_ARMY,
    OTHER_ARMY_SCALE,
    PER_CELL,
    REST,
    SPREAD,
    TRADE_RULE,
    Kind,
    Scale,
    at_80,
)
from assistant.core.trade.figure import Answer, Figure
from assistant.core.trade.given import given
from assistant.core.trade.inputs import Gravity, Temperature, Time, Voltage
from assistant.core.trade.rounding import shown
from assistant.core.trade.table import Table
from assistant.core.units import Amount, plain

CELLS = 6
CELL_OFFSET = Decimal("0.84")
REST_H = Decimal(8)
SPREAD_MOST = Decimal("0.025")


def gravity_at_80(*, gravity: Gravity, temperature: Temperature, rule: Literal["navy", "trade"]) -> Figure:
    """A battery hydrometer's reading brought to 80 degF by one rule, the other beside it; to 0.0001.

    Sources: `NAVY_RULE`, 0.001 for 3 degF, and `TRADE_RULE`, 0.004 for 10 degF; added above 80 degF, taken off below.
    Raises ValueError outside of 1.000 to 1.350, or of 0 to 130 degF, or for no known rule.
    """
    if rule not in ("navy", "trade"):
        raise ValueError(f"'rule' is '{rule}', and must be navy or trade")
    navy, trade = (Amount(value, "sg") for value in at_80(gravity, temperature))
    first, second = (navy, trade) if rule == "navy" else (trade, navy)
    return Figure(
        first,
        (
            f"{gravity} at {temperature}, by the Navy's rule: {navy} at 80 °F",
            f"{gravity} at {temperature}, by the trade's rule: {trade} at 80 °F",
        ),
        (NAVY_RULE, TRADE_RULE),
        beside=(("by_the_trade_rule" if rule == "navy" else "by_the_navy_rule", second),),
        cautions=CAUTIONS,
    )


def charge_by_gravity(*, gravity: Gravity, temperature: Temperature, scale: Scale) -> Figure:
    """State of charge in percent from a hydrometer's reading, on a named scale.

    Sources: the scale's own table. `unsure` on the Army scale below 1.220, where two Army manuals differ (both told);
    from 1.190 down the answer is `nearly flat`. Raises ValueError outside of the scale's table: a reading above "full"
    is of another scale.
    """
    if scale not in BY_GRAVITY:
        raise ValueError(f"'scale' is '{scale}', and must be one of {', '.join(BY_GRAVITY)}: 1.265 is not full on both")
    lower = min(at_80(gravity, temperature))
    chosen = BY_GRAVITY[scale]
    working = f"{gravity} at {temperature} is {plain(lower)} at 80 °F, by the rule that gives less"
    if scale == "army_1280" and lower < OTHER_ARMY.rows[1][0]:
        return _army_low(lower, working)
    answer = Amount(_percent(chosen, lower), "percent")
    return Figure(
        answer,
        (working, f"{plain(lower)} is {answer} ({chosen.title})"),
        (chosen.source, NAVY_RULE, TRADE_RULE),
        beside=(("scale", scale),),
        cautions=CAUTIONS,
    )


def charge_by_voltage(*, voltage: Voltage, rested: Time, kind: Kind) -> Figure:
    """State of charge in percent from the open-circuit voltage of a battery that has rested.

    Flooded: the industry-council scale; `unsure` under 8 h of rest. AGM: a weak table, so always `unsure`, and another
    one beside it. Raises ValueError outside of 11.89 to 12.65 V, for AGM of 11.8 to 13.0 V.
    """
    hours = given("rested", rested, "h", least="0")
    if kind not in ("flooded", "agm"):
        raise ValueError(f"'kind' is '{kind}', and must be flooded or agm: they do not share a table")
    volts = given("voltage", voltage, "V")
    if kind == "agm":
        return _agm(volts, rested)
    answer = Amount(_percent(FLOODED_BY_VOLTAGE, volts), "percent")
    return Figure(
        answer,
        (f"{voltage} after {rested} of rest is {answer} ({FLOODED_BY_VOLTAGE.title})",),
        (INDUSTRY, REST),
        verdict=None if hours >= REST_H else "unsure",
        beside=(("scale", "industry_1265"),),
        cautions=CAUTIONS,
    )


def gravity_from_voltage(*, voltage: Voltage) -> Figure:
    """The gravity at 80 degF that a flooded battery's rested voltage stands for: the lower of table and rule; to 0.001.

    Sources: the industry-council rows, and `PER_CELL`. Only an estimate: read a hydrometer where the caps come off.
    Raises ValueError outside of 11.89 to 12.65 V.
    """
    volts = given("voltage", voltage, "V")
    by_table = round(BY_GRAVITY["industry_1265"].turned("charge").at(FLOODED_BY_VOLTAGE.at(volts)), 3)
    by_rule = round(volts / CELLS - CELL_OFFSET, 3)
    return Figure(
        Amount(min(by_table, by_rule), "sg"),
        (f"by the rows: {plain(by_table)}", f"{voltage} / {CELLS} - {CELL_OFFSET} = {plain(by_rule)}"),
        (INDUSTRY, PER_CELL),
        beside=(("by_the_rows", Amount(by_table, "sg")), ("by_the_rule", Amount(by_rule, "sg"))),
        cautions=CAUTIONS,
    )


def cell_spread(*, gravities: tuple[Gravity, ...]) -> Figure:
    """How far the cells of a charged battery lie apart in gravity; `low` above 0.025, the weakest cell named.

    All read at one temperature, so that no correction changes the difference. Source: `SPREAD`; 0.025 itself passes.
    Raises ValueError for fewer than two cells, or a gravity outside of 1.000 to 1.350.
    """
    read = [given("gravities", g, "sg", least="1.000", most="1.350") for g in gravities]
    if len(read) < 2:
        raise ValueError("'gravities' must be of two cells or more")
    apart = max(read) - min(read)
    weakest = read.index(min(read)) + 1
    return Figure(
        Amount(apart, "sg"),
        (f"highest {plain(max(read))} less lowest {plain(min(read))} is {plain(apart)}; at most {SPREAD_MOST}",),
        (SPREAD,),
        verdict="low" if apart > SPREAD_MOST else "within",
        beside=(("weakest_cell", Amount(Decimal(weakest), "count")),),
        cautions=("The rule is for a fully charged battery: charge it, then compare.", *CAUTIONS),
    )


def _percent(chosen: Table, at: Decimal) -> Decimal:
    return round(chosen.at(at), 1)


def _army_low(lower: Decimal, working: str) -> Figure:
    """Below 1.220: 25 percent is 1.190 in one manual and 1.160 in the other; 1.130 is flat."""
    flat = Decimal("1.130")
    given("gravity at 80 °F", Amount(lower, "sg"), "sg", least=str(flat), source=ARMY_SCALE)
    known = lower >= BY_GRAVITY["army_1280"].rows[0][0]
    answer: Answer = Amount(_percent(BY_GRAVITY["army_1280"], lower), "percent") if known else "nearly flat"
    both = lower >= OTHER_ARMY.rows[0][0]
    other = Amount(_percent(OTHER_ARMY, lower), "percent") if both else "below its table"
    return Figure(
        answer if lower > flat else "flat",
        (working, f"{plain(lower)}: {answer} by {ARMY_SCALE}; {other} by {OTHER_ARMY_SCALE}"),
        (ARMY_SCALE, OTHER_ARMY_SCALE, NAVY_RULE, TRADE_RULE),
        verdict="unsure" if both else None,
        beside=(("scale", "army_1280"), ("by_the_other_manual", other)),
        cautions=CAUTIONS,
    )


def _agm(volts: Decimal, rested: Amount) -> Figure:
    given("voltage", Amount(volts, "V"), "V", least="11.8", most="13.0", source=AGM_WEAK)
    top = AGM_BY_VOLTAGE.rows[-1][0]
    answer: Answer = Amount(_percent(AGM_BY_VOLTAGE, volts), "percent") if volts <= top else "full, or short of it"
    full = volts > OTHER_AGM.rows[-1][0]
    other: Answer = "full" if full else Amount(_percent(OTHER_AGM, volts), "percent")
    return Figure(
        answer,
        (f"{shown(volts)} V after {rested} of rest: {answer} by one page, {other} by another",),
        (AGM_WEAK, AGM_OTHER, REST),
        verdict="unsure",
        beside=(("scale", "agm"), ("by_another_page", other)),
        cautions=("AGM tables disagree: the battery's own data sheet goes first.", *CAUTIONS),
    )


COMPUTATIONS = (gravity_at_80, charge_by_gravity, charge_by_voltage, gravity_from_voltage, cell_spread)

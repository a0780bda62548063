"""A stored lead-acid battery: where its electrolyte freezes, whether it survives the winter, when to charge it again.

A freezing point is the warmer of the two Army tables', to 0.1 degF; a loss is reckoned fast (0.001 a day, a month's average)
and slow (by the storage temperature), and the verdict is `unsure` where the two would decide differently.
"""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

from assistant.core.trade.battery_tables import (
    AGM_OTHER,
    AGM_WEAK,
    CAUTIONS,
    FREEZING,
    LOSS_A_DAY,
    MONTH_LOSS,
    NAVY_RULE,
    OTHER_FREEZING,
    RECHARGE,
    RECHARGE_VOLTS,
    REST,
    SELF_LOSS,
    TRADE_RULE,
    Kind,
    at_80,
    freezes_at,
    freezing_points,
)
from assistant.core.trade.figure import Figure, Verdict
from assistant.core.trade.given import given
from assistant.core.trade.inputs import Gravity, Temperature, Time, Voltage
from assistant.core.units import Amount, plain

TABLES_APART_F = Decimal(5)
"""How far the two Army freezing tables differ at most (reference.md section 6.3): nearer than that is no answer."""
AVERAGE_LOSS = Decimal("0.001")
CHARGE_AT = Decimal("1.225")
CHECK_DAYS = 30
CHARGE_AT_V = Decimal("12.40")
FULL_ARMY_V = Decimal("12.72")
"""6 x (1.280 + 0.84), derived: a flooded battery that reads more has not rested."""
REST_H = Decimal(8)
WATER = Decimal("1.000")


def electrolyte_freezes(*, gravity: Gravity, temperature: Temperature) -> Figure:
    """Where the electrolyte freezes, in degF, from a hydrometer's reading and its temperature.

    Sources: the Army's rows, two tables, the warmer counted; the reading at 80 degF by the rule that gives less.
    Raises ValueError outside of 1.000 to 1.280 at 80 degF.
    """
    lower = min(at_80(gravity, temperature))
    first, second = freezing_points(lower)
    answer = Amount(freezes_at(lower), "degF")
    other = Amount(second, "degF") if second is not None else "below its table"
    return Figure(
        answer,
        (
            f"{gravity} at {temperature} is {plain(lower)} at 80 °F, by the rule that gives less",
            f"{plain(lower)} freezes at {Amount(first, 'degF')} by one table, {other} by the other: the warmer counts",
        ),
        (FREEZING, OTHER_FREEZING, NAVY_RULE, TRADE_RULE),
        beside=(("by_the_first_table", Amount(first, "degF")), ("by_the_other_table", other)),
        cautions=CAUTIONS,
    )


def battery_survives(
    *,
    gravity: Gravity,
    temperature: Temperature,
    measured: date,
    until: date,
    stored_at: Temperature,
    lowest: Temperature,
) -> Figure:
    """Where a flooded battery freezes at the end of storage, in degF, and whether that is below the site's lowest.

    `within` where it holds with the fast loss and 5 degF to spare; `low` where even with the slow loss it would freeze;
    else `unsure`. Where no hydrometer goes in, `gravity_from_voltage` estimates a flooded one; nothing here is for AGM.
    Sources: `SELF_LOSS`, `MONTH_LOSS`, the Army's freezing rows. Raises ValueError for storage above 100 degF,
    an `until` before `measured`, or a gravity outside of the tables.
    """
    lower = min(at_80(gravity, temperature))
    days = (until - measured).days
    if days < 0:
        raise ValueError(f"'until' is {until}, and must not be before 'measured', {measured}")
    fast, slow = _losses(stored_at)
    coldest = given("lowest", lowest, "degF")
    ends = [max(lower - days * rate, WATER) for rate in (fast, slow)]
    worst, best = (freezes_at(end) for end in ends)
    verdict: Verdict = "within" if worst + TABLES_APART_F <= coldest else "low" if best > coldest else "unsure"
    return Figure(
        Amount(worst, "degF"),
        (
            f"{gravity} at {temperature} is {plain(lower)} at 80 °F",
            f"{days} days at {plain(fast)} a day leave {plain(ends[0])}, at {plain(slow)} {plain(ends[1])}",
            f"those freeze at {Amount(worst, 'degF')} and {Amount(best, 'degF')}; lowest expected {lowest}: {verdict}",
        ),
        (MONTH_LOSS, SELF_LOSS, FREEZING, OTHER_FREEZING, NAVY_RULE, TRADE_RULE),
        verdict=verdict,
        beside=(("freezes_with_the_slow_loss", Amount(best, "degF")), ("gravity_at_the_end", Amount(ends[0], "sg"))),
        cautions=(*CAUTIONS, "A lead left on, or a bad cell, empties it far sooner than self-loss does."),
    )


def charge_again(*, gravity: Gravity, temperature: Temperature, measured: date, stored_at: Temperature) -> Figure:
    """The day on which a stored flooded battery has fallen to 1.225 and is charged again; `low` where that is today.

    Reckoned with the fast loss; the slow loss and the 30-day check stand beside it. Source: `RECHARGE`, 1.225 itself is
    charged. Raises ValueError for storage above 100 degF, or a gravity outside of 1.000 to 1.350.
    """
    lower = min(at_80(gravity, temperature))
    fast, slow = _losses(stored_at)
    left = max(lower - CHARGE_AT, Decimal(0))
    soon, late = (int(left / rate) for rate in (fast, slow))
    return Figure(
        str(_later(measured, soon)),
        (
            f"{gravity} at {temperature} is {plain(lower)} at 80 °F, {plain(left)} above {CHARGE_AT}",
            f"at {plain(fast)} a day that lasts {soon} days, at {plain(slow)} {late} days",
        ),
        (RECHARGE, MONTH_LOSS, SELF_LOSS, NAVY_RULE, TRADE_RULE),
        verdict="within" if lower > CHARGE_AT else "low",
        beside=(
            ("with_the_slow_loss", str(_later(measured, late))),
            ("next_check", str(_later(measured, CHECK_DAYS))),
        ),
        cautions=CAUTIONS,
    )


def charge_needed(*, voltage: Voltage, rested: Time, kind: Kind) -> Figure:
    """Whether a stored 12 V battery is charged again, from its open-circuit voltage; the answer is a word.

    Flooded: below 12.40 V, a derived figure (`RECHARGE_VOLTS`); 12.40 itself is not. `unsure` where it is above but has
    rested under 8 h, or reads more than a full one can (12.72 V). AGM: at 12.4 V or below on every table seen, not at 13.0 V or
    above, `unsure` between. Raises ValueError outside of 0 to 18 V.
    """
    volts = given("voltage", voltage, "V", least="0", most="18", source="a 12 V battery")
    rest = given("rested", rested, "h", least="0") >= REST_H
    if kind not in ("flooded", "agm"):
        raise ValueError(f"'kind' is '{kind}', and must be flooded or agm: they do not share a rule")
    verdict = _flooded(volts, rest) if kind == "flooded" else _agm(volts, rest)
    words = {"low": "charge it now", "within": "no charge needed yet"}
    return Figure(
        words.get(verdict, "not known: rest it and measure again; in doubt charge it"),
        (f"{kind}, {voltage} after {rested} of rest: {verdict}",),
        (RECHARGE_VOLTS, RECHARGE, REST) if kind == "flooded" else (AGM_WEAK, AGM_OTHER, REST),
        verdict=verdict,
        cautions=(
            *CAUTIONS,
            "Trade articles charge sooner, at 80 %. Charge with the setting that the battery's own sheet names.",
        ),
    )


def _flooded(volts: Decimal, rest: bool) -> Verdict:
    if volts < CHARGE_AT_V:
        return "low"
    return "within" if rest and volts <= FULL_ARMY_V else "unsure"


def _agm(volts: Decimal, rest: bool) -> Verdict:
    """12.4 V is 75 percent on the kindest table, under 60 on the other; 13.0 V is full on the strictest."""
    if volts <= Decimal("12.4"):
        return "low"
    return "within" if rest and Decimal("13.0") <= volts <= Decimal("13.2") else "unsure"


def _losses(stored_at: Amount) -> tuple[Decimal, Decimal]:
    """Gravity lost a day, fast and slow. Below 50 degF the row of 50 bounds it: a colder battery loses less."""
    degf = given("stored_at", stored_at, "degF", most="100", source=SELF_LOSS)
    by_table = round(LOSS_A_DAY.at(max(degf, LOSS_A_DAY.rows[0][0])), 5)
    return max(by_table, AVERAGE_LOSS), by_table


def _later(day: date, days: int) -> date:
    try:
        return day + timedelta(days)
    except OverflowError:
        raise ValueError(f"'measured' is {day}, and no calendar goes {days} days further") from None


COMPUTATIONS = (electrolyte_freezes, battery_survives, charge_again, charge_needed)

"""A stored battery: freezing, winter, charging (../shared/reference.md sections 0 and 6 give the page of each row)."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.trade.battery_tables import (
    AGM_OTHER,
    AGM_WEAK,
    CAUTIONS,
    FREEZES,
    FREEZING,
    LOSS_A_DAY,
    MONTH_LOSS,
    NAVY_RULE,
    OTHER_FREEZES,
    OTHER_FREEZING,
    RECHARGE,
    RECHARGE_VOLTS,
    REST,
    SELF_LOSS,
    TRADE_RULE,
    freezes_at,
    freezing_points,
)
from assistant.core.trade.battery_winter import battery_survives, charge_again, charge_needed, electrolyte_freezes
from assistant.core.trade.figure import Figure
from assistant.core.trade.registry import BY_NAME
from assistant.core.trade.table import Table
from assistant.core.units import Amount, convert


def amount(number: str, unit: str) -> Amount:
    return Amount(Decimal(number), unit)


AT_80 = amount("80", "degF")

ARMY_ROWS = [  # reference.md 6.3: gravity, degF, degC (calculated)
    ("1.000", "32", "0"), ("1.100", "19", "-7.2"), ("1.150", "5", "-15.0"), ("1.200", "-16", "-26.7"),
    ("1.250", "-62", "-52.2"), ("1.280", "-90", "-67.8"),  # Army OD1002; TM 5-1185 table III
    ("1.160", "1", "-17.2"), ("1.220", "-31", "-35.0"),  # TM 10-6140-200-14 table 1-1
]  # fmt: skip


@pytest.mark.parametrize(("gravity", "degf", "degc"), ARMY_ROWS)
def test_the_electrolyte_freezes_as_the_army_prints(gravity: str, degf: str, degc: str) -> None:
    """Every row of the two tables; where they differ (1.280: -90 and -95) the warmer one."""
    figure = electrolyte_freezes(gravity=amount(gravity, "sg"), temperature=AT_80)
    assert figure.answer == amount(degf, "degF")
    assert round(convert(figure.amount, "degC").value, 1) == Decimal(degc)
    assert (figure.sources, figure.cautions) == ((FREEZING, OTHER_FREEZING, NAVY_RULE, TRADE_RULE), CAUTIONS)


@pytest.mark.parametrize("gravity", ["1.160", "1.190", "1.200", "1.220", "1.250", "1.280"])
def test_the_two_army_tables_agree_within_five_degrees(gravity: str) -> None:
    """reference.md 6.3: 5 degF where they overlap."""
    first, second = freezing_points(Decimal(gravity))
    assert second is not None
    assert abs(first - second) <= 5
    assert freezes_at(Decimal(gravity)) == max(first, second)


def test_freezing_between_rows_is_told_to_a_tenth() -> None:
    """By hand at 1.171: 5 - 21 x 21 / 50 = -3.82, and 1 - 32 x 11 / 60 = -4.87 degF; the other table starts at 1.160."""
    assert freezing_points(Decimal("1.171")) == (Decimal("-3.8"), Decimal("-4.9"))
    assert freezing_points(Decimal("1.1599"))[1] is None


def test_a_flat_battery_freezes_near_thirteen_fahrenheit_not_minus_ten() -> None:
    """Trap T1: the copied voltage table says -10 degF at 1.120 and -16 at 1.155; the Army rows give about +13 and +3."""
    flat = electrolyte_freezes(gravity=amount("1.120", "sg"), temperature=AT_80)
    assert flat.answer == amount("13.4", "degF")
    assert electrolyte_freezes(gravity=amount("1.155", "sg"), temperature=AT_80).amount.value > 0
    assert flat.working == (
        "1.12 at 80 °F is 1.12 at 80 °F, by the rule that gives less",
        "1.12 freezes at 13.4 °F by one table, below its table by the other: the warmer counts",
    )
    assert flat.beside == (("by_the_first_table", amount("13.4", "degF")), ("by_the_other_table", "below its table"))


@pytest.mark.parametrize(
    ("gravity", "degc"),
    [("1.0661", "-4.5"), ("1.1020", "-8.5"), ("1.1394", "-14.0")],
)
def test_between_rows_it_is_near_a_chemists_table(gravity: str, degc: str) -> None:
    """Sulphuric acid of 10, 15 and 20 percent by mass, from memory of a handbook of chemistry; within 5 degF."""
    found = convert(Amount(freezes_at(Decimal(gravity)), "degF"), "degC").value
    assert abs(found - Decimal(degc)) < Decimal(5) * 5 / 9


def test_both_tables_stand_beside_the_answer() -> None:
    """1.190: -11.8 by one, -15 by the other."""
    figure = electrolyte_freezes(gravity=amount("1.190", "sg"), temperature=AT_80)
    assert figure.answer == amount("-11.8", "degF")
    assert dict(figure.beside) == {
        "by_the_first_table": amount("-11.8", "degF"),
        "by_the_other_table": amount("-15", "degF"),
    }


def test_a_cold_reading_is_corrected_down_before_it_is_judged() -> None:
    """1.250 at 20 degF is 1.226 at 80 (trade rule): it freezes some 25 degF warmer than the bare reading would say."""
    cold = electrolyte_freezes(gravity=amount("1.250", "sg"), temperature=amount("20", "degF"))
    assert "1.226 at 80" in cold.working[0]
    assert cold.amount.value > -62 + 20


@pytest.mark.parametrize(("gravity", "at"), [("1.281", "80"), ("1.000", "70"), ("1.280", "90")])
def test_no_freezing_point_outside_of_the_rows(gravity: str, at: str) -> None:
    """Stronger acid freezes sooner again, and is refused; nothing is lighter than water."""
    with pytest.raises(ValueError, match="outside of the table 'electrolyte freezing'"):
        electrolyte_freezes(gravity=amount(gravity, "sg"), temperature=amount(at, "degF"))


def survives(gravity: str, days: int, lowest: str, *, stored: str = "60", at: str = "80") -> Figure:
    start = date(2026, 11, 1)
    return battery_survives(
        gravity=amount(gravity, "sg"),
        temperature=amount(at, "degF"),
        measured=start,
        until=start + timedelta(days),
        stored_at=amount(stored, "degF"),
        lowest=amount(lowest, "degF"),
    )


WINTERS = [
    # 1.250 less 100 x 0.001 is 1.150: +5 degF; by 0.0003 a day at 50 degF (TM 9-6140-200-14) 1.220: -31 degF
    ("1.250", 100, "10", "50", "5", "-31", "within"),
    ("1.250", 100, "9.9", "50", "5", "-31", "unsure"),
    ("1.250", 100, "-31", "50", "5", "-31", "unsure"),
    ("1.250", 100, "-31.1", "50", "5", "-31", "low"),
    # at 80 degF both losses are 0.001
    ("1.250", 100, "10", "80", "5", "5", "within"),
    ("1.250", 100, "5", "80", "5", "5", "unsure"),
    ("1.250", 100, "4.9", "80", "5", "5", "low"),
    # above, the table's alone: 0.0025 at 100 degF
    ("1.250", 40, "10", "100", "5", "5", "within"),
    # 0.00175 at 90
    ("1.255", 60, "10", "90", "5", "5", "within"),
    # colder than 50 degF is bounded by its row
    ("1.250", 100, "10", "-20", "5", "-31", "within"),
    # never lighter than water
    ("1.250", 300, "37", "80", "32", "32", "within"),
    ("1.250", 300, "36.9", "80", "32", "32", "unsure"),
    # no time, no loss
    ("1.250", 0, "-57", "60", "-62", "-62", "within"),
    ("1.250", 0, "-57.1", "60", "-62", "-62", "unsure"),
]


@pytest.mark.parametrize(("gravity", "days", "lowest", "stored", "worst", "best", "verdict"), WINTERS)
def test_whether_it_survives_the_winter(
    gravity: str, days: int, lowest: str, stored: str, worst: str, best: str, verdict: str
) -> None:
    """With the fast loss and 5 degF to spare it does; frozen even with the slow loss it does not; between, unsure."""
    figure = survives(gravity, days, lowest, stored=stored)
    assert figure.answer == amount(worst, "degF")
    assert dict(figure.beside)["freezes_with_the_slow_loss"] == amount(best, "degF")
    assert figure.verdict == verdict


def test_the_winters_working() -> None:
    """Correction, loss, freezing, verdict; each source named."""
    figure = survives("1.240", 100, "-20", stored="50", at="60")
    assert figure.working == (
        "1.24 at 60 °F is 1.232 at 80 °F",
        "100 days at 0.001 a day leave 1.132, at 0.0003 1.202",
        "those freeze at 10 °F and -17.8 °F; lowest expected -20 °F: low",
    )
    assert dict(figure.beside)["gravity_at_the_end"] == amount("1.132", "sg")
    # by hand: 0.0003 + 0.0007 / 3 at 60 degF, to 0.00001
    assert survives("1.240", 100, "-20", stored="60").working[1].endswith(" at 0.00053 1.187")
    assert figure.sources == (MONTH_LOSS, SELF_LOSS, FREEZING, OTHER_FREEZING, NAVY_RULE, TRADE_RULE)
    assert figure.cautions[:3] == CAUTIONS
    assert figure.cautions[3] == "A lead left on, or a bad cell, empties it far sooner than self-loss does."


def test_celsius_is_as_good() -> None:
    """-12.2 degC is 10.04 degF."""
    start = date(2026, 11, 1)
    figure = battery_survives(
        gravity=amount("1.250", "sg"),
        temperature=AT_80,
        measured=start,
        until=start + timedelta(100),
        stored_at=amount("10", "degC"),
        lowest=amount("-12.2", "degC"),
    )
    assert (figure.verdict, dict(figure.beside)["freezes_with_the_slow_loss"]) == ("within", amount("-31", "degF"))


def test_a_winter_that_ends_before_it_starts_is_refused() -> None:
    """And storage hotter than the table of losses has."""
    with pytest.raises(ValueError, match="'until' is 2026-10-31, and must not be before 'measured', 2026-11-01"):
        survives("1.25", -1, "0")
    with pytest.raises(ValueError, match=r"'stored_at' is 101 °F, and must be at most 100 °F \(TM 9-6140-200-14"):
        survives("1.25", 10, "0", stored="101")
    with pytest.raises(ValueError, match="'lowest' is 5 psi"):
        battery_survives(
            gravity=amount("1.25", "sg"),
            temperature=AT_80,
            measured=date(2026, 11, 1),
            until=date(2027, 4, 1),
            stored_at=AT_80,
            lowest=amount("5", "psi"),
        )


def again(gravity: str, *, stored: str = "80", measured: date = date(2026, 11, 1), at: str = "80") -> Figure:
    return charge_again(
        gravity=amount(gravity, "sg"),
        temperature=amount(at, "degF"),
        measured=measured,
        stored_at=amount(stored, "degF"),
    )


CHARGES = [  # TM 5-3820-256-24-4: charged at 1.225; 0.001 a day
    ("1.265", "80", "2026-12-11", "2026-12-11", "within"),  # 40 days
    ("1.265", "50", "2026-12-11", "2027-03-14", "within"),  # 40 days, or 133 at 0.0003
    ("1.265", "100", "2026-11-17", "2026-11-17", "within"),  # 16 days at 0.0025
    ("1.226", "80", "2026-11-02", "2026-11-02", "within"),
    ("1.2251", "80", "2026-11-01", "2026-11-01", "within"),
    ("1.225", "80", "2026-11-01", "2026-11-01", "low"),
    ("1.200", "80", "2026-11-01", "2026-11-01", "low"),
]


@pytest.mark.parametrize(("gravity", "stored", "day", "late", "verdict"), CHARGES)
def test_when_to_charge_again(gravity: str, stored: str, day: str, late: str, verdict: str) -> None:
    """The day on which the faster loss has brought it to 1.225; that gravity itself is charged now."""
    figure = again(gravity, stored=stored)
    assert (figure.answer, figure.verdict) == (day, verdict)
    assert dict(figure.beside) == {"with_the_slow_loss": late, "next_check": "2026-12-01"}
    assert (figure.sources, figure.cautions) == (
        (RECHARGE, MONTH_LOSS, SELF_LOSS, NAVY_RULE, TRADE_RULE),
        CAUTIONS,
    )


def test_the_charging_working() -> None:
    """From the lower of the two corrections."""
    assert again("1.250", at="70", stored="50").working == (
        "1.25 at 70 °F is 1.246 at 80 °F, 0.021 above 1.225",
        "at 0.001 a day that lasts 21 days, at 0.0003 70 days",
    )
    assert "every 30 days" in RECHARGE


def test_a_date_that_no_calendar_has_is_refused() -> None:
    """No traceback at the end of time."""
    with pytest.raises(ValueError, match="'measured' is 9999-12-31, and no calendar goes 40 days further"):
        again("1.265", measured=date(9999, 12, 31))


NEEDED = [
    # reference.md 6.4 vectors: 12.39 -> recharge, 12.41 -> no; threshold 12.40, itself no
    ("flooded", "12.39", "24", "low"),
    ("flooded", "12.399", "24", "low"),
    ("flooded", "12.40", "24", "within"),
    ("flooded", "12.41", "24", "within"),
    ("flooded", "12.41", "8", "within"),
    ("flooded", "12.41", "7.9", "unsure"),
    ("flooded", "12.39", "0", "low"),
    ("flooded", "12.72", "24", "within"),  # 6 x (1.280 + 0.84), full on the Army scale
    ("flooded", "12.73", "24", "unsure"),
    ("flooded", "0", "24", "low"),
    ("flooded", "18", "24", "unsure"),
    # AGM tables disagree: 12.6 V is 75 % on one, 12.4 V on another, full at 13.0 V on a third
    ("agm", "12.4", "24", "low"),
    ("agm", "12.41", "24", "unsure"),
    ("agm", "12.6", "24", "unsure"),
    ("agm", "12.99", "24", "unsure"),
    ("agm", "13.0", "24", "within"),
    ("agm", "13.0", "8", "within"),
    ("agm", "13.0", "7.9", "unsure"),
    ("agm", "13.2", "24", "within"),
    ("agm", "13.21", "24", "unsure"),
    ("agm", "12.4", "0", "low"),
]


@pytest.mark.parametrize(("kind", "volts", "rested", "verdict"), NEEDED)
def test_whether_it_needs_charging_by_its_voltage(kind: str, volts: str, rested: str, verdict: str) -> None:
    """At each boundary and a hair either side; flooded and AGM apart."""
    figure = charge_needed(voltage=amount(volts, "V"), rested=amount(rested, "h"), kind=kind)
    words = {
        "low": "charge it now",
        "within": "no charge needed yet",
        "unsure": "not known: rest it and measure again; in doubt charge it",
    }
    assert (figure.verdict, figure.answer) == (verdict, words[verdict])
    assert figure.working == (f"{kind}, {amount(volts, 'V')} after {rested} h of rest: {verdict}",)
    assert figure.cautions[:3] == CAUTIONS
    assert figure.cautions[3].startswith("Trade articles charge sooner, at 80 %.")


def test_twelve_point_four_is_told_as_derived() -> None:
    """Trap T16: 6 x (1.225 + 0.84) = 12.39; no official text says 12.4 V."""
    assert 6 * (Decimal("1.225") + Decimal("0.84")) == Decimal("12.39")
    assert 6 * (Decimal("1.280") + Decimal("0.84")) == Decimal("12.72")
    flooded = charge_needed(voltage=amount("12.5", "V"), rested=amount("24", "h"), kind="flooded")
    assert flooded.sources == (RECHARGE_VOLTS, RECHARGE, REST)
    assert "derived" in RECHARGE_VOLTS
    assert "no official text" in RECHARGE_VOLTS
    agm = charge_needed(voltage=amount("12.5", "V"), rested=amount("24", "h"), kind="agm")
    assert agm.sources == (AGM_WEAK, AGM_OTHER, REST)


@pytest.mark.parametrize(
    ("volts", "rested", "kind", "message"),
    [
        ("18.1", "9", "flooded", r"'voltage' is 18.1 V, and must be from 0 V to 18 V \(a 12 V battery\)"),
        ("-0.1", "9", "flooded", "'voltage' is -0.1 V"),
        ("12.4", "-1", "flooded", "'rested' is -1 h"),
        ("12.4", "9", "gel", "'kind' is 'gel', and must be flooded or agm: they do not share a rule"),
    ],
)
def test_what_is_no_resting_voltage_is_refused(volts: str, rested: str, kind: str, message: str) -> None:
    """Another battery, no time, no known kind."""
    with pytest.raises(ValueError, match=message):
        charge_needed(voltage=amount(volts, "V"), rested=amount(rested, "h"), kind=kind)


GRAVITIES = st.decimals("1.000", "1.280", places=3)


@given(GRAVITIES, GRAVITIES)
def test_more_acid_freezes_later_and_never_below_the_last_row(a: Decimal, b: Decimal) -> None:
    """Monotone from water to -90 degF."""
    less, more = sorted((a, b))
    assert 32 >= freezes_at(less) >= freezes_at(more) >= -90


@given(
    st.decimals("1.120", "1.280", places=3),
    st.integers(0, 200),
    st.integers(0, 200),
    st.decimals(-80, 40, places=0),
    st.decimals(-20, 100, places=0),
)
def test_a_longer_winter_is_never_safer(gravity: Decimal, a: int, b: int, lowest: Decimal, stored: Decimal) -> None:
    """Nor is the slow loss ever worse than the fast."""
    order = {"within": 0, "unsure": 1, "low": 2}
    short, long = (survives(str(gravity), days, str(lowest), stored=str(stored)) for days in sorted((a, b)))
    assert order[short.verdict or ""] <= order[long.verdict or ""]
    assert short.amount.value <= long.amount.value
    assert dict(long.beside)["freezes_with_the_slow_loss"].value <= long.amount.value


@given(st.decimals("1.2", "1.3", places=3), st.decimals("1.2", "1.3", places=3), st.decimals(-20, 100, places=0))
def test_a_fuller_battery_waits_longer(a: Decimal, b: Decimal, stored: Decimal) -> None:
    """And the day told is never past the slow one."""
    less, more = (again(str(value), stored=str(stored)) for value in sorted((a, b)))
    assert str(less.answer) <= str(more.answer) <= str(dict(more.beside)["with_the_slow_loss"])


@pytest.mark.parametrize(
    ("found", "title", "x_name", "x_unit", "y_unit"),
    [
        (FREEZES, "electrolyte freezing", "gravity at 80 °F", "sg", "degF"),
        (OTHER_FREEZES, "electrolyte freezing, the other Army manual", "gravity at 80 °F", "sg", "degF"),
        (LOSS_A_DAY, "gravity lost a day in storage", "stored_at", "degF", "sg"),
    ],
)
def test_a_refusal_names_the_table(found: Table, title: str, x_name: str, x_unit: str, y_unit: str) -> None:
    """What is outside of a table is told with its name, its range in the right unit, and its source."""
    first, last = (Amount(row[0], x_unit) for row in (found.rows[0], found.rows[-1]))
    with pytest.raises(ValueError) as refused:
        found.at(Decimal(999))
    assert str(refused.value) == (
        f"'{x_name}' is {Amount(Decimal(999), x_unit)}, outside of the table '{title}', which goes from {first} to {last}"
        f" ({found.source}); nothing is extrapolated"
    )
    assert found.y_unit == y_unit


def test_the_other_manuals_rows() -> None:
    """TM 10-6140-200-14 table 1-1 (reference.md 6.3); TM 9-6140-200-14 p. 4-14 for the loss a day."""
    assert [(str(x), str(y)) for x, y in OTHER_FREEZES.rows] == [
        ("1.160", "1"), ("1.220", "-31"), ("1.250", "-62"), ("1.280", "-95"),
    ]  # fmt: skip
    assert [(str(x), str(y)) for x, y in LOSS_A_DAY.rows] == [("50", "0.0003"), ("80", "0.001"), ("100", "0.0025")]


@pytest.mark.parametrize(
    ("told", "cited"),
    [
        (FREEZING, "Army OD1002 and TM 5-1185 table III"),
        (OTHER_FREEZING, "TM 10-6140-200-14 table 1-1, 1.280 full"),
        (RECHARGE, "TM 5-3820-256-24-4 p. 375: check every 30 days, charge at 1.225, store at 0 to 26 °C"),
        (
            RECHARGE_VOLTS,
            "12.40 V is derived, 6 x (1.225 + 0.84) = 12.39 V; no official text that says 12.4 V was found",
        ),
        (SELF_LOSS, "TM 9-6140-200-14 s. 4-8: gravity lost a day by a full, sound battery in the first 10 days"),
        (MONTH_LOSS, "TM 5-1185: below 80 °F about 0.001 a day over a month"),
    ],
)
def test_a_source_is_cited_with_how_far_it_can_be_trusted(told: str, cited: str) -> None:
    """Page by page (reference.md sections 6.3 and 6.4)."""
    assert told == cited


def test_they_are_called_by_name() -> None:
    """As `layup figure` and a procedure's work_out do."""
    assert {"electrolyte_freezes", "battery_survives", "charge_again", "charge_needed"} <= set(BY_NAME)
    figure = BY_NAME["charge_needed"](voltage=amount("12.2", "V"), rested=amount("9", "h"), kind="flooded")
    assert figure.verdict == "low"

"""Trade computations against published values (../shared/reference.md gives the page of each)."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.procedure import Limit
from assistant.core.trade.coolant import colder_by, ethylene_glycol_by_gravity, ethylene_glycol_stands
from assistant.core.trade.doses import dose_by_volume, hold_back
from assistant.core.trade.limits import judge, spread_share
from assistant.core.trade.torque import torque_least, torque_most
from assistant.core.units import Amount

numbers = st.decimals(min_value=-500, max_value=500, places=2)


def amount(number: str, unit: str) -> Amount:
    return Amount(Decimal(number), unit)


def between(low: str, high: str, unit: str) -> Limit:
    return Limit("between", low=amount(low, unit), high=amount(high, unit))


BOUNDS = [
    (amount("190", "psi"), Limit("at_least", low=amount("190", "psi")), "within", "0 psi above 190 psi"),
    (amount("189.99", "psi"), Limit("at_least", low=amount("190", "psi")), "low", "0.01 psi below 190 psi"),
    (amount("15.1", "V"), between("13.2", "15", "V"), "high", "0.1 V above 15 V"),
    (amount("14.9", "V"), between("13.2", "15", "V"), "within", "0.1 V below 15 V"),
    (amount("12.40", "V"), Limit("at_least", low=amount("12.4", "V")), "within", "0 V above 12.4 V"),
    # reference.md style notes on pint: with floats 0.3 in would fall short of 7.62 mm
    (amount("0.3", "inch"), Limit("at_least", low=amount("7.62", "mm")), "within", "0 in above 0.3 in"),
    (amount("149", "degF"), Limit("at_least", low=amount("65", "degC")), "within", "0 °F above 149 °F"),
    (amount("12", "lbf_in"), Limit("at_most", high=amount("1", "lbf_ft")), "within", "0 lbf·in below 12 lbf·in"),
    # reference.md 8.4: 20 N.m with 4 percent, 19.2 to 20.8 accepted, 19.19 not
    (amount("19.2", "Nm"), between("19.2", "20.8", "Nm"), "within", "0 N·m above 19.2 N·m"),
    (amount("19.19", "Nm"), between("19.2", "20.8", "Nm"), "low", "0.01 N·m below 19.2 N·m"),
]


@pytest.mark.parametrize(("value", "limit", "verdict", "margin"), BOUNDS)
def test_a_value_on_the_bound_is_within_and_the_margin_is_told(
    value: Amount, limit: Limit, verdict: str, margin: str
) -> None:
    """Inclusive bounds, exact across units."""
    judgement = judge(value, limit)
    assert (judgement.verdict, judgement.margin) == (verdict, margin)


@given(numbers, numbers, numbers)
def test_bounds_agree_with_plain_comparison(value: Decimal, a: Decimal, b: Decimal) -> None:
    """Low, within and high share out the whole line."""
    low, high = sorted((a, b))
    verdict = judge(Amount(value, "kPa"), between(str(low), str(high), "kPa")).verdict
    assert verdict == ("low" if value < low else "high" if value > high else "within")


SPREADS = [
    # reference.md 7.4: 120/115/118/92: lowest over highest 76.7 percent; 120/90 exactly 75.0, passes; 120/89 does not
    ("92", ("120", "115", "118"), "10", "low"),
    ("118", ("120", "115", "92"), "10", "low"),
    ("120", ("115", "118", "92"), "10", "high"),
    ("90", ("120",), "25", "within"),
    ("89", ("120",), "25", "low"),
    ("175.5", ("195", "190"), "10", "within"),
    ("175.4", ("195", "190"), "10", "low"),
    ("195", (), "10", "within"),
    ("0", ("0",), "10", "unsure"),
]


@pytest.mark.parametrize(("value", "others", "share", "verdict"), SPREADS)
def test_the_spread_is_a_share_of_the_highest(value: str, others: tuple[str, ...], share: str, verdict: str) -> None:
    """Lowest within the share of the highest, the boundary within; a failing set fails whichever value is judged."""
    rest = tuple(amount(other, "psi") for other in others)
    assert judge(amount(value, "psi"), Limit("spread", share=Decimal(share)), rest).verdict == verdict


def test_the_spread_share_is_exact() -> None:
    """120 and 90: a quarter; 89: more."""
    assert spread_share([amount("120", "psi"), amount("90", "psi")]).value == 25
    assert spread_share([amount("120", "psi"), amount("89", "psi")]).value > 25
    with pytest.raises(ValueError, match="above zero"):
        spread_share([amount("0", "psi")])
    with pytest.raises(ValueError, match="at least one"):
        spread_share([])


@pytest.mark.parametrize(("back", "verdict"), [("8", "within"), ("7", "low"), ("9", "high")])
def test_counted_back_on_is_the_same_as_counted_off(back: str, verdict: str) -> None:
    """One washer fewer is low, one more is high; nothing to compare with is unsure."""
    limit = Limit("same_as", other="washers_off")
    assert judge(amount(back, "count"), limit, (amount("8", "count"),)).verdict == verdict
    assert judge(amount(back, "count"), limit).verdict == "unsure"


def test_what_cannot_be_judged_is_refused() -> None:
    """Another kind of quantity, a bound that is still a name, no bound at all."""
    for limit in (Limit("at_least", low=amount("1", "V")), Limit("at_least", low="least"), Limit("between")):
        with pytest.raises(ValueError):
            judge(amount("1", "psi"), limit)


def test_a_dose_is_in_proportion_and_rounded_up() -> None:
    """18.5 gallons at 1 ounce in 2.5 gallons are 7.4 ounces: 7.5 on a cup marked in halves."""
    label = {"dose": amount("1", "us_fl_oz"), "treats": amount("2.5", "us_gal")}
    half = amount("0.5", "us_fl_oz")
    assert dose_by_volume(volume=amount("18.5", "us_gal"), **label, round_up_to=half).amount == amount(
        "7.5", "us_fl_oz"
    )
    assert dose_by_volume(volume=amount("2.5", "us_gal"), **label, round_up_to=half).amount == amount("1.0", "us_fl_oz")
    # reference.md section 3: an imperial gallon is a fifth larger than a US one
    assert dose_by_volume(volume=amount("2.5", "imp_gal"), **label, round_up_to=half).amount == amount(
        "1.5", "us_fl_oz"
    )
    with pytest.raises(ValueError, match="must be a volume"):
        dose_by_volume(volume=amount("1", "kg"), **label, round_up_to=half)
    with pytest.raises(ValueError, match="above zero"):
        dose_by_volume(volume=amount("1", "L"), **label, round_up_to=amount("0", "L"))


def test_what_is_held_back_is_less_than_all() -> None:
    """Three quarts, one held back: two."""
    assert hold_back(capacity=amount("3", "us_qt"), held=amount("1", "us_qt")).amount == amount("2", "us_qt")
    assert hold_back(capacity=amount("1", "us_gal"), held=amount("1", "us_qt")).amount.value == Decimal("0.75")
    with pytest.raises(ValueError, match="cannot be held back"):
        hold_back(capacity=amount("3", "us_qt"), held=amount("1", "us_gal"))


def test_torque_tool_tolerance() -> None:
    """reference.md 8.4: 20 N.m, 4 percent either way, is 19.2 to 20.8."""
    asked = {"target": amount("20", "Nm"), "tolerance": amount("4", "percent")}
    assert torque_least(**asked).amount.value == Decimal("19.2")
    assert torque_most(**asked).amount.value == Decimal("20.8")
    with pytest.raises(ValueError, match="must be a torque"):
        torque_least(target=amount("20", "psi"), tolerance=amount("4", "percent"))
    with pytest.raises(ValueError, match="in percent"):
        torque_most(target=amount("20", "Nm"), tolerance=amount("4", "Nm"))


def test_the_coolant_must_stand_ten_degrees_less_than_the_coldest() -> None:
    """reference.md 5.2 (10 degF below) and section 3 (18 degF apart are 10 degC apart, without the 32)."""
    assert colder_by(temperature=amount("-25", "degF"), margin=amount("10", "delta_F")).amount == amount("-35", "degF")
    assert colder_by(temperature=amount("-10", "degC"), margin=amount("18", "delta_F")).amount == amount("-20", "degC")
    with pytest.raises(ValueError):
        colder_by(temperature=amount("-10", "degC"), margin=amount("10", "degC"))
    with pytest.raises(ValueError):
        colder_by(temperature=amount("-10", "degC"), margin=amount("-10", "delta_K"))


@pytest.mark.parametrize(
    ("share", "gravity", "stands"),
    [("40.625", "1.055", "-10"), ("43.75", "1.062", "-20"), ("50", "1.067", "-30"), ("53.125", "1.073", "-40"),
     ("34.375", "1.047", "0")],
)  # fmt: skip
def test_ethylene_glycol_after_the_army_table(share: str, gravity: str, stands: str) -> None:
    """TM 5-6115-400-12 table 2-1 (reference.md 5.2), by share and by specific gravity."""
    assert ethylene_glycol_stands(share=amount(share, "percent")).amount == amount(stands, "degF")
    assert ethylene_glycol_by_gravity(gravity=amount(gravity, "sg")).amount == amount(stands, "degF")


def test_nothing_is_extrapolated() -> None:
    """Above 60 percent the freezing point rises again (reference.md 5.2): outside of the table is refused."""
    assert Decimal(-40) < ethylene_glycol_stands(share=amount("52", "percent")).amount.value < Decimal(-30)
    for share in ("18", "54", "70"):
        with pytest.raises(ValueError, match="outside of the table"):
            ethylene_glycol_stands(share=amount(share, "percent"))
    with pytest.raises(ValueError, match="specific gravity"):
        ethylene_glycol_by_gravity(gravity=amount("50", "percent"))
    with pytest.raises(ValueError, match="percent"):
        ethylene_glycol_stands(share=amount("1.05", "sg"))

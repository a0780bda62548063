"""Limits: what is within, low, high, or too near a bound for the gauge to tell; and how a computation's answer is judged."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.procedure import Limit
from assistant.core.trade.figure import Figure
from assistant.core.trade.limits import Judgement, around, difference_unit, doubt, judge, judge_figure, spread_share
from assistant.core.units import Amount, convert

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
    # in bar the same set is a small number; a share of nothing lets nothing lie apart
    ("0.9", ("1",), "10", "within"),
    ("0.89", ("1",), "10", "low"),
    ("99.5", ("100",), "0", "low"),
    ("100", ("100",), "0", "within"),
]


@pytest.mark.parametrize(("value", "others", "share", "verdict"), SPREADS)
def test_the_spread_is_a_share_of_the_highest(value: str, others: tuple[str, ...], share: str, verdict: str) -> None:
    """Lowest within the share of the highest, the boundary within; a failing set fails whichever value is judged."""
    rest = tuple(amount(other, "psi") for other in others)
    assert judge(amount(value, "psi"), Limit("spread", share=Decimal(share)), rest).verdict == verdict


def test_the_spread_share_is_exact() -> None:
    """120 and 90: a quarter; 89: more; of a highest of 1 as well."""
    assert spread_share([amount("120", "psi"), amount("90", "psi")]) == amount("25", "percent")
    assert spread_share([amount("1", "bar"), amount("0.9", "bar")]) == amount("10", "percent")
    assert spread_share([amount("120", "psi"), amount("89", "psi")]).value > 25
    with pytest.raises(ValueError, match=r"^a spread is a share of the highest, which must be above zero$"):
        spread_share([amount("0", "psi")])
    with pytest.raises(ValueError, match=r"^a spread needs at least one value$"):
        spread_share([])
    assert judge(amount("0", "psi"), Limit("spread", share=Decimal(10))).margin == "a share of nothing"


@pytest.mark.parametrize(
    ("back", "verdict", "margin"),
    [("8", "within", "the same as 8"), ("7", "low", "1 fewer than 8"), ("10", "high", "2 more than 8")],
)
def test_counted_back_on_is_the_same_as_counted_off(back: str, verdict: str, margin: str) -> None:
    """One washer fewer is low, two more are high; nothing to compare with is unsure."""
    limit = Limit("same_as", other="washers_off")
    assert judge(amount(back, "count"), limit, (amount("8", "count"),)) == Judgement(verdict, margin)
    assert judge(amount(back, "count"), limit) == Judgement("unsure", "nothing to compare with")


@pytest.mark.parametrize(
    ("limit", "message"),
    [
        (Limit("at_least", low=amount("1", "V")), "V (voltage) cannot become psi (pressure)"),
        (Limit("at_least", low="least"), "the bound 'least' is a name: bind the procedure first"),
        (Limit("between"), "a limit needs a bound"),
    ],
)
def test_what_cannot_be_judged_is_refused(limit: Limit, message: str) -> None:
    """Another kind of quantity, a bound that is still a name, no bound at all."""
    with pytest.raises(ValueError) as refused:
        judge(amount("1", "psi"), limit)
    assert str(refused.value) == message


# Exclusive, around a target, against another value

PSI = "psi"
MORE = {"compared": "more_than", "other": "o"}
LESS = {"compared": "less_than", "other": "o"}
APART = {"compared": "differs_from", "other": "o"}
OTHERS = (amount("100", "psi"),)
RULES = [
    # on the bound and a hair either side: above and below leave the bound out
    ("5", Limit("above", low=amount("5", PSI)), (), "low", "0 psi below 5 psi"),
    ("5.01", Limit("above", low=amount("5", PSI)), (), "within", "0.01 psi above 5 psi"),
    ("5", Limit("below", high=amount("5", PSI)), (), "high", "0 psi above 5 psi"),
    ("4.99", Limit("below", high=amount("5", PSI)), (), "within", "0.01 psi below 5 psi"),
    # a bound of nothing, on which no rounding can be lost
    ("0", Limit("above", low=amount("0", PSI)), (), "low", "0 psi below 0 psi"),
    ("0", Limit("at_least", low=amount("0", PSI)), (), "within", "0 psi above 0 psi"),
    ("0", Limit("below", high=amount("0", PSI)), (), "high", "0 psi above 0 psi"),
    ("12.4", Limit("between", low=amount("12.4", PSI), high=amount("12.4", PSI)), (), "within", "0 psi above 12.4 psi"),
    # relative: more and less than the other by so much, or by percent of it
    ("110", Limit("at_least", low=amount("10", PSI), **MORE), OTHERS, "within", "0 psi above 110 psi"),
    ("109", Limit("at_least", low=amount("10", "percent"), **MORE), OTHERS, "low", "1 psi below 110 psi"),
    ("110", Limit("above", low=amount("10", "percent"), **MORE), OTHERS, "low", "0 psi below 110 psi"),
    ("90", Limit("at_most", high=amount("10", "percent"), **LESS), OTHERS, "within", "0 psi above 90 psi"),
    ("89", Limit("at_most", high=amount("10", PSI), **LESS), OTHERS, "low", "1 psi below 90 psi"),
    ("130", Limit("at_most", high=amount("10", PSI), **LESS), OTHERS, "within", "40 psi above 90 psi"),
    ("91", Limit("at_least", low=amount("10", PSI), **LESS), OTHERS, "high", "1 psi above 90 psi"),
    ("90", Limit("below", high=amount("10", PSI), **LESS), OTHERS, "low", "0 psi below 90 psi"),
    ("95", Limit("at_most", high=amount("5", PSI), **APART), OTHERS, "within", "0 psi above 95 psi"),
    ("94", Limit("at_most", high=amount("5", PSI), **APART), OTHERS, "low", "1 psi below 95 psi"),
    ("106", Limit("at_most", high=amount("5", PSI), **APART), OTHERS, "high", "1 psi above 105 psi"),
    ("105", Limit("below", high=amount("5", PSI), **APART), OTHERS, "high", "0 psi above 105 psi"),
    (
        "115", Limit("between", low=amount("5", PSI), high=amount("10", PSI), **MORE), OTHERS,
        "high", "5 psi above 110 psi",
    ),
    (
        "103", Limit("between", low=amount("5", PSI), high=amount("10", PSI), **MORE), OTHERS,
        "low", "2 psi below 105 psi",
    ),
    (
        "92", Limit("between", low=amount("5", PSI), high=amount("10", PSI), **LESS), OTHERS,
        "within", "2 psi above 90 psi",
    ),
    ("92", Limit("at_most", high=amount("5", PSI), **APART), (), "unsure", "nothing to compare with"),
]  # fmt: skip


@pytest.mark.parametrize(("value", "limit", "others", "verdict", "margin"), RULES)
def test_each_rule_has_one_answer_on_its_bound(
    value: str, limit: Limit, others: tuple[Amount, ...], verdict: str, margin: str
) -> None:
    """By plain subtraction: the margin says from which value, low and high are those of the reading itself."""
    judgement = judge(amount(value, "psi"), limit, others)
    assert (judgement.verdict, judgement.margin) == (verdict, margin)


def test_a_difference_of_temperatures_is_no_temperature() -> None:
    """reference.md section 3: an interval of 18 degF is one of 10 degC, without the 32."""
    limit = Limit("at_most", high=amount("18", "delta_F"), **APART)
    assert judge(amount("30", "degC"), limit, (amount("20", "degC"),)).verdict == "within"
    assert judge(amount("30.1", "degC"), limit, (amount("20", "degC"),)).verdict == "high"
    assert judge(amount("50", "degF"), limit, (amount("0", "degC"),)).verdict == "within"
    assert difference_unit("degC") == "delta_K"
    with pytest.raises(ValueError, match=r"^a percentage of a temperature means nothing$"):
        judge(amount("30", "degC"), Limit("at_most", high=amount("5", "percent"), compared="differs_from"), OTHERS_C)


OTHERS_C = (amount("20", "degC"),)

TARGETS = [
    # reference.md 8.4: 20 N.m with 4 percent, 19.2 to 20.8 accepted, 19.19 not
    (amount("20", "Nm"), amount("4", "percent"), "19.2", "20.8"),
    (amount("20", "Nm"), amount("1", "Nm"), "19", "21"),
    (amount("-20", "degF"), amount("10", "delta_F"), "-30", "-10"),
    (amount("-20", "degC"), amount("18", "delta_F"), "-30", "-10"),
    (amount("-40", "V"), amount("10", "percent"), "-44", "-36"),
    (amount("50", "percent"), amount("5", "percent"), "45", "55"),  # of a share: points, and no share of a share
]


@pytest.mark.parametrize(("target", "tolerance", "low", "high"), TARGETS)
def test_a_target_has_its_tolerance_either_way(target: Amount, tolerance: Amount, low: str, high: str) -> None:
    """In its unit, or in percent of the target."""
    assert around(target, tolerance) == (amount(low, target.unit), amount(high, target.unit))
    with pytest.raises(ValueError):
        around(target, amount("1", "count"))


# The gauge: guard bands

GAUGE = amount("3", "psi")
GUARDED = [
    # By the rule: w = U (JCGM 106:2012 guarded acceptance; ISO 14253-1), on each corner and a hair beside it
    ("193", Limit("at_least", low=amount("190", PSI), uncertainty=GAUGE), "within", "3 psi above 190 psi"),
    ("192.99", Limit("at_least", low=amount("190", PSI), uncertainty=GAUGE), "unsure", "2.99 psi above 190 psi"),
    ("190", Limit("at_least", low=amount("190", PSI), uncertainty=GAUGE), "unsure", "0 psi above 190 psi"),
    ("189.5", Limit("at_least", low=amount("190", PSI), uncertainty=GAUGE), "unsure", "0.5 psi below 190 psi"),
    ("187", Limit("at_least", low=amount("190", PSI), uncertainty=GAUGE), "unsure", "3 psi below 190 psi"),
    ("186.99", Limit("at_least", low=amount("190", PSI), uncertainty=GAUGE), "low", "3.01 psi below 190 psi"),
    ("197", Limit("at_most", high=amount("200", PSI), uncertainty=GAUGE), "within", "3 psi below 200 psi"),
    ("203", Limit("at_most", high=amount("200", PSI), uncertainty=GAUGE), "unsure", "3 psi above 200 psi"),
    ("203.01", Limit("at_most", high=amount("200", PSI), uncertainty=GAUGE), "high", "3.01 psi above 200 psi"),
    # the bound itself is out: what may lie on it is not within, and what can at best lie on it is broken
    ("193", Limit("above", low=amount("190", PSI), uncertainty=GAUGE), "unsure", "3 psi above 190 psi"),
    ("193.01", Limit("above", low=amount("190", PSI), uncertainty=GAUGE), "within", "3.01 psi above 190 psi"),
    ("187", Limit("above", low=amount("190", PSI), uncertainty=GAUGE), "low", "3 psi below 190 psi"),
    ("187.01", Limit("above", low=amount("190", PSI), uncertainty=GAUGE), "unsure", "2.99 psi below 190 psi"),
    # percent of what is read: 2 percent of 200 are 4
    ("200", Limit("at_least", low=amount("196", PSI), uncertainty=amount("2", "percent")), "within", "4 psi above 196 psi"),
    ("199", Limit("at_least", low=amount("196", PSI), uncertainty=amount("2", "percent")), "unsure", "3 psi above 196 psi"),
    # of a difference both readings are uncertain: 3 and 3
    (
        "116", Limit("at_least", low=amount("10", PSI), **MORE, uncertainty=GAUGE),
        "within", "6 psi above 110 psi",
    ),
    (
        "115", Limit("at_least", low=amount("10", PSI), **MORE, uncertainty=GAUGE),
        "unsure", "5 psi above 110 psi",
    ),
    # nearer to the one bound than the gauge can tell, far from the other
    (
        "191", Limit("between", low=amount("190", PSI), high=amount("250", PSI), uncertainty=GAUGE),
        "unsure", "1 psi above 190 psi",
    ),
    (
        "249", Limit("between", low=amount("190", PSI), high=amount("250", PSI), uncertainty=GAUGE),
        "unsure", "1 psi below 250 psi",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("value", "limit", "verdict", "margin"), GUARDED)
def test_a_reading_too_near_for_the_gauge_is_unsure(value: str, limit: Limit, verdict: str, margin: str) -> None:
    """Within or broken only where all that the reading may stand for is; the margin names the gauge."""
    judgement = judge(amount(value, "psi"), limit, OTHERS if limit.compared else ())
    width = Amount(doubt(amount(value, "psi"), limit) * (2 if limit.compared else 1), "psi")
    assert (judgement.verdict, judgement.margin) == (verdict, f"{margin}, and the gauge is good to {width}")
    assert margin.startswith(f"{judgement.gap} ")


def test_the_published_examples_of_guarded_acceptance() -> None:
    """JCGM 106:2012 7.4, from memory: -5.47 V with u = 0.05 V below a limit of -5.40 V conforms with 92 percent, less than the
    95 of U = 2u: not proved. ILAC-G8:09/2019 4.2.3 as restated at lvt.com.tr/en/kurumsal/karar-kurali: pass below TL - w,
    between TL - w and TL + w only conditional, fail above TL + w."""
    diode = Limit("at_most", high=amount("-5.40", "V"), uncertainty=amount("0.10", "V"))
    assert judge(amount("-5.47", "V"), diode).verdict == "unsure"
    assert judge(amount("-5.47", "V"), Limit("at_most", high=amount("-5.40", "V"))).verdict == "within"
    conditional = Limit("at_most", high=amount("10", "mm"), uncertainty=amount("0.2", "mm"))
    said = [judge(amount(v, "mm"), conditional).verdict for v in ("9.7", "9.9", "10.1", "10.3")]
    assert said == ["within", "unsure", "unsure", "high"]


widths = st.decimals(min_value=0, max_value=60, places=2)
ORDER = {"low": 0, "unsure-low": 1, "within": 2, "unsure-high": 3, "high": 4}


@given(numbers, numbers, numbers, numbers, widths, st.booleans())
def test_the_verdicts_share_out_the_line_in_order(
    x: Decimal, y: Decimal, a: Decimal, b: Decimal, width: Decimal, percent: bool
) -> None:
    """Low, unsure, within, unsure, high: whoever reads more is never told that it is less."""
    low, high = sorted((a, b))
    gauge = Amount(width, "percent" if percent else "kPa")
    limit = Limit("between", low=Amount(low, "kPa"), high=Amount(high, "kPa"), uncertainty=gauge)

    def place(value: Decimal) -> int:
        verdict = judge(Amount(value, "kPa"), limit).verdict
        if verdict != "unsure":
            return ORDER[verdict]
        return ORDER["unsure-low"] if value < (low + high) / 2 else ORDER["unsure-high"]

    less, more = sorted((x, y))
    assert place(less) <= place(more)


@given(numbers, numbers, numbers, widths, st.booleans(), st.booleans())
def test_a_guard_band_never_widens_what_is_accepted(
    value: Decimal, a: Decimal, b: Decimal, width: Decimal, percent: bool, one_sided: bool
) -> None:
    """What is within by a gauge is within by a perfect one, and so with low and high; a width of nothing changes nothing."""
    low, high = sorted((a, b))
    plainly = Limit("above", low=Amount(low, "kPa")) if one_sided else between(str(low), str(high), "kPa")
    gauge = Amount(width, "percent" if percent else "kPa")
    guarded = judge(Amount(value, "kPa"), replace(plainly, uncertainty=gauge)).verdict
    perfect = judge(Amount(value, "kPa"), plainly).verdict
    assert guarded in (perfect, "unsure")
    assert judge(Amount(value, "kPa"), replace(plainly, uncertainty=Amount(Decimal(0), "kPa"))).verdict == perfect


@given(numbers, numbers, widths, st.sampled_from(["at_least", "above"]))
def test_the_verdict_is_the_same_in_any_unit(value: Decimal, low: Decimal, width: Decimal, rule: str) -> None:
    """Said in kilopascals or in P S I, on the corner of a guard band too: what a conversion loses decides nothing."""
    limit = Limit("above" if rule == "above" else "at_least", low=Amount(low, "psi"), uncertainty=Amount(width, "psi"))
    for said in (value, low + width, low - width, low):
        here = judge(Amount(said, "psi"), limit).verdict
        assert judge(convert(Amount(said, "psi"), "kPa"), limit).verdict == here
        assert judge(convert(Amount(said, "psi"), "bar"), limit).verdict == here


GUARDED_SPREADS = [
    # lowest over highest at 75 percent: 120/95 may be (95 - 2)/(120 + 2) = 76.2 percent at the worst; 120/92 may be 73.8
    ("95", ("120", "115"), "2", "within"),
    # 75 percent of 122 are 91.5, of 118 they are 88.5: both corners, and a hair under each
    ("93.5", ("120",), "2", "within"),
    ("93.49", ("120",), "2", "unsure"),
    ("86.5", ("120",), "2", "unsure"),
    ("86.49", ("120",), "2", "low"),
    ("92", ("120", "115"), "2", "unsure"),
    ("120", ("92",), "2", "unsure"),
    ("86", ("120",), "2", "low"),
    ("120", ("86",), "2", "high"),
    ("87", ("120",), "2", "unsure"),
    ("120", (), "2", "within"),
    ("2", ("1",), "2", "unsure"),
    # in bar the same gauge is a small number; a highest that may be nothing is no share of anything
    ("0.5", ("1",), "0.1", "low"),
    ("-3", ("2",), "2", "unsure"),
]


@pytest.mark.parametrize(("value", "others", "gauge", "verdict"), GUARDED_SPREADS)
def test_a_spread_is_judged_by_the_worst_that_the_gauge_leaves_open(
    value: str, others: tuple[str, ...], gauge: str, verdict: str
) -> None:
    """By hand: (lowest + U) / (highest - U) below 75 percent is broken, (lowest - U) / (highest + U) from 75 is within."""
    limit = Limit("spread", share=Decimal(25), uncertainty=amount(gauge, "psi"))
    judgement = judge(amount(value, "psi"), limit, tuple(amount(other, "psi") for other in others))
    assert judgement.verdict == verdict
    assert (f"the gauge is good to {gauge} psi" in judgement.margin) == (verdict == "unsure")


def test_an_uncertainty_that_is_none_is_refused() -> None:
    """A negative one, one of another kind, one that is still a name."""
    for wrong, message in ((amount("-1", "psi"), "negative"), (amount("1", "V"), "cannot become"), ("gauge", "a name")):
        with pytest.raises(ValueError, match=message):
            judge(amount("5", "psi"), Limit("at_least", low=amount("1", "psi"), uncertainty=wrong))
    assert doubt(amount("5", "psi"), Limit("at_least", low=amount("1", "psi"))) == 0
    with pytest.raises(ValueError, match=r"^a limit needs a bound$"):
        judge(amount("5", "psi"), Limit("between", **MORE), OTHERS)


# What a computation answers


def test_a_computed_answer_is_judged_by_bounds_or_by_itself() -> None:
    """75 percent is at the bound, exactly; without a bound the computation's own verdict holds; else it is told why not."""
    figure = Figure(amount("75", "percent"), ("90 of 120",), ("trade practice",))
    assert judge_figure(figure, Limit("at_least", low=amount("75", "percent"), by="f")).verdict == "within"
    assert judge_figure(figure, Limit("above", low=amount("75", "percent"), by="f")).verdict == "low"
    assert judge_figure(replace(figure, verdict="high"), Limit("by", by="f")).verdict == "high"
    assert judge_figure(replace(figure, verdict="unsure"), Limit("by", by="f")).margin == "75 %"
    doubtful = judge_figure(replace(figure, verdict="unsure"), Limit("at_least", low=amount("70", "percent"), by="f"))
    assert (doubtful.verdict, doubtful.margin) == ("unsure", "5 % above 70 %")
    with pytest.raises(ValueError, match=r"^the computation does not judge by itself, and the limit has no bound$"):
        judge_figure(figure, Limit("by", by="f"))
    with pytest.raises(ValueError, match="cannot become"):
        judge_figure(figure, Limit("at_least", low=amount("75", "psi"), by="f"))
    with pytest.raises(ValueError, match="no amount"):
        judge_figure(replace(figure, answer="cylinder 4"), Limit("at_least", low=amount("75", "percent"), by="f"))

"""Doses and volumes: proportions against label examples and exact gallons (reference.md sections 3 and 9)."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from math import ceil
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.trade.doses import dose_by_ratio, dose_by_volume, fogging_time, hold_back, two_stroke_oil
from assistant.core.trade.doses_poured import antifreeze_needed, antifreeze_used, oil_balance
from assistant.core.trade.registry import BY_NAME
from assistant.core.units import Amount

VOLUMES = ["L", "mL", "us_gal", "us_qt", "us_pt", "us_fl_oz", "imp_gal"]
# NIST Handbook 44 appendix C: the US gallon is 231 cubic inches; the imperial gallon 4.54609 L (reference.md section 3)
LITRES = {
    "L": Fraction(1), "mL": Fraction(1, 1000), "us_gal": Fraction("3.785411784"), "us_qt": Fraction("3.785411784") / 4,
    "us_pt": Fraction("3.785411784") / 8, "us_fl_oz": Fraction("3.785411784") / 128, "imp_gal": Fraction("4.54609"),
}  # fmt: skip
some = st.decimals("0.1", "200", places=1)


def amount(number: str, unit: str) -> Amount:
    return Amount(Decimal(number), unit)


LABELS = [
    # 1 oz in 2.5 gal: 18.5 gallons take 7.4 oz, 7.5 on a cup marked in halves (proportion)
    ("18.5", "us_gal", "1", "us_fl_oz", "2.5", "us_gal", "0.5", "us_fl_oz", "7.5"),
    ("2.5", "us_gal", "1", "us_fl_oz", "2.5", "us_gal", "0.5", "us_fl_oz", "1"),
    # T9: an imperial gallon is a fifth larger than a US one
    ("2.5", "imp_gal", "1", "us_fl_oz", "2.5", "us_gal", "0.5", "us_fl_oz", "1.5"),
    # mL per L, exactly on a step and a hair above
    ("60", "L", "2", "mL", "1", "L", "10", "mL", "120"),
    ("60.001", "L", "2", "mL", "1", "L", "10", "mL", "130"),
    # 128 fl oz are a gallon exactly, whatever the unit of the tank
    ("3.785411784", "L", "1", "us_fl_oz", "1", "us_gal", "1", "us_fl_oz", "1"),
    ("1", "us_gal", "10", "mL", "3.785411784", "L", "10", "mL", "10"),
    ("0", "L", "2", "mL", "1", "L", "10", "mL", "0"),
]


@pytest.mark.parametrize(("n", "unit", "dose", "dose_unit", "per", "per_unit", "step", "step_unit", "answer"), LABELS)
def test_a_dose_by_the_labels_own_unit(
    n: str, unit: str, dose: str, dose_unit: str, per: str, per_unit: str, step: str, step_unit: str, answer: str
) -> None:
    """In proportion, in the unit of the label, rounded up to what the cup shows."""
    figure = dose_by_volume(
        volume=amount(n, unit),
        dose=amount(dose, dose_unit),
        treats=amount(per, per_unit),
        round_up_to=amount(step, step_unit),
    )
    assert figure.amount == amount(answer, dose_unit)


@given(some, st.sampled_from(VOLUMES), some, st.sampled_from(VOLUMES), st.sampled_from(VOLUMES))
def test_a_dose_is_never_too_little_and_never_a_step_too_much(
    volume: Decimal, unit: str, treats: Decimal, treats_unit: str, step_unit: str
) -> None:
    """Against exact fractions: the least whole number of steps that is enough."""
    dose = Amount(treats / 40, treats_unit)
    step = Amount(Decimal("0.5"), step_unit)
    figure = dose_by_volume(
        volume=Amount(volume, unit), dose=dose, treats=Amount(treats, treats_unit), round_up_to=step
    )
    wanted = Fraction(volume) * LITRES[unit] / 40
    steps = ceil(wanted / (LITRES[step_unit] / 2))
    answer = Fraction(figure.amount.value) * LITRES[figure.amount.unit]
    assert abs(answer - steps * LITRES[step_unit] / 2) <= answer * Fraction(1, 10**18)


def test_a_dose_can_be_followed() -> None:
    """The label as it reads, the exact dose, and the cup's."""
    figure = dose_by_volume(
        volume=amount("18.5", "us_gal"),
        dose=amount("1", "us_fl_oz"),
        treats=amount("2.5", "us_gal"),
        round_up_to=amount("0.5", "us_fl_oz"),
    )
    assert figure.working == (
        "18.5 US gal at 1 US fl oz for every 2.5 US gal: 7.4 US fl oz",
        "up to whole 0.5 US fl oz: 7.5 US fl oz",
    )
    assert figure.sources[0] == "the additive's label; proportion"
    assert "common practice, no source" in figure.sources[1]
    assert "no flame" in figure.cautions[0] and "not what the tank holds" in figure.cautions[1]


def test_a_dose_by_parts() -> None:
    """1:500 in 60 litres is 120 mL; in the cup's unit, up to its step."""
    figure = dose_by_ratio(volume=amount("60", "L"), parts=amount("500", "count"), round_up_to=amount("50", "mL"))
    assert figure.amount == amount("150", "mL")
    assert figure.working == ("60 L at 1 to 500: 120 mL", "up to whole 50 mL: 150 mL")
    assert "1:500" in figure.sources[1] and len(figure.sources) == 3
    # 18.5 gal of 128 oz, a 320th: the same label as 1 oz in 2.5 gal
    ounces = dose_by_ratio(
        volume=amount("18.5", "us_gal"), parts=amount("320", "count"), round_up_to=amount("0.5", "us_fl_oz")
    )
    assert ounces.amount == amount("7.5", "us_fl_oz")


@given(some, st.integers(2, 10000))
def test_a_ratio_and_the_same_ratio_by_volume_agree(volume: Decimal, parts: int) -> None:
    """One part to n parts is one mL in n mL."""
    step = amount("5", "mL")
    by_parts = dose_by_ratio(volume=Amount(volume, "L"), parts=amount(str(parts), "count"), round_up_to=step)
    by_volume = dose_by_volume(
        volume=Amount(volume, "L"), dose=amount("1", "mL"), treats=amount(str(parts), "mL"), round_up_to=step
    )
    assert by_parts.amount == by_volume.amount


MIXES = [
    # 128 fl oz in a US gallon: the card on every can (common practice): 50:1 2.56 oz, 40:1 3.2 oz, 32:1 4 oz
    ("1", "us_gal", "50", "2.56", "us_fl_oz"),
    ("1", "us_gal", "40", "3.2", "us_fl_oz"),
    ("1", "us_gal", "32", "4", "us_fl_oz"),
    ("4", "us_qt", "32", "4", "us_fl_oz"),
    ("8", "us_pt", "32", "4", "us_fl_oz"),
    ("128", "us_fl_oz", "32", "4", "us_fl_oz"),
    ("5", "L", "50", "100", "mL"),
    ("5000", "mL", "50", "100", "mL"),
    ("10", "L", "24", "416.7", "mL"),
    # T9: the imperial gallon is 4.54609 L
    ("1", "imp_gal", "50", "90.92", "mL"),
    ("5", "L", "10", "500", "mL"),
    ("15", "L", "150", "100", "mL"),
]


@pytest.mark.parametrize(("fuel", "unit", "parts", "oil", "oil_unit"), MIXES)
def test_oil_for_a_two_stroke(fuel: str, unit: str, parts: str, oil: str, oil_unit: str) -> None:
    """One part of oil to so many of fuel, in what a cup shows."""
    figure = two_stroke_oil(fuel=amount(fuel, unit), parts=amount(parts, "count"))
    assert figure.amount == amount(oil, oil_unit)


def test_a_mix_says_its_rule_and_cautions() -> None:
    """The working is the division; fuel burns, and an engine with its own pump takes none."""
    figure = two_stroke_oil(fuel=amount("5", "L"), parts=amount("50", "count"))
    assert figure.working == ("5 L / 50 = 100 mL",)
    assert "common practice, no source" in figure.sources[0]
    assert "no flame" in figure.cautions[0] and "oil pump" in figure.cautions[1]


def test_fogging_time_is_rounded_up() -> None:
    """15 mL from a can of 340 mL that lasts 90 s: 3.97 s, so 4; three cylinders 12 (proportion)."""
    asked = {"sprayed": amount("340", "mL"), "sprayed_in": amount("1.5", "min"), "cylinders": amount("3", "count")}
    figure = fogging_time(oil=amount("15", "mL"), **asked)
    assert figure.amount == amount("4", "s")
    assert figure.beside == (("all_cylinders", amount("12", "s")),)
    assert figure.working == (
        "15 mL x 1.5 min / 340 mL = 3.971 s, up to a whole second: 4 s",
        "3 cylinders: 12 s",
    )
    assert "proportion" in figure.sources[0] and "blows back" in figure.cautions[0]
    exactly = {"sprayed": amount("30", "mL"), "sprayed_in": amount("10", "s"), "cylinders": amount("1", "count")}
    assert fogging_time(oil=amount("9", "mL"), **exactly).amount == amount("3", "s")
    assert fogging_time(oil=amount("9.01", "mL"), **exactly).amount == amount("4", "s")
    assert fogging_time(oil=amount("9", "mL"), **{**exactly, "cylinders": amount("16", "count")}).beside[0][
        1
    ] == amount("48", "s")


def test_what_is_held_back_is_less_than_all() -> None:
    """Three quarts, one held back: two."""
    figure = hold_back(capacity=amount("3", "us_qt"), held=amount("1", "us_qt"))
    assert figure.amount == amount("2", "us_qt")
    assert figure.working == ("3 US qt less 1 US qt is 2 US qt",)
    assert figure.sources == ("common practice, no source",)
    assert hold_back(capacity=amount("1", "us_gal"), held=amount("1", "us_qt")).amount == amount("0.75", "us_gal")


def test_cans_of_antifreeze() -> None:
    """Passages and what runs out before the colour comes, up to whole cans (common practice, no source)."""
    asked = {"passages": amount("2.5", "us_gal"), "can": amount("1", "us_gal")}
    figure = antifreeze_needed(spare=amount("20", "percent"), **asked)
    assert (figure.amount, figure.beside) == (amount("3", "us_gal"), (("cans", amount("3", "count")),))
    assert figure.working == ("2.5 US gal and 20 % more: 3 US gal", "3 cans of 1 US gal: 3 US gal")
    assert antifreeze_needed(spare=amount("20.1", "percent"), **asked).amount == amount("4", "us_gal")
    assert antifreeze_needed(spare=amount("0", "percent"), **asked).amount == amount("3", "us_gal")
    assert antifreeze_needed(spare=amount("200", "percent"), **asked).amount == amount("8", "us_gal")
    small = antifreeze_needed(passages=amount("7", "L"), spare=amount("0", "percent"), can=amount("1.5", "L"))
    assert (small.amount, small.beside) == (amount("7.5", "L"), (("cans", amount("5", "count")),))
    assert figure.sources == ("common practice, no source",)
    # reference.md section 9: glycol that is not poison where it runs out, and what comes out is collected
    assert "poison" in figure.cautions[0] and "waste antifreeze" in figure.cautions[1]


USED = [
    # the sheet's limits are inclusive
    ("5", "1.5", None, "3.5", "within"),
    ("5", "2", None, "3", "within"),
    ("5", "2.001", None, "2.999", "low"),
    ("5", "1", None, "4", "within"),
    ("5", "0.999", None, "4.001", "high"),
    ("1", "0.5", "3", "3.5", "within"),
    ("0", "0", None, "0", "low"),
]


@pytest.mark.parametrize(("before", "after", "opened", "used", "verdict"), USED)
def test_antifreeze_used_is_judged(before: str, after: str, opened: str | None, used: str, verdict: str) -> None:
    """Before and after in the can, with cans opened since; judged by the sheet's least and most."""
    figure = antifreeze_used(
        before=amount(before, "us_gal"),
        after=amount(after, "us_gal"),
        least=amount("3", "us_gal"),
        most=amount("4", "us_gal"),
        opened=None if opened is None else amount(opened, "us_gal"),
    )
    assert (figure.amount, figure.verdict) == (amount(used, "us_gal"), verdict)


def test_antifreeze_in_two_units_is_judged_exactly() -> None:
    """A gallon and 3.785411784 L are the same; the working is rounded, the verdict is not."""
    figure = antifreeze_used(
        before=amount("5", "us_gal"),
        after=amount("3.785411784", "L"),
        least=amount("15.141647136", "L"),
        most=amount("5", "us_gal"),
    )
    assert (figure.amount, figure.verdict) == (amount("4", "us_gal"), "within")
    figure = antifreeze_used(
        before=amount("5", "us_gal"),
        after=amount("2", "L"),
        least=amount("4", "us_gal"),
        most=amount("5", "us_gal"),
        opened=amount("1", "L"),
    )
    assert figure.amount == amount("4.7358", "us_gal")
    assert figure.working == (
        "5.264 US gal less 2 L is 4.736 US gal",
        "4.736 US gal is within by 0.2642 US gal: 4 US gal to 5 US gal",
    )
    assert "machine sheet" in figure.sources[0] and "poison" in figure.cautions[0]


BALANCES = [
    ("2.6", "3", "0.4", "0.4", "within"),
    ("2.6", "3.01", "0.4", "0.41", "high"),
    ("3.4", "3", "0.4", "-0.4", "within"),
    ("3.41", "3", "0.4", "-0.41", "low"),
    ("3", "3", "0", "0", "within"),
    ("0", "3", "0.4", "3", "high"),
]


@pytest.mark.parametrize(("drained", "poured", "allowed", "difference", "verdict"), BALANCES)
def test_oil_in_against_oil_out(drained: str, poured: str, allowed: str, difference: str, verdict: str) -> None:
    """The difference, judged on both sides; the bound is within."""
    figure = oil_balance(
        drained=amount(drained, "us_qt"), poured=amount(poured, "us_qt"), allowed=amount(allowed, "us_qt")
    )
    assert (figure.amount, figure.verdict) == (amount(difference, "us_qt"), verdict)


def test_an_oil_balance_can_be_followed() -> None:
    """In the unit of what was poured, with what the difference may mean and where old oil goes (40 CFR 279.22)."""
    figure = oil_balance(drained=amount("2.5", "L"), poured=amount("3", "us_qt"), allowed=amount("300", "mL"))
    assert figure.working == (
        "3 US qt in less 2.642 US qt out is 0.3583 US qt",
        "0.3583 US qt is high by 0.04127 US qt: -300 mL to 300 mL",
    )
    assert figure.amount == amount("0.35828", "us_qt")
    assert "fuel" in figure.cautions[0] and "Used Oil" in figure.cautions[1]
    assert "machine sheet" in figure.sources[0] and figure.sources[1] == "common practice, no source"


GOOD: dict[str, dict[str, Any]] = {
    "dose_by_volume": {
        "volume": amount("60", "L"), "dose": amount("2", "mL"), "treats": amount("1", "L"), "round_up_to": amount("5", "mL"),
    },
    "dose_by_ratio": {"volume": amount("60", "L"), "parts": amount("2", "count"), "round_up_to": amount("5", "mL")},
    "two_stroke_oil": {"fuel": amount("5", "L"), "parts": amount("50", "count")},
    "fogging_time": {
        "oil": amount("15", "mL"), "sprayed": amount("30", "mL"), "sprayed_in": amount("10", "s"),
        "cylinders": amount("3", "count"),
    },
    "hold_back": {"capacity": amount("3", "us_qt"), "held": amount("1", "us_qt")},
    "antifreeze_needed": {"passages": amount("9", "L"), "spare": amount("20", "percent"), "can": amount("4", "L")},
    "antifreeze_used": {
        "before": amount("5", "L"), "after": amount("1", "L"), "least": amount("3", "L"), "most": amount("4", "L"),
    },
    "oil_balance": {"drained": amount("3", "L"), "poured": amount("3", "L"), "allowed": amount("1", "L")},
}  # fmt: skip


@pytest.mark.parametrize(
    ("name", "wrong", "message"),
    [
        ("dose_by_volume", {"volume": amount("-1", "L")}, "'volume' is -1 L, and must be from 0 L up"),
        ("dose_by_volume", {"volume": amount("1", "kg")}, "'volume' is 1 kg .mass., and must be a volume"),
        ("dose_by_volume", {"dose": amount("0", "mL")}, "'dose' is 0 mL, and must be above zero"),
        ("dose_by_volume", {"treats": amount("0", "L")}, "'treats' is 0 L, and must be above zero"),
        ("dose_by_volume", {"round_up_to": amount("0", "L")}, "'round_up_to' is 0 L, and must be above zero"),
        ("dose_by_volume", {"dose": amount("1", "L")}, "'dose' is 1 L and 'treats' is 1 L: a label treats more"),
        ("dose_by_volume", {"dose": amount("2.5", "us_gal")}, "are they exchanged"),
        ("dose_by_ratio", {"volume": amount("-1", "L")}, "'volume' is -1 L, and must be from 0 L up"),
        (
            "dose_by_ratio",
            {"parts": amount("1.9", "count")},
            "'parts' is 1.9, and must be from 2 to 10000 .common practice, no source.$",
        ),
        ("dose_by_ratio", {"parts": amount("10001", "count")}, "'parts' is 10001, and must be from 2 to 10000"),
        ("dose_by_ratio", {"round_up_to": amount("0", "mL")}, "'round_up_to' is 0 mL, and must be above zero"),
        ("two_stroke_oil", {"fuel": amount("0", "L")}, "'fuel' is 0 L, and must be above zero"),
        (
            "two_stroke_oil",
            {"parts": amount("9.9", "count")},
            "'parts' is 9.9, and must be from 10 to 150 .parts of fuel",
        ),
        ("two_stroke_oil", {"parts": amount("151", "count")}, "'parts' is 151, and must be from 10 to 150"),
        ("fogging_time", {"oil": amount("0", "mL")}, "'oil' is 0 mL, and must be above zero"),
        ("fogging_time", {"sprayed": amount("0", "mL")}, "'sprayed' is 0 mL, and must be above zero"),
        ("fogging_time", {"sprayed_in": amount("0", "s")}, "'sprayed_in' is 0 s, and must be above zero"),
        ("fogging_time", {"cylinders": amount("0", "count")}, "'cylinders' is 0, and must be from 1 to 16"),
        ("fogging_time", {"cylinders": amount("17", "count")}, "'cylinders' is 17, and must be from 1 to 16"),
        ("fogging_time", {"cylinders": amount("2.5", "count")}, "'cylinders' is 2.5, and must be a whole number"),
        ("hold_back", {"held": amount("3", "us_qt")}, "3 US qt cannot be held back from 3 US qt"),
        ("hold_back", {"held": amount("1", "us_gal")}, "1 US gal cannot be held back from 3 US qt"),
        ("hold_back", {"held": amount("0", "L")}, "0 L cannot be held back"),
        ("hold_back", {"held": amount("1", "V")}, "'held' is 1 V .voltage., and must be a volume"),
        ("hold_back", {"capacity": amount("0", "L")}, "'capacity' is 0 L, and must be above zero"),
        ("hold_back", {"capacity": amount("1", "kg"), "held": amount("1", "g")}, "'capacity' is 1 kg .mass."),
        ("antifreeze_needed", {"passages": amount("0", "L")}, "'passages' is 0 L, and must be above zero"),
        ("antifreeze_needed", {"can": amount("0", "L")}, "'can' is 0 L, and must be above zero"),
        (
            "antifreeze_needed",
            {"spare": amount("-1", "percent")},
            "'spare' is -1 %, and must be from 0 % to 200 % .common practice, no source.$",
        ),
        ("antifreeze_needed", {"spare": amount("201", "percent")}, "'spare' is 201 %, and must be from 0 % to 200 %"),
        ("antifreeze_used", {"after": amount("5.1", "L")}, "'after' is 5.1 L, more than the 5 L that there was before"),
        ("antifreeze_used", {"before": amount("-5", "L")}, "'before' is -5 L, and must be from 0 L up"),
        ("antifreeze_used", {"after": amount("-1", "L")}, "'after' is -1 L, and must be from 0 L up"),
        ("antifreeze_used", {"opened": amount("0", "L")}, "'opened' is 0 L, and must be above zero"),
        ("antifreeze_used", {"before": amount("1", "kg")}, "'before' is 1 kg .mass., and must be a volume"),
        ("antifreeze_used", {"opened": amount("1", "kg")}, "'opened' is 1 kg .mass., and must be a volume"),
        ("antifreeze_used", {"least": amount("4.1", "L")}, "'least' is 4.1 L and 'most' is 4 L: are they exchanged"),
        ("oil_balance", {"drained": amount("-1", "L")}, "'drained' is -1 L, and must be from 0 L up"),
        ("oil_balance", {"poured": amount("-1", "L")}, "'poured' is -1 L, and must be from 0 L up"),
        ("oil_balance", {"allowed": amount("-1", "L")}, "'allowed' is -1 L, and must be from 0 L up"),
    ],
)
def test_what_cannot_be_poured_is_refused(name: str, wrong: dict[str, Any], message: str) -> None:
    """A negative volume, an impossible pair, another kind: named; the good call is taken, by name."""
    with pytest.raises(ValueError, match=message):
        BY_NAME[name].function(**{**GOOD[name], **wrong})
    assert BY_NAME[name](**GOOD[name]).working

"""Cranking pressures against each other: every published rule at its boundary, and the lowest against its neighbours."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.procedure import Limit
from assistant.core.trade.compression import CRANKING
from assistant.core.trade.compression_balance import (
    NO_LEAK_FOUND,
    RULES,
    compression_balance,
    compression_by_rule,
    compression_neighbours,
    low_ones,
    low_pairs,
    ten_psi_in,
)
from assistant.core.trade.figure import Figure
from assistant.core.trade.limits import judge
from assistant.core.units import Amount, convert

sets = st.lists(st.decimals(min_value=0, max_value=400, places=0), min_size=2, max_size=8).filter(any)


def psi(*numbers: str) -> tuple[Amount, ...]:
    return tuple(Amount(Decimal(number), "psi") for number in numbers)


def by_rule(rule: str, *numbers: str) -> Figure:
    return compression_by_rule(rule=rule, pressures=psi(*numbers))


# rule, readings, verdict, weak. Sources: reference.md 7.4 (vectors and rules); the boundary as each rule is worded there
BY_RULE = [
    ("lowest_75", ("120", "115", "118", "92"), "within", "none"),  # 7.4: 76.7 %, passes
    ("lowest_90", ("120", "115", "118", "92"), "low", "cylinder 4"),  # 7.4: fails the 10 % rule
    ("ten_psi", ("120", "115", "118", "92"), "low", "cylinder 4"),  # 7.4: fails the 10 psi rule
    ("below_mean", ("120", "115", "118", "92"), "within", "none"),  # 7.4: 17.3 % below 111.25, passes
    ("lowest_75", ("120", "90"), "within", "none"),  # 7.4: exactly 75.0 %, passes
    ("lowest_75", ("120", "89"), "low", "cylinder 2"),  # 7.4: fails
    ("lowest_75", ("120", "89.99"), "low", "cylinder 2"),
    ("lowest_90", ("120", "108"), "within", "none"),  # "within 10 %": exactly 10 % is within
    ("lowest_90", ("120", "107.99"), "low", "cylinder 2"),
    ("ten_psi", ("120", "110"), "within", "none"),  # "no more than 10 psi": exactly 10 is no more
    ("ten_psi", ("120", "109.99"), "low", "cylinder 2"),
    ("ten_psi", ("109.9", "120", "105"), "low", "cylinders 1 and 3"),
    ("below_mean", ("110", "110", "80"), "low", "cylinder 3"),  # "20 % or more below": exactly 20 % of 100 is suspect
    ("below_mean", ("110", "110", "80.02"), "within", "none"),
    ("below_mean", ("110", "110", "79.99"), "low", "cylinder 3"),
]


@pytest.mark.parametrize(("rule", "readings", "verdict", "weak"), BY_RULE)
def test_each_rule_at_its_boundary(rule: str, readings: tuple[str, ...], verdict: str, weak: str) -> None:
    """On the boundary as the rule is worded, and a hair to either side."""
    figure = by_rule(rule, *readings)
    assert (figure.verdict, figure.answer) == (verdict, weak)
    assert figure.sources == (RULES[rule].source,)
    assert figure.cautions == (NO_LEAK_FOUND, *CRANKING)


def test_the_working_of_one_rule() -> None:
    """The set, then the rule that was asked for: 110 + 110 + 80 are 300, 80 % of their mean are 80."""
    assert by_rule("below_mean", "110", "110", "80").working == (
        "cylinder 1: 110, cylinder 2: 110, cylinder 3: 80 psi",
        "highest 110, lowest 80, apart 30, mean 100 psi",
        "lowest / highest = 72.7 %; lowest below the mean by 20 %",
        "below_mean, no cylinder 20 % or more below the average: above 80 psi, not kept by cylinder 3",
    )


@pytest.mark.parametrize("unit", ["kPa", "bar", "MPa"])
@pytest.mark.parametrize(("rule", "readings", "verdict", "weak"), [row for row in BY_RULE if "120" in row[1]])
def test_the_rules_hold_in_every_unit(rule: str, readings: tuple[str, ...], verdict: str, weak: str, unit: str) -> None:
    """The boundaries stay where they are when the gauge shows another unit."""
    converted = tuple(convert(reading, unit) for reading in psi(*readings))
    figure = compression_by_rule(rule=rule, pressures=converted)
    assert (figure.verdict, figure.answer) == (verdict, weak)


def test_the_set_that_the_rules_disagree_on_is_unsure() -> None:
    """reference.md 7.4: 120/115/118/92 passes two rules and fails two; both sides are named."""
    figure = compression_balance(pressures=psi("120", "115", "118", "92"))
    assert figure.verdict == "unsure"
    assert figure.answer == "cylinder 4"
    assert figure.beside == (
        ("below_mean", "none"),
        ("ten_psi", "cylinder 4"),
        ("lowest_75", "none"),
        ("lowest_90", "cylinder 4"),
    )
    assert figure.working == (
        "cylinder 1: 120, cylinder 2: 115, cylinder 3: 118, cylinder 4: 92 psi",
        "highest 120, lowest 92, apart 28, mean 111.25 psi",
        "lowest / highest = 76.7 %; lowest below the mean by 17.3 %",
        "below_mean, no cylinder 20 % or more below the average: above 89 psi, not kept by none",
        "ten_psi, no more than 10 psi between cylinders: at least 110 psi, not kept by cylinder 4",
        "lowest_75, lowest at least 75 % of the highest: at least 90 psi, not kept by none",
        "lowest_90, lowest within 10 % of the highest: at least 108 psi, not kept by cylinder 4",
        "the rules disagree: kept below_mean, lowest_75; not kept ten_psi, lowest_90",
    )
    assert figure.sources == (
        "below_mean: TM 1-1500-204-23-1, compression test",
        "ten_psi: TM 10-3930-618-20 para 2-12",
        "lowest_75: common practice, from memory",
        "lowest_90: common practice, from memory",
    )
    assert figure.cautions == (NO_LEAK_FOUND, *CRANKING)
    assert NO_LEAK_FOUND.startswith("A set in balance")
    assert "least figure comes first" in NO_LEAK_FOUND


@pytest.mark.parametrize(
    ("readings", "verdict", "weak"),
    [(("120", "118"), "within", "none"), (("120", "120", "60"), "low", "cylinder 3"),
     (("200", "60", "185"), "low", "cylinders 2 and 3"), (("60", "54"), "within", "none"),
     (("120", "120", "120", "105"), "unsure", "cylinder 4")],
)  # fmt: skip
def test_the_rules_together(readings: tuple[str, ...], verdict: str, weak: str) -> None:
    """All kept: within; the same ones failing all: low; a cylinder weak by any rule is named."""
    figure = compression_balance(pressures=psi(*readings))
    assert (figure.verdict, figure.answer) == (verdict, weak)
    assert any("disagree" in line for line in figure.working) == (verdict == "unsure")


@given(sets)
def test_balance_is_its_four_rules(numbers: list[Decimal]) -> None:
    """Within where none fails, low where all fail, else unsure; a stricter share never passes what a wider one fails."""
    readings = tuple(Amount(number, "psi") for number in numbers)
    verdicts = {rule: compression_by_rule(rule=rule, pressures=readings).verdict for rule in RULES}
    together = set(verdicts.values())
    expected = "unsure" if len(together) == 2 else together.pop()
    assert compression_balance(pressures=readings).verdict == expected
    assert not (verdicts["lowest_75"] == "low" and verdicts["lowest_90"] == "within")


@given(sets)
def test_the_share_rules_agree_with_the_limit_of_spread(numbers: list[Decimal]) -> None:
    """`limits.judge` with a spread of 10 or 25 percent is written another way, and says the same of the set."""
    first, *others = (Amount(number, "psi") for number in numbers)
    for rule, share in (("lowest_90", 10), ("lowest_75", 25)):
        judged = judge(first, Limit("spread", share=Decimal(share)), others).verdict
        figure = compression_by_rule(rule=rule, pressures=(first, *others))
        assert (judged == "within") == (figure.verdict == "within")


@given(sets)
def test_the_order_of_the_cylinders_changes_no_verdict(numbers: list[Decimal]) -> None:
    """Numbered from the other end, the same verdict, and as many weak."""
    readings = tuple(Amount(number, "psi") for number in numbers)
    for rule in RULES.values():
        assert len(rule.weak(numbers, "psi")) == len(rule.weak(numbers[::-1], "psi"))
    assert compression_balance(pressures=readings).verdict == compression_balance(pressures=readings[::-1]).verdict


NEIGHBOURS = [
    (("120", "115", "118", "92"), "cylinder 4", {"cylinder_4_below_cylinder_3": "26"}, "none"),
    (("120", "90", "118"), "cylinder 2", {"cylinder_2_below_cylinder_1": "30", "cylinder_2_below_cylinder_3": "28"}, "none"),
    (("92", "120", "118"), "cylinder 1", {"cylinder_1_below_cylinder_2": "28"}, "none"),
    (("120", "90", "90", "118"), "cylinders 2 and 3",
     {"cylinder_2_below_cylinder_1": "30", "cylinder_3_below_cylinder_4": "28"}, "head gasket between cylinders 2 and 3"),
    (("120", "90", "95", "118"), "cylinder 2",
     {"cylinder_2_below_cylinder_1": "30", "cylinder_2_below_cylinder_3": "5"}, "head gasket between cylinders 2 and 3"),
    (("120", "110", "110"), "cylinders 2 and 3", {"cylinder_2_below_cylinder_1": "10"}, "none"),
    (("120", "100", "100", "100"), "cylinders 2, 3 and 4", {"cylinder_2_below_cylinder_1": "20"},
     "head gasket between cylinders 2 and 3; head gasket between cylinders 3 and 4"),
    (("90", "120", "90"), "cylinders 1 and 3",
     {"cylinder_1_below_cylinder_2": "30", "cylinder_3_below_cylinder_2": "30"}, "none"),
    (("120", "120"), "none", {}, "none"),
]  # fmt: skip
"""Two side by side low, by more than 10 psi: head gasket (reference.md 7.4, TM 10-3930-647-14&P, unconfirmed)."""


@pytest.mark.parametrize(("readings", "lowest", "gaps", "suspect"), NEIGHBOURS)
def test_the_lowest_against_its_neighbours(
    readings: tuple[str, ...], lowest: str, gaps: dict[str, str], suspect: str
) -> None:
    """The lowest is named, by how much it is below each that stands beside it, and two low side by side are pointed at."""
    figure = compression_neighbours(pressures=psi(*readings))
    beside = dict(figure.beside)
    assert figure.answer == lowest
    assert beside.pop("suspect") == suspect
    assert beside == {name: Amount(Decimal(gap), "psi") for name, gap in gaps.items()}
    assert figure.verdict is None


def test_the_working_of_the_neighbours() -> None:
    """Lowest, gaps and the pair, line by line; the order is said, since only neighbours share a gasket."""
    figure = compression_neighbours(pressures=psi("120", "90", "95", "118"))
    assert figure.working == (
        "cylinder 1: 120, cylinder 2: 90, cylinder 3: 95, cylinder 4: 118 psi",
        "highest 120, lowest 90, apart 30, mean 105.75 psi",
        "lowest / highest = 75 %; lowest below the mean by 14.9 %",
        "lowest 90 psi: cylinder 2",
        "cylinder 2 below cylinder 1 by 30 psi",
        "cylinder 2 below cylinder 3 by 5 psi",
        "cylinders 2 and 3 are both more than 10 psi below the highest, side by side",
    )
    assert figure.sources == (
        "TM 10-3930-618-20 para 2-12 for 10 psi; TM 10-3930-647-14&P for two neighbours, unconfirmed",
    )
    assert figure.cautions == (
        "Order: neighbours are the ones side by side: of a V engine give one bank at a time.",
        *CRANKING,
    )


def test_low_ones_and_their_pairs() -> None:
    """More than 10 psi below the highest, exactly 10 is not; 1 and 3 are no neighbours."""
    numbers = [Decimal(n) for n in (100, 120, 110, 109, 105)]
    assert low_ones(numbers, "psi") == [1, 4, 5]
    assert low_pairs(numbers, "psi") == [(4, 5)]
    assert ten_psi_in("psi") == 10
    assert round(ten_psi_in("kPa"), 4) == Decimal("68.9476")  # reference.md 3: 6.894757 kPa


def test_what_is_no_set_or_no_rule_is_refused() -> None:
    """One cylinder, an unknown rule, nothing on any gauge."""
    for computation in (compression_balance, compression_neighbours):
        with pytest.raises(ValueError, match=r"^'pressures' needs at least two"):
            computation(pressures=psi("120"))
        with pytest.raises(ValueError, match=r"^'pressures' is 0 throughout"):
            computation(pressures=psi("0", "0"))
    with pytest.raises(
        ValueError, match=r"^'rule' is 'halves', and must be one of below_mean, ten_psi, lowest_75, lowest_90"
    ):
        by_rule("halves", "120", "110")
    with pytest.raises(ValueError, match=r"^'pressures' needs"):
        by_rule("ten_psi", "120")

"""The seasons of one reading: scores against published tables and scipy, changes and units by hand, refusals with reasons."""

from __future__ import annotations

from decimal import Decimal
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats

from assistant.core.procedure import Limit
from assistant.core.trade import seasons as module
from assistant.core.trade.seasons import (
    Change,
    NotTold,
    Score,
    Season,
    change_since_last,
    in_this_unit,
    limit_ahead,
    outlier_score,
    step_in,
    why_no_line,
)
from assistant.core.units import Amount, convert, plain


def season(value: str, unit: str = "psi", hours: str | None = None, job: str = "a.job", read_to: str = "1") -> Season:
    return Season(job, "2025-10-01", Decimal(hours) if hours else None, Amount(Decimal(value), unit), Decimal(read_to))


SCORES = [
    # A public worked example of the modified z-score, codingace.net/ds/modified_z_score.html (seen): each row's score.
    ("10 12 12 13 12 11 14 300", "-1.35 0 0 0.67 0 -0.67 1.35 194.26"),
    # Iglewicz and Hoaglin 1993, the book's own example (from memory): 8.2 and 8.3 hide each other from the plain z-score.
    ("2.1 2.6 2.4 2.5 2.3 2.1 2.3 2.6 8.2 8.3", "-1.57 0.67 -0.22 0.22 -0.67 -1.57 -0.67 0.67 25.86 26.31"),
    # Seo, A Review and Comparison of Methods for Detecting Outliers, University of Pittsburgh 2006, table 1 (from memory).
    (
        "3.2 3.4 3.7 3.7 3.8 3.9 4 4 4.1 4.2 4.7 4.8 14 15",
        "-1.80 -1.35 -0.67 -0.67 -0.45 -0.22 0 0 0.22 0.45 1.57 1.80 22.48 24.73",
    ),
]


@pytest.mark.parametrize(("values", "scores"), SCORES)
def test_published_scores(values: str, scores: str) -> None:
    """Each value of a published example, put last, has the score that is printed beside it."""
    numbers = [Decimal(v) for v in values.split()]
    for n, printed in enumerate(scores.split()):
        last = [*numbers[:n], *numbers[n + 1 :], numbers[n]]
        found = outlier_score(last)
        assert isinstance(found, Score)
        assert abs(found.value - Decimal(printed)) <= Decimal("0.005")
        assert found.of == len(numbers)
        far = "apart" if len(numbers) >= 10 else "unsure"
        assert found.verdict == (far if abs(Decimal(printed)) > Decimal("3.5") else "not apart")


NUMBERS = st.lists(st.decimals(-1000, 1000, places=2), min_size=4, max_size=15)


@given(NUMBERS)
def test_scores_are_scipys(values: list[Decimal]) -> None:
    """The score is 0.6745 times the distance from the median over scipy.stats.median_abs_deviation."""
    mad = float(stats.median_abs_deviation([float(v) for v in values]))
    found = outlier_score(values)
    if isinstance(found, NotTold):
        assert mad == pytest.approx(0, abs=1e-9)
    else:
        away = float(values[-1]) - float(np.median([float(v) for v in values]))
        assert float(found.value) == pytest.approx(0.6745 * away / mad, rel=1e-6, abs=0.00501)


@given(NUMBERS, st.decimals(-500, 500, places=1), st.sampled_from([Decimal("0.5"), Decimal(2), Decimal(-4)]))
def test_a_score_knows_no_unit(values: list[Decimal], shift: Decimal, factor: Decimal) -> None:
    """Another zero point or unit leaves the score as it is; a unit that runs the other way turns its sign."""
    plain, other = outlier_score(values), outlier_score([v * factor + shift for v in values])
    assume(isinstance(plain, Score))
    assert isinstance(plain, Score)
    assert isinstance(other, Score)
    assert other.value == plain.value * (1 if factor > 0 else -1)
    assert other.verdict == plain.verdict


def test_the_factor_is_the_normal_quartile() -> None:
    """0.6745 is the normal distribution's upper quartile to four places, by two libraries."""
    assert round(Decimal(NormalDist().inv_cdf(0.75)), 4) == module.TO_NORMAL == Decimal("0.6745")
    assert round(float(stats.norm.ppf(0.75)), 4) == 0.6745


@pytest.mark.parametrize(("last", "verdict"), [("3.4", "not apart"), ("3.5", "not apart"), ("3.5001", "apart"),
                                               ("-3.5", "not apart"), ("-3.5001", "apart")])  # fmt: skip
def test_a_score_of_just_3_5_is_not_apart(last: str, verdict: str) -> None:
    """More than 3.5 either way is apart, 3.5 itself is not (the source says more than); it is judged before rounding."""
    # median 0 and MAD 0.6745, so that the score is the value itself
    values = [Decimal(v) * Decimal("0.6745") for v in (-2, -1, -1, -1, -1, 0, 0, 0, 1, 1, 1, 2)]
    found = outlier_score([*values, Decimal(last)])
    assert isinstance(found, Score)
    assert (found.value, found.verdict) == (Decimal(last).quantize(Decimal("0.01")), verdict)


@pytest.mark.parametrize(("of", "verdict"), [(9, "unsure"), (10, "apart")])
def test_few_values_are_unsure(of: int, verdict: str) -> None:
    """The source tried its 3.5 on ten values and more: of fewer, a value that far away is unsure."""
    values = [Decimal(n % 3) for n in range(of - 1)]
    assert outlier_score([*values, Decimal(50)]) == Score(outlier_score([*values, Decimal(50)]).value, of, verdict)


@pytest.mark.parametrize("of", [1, 2, 3])
def test_too_few_for_a_score(of: int) -> None:
    """Under four values there is no score, and the reason counts them."""
    assert outlier_score([Decimal(n) for n in range(of)]) == NotTold(f"a score needs 4 seasons, and there are {of}")
    assert isinstance(outlier_score([Decimal(n) for n in (1, 2, 4, 8)]), Score)


@pytest.mark.parametrize("values", ["190 190 190 250", "5 5 5 5 9", "1 1 1 1"])
def test_no_spread_no_score(values: str) -> None:
    """Where more than half of the values are the same the MAD is zero: no score, never a division by nothing."""
    reason = "more than half of the values are the same: there is no spread to measure by"
    assert outlier_score([Decimal(v) for v in values.split()]) == NotTold(reason)
    assert isinstance(outlier_score([Decimal(v) for v in (190, 190, 191, 250)]), Score)


@pytest.mark.parametrize(("of", "share"), [(3, 0.096), (4, 0.042), (5, 0.054), (10, 0.017)])
def test_by_chance(of: int, share: float) -> None:
    """How often the last of normal values passes 3.5 by chance is as the module says, within five standard errors."""
    sets = np.random.default_rng(11).standard_normal((100_000, of))
    middle = np.median(sets, axis=1)
    mad = stats.median_abs_deviation(sets, axis=1)
    found = np.mean(np.abs(0.6745 * (sets[:, -1] - middle) / mad) > 3.5)
    assert abs(found - share) < 5 * (share / 100_000) ** 0.5 + 0.0005


CHANGES = [
    ("190", "185", "psi", "-5", "psi"),
    ("12.60", "12.6", "V", "0", "V"),
    ("-30", "-21", "degF", "9", "delta_F"),
    ("-10", "-15", "degC", "-5", "delta_K"),
]


@pytest.mark.parametrize(("before", "now", "unit", "change", "kind"), CHANGES)
def test_change_since_last_season(before: str, now: str, unit: str, change: str, kind: str) -> None:
    """This season's value less the one before; of temperatures that is a difference, never a temperature."""
    told = change_since_last([season("1", unit), season(before, unit, "10", "old.job"), season(now, unit, "52.5")])
    assert told == Change(Amount(Decimal(change), kind), "old.job", Decimal("42.5"))


@pytest.mark.parametrize(("before", "now"), [(None, "5"), ("5", None), (None, None)])
def test_hours_between_are_not_made_up(before: str | None, now: str | None) -> None:
    """Where either job has no engine hours, how many lie between is not told; the change is."""
    told = change_since_last([season("190", hours=before), season("185", hours=now)])
    assert isinstance(told, Change)
    assert told.hours is None


def test_no_earlier_season() -> None:
    """One season has no change."""
    assert change_since_last([season("190")]) == NotTold("no earlier season has it")


def test_seasons_in_this_seasons_unit() -> None:
    """Old values come in the unit of the newest, exact (1 bar is 100 kPa by definition), with the step they were read to."""
    turned = in_this_unit([season("13", "bar"), season("12", "bar"), season("1250", "kPa", read_to="10")])
    assert [(s.value, s.read_to) for s in turned] == [
        (Amount(Decimal(1300), "kPa"), Decimal(100)),
        (Amount(Decimal(1200), "kPa"), Decimal(100)),
        (Amount(Decimal(1250), "kPa"), Decimal(10)),
    ]


@pytest.mark.parametrize(
    ("step", "said_in", "unit", "is_"),
    [
        ("1", "bar", "psi", "14.503773773"),
        ("1", "degC", "degF", "1.8"),
        ("5", "degF", "degC", "2.777777778"),
        ("1", "psi", "psi", "1"),
    ],
)
def test_a_step_in_another_unit(step: str, said_in: str, unit: str, is_: str) -> None:
    """A step is a difference: the zero points of degC and degF are no part of it (NIST SP 811: 1 K is 1.8 degF)."""
    assert round(step_in(Decimal(step), said_in, unit), 9) == Decimal(is_)


def test_other_kinds_are_refused() -> None:
    """A value of another kind is refused with both jobs, the value, and both kinds."""
    with pytest.raises(ValueError, match="pressure") as fault:
        in_this_unit([season("13", "psi", job="old.job"), season("12", "psi"), season("92", "percent", job="new.job")])
    assert str(fault.value) == "old.job has 13 psi (pressure), new.job has percent (share)"


@given(st.decimals(0, 400, places=1), st.sampled_from(["psi", "kPa", "bar"]))
def test_units_go_there_and_back(value: Decimal, unit: str) -> None:
    """What is converted is the value that `convert` gives, and the last season is left as it is."""
    old, new = in_this_unit([season(str(value), "psi"), season("1", unit)])
    assert old.value == convert(Amount(value, "psi"), unit)
    assert new == season("1", unit)


LINES = [
    ("", "a rate needs 3 seasons with engine hours, and there are 0"),
    ("10 20", "a rate needs 3 seasons with engine hours, and there are 2"),
    ("10 10 10", "no running hours between the seasons"),
    ("10 10 20", None),
    ("10 20 20", None),
]


@pytest.mark.parametrize(("hours", "why"), LINES)
def test_where_no_line_can_be_drawn(hours: str, why: str | None) -> None:
    """Fewer than three seasons, or no running hours between them, and the reason says which."""
    assert why_no_line([Decimal(h) for h in hours.split()]) == (NotTold(why) if why else None)


def bound(rule: str, low: str = "", high: str = "", unit: str = "psi", **more: object) -> Limit:
    amounts = {k: Amount(Decimal(v), unit) for k, v in (("low", low), ("high", high)) if v}
    return Limit(rule, **amounts, **more)


AHEAD = [
    ("falling", "190", [bound("between", "175", "215")], "175"),
    ("rising", "190", [bound("between", "175", "215")], "215"),
    ("falling", "190", [bound("at_least", "175"), bound("at_least", "180")], "180"),
    ("falling", "190", [bound("at_least", "12", unit="bar"), bound("at_least", "1200", unit="kPa")], "174.045"),
    ("rising", "190", [bound("at_most", high="230"), bound("at_most", high="215")], "215"),
    ("falling", "190", [bound("at_least", "12", unit="bar")], "174.045"),
    ("falling", "175", [bound("at_least", "175")], "175"),
    ("rising", "215", [bound("at_most", high="215")], "215"),
    ("falling", "175.1", [bound("above", "175")], "175"),
    ("falling", "174.9", [bound("at_least", "175")], "it is past its limit of 175 psi already"),
    ("falling", "170", [bound("at_least", "12", unit="bar")], "it is past its limit of 174.045 psi already"),
    ("falling", "175", [bound("above", "175")], "it is past its limit of 175 psi already"),
    ("falling", "175", [bound("at_least", "175"), bound("above", "175")], "it is past its limit of 175 psi already"),
    ("rising", "215", [bound("below", high="215")], "it is past its limit of 215 psi already"),
    ("rising", "216", [bound("at_most", high="215")], "it is past its limit of 215 psi already"),
    ("rising", "190", [bound("at_least", "175")], "it rises, and no fixed limit lies on that side"),
    ("falling", "190", [bound("at_most", high="215")], "it falls, and no fixed limit lies on that side"),
    ("falling", "190", [Limit("spread", share=Decimal(10))], "it falls, and no fixed limit lies on that side"),
    ("falling", "190", [bound("between", "1", "2", other="last")], "it falls, and no fixed limit lies on that side"),
    ("falling", "190", [Limit("at_least", low="name")], "it falls, and no fixed limit lies on that side"),
    ("falling", "190", [], "it falls, and no fixed limit lies on that side"),
]  # fmt: skip


@pytest.mark.parametrize(("way", "value", "limits", "told"), AHEAD)
def test_the_limit_ahead(way: str, value: str, limits: list[Limit], told: str) -> None:
    """The nearest fixed bound on the side that it goes to; on an inclusive bound it is still within, past it is said so."""
    found = limit_ahead(limits, Amount(Decimal(value), "psi"), falling=way == "falling")
    if isinstance(found, NotTold):
        assert found.why == told
    else:
        assert (plain(round(found.value, 3)), found.unit) == (told, "psi")

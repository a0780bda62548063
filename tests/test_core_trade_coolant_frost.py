"""Liquid, slush and burst, kept apart (../shared/reference.md section 5.5)."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.trade.coolant_frost import BURST, D1177, GROWTH, NO_BURST_TEST, SLUSH, frost_protection
from assistant.core.trade.coolant_tables import CLOSED_ONLY, RAW_WATER, WASTE
from assistant.core.trade.figure import Figure
from assistant.core.trade.registry import BY_NAME
from assistant.core.units import Amount


def amount(number: str, unit: str) -> Amount:
    return Amount(Decimal(number), unit)


def frost(stands: str, lowest: str, *, glycol: str = "propylene", unit: str = "degC", **more: Amount) -> Figure:
    margin = more.pop("margin", amount("5", "delta_K"))
    return frost_protection(
        glycol=glycol,
        stands=amount(stands, unit),
        lowest=amount(lowest, unit),
        margin=margin,
        **more,
    )


VERDICTS = [  # 5 K below -20 is -25; a refractometer is about 1 degC off (ASTM D3321, older edition)
    ("-26", "-20", "within"),
    ("-26.01", "-20", "within"),
    ("-25.99", "-20", "unsure"),
    ("-25", "-20", "unsure"),
    ("-24", "-20", "unsure"),
    ("-23.99", "-20", "high"),
    ("-20", "-20", "high"),
]


@pytest.mark.parametrize(("stands", "lowest", "verdict"), VERDICTS)
def test_the_margin_is_kept_with_the_refractometer_in_mind(stands: str, lowest: str, verdict: str) -> None:
    """At the boundary and a hair either side."""
    figure = frost(stands, lowest)
    assert (figure.verdict, figure.answer) == (verdict, "liquid at -20 °C")


@pytest.mark.parametrize(
    ("stands", "off", "verdict"), [("-25", "0", "within"), ("-24.9", "0", "high"), ("-27", "3", "unsure")]
)
def test_a_better_or_worse_gauge_narrows_or_widens_what_is_unsure(stands: str, off: str, verdict: str) -> None:
    """Nothing is unsure for a perfect gauge."""
    assert frost(stands, "-20", off_by=amount(off, "delta_K")).verdict == verdict


def test_fahrenheit_is_judged_alike() -> None:
    """reference.md 5.2: -35 for -25 degF less 10; 1 degC is 1.8 degF."""
    margin = amount("10", "delta_F")
    assert frost("-36.8", "-25", glycol="ethylene", unit="degF", margin=margin).verdict == "within"
    assert frost("-36.7", "-25", glycol="ethylene", unit="degF", margin=margin).verdict == "unsure"
    assert frost("-33.1", "-25", glycol="ethylene", unit="degF", margin=margin).verdict == "high"


@pytest.mark.parametrize(
    ("stands", "answer"),
    [("-20", "liquid at -20 °C"), ("-19.99", "slush at -20 °C"), ("-17", "slush at -20 °C"), ("0", "slush at -20 °C")],
)
def test_below_its_freezing_point_it_is_slush(stands: str, answer: str) -> None:
    """ASTM D1177: the freezing point is the first ice crystals; slush is never called protected."""
    figure = frost(stands, "-20")
    assert figure.answer == answer
    assert figure.verdict == "high"


def test_a_burst_rating_is_told_and_never_counted() -> None:
    """The same verdict with and without a container's promise of -50 degF (about -46 degC)."""
    plain, promised = frost("-12.8", "-20"), frost("-12.8", "-20", printed_burst=amount("-50", "degF"))
    assert plain.beside == ()
    assert promised.beside == (("printed_burst_not_counted", amount("-50", "degF")),)
    assert (promised.answer, promised.verdict) == (plain.answer, plain.verdict) == ("slush at -20 °C", "high")
    assert promised.working == plain.working
    with pytest.raises(ValueError, match="'printed_burst' is 50 psi"):
        frost("-12.8", "-20", printed_burst=amount("50", "psi"))


def test_slush_and_burst_are_explained() -> None:
    """What each means, that no recognised test rates the second, and what 35 percent does."""
    figure = frost("-20", "-25")
    assert figure.working == (
        "-25 °C less 5 K is -30 °C",
        "first ice at -20 °C, give or take 1 K; wanted -30 °C or colder: high",
        "at -25 °C it is slush: ice crystals in liquid",
    )
    assert frost("-26", "-20").working[-1] == "at -20 °C it is still liquid"
    assert figure.sources[1:] == (D1177, NO_BURST_TEST, GROWTH)
    assert "Navy 14329" in figure.sources[0]
    assert "first ice crystals" in D1177
    assert "no recognised test" in NO_BURST_TEST
    assert GROWTH.startswith("water grows 9 to 10 % as it freezes; a fill of about 35 % propylene")
    assert "slush near 1 °F" in GROWTH
    assert "does not circulate" in SLUSH
    assert "is no freezing point" in BURST
    assert figure.cautions[:3] == (SLUSH, BURST, RAW_WATER)
    assert WASTE in figure.cautions
    assert CLOSED_ONLY in frost("-20", "-25", glycol="ethylene").cautions


def test_a_wider_guard_is_told() -> None:
    """The gauge stands in the working."""
    assert "give or take 2 K" in frost("-20", "-25", off_by=amount("2", "delta_K")).working[1]


@pytest.mark.parametrize(
    ("stands", "glycol", "message"),
    [
        ("-50.1", "propylene", "'stands' is -50.1 °C, and must be from -50 °C to 0 °C .*CoolProp"),
        ("-54", "ethylene", "OD1001"),
        ("0.1", "ethylene", "'stands' is 0.1 °C"),
    ],
)
def test_what_no_strength_stands_is_refused(stands: str, glycol: str, message: str) -> None:
    """OD1001: -65 degF at 60 percent of ethylene glycol, and no strength beats it."""
    with pytest.raises(ValueError, match=message):
        frost(stands, "-20", glycol=glycol)


def test_what_is_no_margin_is_refused() -> None:
    """A temperature is no difference; nothing is off by less than nothing."""
    with pytest.raises(ValueError, match="makes no sense"):
        frost("-20", "-25", margin=amount("5", "degC"))
    with pytest.raises(ValueError, match="'off_by' is -1 K"):
        frost("-20", "-25", off_by=amount("-1", "delta_K"))
    with pytest.raises(ValueError, match="'lowest' is 5 psi"):
        frost_protection(
            glycol="propylene", stands=amount("-20", "degC"), lowest=amount("5", "psi"), margin=amount("5", "delta_K")
        )
    assert frost("-50", "-40").verdict == "within"
    assert frost("-65", "-40", glycol="ethylene", unit="degF").verdict == "within"


TEMPERATURES = st.decimals(-40, 0, places=1)


@given(TEMPERATURES, TEMPERATURES, st.decimals(0, 5, places=1), st.decimals(0, 5, places=1))
def test_a_worse_gauge_never_lets_more_pass(stands: Decimal, lowest: Decimal, a: Decimal, b: Decimal) -> None:
    """Guard bands never widen acceptance; a perfect gauge is never unsure."""
    good, bad = sorted((a, b))

    def verdict(off: Decimal) -> str | None:
        return frost(str(stands), str(lowest), off_by=Amount(off, "delta_K")).verdict

    assert not (verdict(bad) == "within" and verdict(good) != "within")
    assert not (verdict(bad) == "high" and verdict(good) != "high")
    assert verdict(Decimal(0)) == ("within" if stands <= lowest - 5 else "high")


def test_it_is_called_by_name() -> None:
    """As `layup figure` does."""
    assert BY_NAME["frost_protection"].summary.startswith("Whether coolant that stands")

"""Worn parts: geometry and proportions that can be checked by another way, judged by limits as a sheet gives them."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.trade.reckoning import about, one_of, whole
from assistant.core.trade.registry import BY_NAME
from assistant.core.trade.sheet_limits import by_the_sheet
from assistant.core.trade.worn_parts import (
    Side,
    Wears,
    anode_by_size,
    anode_by_weight,
    belt_deflection,
    belt_width,
    impeller_clearance_by_diameters,
    impeller_clearance_by_feelers,
    plug_gap,
)
from assistant.core.units import Amount

SHEET = "limits of the machine sheet, which names its page"
hundredths = st.decimals("0", "2", places=2)


def amount(number: str, unit: str) -> Amount:
    return Amount(Decimal(number), unit)


def mm(number: str) -> Amount:
    return amount(number, "mm")


# ---- impeller

FEELERS: list[tuple[str, str, Side, str | None, str, str, str]] = [
    # two gaps of one pump: one side their mean, across their sum (geometry); limits inclusive
    ("0.20", "0.30", "per_side", None, "0.25", "0.25", "within"),
    ("0.20", "0.31", "per_side", None, "0.25", "0.255", "high"),
    ("0.20", "0.30", "across", None, "0.50", "0.5", "within"),
    ("0.20", "0.30", "across", None, "0.49", "0.5", "high"),
    ("0.20", "0.30", "per_side", "0.25", "0.30", "0.25", "within"),
    ("0.20", "0.29", "per_side", "0.25", "0.30", "0.245", "low"),
    # rubbing on one side
    ("0", "0.40", "per_side", None, "0.25", "0.2", "within"),
]


@pytest.mark.parametrize(("one", "other", "side", "least", "most", "answer", "verdict"), FEELERS)
def test_clearance_from_two_feelers(
    one: str, other: str, side: Side, least: str | None, most: str, answer: str, verdict: str
) -> None:
    """Judged by the limit as the manual counts it."""
    figure = impeller_clearance_by_feelers(
        one_side=mm(one), other_side=mm(other), limit_is=side, most=mm(most), least=mm(least) if least else None
    )
    assert (figure.amount, figure.verdict) == (mm(answer), verdict)


def test_a_clearance_by_feelers_can_be_followed() -> None:
    """In the unit of the first reading; the other count and how far off the middle stand beside."""
    figure = impeller_clearance_by_feelers(
        one_side=amount("8", "thou"), other_side=mm("0.25"), limit_is="per_side", most=amount("14", "thou")
    )
    # 0.25 mm are 9.8425 thou (inch 25.4 mm)
    assert figure.amount == amount("8.9213", "thou")
    assert figure.beside == (("across", amount("17.843", "thou")), ("off_the_middle", amount("0.92126", "thou")))
    assert figure.working == (
        "8 thou and 9.843 thou: together 17.84 thou",
        "half of it is each side; the limit is per side",
        "8.921 thou is within by 5.079 thou: at most 14 thou",
    )
    assert figure.sources == ("geometry: both gaps together are ring less impeller", SHEET)
    assert "Battery off" in figure.cautions[0] and "opposite each other" in figure.cautions[1]


def test_a_clearance_by_diameters_can_be_followed() -> None:
    """A ring of 140 mm round an impeller of 139.4 mm: 0.6 across, 0.3 each side."""
    asked = {"ring": mm("140"), "impeller": mm("139.4")}
    figure = impeller_clearance_by_diameters(**asked, limit_is="across", most=mm("0.6"))
    assert (figure.amount, figure.verdict, figure.beside) == (mm("0.6"), "within", (("per_side", mm("0.3")),))
    assert figure.working == (
        "140 mm less 139.4 mm: together 0.6 mm",
        "half of it is each side; the limit is across",
        "0.6 mm is within by 0 mm: at most 0.6 mm",
    )
    assert "Battery off" in figure.cautions[0] and len(figure.cautions) == 1
    assert impeller_clearance_by_diameters(**asked, limit_is="across", most=mm("0.599")).verdict == "high"
    assert (
        impeller_clearance_by_diameters(**asked, limit_is="per_side", most=mm("1"), least=mm("0.301")).verdict == "low"
    )
    touching = impeller_clearance_by_diameters(ring=mm("140"), impeller=mm("140"), limit_is="across", most=mm("1"))
    assert touching.amount == mm("0")
    inches = impeller_clearance_by_diameters(
        ring=amount("5.5", "inch"), impeller=mm("139.4"), limit_is="across", most=mm("0.3")
    )
    assert (inches.amount, inches.verdict) == (amount("0.011811", "inch"), "within")  # 139.7 mm less 139.4 mm
    assert inches.working[0] == "5.5 in less 5.4882 in: together 0.01181 in"


@given(hundredths, hundredths, st.sampled_from(["per_side", "across"]))
def test_feelers_and_diameters_agree(one: Decimal, other: Decimal, side: Side) -> None:
    """Wherever the shaft hangs, both gaps together are ring less impeller; across is twice each side."""
    most = mm("0.7")
    ring = Decimal(140)
    by_feelers = impeller_clearance_by_feelers(
        one_side=Amount(one, "mm"), other_side=Amount(other, "mm"), limit_is=side, most=most
    )
    by_diameters = impeller_clearance_by_diameters(
        ring=Amount(ring, "mm"), impeller=Amount(ring - one - other, "mm"), limit_is=side, most=most
    )
    assert by_feelers.amount == by_diameters.amount and by_feelers.verdict == by_diameters.verdict
    both = dict([*by_feelers.beside[:1], (side, by_feelers.amount)])
    assert both["across"].value == 2 * both["per_side"].value


# ---- plug, belt

GAPS = [
    ("0.7", "within", "0.05"),
    ("0.69", "low", "0.06"),
    ("0.75", "within", "0"),
    ("0.8", "within", "-0.05"),
    ("0.81", "high", "-0.06"),
]


@pytest.mark.parametrize(("gap", "verdict", "change"), GAPS)
def test_a_plug_gap(gap: str, verdict: str, change: str) -> None:
    """Judged by the sheet, bounds within; how far to the middle stands beside."""
    figure = plug_gap(gap=mm(gap), least=mm("0.7"), most=mm("0.8"))
    assert (figure.amount, figure.verdict) == (mm(gap), verdict)
    assert figure.beside == (("to_the_middle", mm(change)),)


def test_a_plug_gap_in_two_units() -> None:
    """28 thou are 0.7112 mm; the working is rounded."""
    figure = plug_gap(gap=amount("28", "thou"), least=mm("0.7"), most=mm("0.8"))
    assert figure.working == (
        "28 thou is within by 0.4409 thou: 0.7 mm to 0.8 mm",
        "the middle is 29.53 thou: 1.528 thou to it",
    )
    assert figure.beside == (("to_the_middle", amount("1.5276", "thou")),)
    assert figure.sources == (SHEET,) and "Engine cold" in figure.cautions[0]


def test_a_belt_width() -> None:
    """At the least it is within; a hair under is low; what is left stands beside."""
    for width, verdict, left in (("29", "within", "1"), ("28", "within", "0"), ("27.99", "low", "-0.01")):
        figure = belt_width(width=mm(width), least=mm("28"), new=mm("30"))
        assert (figure.amount, figure.verdict) == (mm(width), verdict)
        assert figure.beside == (("left_to_wear", mm(left)),)
    assert figure.working == ("27.99 mm is low by 0.01 mm: at least 28 mm",)
    assert figure.sources == (SHEET,) and "Engine stopped" in figure.cautions[0]
    assert belt_width(width=mm("30"), least=mm("28"), new=mm("30")).verdict == "within"
    assert belt_width(width=amount("1.2", "inch"), least=mm("28")).beside == (
        ("left_to_wear", amount("0.097638", "inch")),
    )


@pytest.mark.parametrize(
    ("deflection", "verdict", "tells"),
    [
        ("8", "within", ()), ("7.9", "low", ("too tight: bearings suffer",)), ("10", "within", ()),
        ("10.1", "high", ("too slack: it slips",)), ("0", "low", ("too tight: bearings suffer",)),
    ],
)  # fmt: skip
def test_a_belt_deflection(deflection: str, verdict: str, tells: tuple[str, ...]) -> None:
    """Low is too tight, high too slack."""
    figure = belt_deflection(deflection=mm(deflection), least=mm("8"), most=mm("10"))
    assert (figure.amount, figure.verdict) == (mm(deflection), verdict)
    assert figure.working[1:] == tells and figure.working[0].endswith(": 8 mm to 10 mm")
    assert figure.sources == (SHEET,) and "Engine stopped" in figure.cautions[0]


# ---- anode

WEIGHTS = [
    ("150", "90", "30", "50", "within"),
    ("150", "89.9", "30", "49.917", "low"),
    ("150", "75", None, "50", "within"),
    ("150", "74.9", None, "49.933", "low"),
    ("150", "30", "30", "0", "low"),
    ("150", "150", "30", "100", "within"),
    ("150", "0", None, "0", "low"),
    ("1", "0.6", None, "60", "within"),
]


@pytest.mark.parametrize(("new", "now", "core", "left", "verdict"), WEIGHTS)
def test_an_anode_by_weight(new: str, now: str, core: str | None, left: str, verdict: str) -> None:
    """What wastes is the metal round the core; half left is within, a hair less is low (proportion)."""
    figure = anode_by_weight(
        new=amount(new, "g"),
        now=amount(now, "g"),
        least=amount("50", "percent"),
        core=amount(core, "g") if core else None,
    )
    assert (figure.amount, figure.verdict) == (amount(left, "percent"), verdict)


def test_an_anode_can_be_followed() -> None:
    """The working, the source and what a weight cannot tell."""
    asked = {"new": amount("0.15", "kg"), "now": amount("80", "g"), "least": amount("50", "percent")}
    figure = anode_by_weight(**asked, core=amount("30", "g"))
    assert figure.working == (
        "(80 g less 30 g) / (0.15 kg less 30 g) = 41.67 % left",
        "41.67 % is low by 8.333 %: at least 50 %",
    )
    assert figure.sources == ("proportion by weight, without the metal core", SHEET)
    assert "painted" in figure.cautions[0]
    assert anode_by_weight(**asked).working[0] == "(80 g less 0 g) / (0.15 kg less 0 g) = 53.33 % left"
    size = anode_by_size(new=mm("20"), now=mm("15"), wears="round", least=amount("50", "percent"))
    assert size.working[0] == "(15 mm / 20 mm) x (15 mm / 20 mm) = 56.25 % left"
    assert size.sources == ("geometry: what is left goes by one size, its square or its cube", SHEET)
    assert "painted" in size.cautions[0]


SIZES: list[tuple[str, str, Wears, str, str]] = [
    # geometry: 15 of 20: three quarters of a plate, 9/16 of a rod, 27/64 of a lump
    ("20", "15", "thickness", "75", "within"),
    ("20", "15", "round", "56.25", "within"),
    ("20", "15", "lump", "42.188", "low"),
    ("20", "10", "thickness", "50", "within"),
    ("20", "9.99", "thickness", "49.95", "low"),
    ("20", "20", "lump", "100", "within"),
    ("20", "0", "round", "0", "low"),
]


@pytest.mark.parametrize(("new", "now", "wears", "left", "verdict"), SIZES)
def test_an_anode_by_size(new: str, now: str, wears: Wears, left: str, verdict: str) -> None:
    """A plate by its thickness, a rod by the square, a lump by the cube."""
    figure = anode_by_size(new=mm(new), now=mm(now), wears=wears, least=amount("50", "percent"))
    assert (figure.amount, figure.verdict) == (amount(left, "percent"), verdict)


def test_a_share_is_judged_before_it_is_rounded() -> None:
    """49.9999 percent reads as 50, and is still low."""
    figure = anode_by_weight(new=amount("1000000", "g"), now=amount("499999", "g"), least=amount("50", "percent"))
    assert (figure.amount, figure.verdict) == (amount("50", "percent"), "low")


@given(st.decimals("1", "50", places=1), st.decimals("0.5", "0.99", places=2))
def test_less_is_left_where_more_sides_waste(new: Decimal, part: Decimal) -> None:
    """The same size gone means least for a lump, then a rod, then a plate."""
    asked = {"new": Amount(new, "mm"), "now": Amount(new * part, "mm"), "least": amount("50", "percent")}
    plate, rod, lump = (anode_by_size(wears=w, **asked).amount.value for w in ("thickness", "round", "lump"))
    assert lump < rod < plate


# ---- refusals

GOOD: dict[str, dict[str, Any]] = {
    "impeller_clearance_by_feelers": {
        "one_side": mm("0.2"),
        "other_side": mm("0.3"),
        "limit_is": "across",
        "most": mm("1"),
    },
    "impeller_clearance_by_diameters": {
        "ring": mm("140"),
        "impeller": mm("139"),
        "limit_is": "across",
        "most": mm("1"),
    },
    "plug_gap": {"gap": mm("0.75"), "least": mm("0.7"), "most": mm("0.8")},
    "anode_by_weight": {"new": amount("150", "g"), "now": amount("80", "g"), "least": amount("100", "percent")},
    "anode_by_size": {"new": mm("20"), "now": mm("10"), "wears": "round", "least": amount("0", "percent")},
    "belt_width": {"width": mm("29"), "least": mm("28")},
    "belt_deflection": {"deflection": mm("9"), "least": mm("8"), "most": mm("10")},
}


@pytest.mark.parametrize(
    ("name", "wrong", "message"),
    [
        ("impeller_clearance_by_feelers", {"one_side": mm("-0.1")}, "'one_side' is -0.1 mm, and must be from 0 mm up"),
        ("impeller_clearance_by_feelers", {"other_side": mm("-0.1")}, "'other_side' is -0.1 mm, and must be from 0 mm up"),
        ("impeller_clearance_by_feelers", {"limit_is": "both"}, "'limit_is' is 'both', and must be one of per_side, across"),
        ("impeller_clearance_by_feelers", {"least": mm("1.1")}, "'least' is 1.1 mm and 'most' is 1 mm: are they exchanged"),
        ("impeller_clearance_by_feelers", {"most": amount("1", "V")}, "V .voltage. cannot become mm"),
        ("impeller_clearance_by_diameters", {"impeller": mm("140.1")}, "'impeller' is 140.1 mm and 'ring' is 140 mm: it"),
        ("impeller_clearance_by_diameters", {"impeller": mm("0")}, "'impeller' is 0 mm, and must be above zero"),
        ("impeller_clearance_by_diameters", {"ring": mm("0")}, "'ring' is 0 mm, and must be above zero"),
        ("plug_gap", {"gap": mm("0")}, "'gap' is 0 mm, and must be above zero"),
        ("plug_gap", {"least": mm("0.81")}, "are they exchanged"),
        ("anode_by_weight", {"new": amount("0", "g")}, "'new' is 0 g, and must be above zero"),
        ("anode_by_weight", {"now": amount("-1", "g")}, "'now' is -1 g, and must be from 0 g up"),
        ("anode_by_weight", {"now": amount("151", "g")}, "'now' is 151 g, and must be from its core, 0 g, to what it"),
        ("anode_by_weight", {"core": amount("81", "g")}, "'now' is 80 g, and must be from its core, 81 g, to what it"),
        ("anode_by_weight", {"core": amount("-1", "g")}, "'core' is -1 g, and must be from 0 g up"),
        (
            "anode_by_weight", {"core": amount("150", "g"), "now": amount("150", "g")},
            "'now' is 150 g, and must be from its core, 150 g, to what it weighed new, 150 g",
        ),
        ("anode_by_weight", {"least": amount("101", "percent")}, "'least' is 101 %, and must be from 0 % to 100 %"),
        ("anode_by_size", {"least": amount("-1", "percent")}, "'least' is -1 %, and must be from 0 % to 100 %"),
        ("anode_by_size", {"now": mm("20.1")}, "'now' is 20.1 mm, and cannot be above what it was new, 20 mm"),
        ("anode_by_size", {"now": mm("-1")}, "'now' is -1 mm, and must be from 0 mm up"),
        ("anode_by_size", {"new": mm("0")}, "'new' is 0 mm, and must be above zero"),
        ("anode_by_size", {"wears": "cube"}, "'wears' is 'cube', and must be one of thickness, round, lump"),
        ("belt_width", {"width": mm("0")}, "'width' is 0 mm, and must be above zero"),
        ("belt_width", {"new": mm("28.9")}, "'width' is 29 mm, and cannot be above what it was new, 28.9 mm"),
        ("belt_width", {"new": mm("0")}, "'new' is 0 mm, and must be above zero"),
        ("belt_deflection", {"deflection": mm("-1")}, "'deflection' is -1 mm, and must be from 0 mm up"),
        ("belt_deflection", {"least": mm("11")}, "are they exchanged"),
    ],
)  # fmt: skip
def test_an_impossible_part_is_refused(name: str, wrong: dict[str, Any], message: str) -> None:
    """The input at fault is named with its value; the good call is taken, by name."""
    with pytest.raises(ValueError, match=message):
        BY_NAME[name].function(**{**GOOD[name], **wrong})
    assert BY_NAME[name](**GOOD[name]).verdict is not None


def test_a_value_needs_a_limit() -> None:
    """Without least and most there is nothing to judge by; one limit alone may be exactly met, both may be the same."""
    with pytest.raises(ValueError, match=r"^give 'least' or 'most': there is no limit to judge by$"):
        by_the_sheet(mm("1"), None, None)
    assert by_the_sheet(mm("1"), mm("1"), None) == ("within", "1 mm is within by 0 mm: at least 1 mm")
    assert by_the_sheet(mm("1"), None, mm("1")) == ("within", "1 mm is within by 0 mm: at most 1 mm")
    assert by_the_sheet(mm("1"), mm("1"), mm("1")) == ("within", "1 mm is within by 0 mm: 1 mm to 1 mm")
    assert by_the_sheet(mm("1"), mm("2"), None) == ("low", "1 mm is low by 1 mm: at least 2 mm")
    assert by_the_sheet(mm("0"), mm("0"), mm("0.3")) == ("within", "0 mm is within by 0 mm: 0 mm to 0.3 mm")


def test_reckoning() -> None:
    """Four figures to read, whole counts only, and a word that is in its table."""
    assert about(mm("1.23456")) == "1.235 mm" and about(mm("12345")) == "12350 mm"
    assert whole("n", amount("3", "count"), 1, 3) == 3
    with pytest.raises(ValueError, match=r"'n' is 4, and must be from 1 to 3 \(because\)"):
        whole("n", amount("4", "count"), 1, 3, "because")
    with pytest.raises(ValueError, match=r"'n' is 4, and must be from 1 to 3$"):
        whole("n", amount("4", "count"), 1, 3)
    assert one_of("joint", "reused", {"reused": 75}) == 75

"""Mixing by volume, against the worked cases of ../shared/reference.md section 5.6."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.trade.coolant import coolant_by_share
from assistant.core.trade.coolant_mixing import (
    BY_MASS,
    BY_VOLUME,
    STIR,
    add_for_the_cold,
    antifreeze_to_add,
    antifreeze_to_swap,
    glycol_by_mass_share,
    strength_after_mixing,
    swap_for_the_cold,
)
from assistant.core.trade.coolant_tables import CLOSED_ONLY, RAW_WATER, WASTE
from assistant.core.trade.registry import BY_NAME
from assistant.core.units import Amount


def amount(number: str, unit: str) -> Amount:
    return Amount(Decimal(number), unit)


def percent(number: str) -> Amount:
    return amount(number, "percent")


ADDED = [  # (left, its strength, antifreeze, wanted, answer)
    ("0.5", None, "60", "50", "2.5"),  # reference.md 5.6: 0.5 L water left, 60 % pre-mix, want 50 %
    ("0.5", None, "100", "50", "0.5"),  # reference.md 5.6: 0.5 L water left, neat glycol, want 50 %
    ("4", "35", "100", "50", "1.2"),  # 4 x 15 / 50, by hand
    ("1", "30", "60", "30", "0"),  # it has what is wanted
    ("1", "0", "100", "25", "0.333"),  # one to three
]


@pytest.mark.parametrize(("left", "old", "new", "wanted", "answer"), ADDED)
def test_how_much_to_add(left: str, old: str | None, new: str, wanted: str, answer: str) -> None:
    """V x (wanted - inside) / (put in - wanted), with the room that the mixture needs."""
    figure = antifreeze_to_add(
        left=amount(left, "L"),
        strength=percent(new),
        wanted=percent(wanted),
        basis="volume",
        left_strength=percent(old) if old else None,
    )
    assert figure.answer == amount(answer, "L")
    assert dict(figure.beside) == {"basis": "volume", "room_needed": Amount(Decimal(left) + Decimal(answer), "L")}
    assert figure.working == (f"{left} L x ({wanted} - {old or 0}) / ({new} - {wanted}) = {answer} L",)
    assert (figure.sources, figure.cautions) == ((BY_VOLUME,), (STIR, WASTE))


def test_how_much_to_swap() -> None:
    """reference.md 5.6: 4 L at 35 %, neat glycol, want 50 %: drain 0.923 L; with 60 % pre-mix 4 x 15 / 25 by hand."""
    asked = {"capacity": amount("4", "L"), "present": percent("35"), "wanted": percent("50"), "basis": "volume"}
    figure = antifreeze_to_swap(**asked)
    assert figure.answer == amount("0.923", "L")
    assert figure.working == ("4 L x (50 - 35) / (100 - 35) = 0.923 L", "drain 0.923 L, fill with as much of 100 %")
    assert (figure.beside, figure.sources, figure.cautions) == ((("basis", "volume"),), (BY_VOLUME,), (STIR, WASTE))
    assert antifreeze_to_swap(**asked, fresh=percent("60")).answer == amount("2.4", "L")
    gallons = asked | {"capacity": amount("1", "us_gal")}
    assert antifreeze_to_swap(**gallons).answer == amount("0.231", "us_gal")


def test_strength_after_mixing_with_the_water_left_inside() -> None:
    """reference.md 5.6: 2 L of 50 % into 0.4 L of water is 41.67 % by volume, and stands -22.6 degC by table 5.1."""
    figure = strength_after_mixing(
        added=amount("2", "L"), strength=percent("50"), left=amount("0.4", "L"), basis="volume"
    )
    assert figure.answer == percent("41.67")
    assert figure.beside == (("basis", "volume"),)
    assert figure.working == (
        "glycol: 2 L x 50 % + 0.4 L x 0 % = 1 L",
        "altogether 2.4 L: 41.67 % by volume",
    )
    assert (figure.sources, figure.cautions) == ((BY_VOLUME,), (STIR, WASTE))
    stands = coolant_by_share(glycol="propylene", share=figure.amount, basis="volume").amount
    assert round(stands.value, 1) == Decimal("-22.6")


def test_units_of_volume_may_differ() -> None:
    """A quart left in half a gallon is a third of it all; what is left may also have a strength."""
    figure = strength_after_mixing(
        added=amount("0.5", "us_gal"), strength=percent("60"), left=amount("1", "us_qt"), basis="volume"
    )
    assert figure.answer == percent("40")
    assert "0.25 US gal" in figure.working[0]
    both = strength_after_mixing(
        added=amount("1", "L"),
        strength=percent("60"),
        left=amount("1", "L"),
        basis="volume",
        left_strength=percent("30"),
    )
    assert both.answer == percent("45")
    assert both.working[0] == "glycol: 1 L x 60 % + 1 L x 30 % = 0.9 L"
    millilitres = strength_after_mixing(
        added=amount("1", "us_gal"), strength=percent("60"), left=amount("100", "mL"), basis="volume"
    )
    # 0.1 / 3.785411784 = 0.02642 US gal
    assert millilitres.working[1] == "altogether 1.026 US gal: 58.46 % by volume"
    nothing = strength_after_mixing(
        added=amount("1", "L"), strength=percent("60"), left=amount("0", "L"), basis="volume"
    )
    assert nothing.answer == percent("60")


def test_glycol_for_a_share_by_mass() -> None:
    """reference.md 5.6: 1000 US gallons with 30 % by mass of ethylene glycol of gravity 1.1155 take 277.6 US gallons."""
    figure = glycol_by_mass_share(
        total=amount("1000", "us_gal"), share=percent("30"), glycol_gravity=amount("1.1155", "sg")
    )
    assert round(figure.amount.value, 1) == Decimal("277.6")
    assert figure.amount.unit == "us_gal"
    assert figure.working == ("1000 US gal / (1 + 1.1155 x (100 - 30) / 30) = 277.559 US gal",)
    assert (figure.beside, figure.sources, figure.cautions) == ((("basis", "mass"),), (BY_MASS,), (WASTE,))
    neat = glycol_by_mass_share(total=amount("1", "L"), share=percent("100"), glycol_gravity=amount("1.2", "sg"))
    assert neat.answer == amount("1", "L")
    # trap T10: taken for a share by volume, it would be 300
    assert figure.amount.value < 300


@pytest.mark.parametrize(
    ("total", "share", "gravity", "message"),
    [
        ("1", "0", "1.1", "'share' is 0 %, and must be above zero"),
        ("1", "100.1", "1.1", "'share' is 100.1 %"),
        ("1", "50", "0.99", "'glycol_gravity' is 0.99"),
        ("1", "50", "1.21", "'glycol_gravity' is 1.21"),
        ("0", "50", "1.1", "'total' is 0 L, and must be above zero"),
    ],
)
def test_an_impossible_mass_share_is_refused(total: str, share: str, gravity: str, message: str) -> None:
    """Shares above 0 and up to 100, a gravity of glycol, some volume."""
    with pytest.raises(ValueError, match=message):
        glycol_by_mass_share(total=amount(total, "L"), share=percent(share), glycol_gravity=amount(gravity, "sg"))


def test_a_share_by_mass_is_never_mixed_by_litres() -> None:
    """Trap T10: the basis must be volume wherever litres are mixed, whatever else is asked."""
    litre, share = amount("1", "L"), percent("50")
    cold = {"glycol": "ethylene", "lowest": amount("-10", "degF"), "margin": amount("10", "delta_F")}
    asked = [
        (strength_after_mixing, {"added": litre, "strength": share, "left": litre}),
        (antifreeze_to_add, {"left": litre, "strength": share, "wanted": percent("40")}),
        (antifreeze_to_swap, {"capacity": litre, "present": percent("40"), "wanted": share}),
        (add_for_the_cold, cold | {"left": litre, "strength": percent("100")}),
        (swap_for_the_cold, cold | {"capacity": litre, "present": share}),
    ]
    for function, rest in asked:
        with pytest.raises(
            ValueError,
            match=r"^'basis' is 'mass', and '.*' must be by volume: litres mix by volume shares \(glycol_by_mass_share turns a"
            r" share by mass into a volume of glycol\)$",
        ):
            function(**rest, basis="mass")


@pytest.mark.parametrize(
    ("old", "new", "wanted"),
    [("0", "50", "50"), ("0", "50", "60"), ("40", "60", "30"), ("60", "40", "50")],
)
def test_a_strength_that_cannot_be_reached_is_refused(old: str, new: str, wanted: str) -> None:
    """Wanted lies from what is inside to below what is put in."""
    message = rf"'wanted' is {wanted} %, and must lie between what is inside \({old} %\) and what is put in \({new} %\)"
    with pytest.raises(ValueError, match=message):
        antifreeze_to_add(
            left=amount("1", "L"),
            strength=percent(new),
            wanted=percent(wanted),
            basis="volume",
            left_strength=percent(old),
        )
    with pytest.raises(ValueError, match=message):
        antifreeze_to_swap(
            capacity=amount("1", "L"), present=percent(old), wanted=percent(wanted), basis="volume", fresh=percent(new)
        )


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"added": amount("0", "L")}, "'added' is 0 L, and must be above zero"),
        ({"added": amount("-1", "L")}, "'added' is -1 L"),
        ({"added": amount("1", "kg")}, "'added' is 1 kg .*must be a volume"),
        ({"left": amount("-0.1", "L")}, "'left' is -0.1 L"),
        ({"left": amount("1", "kg")}, "'left' is 1 kg"),
        ({"strength": percent("101")}, "'strength' is 101 %, and must be from 0 % to 100 %"),
        ({"left_strength": percent("-1")}, "'left_strength' is -1 %"),
    ],
)
def test_impossible_volumes_and_shares_are_refused(changed: dict[str, Amount], message: str) -> None:
    """Negative, none, of another kind, beyond neat."""
    asked = {"added": amount("1", "L"), "strength": percent("50"), "left": amount("1", "L")} | changed
    with pytest.raises(ValueError, match=message):
        strength_after_mixing(**asked, basis="volume")


def test_names_of_what_was_wrong() -> None:
    """Each computation names its own input."""
    wrong = amount("0", "L")
    with pytest.raises(ValueError, match="'left' is 0 L"):
        antifreeze_to_add(left=wrong, strength=percent("100"), wanted=percent("50"), basis="volume")
    with pytest.raises(ValueError, match="'capacity' is 0 L"):
        antifreeze_to_swap(capacity=wrong, present=percent("10"), wanted=percent("50"), basis="volume")
    cold = {"lowest": amount("-10", "degF"), "margin": amount("10", "delta_F"), "basis": "volume", "glycol": "ethylene"}
    with pytest.raises(ValueError, match="'left' is 0 L"):
        add_for_the_cold(**cold, left=wrong, strength=percent("100"), left_strength=percent("60"))
    with pytest.raises(ValueError, match="'capacity' is 0 L"):
        swap_for_the_cold(**cold, capacity=wrong, present=percent("60"))
    for bad, name in ((percent("101"), "strength"), (percent("101"), "wanted"), (percent("101"), "left_strength")):
        asked = {"strength": percent("100"), "wanted": percent("50"), "left_strength": percent("0")} | {name: bad}
        with pytest.raises(ValueError, match=f"'{name}' is 101 %"):
            antifreeze_to_add(left=amount("1", "L"), basis="volume", **asked)
    for name in ("present", "wanted", "fresh"):
        asked = {"present": percent("10"), "wanted": percent("50"), "fresh": percent("100")} | {name: percent("101")}
        with pytest.raises(ValueError, match=f"'{name}' is 101 %"):
            antifreeze_to_swap(capacity=amount("1", "L"), basis="volume", **asked)
    with pytest.raises(ValueError, match="'left_strength' is 101 %"):
        add_for_the_cold(**cold, left=amount("1", "L"), strength=percent("100"), left_strength=percent("101"))
    with pytest.raises(ValueError, match="'present' is 101 %"):
        swap_for_the_cold(**cold, capacity=amount("1", "L"), present=percent("101"))


def test_how_much_to_swap_for_the_sites_lowest_temperature() -> None:
    """-20 degF less 10 is -30: 50 % of ethylene glycol by the Army's table, and 0.923 L of 4 as in reference.md 5.6."""
    figure = swap_for_the_cold(
        glycol="ethylene",
        lowest=amount("-20", "degF"),
        margin=amount("10", "delta_F"),
        capacity=amount("4", "L"),
        present=percent("35"),
        basis="volume",
    )
    assert figure.answer == amount("0.923", "L")
    assert figure.working == (
        "-20 °F less 10 °F is -30 °F",
        "-30 °F needs 50 % by volume (lowest ambient for ethylene glycol by volume)",
        "4 L x (50 - 35) / (100 - 35) = 0.923 L",
        "drain 0.923 L, fill with as much of 100 %",
    )
    assert figure.beside == (("basis", "volume"), ("share_wanted", percent("50")))
    assert [source.split(":")[0].split(" (")[0] for source in figure.sources] == [
        "at least 10 °F below the coldest expected",
        "TM 5-6115-400-12 table 2-1",
        "c0 V0 = c1 V1 by volume, shrinking of 1 to 2 % left out",
    ]
    assert figure.cautions[0] == CLOSED_ONLY
    assert {WASTE, STIR} < set(figure.cautions)


def test_what_is_put_in_for_the_cold_need_not_be_neat() -> None:
    """The same system with 60 % pre-mix: 4 x 15 / 25 by hand."""
    figure = swap_for_the_cold(
        glycol="ethylene",
        lowest=amount("-20", "degF"),
        margin=amount("10", "delta_F"),
        capacity=amount("4", "L"),
        present=percent("35"),
        basis="volume",
        fresh=percent("60"),
    )
    assert figure.answer == amount("2.4", "L")


def test_how_much_to_add_for_the_sites_lowest_temperature() -> None:
    """-28.3 less 5 K is -33.3 degC: 50 % of propylene glycol, so as much neat glycol as water is left."""
    asked = {
        "glycol": "propylene",
        "lowest": amount("-28.3", "degC"),
        "margin": amount("5", "delta_K"),
        "left": amount("0.5", "L"),
        "basis": "volume",
    }
    figure = add_for_the_cold(**asked, strength=percent("100"))
    assert figure.answer == amount("0.5", "L")
    assert dict(figure.beside) == {"basis": "volume", "room_needed": amount("1", "L"), "share_wanted": percent("50")}
    assert figure.cautions[0] == RAW_WATER
    premix = add_for_the_cold(**asked, strength=percent("60"))
    assert premix.answer == amount("2.5", "L")
    some = add_for_the_cold(**asked, strength=percent("60"), left_strength=percent("40"))
    assert some.answer == amount("0.5", "L")
    with pytest.raises(ValueError, match="'wanted' is 50 %"):
        add_for_the_cold(**asked, strength=percent("45"))
    with pytest.raises(ValueError, match="outside of the table"):
        add_for_the_cold(**asked | {"lowest": amount("-40", "degC")}, strength=percent("60"))


@pytest.mark.parametrize(("inside", "more"), [("49.9", True), ("50", False), ("60", False)])
def test_what_stands_the_cold_gets_nothing_more(inside: str, more: bool) -> None:
    """At the share wanted, and above, nothing is added or swapped; a hair under it, something is."""
    cold = {"glycol": "ethylene", "lowest": amount("-20", "degF"), "margin": amount("10", "delta_F"), "basis": "volume"}
    add = add_for_the_cold(**cold, left=amount("4", "us_qt"), strength=percent("100"), left_strength=percent(inside))
    swap = swap_for_the_cold(**cold, capacity=amount("4", "us_qt"), present=percent(inside))
    for figure in (add, swap):
        assert (figure.amount.value > 0, figure.amount.unit) == (more, "us_qt")
        assert dict(figure.beside)["share_wanted"] == percent("50")
        assert dict(figure.beside)["basis"] == "volume"
        assert (f"{inside} % is inside: enough" in figure.working) is not more
        assert any("Navy 14329" in source for source in figure.sources)


SHARES = st.decimals(0, 100, places=1)
VOLUMES = st.decimals("0.1", "50", places=2)


@given(SHARES, SHARES, VOLUMES, VOLUMES)
def test_a_mixture_lies_between_what_is_mixed(a: Decimal, b: Decimal, va: Decimal, vb: Decimal) -> None:
    """Never stronger than the stronger, nor weaker than the weaker."""
    mixed = strength_after_mixing(
        added=Amount(va, "L"),
        strength=Amount(a, "percent"),
        left=Amount(vb, "L"),
        basis="volume",
        left_strength=Amount(b, "percent"),
    )
    assert min(a, b) <= mixed.amount.value <= max(a, b)


@given(VOLUMES, st.decimals(0, 40, places=1), st.decimals(41, 60, places=1), st.decimals(70, 100, places=1))
def test_what_is_added_gives_what_was_wanted(left: Decimal, old: Decimal, wanted: Decimal, new: Decimal) -> None:
    """Add, then mix: the strength wanted, to the rounding of a thousandth of a litre."""
    inside = Amount(left, "L")
    old_share, new_share = Amount(old, "percent"), Amount(new, "percent")
    added = antifreeze_to_add(
        left=inside, strength=new_share, wanted=Amount(wanted, "percent"), basis="volume", left_strength=old_share
    ).amount
    mixed = strength_after_mixing(
        added=added, strength=new_share, left=inside, basis="volume", left_strength=old_share
    ).amount
    assert abs(mixed.value - wanted) <= Decimal("0.01") + Decimal("0.05") / left


@given(st.decimals("0.5", "50", places=2), st.decimals(0, 40, places=1), st.decimals(41, 60, places=1))
def test_what_is_swapped_gives_what_was_wanted(full: Decimal, old: Decimal, wanted: Decimal) -> None:
    """Drain, fill with neat glycol: the strength wanted; and never more than there is."""
    share = Amount(old, "percent")
    out = antifreeze_to_swap(
        capacity=Amount(full, "L"), present=share, wanted=Amount(wanted, "percent"), basis="volume"
    ).amount
    assert 0 < out.value < full
    mixed = strength_after_mixing(
        added=out,
        strength=Amount(Decimal(100), "percent"),
        left=Amount(full - out.value, "L"),
        basis="volume",
        left_strength=share,
    ).amount
    assert abs(mixed.value - wanted) <= Decimal("0.01") + Decimal("0.06") / full


def test_all_are_called_by_name() -> None:
    """As `layup figure` and a procedure's work_out do."""
    names = {
        "strength_after_mixing", "antifreeze_to_add", "antifreeze_to_swap", "add_for_the_cold", "swap_for_the_cold",
        "glycol_by_mass_share",
    }  # fmt: skip
    assert names <= set(BY_NAME)

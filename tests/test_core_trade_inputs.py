"""What a computation takes, is given, and how that is typed."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Annotated, Any, Literal

import pytest
from hypothesis import given as cases
from hypothesis import strategies as st

from assistant.core.trade.figure import Figure
from assistant.core.trade.given import above_zero, given
from assistant.core.trade.inputs import AbsolutePressure, Computation, Gravity, Input, Pressure, Volume, computation
from assistant.core.trade.registry import BY_NAME, ROOMS
from assistant.core.trade.table import Table, table
from assistant.core.trade.written import amount_typed, inputs_from
from assistant.core.units import KINDS, Amount, kind_of


def amount(number: str, unit: str) -> Amount:
    return Amount(Decimal(number), unit)


def sample(
    *,
    pressures: tuple[Pressure, ...],
    glycol: Literal["ethylene", "propylene"],
    day: date | None = None,
    ratio: str = "",
    gravity: Gravity | None = None,
    when: tuple[date, ...] = (),
    marks: tuple[str, ...] = (),
) -> Figure:
    """What the test gives it,
    on two lines.

    And more.
    """
    return Figure(f"{len(pressures)} {glycol} {day} {ratio} {gravity} {when} {marks}", (), ())


def called() -> Computation:
    """The function above as a computation."""
    return computation(sample)


def test_the_signature_tells_what_is_taken() -> None:
    """Names, forms, units, words, whether several and whether needed."""
    assert called().name == "sample"
    assert called().summary == "What the test gives it, on two lines."
    assert called().inputs == (
        Input("pressures", "amount", "psi", (), True, True),
        Input("glycol", "word", "", ("ethylene", "propylene"), False, True),
        Input("day", "date", "", (), False, False),
        Input("ratio", "text", "", (), False, False),
        Input("gravity", "amount", "sg", (), False, False),
        Input("when", "date", "", (), True, False),
        Input("marks", "text", "", (), True, False),
    )
    assert [i.told() for i in called().inputs] == [
        "pressures=pressure (kPa, bar, MPa, psi), several with commas",
        "glycol=ethylene|propylene",
        "day=DATE (may be left out)",
        "ratio=TEXT (may be left out)",
        "gravity=specific gravity (may be left out)",
        "when=DATE, several with commas (may be left out)",
        "marks=TEXT, several with commas (may be left out)",
    ]


def test_a_function_without_a_docstring_has_no_summary() -> None:
    def bare() -> Figure:
        return Figure("", (), ())

    assert computation(bare).summary == ""


def test_what_is_of_no_form_is_no_input() -> None:
    """A bare number would leave its unit to guessing."""

    def bad(*, number: int) -> Figure:
        return Figure(str(number), (), ())

    def worse(*, number: Annotated[int, "psi"]) -> Figure:
        return Figure(str(number), (), ())

    for function in (bad, worse):
        with pytest.raises(TypeError, match=r"^'number' is of no form that a computation takes$"):
            computation(function)


PSI = (amount("190", "psi"), amount("13", "bar"))
REFUSED: list[tuple[dict[str, Any], str]] = [
    ({"pressures": PSI}, "sample needs 'glycol': it takes pressures, glycol, day, ratio, gravity, when, marks"),
    (
        {"pressures": PSI, "glycol": "ethylene", "glycl": "x"},
        "sample does not take 'glycl': it takes pressures, glycol, day, ratio, gravity, when, marks",
    ),
    ({"pressures": PSI, "glycol": "alcohol"}, "'glycol' is 'alcohol', and must be one of ethylene, propylene"),
    (
        {"pressures": (*PSI, amount("13", "bar_abs")), "glycol": "ethylene"},
        "'pressures' is 13 bar abs (absolute pressure), and must be a pressure",
    ),
    ({"pressures": ("190",), "glycol": "ethylene"}, "'pressures' is '190', and must be a pressure"),
    (
        {"pressures": PSI, "glycol": "ethylene", "gravity": amount("1", "count")},
        "'gravity' is 1 (count), and must be a specific gravity",
    ),
    ({"pressures": PSI, "glycol": "ethylene", "day": "today"}, "'day' is 'today', and must be a date"),
    (
        {"pressures": PSI, "glycol": "ethylene", "when": (date(2026, 1, 1), "soon")},
        "'when' is 'soon', and must be a date",
    ),
]


@pytest.mark.parametrize(("given_", "message"), REFUSED)
def test_a_wrong_input_is_named(given_: dict[str, Any], message: str) -> None:
    """What it is, what it must be, and what there is to choose from."""
    with pytest.raises(ValueError) as caught:
        called()(**given_)
    assert str(caught.value) == message


def test_right_inputs_reach_the_function() -> None:
    """All of them, and without those that may be left out."""
    assert called()(pressures=PSI, glycol="ethylene").answer == "2 ethylene None  None () ()"
    day = date(2026, 11, 30)
    whole = called()(
        pressures=(), glycol="propylene", day=day, ratio="1:50", gravity=amount("1.1", "sg"), when=(day,), marks=("a",)
    )
    assert whole.answer == f"0 propylene 2026-11-30 1:50 {amount('1.1', 'sg')} {(day,)} {('a',)}"


TYPED: list[tuple[str, Any]] = [
    ("pressures=120,115.5, 118,92psi", tuple(amount(n, "psi") for n in ("120", "115.5", "118", "92"))),
    ("pressures=8bar,115psi", (amount("8", "bar"), amount("115", "psi"))),
    ("pressures=190 psi", (amount("190", "psi"),)),
    ("pressures = 190psi", None),
    ("glycol= ethylene ", "ethylene"),
    ("day=2026-11-30", date(2026, 11, 30)),
    ("when=2026-11-30,2027-02-28", (date(2026, 11, 30), date(2027, 2, 28))),
    ("ratio=1:50", "1:50"),
    ("ratio=a=b", "a=b"),
    ("marks=one, two", ("one", "two")),
    ("gravity=1.065", amount("1.065", "sg")),
    ("gravity=+1.065sg", amount("1.065", "sg")),
]


@pytest.mark.parametrize(("pair", "meant"), TYPED)
def test_what_is_typed_is_meant(pair: str, meant: Any) -> None:
    """The unit of a set stands behind the last of it; a gravity needs none."""
    if meant is None:
        with pytest.raises(ValueError, match="does not take 'pressures '"):
            inputs_from(called(), [pair])
    else:
        assert inputs_from(called(), [pair]) == {pair.partition("=")[0]: meant}


MISTYPED = [
    ("190psi", "'190psi' has no '=': write name=value, for example pressures=..."),
    ("presure=190psi", "sample does not take 'presure': it takes pressures, glycol, day, ratio, gravity, when, marks"),
    ("day=30.11.2026", "'day' is '30.11.2026', and must be a date as 2026-11-30"),
    ("pressures=190", "'pressures' has no unit: pressures=pressure (kPa, bar, MPa, psi), several with commas"),
    (
        "pressures=190ps",
        "'pressures' has the unit 'ps', which is not on the list: pressures=pressure (kPa, bar, MPa, psi), several with"
        " commas; did you mean psi?",
    ),
    (
        "pressures=190qq",
        "'pressures' has the unit 'qq', which is not on the list: pressures=pressure (kPa, bar, MPa, psi), several with commas",
    ),
    ("pressures=lots", "'pressures' is 'lots', and must be a plain decimal number with a unit"),
    ("pressures=1e3psi", None),
    ("pressures=.5psi", "'pressures' is '.5psi', and must be a plain decimal number with a unit"),
    ("gravity=1.065gal", "'gal' may mean two things: write us_gal or imp_gal, us_qt, us_pt"),
    ("gravity=1Quarts", "'Quarts' may mean two things: write us_gal or imp_gal, us_qt, us_pt"),
]


@pytest.mark.parametrize(("pair", "message"), MISTYPED)
def test_what_is_mistyped_is_told(pair: str, message: str | None) -> None:
    """Nothing is guessed: which input, what is wrong with it, what was meant perhaps."""
    with pytest.raises(ValueError) as caught:
        inputs_from(called(), [pair])
    assert message is None or str(caught.value) == message


def test_an_input_is_given_once() -> None:
    with pytest.raises(ValueError, match=r"^'ratio' is given twice$"):
        inputs_from(called(), ["ratio=1:50", "ratio=1:40"])


OTHER_SIGNS = [
    ("5%", "percent"), ("5N.m", "Nm"), ("5lbf.in", "lbf_in"), ("5lbf.ft", "lbf_ft"), ("5in", "inch"),
    ("5C", "degC"), ("5F", "degF"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "unit"), OTHER_SIGNS)
def test_usual_signs_are_units_of_the_list(text: str, unit: str) -> None:
    """As the standards write them, or as people do."""
    assert amount_typed(Input("x", "amount", unit, (), False, True), text) == amount("5", unit)


def test_every_gallon_and_its_parts_are_asked_about() -> None:
    """Trap T9 of reference.md: US and imperial differ by a fifth."""
    for name in ("gal", "gallon", "gallons", "qt", "quart", "quarts", "pt", "pint", "pints"):
        with pytest.raises(ValueError, match="may mean two things"):
            amount_typed(Input("volume", "amount", "L", (), False, True), f"5{name}")
    assert amount_typed(Input("volume", "amount", "L", (), False, True), "5imp_gal") == amount("5", "imp_gal")


@cases(st.decimals(-(10**6), 10**6, places=3), st.sampled_from(sorted(KINDS)))
def test_every_amount_can_be_typed(number: Decimal, unit: str) -> None:
    """Any unit of the list, above and below zero."""
    wanted = Input("x", "amount", unit, (), False, True)
    assert amount_typed(wanted, f"{number:f}{unit}") == Amount(number, unit)


def test_every_registered_computation_says_what_it_does() -> None:
    """A name of its own, a summary, and a function of its topic's module."""
    listed = [f.__name__ for room in ROOMS.values() for f in room.COMPUTATIONS]
    assert len(set(listed)) == len(listed) == len(BY_NAME)
    for name, each in BY_NAME.items():
        assert each.name == name
        assert each.summary.endswith("."), name
        assert each.inputs, name


def test_what_is_given_is_of_the_kind_and_within_the_range() -> None:
    """Inclusive at both ends, in any unit of the kind; the message names value, range and source."""
    assert given("p", amount("100", "kPa"), "bar", least="1", most="1") == 1
    assert given("p", amount("-3", "bar"), "bar") == -3
    for value, message in (
        (amount("0.9", "bar"), "'p' is 0.9 bar, and must be from 1 bar to 2 bar (a page)"),
        (amount("201", "kPa"), "'p' is 201 kPa, and must be from 1 bar to 2 bar (a page)"),
        (amount("1", "bar_abs"), "'p' is 1 bar abs (absolute pressure), and must be a pressure"),
        (amount("1", "furlong"), "'p' is 1 furlong (not on the list), and must be a pressure"),
    ):
        with pytest.raises(ValueError) as caught:
            given("p", value, "bar", least="1", most="2", source="a page")
        assert str(caught.value) == message
    for bounds, message in (
        ({"least": "2"}, "'p' is 1 bar, and must be from 2 bar up"),
        ({"most": "0.5"}, "'p' is 1 bar, and must be at most 0.5 bar"),
    ):
        with pytest.raises(ValueError) as caught:
            given("p", amount("1", "bar"), "bar", **bounds)
        assert str(caught.value) == message


def test_no_number_is_refused() -> None:
    """Infinity and what is no number are not amounts."""
    for number in ("NaN", "Infinity"):
        with pytest.raises(ValueError, match="'p' is"):
            given("p", amount(number, "bar"), "bar")


def test_above_zero_leaves_zero_out() -> None:
    assert above_zero("v", amount("1", "mL"), "L") == Decimal("0.001")
    for number in ("0", "-1"):
        with pytest.raises(ValueError) as caught:
            above_zero("v", amount(number, "L"), "L")
        assert str(caught.value) == f"'v' is {number} L, and must be above zero"


def rising() -> Table:
    """Three rows that rise."""
    return table("cells", "a page", "voltage", "V", "percent", ("11", "0"), ("12", "50"), ("13", "100"))


def test_a_table_is_read_between_its_rows() -> None:
    """Every row as printed; linear between; both ends inclusive."""
    assert [rising().at(x) for x, _ in rising().rows] == [y for _, y in rising().rows]
    assert rising().at(Decimal("12.5")) == 75
    for outside in ("10.99", "13.01"):
        with pytest.raises(ValueError) as caught:
            rising().at(Decimal(outside))
        assert str(caught.value) == (
            f"'voltage' is {outside} V, outside of the table 'cells', which goes from 11 V to 13 V (a page);"
            " nothing is extrapolated"
        )


def test_a_table_is_turned_where_it_does_not_turn_over() -> None:
    """Rising or falling: read backwards it gives what it was read from."""
    back = rising().turned("charge")
    assert (back.title, back.source, back.x_name, back.x_unit, back.y_unit) == (
        "cells",
        "a page",
        "charge",
        "percent",
        "V",
    )
    assert back.at(Decimal(75)) == Decimal("12.5")
    falling = table("cold", "a page", "share", "percent", "degC", ("0", "0"), ("50", "-35"))
    assert falling.turned("temperature").at(Decimal("-17.5")) == 25
    for last in ("50", "40"):
        over: Table = table("over", "a page", "share", "percent", "sg", ("0", "0"), ("25", "50"), ("60", last))
        with pytest.raises(ValueError) as caught:
            over.turned("gravity")
        assert str(caught.value) == "the table 'over' turns over, and cannot be read backwards (a page)"


@cases(st.decimals(11, 13, places=4))
def test_turned_twice_is_the_same(x: Decimal) -> None:
    assert rising().turned("charge").at(rising().at(x)) == x


def test_kinds_that_must_not_be_mixed_are_apart() -> None:
    """Gauge and absolute pressure; temperature and its difference; torque and energy; US and imperial gallon by factor."""
    for one, other in (("psi", "psi_abs"), ("bar", "bar_abs"), ("degC", "delta_K"), ("degF", "delta_F"), ("Nm", "J")):
        assert kind_of(one) != kind_of(other)
    for hint, kind in ((Pressure, "pressure"), (AbsolutePressure, "absolute pressure"), (Volume, "volume")):
        assert kind_of(hint.__metadata__[0]) == kind

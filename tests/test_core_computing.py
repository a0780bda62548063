"""A computation called from a procedure: what its inputs may be given, and what becomes of what it cannot compute."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Literal

import pytest

from assistant.core.computing import compute, fits, input_named, is_date, misnamed
from assistant.core.procedure import Choice, Reading
from assistant.core.trade.figure import Figure
from assistant.core.trade.inputs import Pressure, computation
from assistant.core.units import Amount


def shared_out(
    *, pressure: Pressure, sets: tuple[Pressure, ...], on: date, rule: Literal["a", "b"], mark: str = ""
) -> Figure:
    """Divides by how many there are above it."""
    above = sum(1 for one in sets if one.value > pressure.value)
    return Figure(Amount(pressure.value / above, "psi"), (f"{on} {rule} {mark}",), ("invented",))


SHARED = computation(shared_out)
TODAY = date(2026, 11, 25)


def psi(number: int) -> Amount:
    return Amount(Decimal(number), "psi")


def test_sets_single_values_and_dates_are_handed_over() -> None:
    """A month or a quarter is its last day, `today` the day of the job."""
    given = {"pressure": [psi(10)], "sets": [psi(11), psi(12)], "on": ["2026-Q1"], "rule": ["a"]}
    figure = compute(SHARED, given, TODAY)
    assert figure.amount == psi(5)
    assert figure.working == ("2026-03-31 a ",)
    assert compute(SHARED, {**given, "on": ["today"]}, TODAY).working == ("2026-11-25 a ",)


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"sets": [psi(1)]}, "shared_out cannot be worked out from these values"),
        ({"pressure": [psi(1), psi(2)]}, "'pressure' takes one value, and is given 2"),
        ({"on": ["soon"]}, "'soon' is no day, month or quarter"),
        ({"on": [psi(1)]}, "1 psi is no date"),
        ({"rule": ["c"]}, "must be one of a, b"),
        ({"pressure": [Amount(Decimal(1), "V")]}, "must be a pressure"),
    ],
)
def test_what_cannot_be_computed_is_a_value_error_in_words(
    changed: dict[str, list[Amount | str]], message: str
) -> None:
    """A division by nothing too: whoever judges by it has a reason to tell."""
    given = {"pressure": [psi(10)], "sets": [psi(11)], "on": ["today"], "rule": ["a"], **changed}
    with pytest.raises(ValueError, match=message):
        compute(SHARED, given, TODAY)


def test_today_is_not_known_before_the_job() -> None:
    """Where no day is given, `today` is no date."""
    given: dict[str, list[Amount | str]] = {"pressure": [psi(1)], "sets": [psi(2)], "on": ["today"], "rule": ["a"]}
    with pytest.raises(ValueError, match="'today' is no day"):
        compute(SHARED, given, None)
    assert [is_date(text) for text in ("today", "2026-Q4", "soon", "2026-02-31")] == [True, True, False, False]


def test_names_that_it_does_not_take_and_names_that_it_needs() -> None:
    """In one list, with the nearest name; what may be left out is not asked for."""
    assert list(misnamed(SHARED, ["presure", "sets", "on", "rule"])) == [
        ("pressure", "shared_out needs 'pressure'", "it takes pressure, sets, on, rule, mark"),
        ("presure", "shared_out does not take 'presure'", "did you mean 'pressure'?"),
    ]
    assert list(misnamed(SHARED, ["pressure", "sets", "on", "rule", "mark"])) == []


PLAIN = Reading("r", "R", unit="kPa")
FITTING = [
    ("pressure", PLAIN, True),
    ("pressure", Reading("r", "R", unit="kPa_abs"), False),
    ("pressure", Reading("r", "R", kind="choice", choices=(Choice("a", ("a",)),)), False),
    ("rule", Reading("r", "R", kind="choice", choices=(Choice("a", ("x",)), Choice("b", ("y",)))), True),
    ("rule", Reading("r", "R", kind="choice", choices=(Choice("a", ("x",)), Choice("c", ("y",)))), False),
    ("rule", PLAIN, False),
    ("on", Reading("r", "R", kind="date", unit=""), True),
    ("on", PLAIN, False),
    ("mark", Reading("r", "R", kind="letters", unit=""), True),
    ("mark", PLAIN, False),
]


@pytest.mark.parametrize(("name", "reading", "does"), FITTING)
def test_a_reading_fits_an_input_of_its_kind(name: str, reading: Reading, does: bool) -> None:
    """A pressure above the air is no absolute pressure; every choice must be a word of the input."""
    wanted = input_named(SHARED, name)
    assert wanted is not None
    assert fits(wanted, reading) is does

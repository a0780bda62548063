"""Slips in numbers with a check digit, and labels that are said: what mends them, and where the technician is told to look."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.labels.check_digit import CODE_39_VALUES, ends_in_mod43, mod10_digit, mod10_fault
from assistant.core.labels.slips import LONGEST, Slip, find_slips, likely_slips, told_slips
from assistant.core.labels.spoken import carries_check_digit, read_spoken
from assistant.core.machine import WantedPart

TODAY = date(2026, 11, 26)
PLUG = WantedPart("spark_plug", "spark plug", gtins=("2990001000421",), numbers=("T3-7", "12345678"))
FILTER = WantedPart("oil_filter", "oil filter", gtins=("2990001000117",), superseded=("T3-2039",))
PARTS = (PLUG, FILTER)


def is_right(number: str) -> bool:
    return mod10_fault(number) is None


NUMBERS = st.text("0123456789", min_size=7, max_size=17).map(lambda data: data + mod10_digit(data))


@given(NUMBERS, st.data())
def test_the_slip_that_was_made_is_among_those_found(number: str, drawn: st.DataObject) -> None:
    """Of mod 10 each place has exactly one figure that mends it (weights 1 and 3 have inverses mod 10), and it is found."""
    at = drawn.draw(st.integers(0, len(number) - 1))
    other = drawn.draw(st.sampled_from([c for c in "0123456789" if c != number[at]]))
    slipped = number[:at] + other + number[at + 1 :]
    slips = find_slips(slipped, is_right)
    assert Slip(at + 1, other, number[at]) in slips
    assert [s.place for s in slips if len(s.said) == 1] == list(range(1, len(number) + 1))
    assert all(is_right(s.mend(slipped)) for s in slips)
    assert Slip(at + 1, other, number[at]) in likely_slips(slipped, slips, {number})


@given(NUMBERS, st.data())
def test_neighbours_that_changed_places_show_unless_they_differ_by_five(number: str, drawn: st.DataObject) -> None:
    """Weights 3 and 1 part a swap by twice the difference, which is nothing mod 10 where that is 0 or 5."""
    at = drawn.draw(st.integers(0, len(number) - 2))
    swapped = number[:at] + number[at + 1] + number[at] + number[at + 2 :]
    unseen = (int(number[at]) - int(number[at + 1])) % 5 == 0
    assert is_right(swapped) == unseen
    if not unseen:
        assert Slip(at + 1, swapped[at : at + 2], number[at : at + 2]) in find_slips(swapped, is_right)


def test_a_slip_in_code_39_is_found_by_mod_43() -> None:
    """ISO/IEC 16388: A1207-D has Q. An eight for the seven is mended in one way at its place."""
    slips = find_slips("A1208-DQ", ends_in_mod43, CODE_39_VALUES)
    assert Slip(5, "8", "7") in slips


@pytest.mark.parametrize("text", ["", "1", "12345678901231", "9" * (LONGEST + 1)])
def test_what_is_right_empty_or_endless_has_no_slips(text: str) -> None:
    """A right number needs no mending, and a text that nobody says is left alone."""
    assert find_slips(text, is_right) == () or text == "1"


def test_where_nothing_is_likelier_it_may_be_any() -> None:
    """A number that only unlike figures would mend."""
    assert told_slips("12", lambda text: text == "02") == "one character slipped, and it may be any"
    assert told_slips("12", lambda text: text == "99") == "more than one character slipped"
    assert told_slips("95", lambda text: text == "55") == "likeliest place 1: 5 instead of 9"


@pytest.mark.parametrize(
    ("said", "gtin", "number"),
    [
        ("2990001000421", "02990001000421", ""),
        ("02990001000421", "02990001000421", ""),
        ("02345673", "00000002345673", ""),
        ("T3-7", "", "T3-7"),
        ("12345678", "", "12345678"),  # listed as a part number, whatever its check digit
        ("T3-2039", "", "T3-2039"),
        ("t32039", "", "T3-2039"),  # the dash was left out
        ("T37", "", "T3-7"),
        ("X9", "", "X9"),
    ],
)
def test_a_label_that_is_said_means_what_it_would_if_read(said: str, gtin: str, number: str) -> None:
    """A product number by its check digit; a part number of the sheet, or any other, as it stands."""
    meaning = read_spoken(said, PARTS, TODAY)
    assert (meaning.gtin, meaning.number, meaning.problem) == (gtin, number, None)
    assert carries_check_digit(meaning) == bool(gtin)


def test_dashes_are_put_in_only_where_one_number_is_meant() -> None:
    """Two numbers of the same letters and figures: nobody knows which, so it stays as it was said."""
    parts = (WantedPart("a", "a", numbers=("A1-23",)), WantedPart("b", "b", numbers=("A12-3",)))
    assert read_spoken("A123", parts, TODAY).number == "A123"
    assert read_spoken("A12-3", parts, TODAY).number == "A12-3"


@pytest.mark.parametrize(
    ("said", "where"),
    [
        ("2990001000425", "Look at the thirteenth figure: five, or one"),
        ("2950001000421", "Look at the third figure: five, or niner"),
        ("2990001004021", "Look at the tenth and eleventh figures: four zero, or zero four"),
        ("2990001000171", "Look at the twelfth and thirteenth figures: seven one, or one seven"),
        ("02990001000425", "Look at the fourteenth figure: five, or one"),
        ("00000002", "One figure slipped, or more"),
    ],
)
def test_a_wrong_check_digit_says_where_to_look(said: str, where: str) -> None:
    """First by the sheet's numbers, then by figures that are taken for each other; nothing is mended unasked."""
    problem = read_spoken(said, PARTS, TODAY).problem
    assert problem == f"the check digit is wrong. {where}"

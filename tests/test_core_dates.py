"""Dates, months and quarters as they are said: a table, and that each date comes back from its read-back."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.core.speech.compiling import compile_grammar
from assistant.core.speech.dates import (
    MONTHS,
    ORDINALS,
    SURELY_MEANT,
    date_aloud,
    date_piece,
    date_values,
    first_day,
    last_day,
)
from assistant.core.speech.saying import ORDINARY
from tests.conversation import TABLES, TODAY
from tests.strategies import sentences

GRAMMAR = compile_grammar(date_piece())
DAYS = st.dates(date(1900, 1, 1), date(2099, 12, 31))


def rows() -> list[list[str]]:
    """Said, text."""
    lines = (TABLES / "dates_said.tsv").read_text(encoding="utf-8").splitlines()
    return [line.split("\t") for line in lines if not line.startswith("#")]


def meant(said: str, today: date | None = TODAY) -> set[str]:
    """Every date that the words mean."""
    return {text for tags in GRAMMAR.paths(said.split()) for text in date_values(tags, today)}


@pytest.mark.parametrize(("said", "text"), rows())
def test_said_means(said: str, text: str) -> None:
    """The words mean what the table says, or are refused."""
    assert meant(said) == (set() if text == "-" else set(text.split(" or ")))


@given(DAYS)
@settings(max_examples=200, deadline=None)
def test_a_day_read_back_is_that_day(day: date) -> None:
    """The read-back of a day, a month and a quarter, said again, means just that, whatever day it is today."""
    iso = day.isoformat()
    for text in (iso, iso[:7], f"{day.year}-Q{(day.month + 2) // 3}"):
        assert meant(date_aloud(text).lower(), None) == {text}


@given(DAYS)
@settings(max_examples=200, deadline=None)
def test_every_day_has_its_everyday_names(day: date) -> None:
    """Ordinal before and behind the month, with the year in full."""
    month, ordinal = MONTHS[day.month - 1], ORDINALS[day.day - 1]
    assert f"{day:%B}".lower() == month
    year = " ".join(ORDINARY[int(c)] for c in str(day.year))
    for said in (f"{ordinal} of {month} {year}", f"the {ordinal} {month} {year}", f"{month} {ordinal} {year}"):
        assert meant(said, None) == {day.isoformat()}


@given(DAYS, DAYS)
@settings(max_examples=200, deadline=None)
def test_a_day_without_its_year_is_near_or_asked_about(day: date, today: date) -> None:
    """The nearest day of that name is among its meanings; unless it is near, the one on today's other side is too."""
    found = [date.fromisoformat(text) for text in meant(f"{ORDINALS[day.day - 1]} of {MONTHS[day.month - 1]}", today)]
    assert all((one.month, one.day) == (day.month, day.day) for one in found)
    if found and (day.month, day.day) != (2, 29):
        assert min(abs(one - today) for one in found) <= timedelta(days=183)
        if len(found) == 1:
            assert abs(found[0] - today) <= SURELY_MEANT
        else:
            assert min(found) < today < max(found)


@given(st.data())
@settings(max_examples=200, deadline=None)
def test_whatever_is_heard_is_a_date(data: st.DataObject) -> None:
    """Every meaning of an accepted sentence is a real day, month or quarter, and its parts lie within it."""
    for text in meant(data.draw(sentences(GRAMMAR))):
        assert first_day(text) <= last_day(text)
        assert str(first_day(text).year) == text[:4]


# reference.md 4.3: ageing counts from the end of the quarter (two seal suppliers); "3/94" is July to September 1994 (ISO 2230).
@pytest.mark.parametrize(
    ("text", "first", "last"),
    [
        ("2024-Q2", "2024-04-01", "2024-06-30"),
        ("2024-Q1", "2024-01-01", "2024-03-31"),
        ("2024-Q4", "2024-10-01", "2024-12-31"),
        ("1994-Q3", "1994-07-01", "1994-09-30"),
        ("2028-02", "2028-02-01", "2028-02-29"),
        ("2026-11-23", "2026-11-23", "2026-11-23"),
    ],
)
def test_first_and_last_day(text: str, first: str, last: str) -> None:
    """A quarter ends with its last day, a month with that of the calendar."""
    assert (first_day(text).isoformat(), last_day(text).isoformat()) == (first, last)


@pytest.mark.parametrize(
    "text", ["", "2026", "2026-13", "2026-02-31", "2026-Q5", "2026-Q0", "tomorrow", "\u0662026-11"]
)
def test_what_is_no_date_is_refused(text: str) -> None:
    """A bound that is no date is named in what is raised."""
    with pytest.raises(ValueError, match=text or "no day"):
        first_day(text)

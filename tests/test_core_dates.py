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
)
from assistant.core.speech.saying import ORDINARY
from assistant.core.trade.quarters import first_day, last_day
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

"""Dates as labels write them: YYMMDD, with day 00 and the century window; hours and minutes; year and week.

Today comes in from outside. Century rule: GS1 General Specifications 7.12, 49 years back to 50 ahead. Where two public
readers part ways (a difference of -50 or less) it follows the standards body's own linter (gs1/gs1-syntax-dictionary,
src/lint_yymmd0.c): the next century. Day 00, "no day given", is the month's last day (General Specifications 3.4).
"""

from __future__ import annotations

from calendar import monthrange
from datetime import MAXYEAR, date, time

from assistant.core.labels.check_digit import is_figures
from assistant.core.labels.faults import LabelFault


def full_year(two_figures: int, today: date) -> int:
    """The year that 00 to 99 means, seen from `today`."""
    century = today.year - today.year % 100
    ahead = two_figures - today.year % 100
    if ahead >= 51:
        return century - 100 + two_figures
    if ahead <= -50:
        return century + 100 + two_figures
    return century + two_figures


def read_yymmdd(text: str, today: date, *, day_00: bool = True) -> date | LabelFault:
    """The day that six figures mean.

    >>> read_yymmdd("280200", date(2026, 1, 1))
    datetime.date(2028, 2, 29)
    """
    if len(text) != 6 or not is_figures(text):
        return LabelFault(f"a date is six figures, year month day; {text!r} is not")
    year, month, day = full_year(int(text[:2]), today), int(text[2:4]), int(text[4:])
    if day == 0 and not day_00:
        return LabelFault(f"the date {text} has no day, and must have one here")
    return _day(year, month, day, text)


def read_yyyymmdd(text: str) -> date | LabelFault:
    """The day that eight figures mean."""
    if len(text) != 8 or not is_figures(text):
        return LabelFault(f"a date with its century is eight figures; {text!r} is not")
    return _day(int(text[:4]), int(text[4:6]), int(text[6:]), text)


def _day(year: int, month: int, day: int, text: str) -> date | LabelFault:
    if not 1 <= year <= MAXYEAR:
        return LabelFault(f"the date {text} names no year")
    if not 1 <= month <= 12:
        return LabelFault(f"the date {text} names month {month}, there is none")
    last = monthrange(year, month)[1]
    if day > last:
        return LabelFault(f"the date {text} names day {day} of a month with {last} days")
    return date(year, month, day or last)


def read_hhmm(text: str) -> time | LabelFault:
    """The time of day that four figures mean."""
    if len(text) != 4 or not is_figures(text):
        return LabelFault(f"a time of day is four figures; {text!r} is not")
    hour, minute = int(text[:2]), int(text[2:])
    if hour > 23 or minute > 59:
        return LabelFault(f"{text} is no time of day")
    return time(hour, minute)


def read_yyww(text: str, today: date) -> tuple[int, int] | LabelFault:
    """Year and ISO week of a date code (data identifier 9D)."""
    if len(text) != 4 or not is_figures(text):
        return LabelFault(f"a date code is four figures, year and week; {text!r} is not")
    year, week = full_year(int(text[:2]), today), int(text[2:])
    try:
        date.fromisocalendar(year, week, 1)
    except ValueError:
        return LabelFault(f"the date code {text} names week {week}, {year} has none such")
    return year, week

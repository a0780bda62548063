"""Dates, months and quarters as they are said, and as ISO 8601 writes them: "2026-11-23", "2027-11"; a quarter is "2024-Q3".

    twenty third of november twenty twenty six     november twenty third     two three november     november twenty twenty seven
    two zero two six one one two three             third quarter twenty twenty four     three q twenty four

A quarter ("3Q24") is how rubber parts are dated. Two figures of a year mean what they mean on a label (`labels/dates.py`,
GS1 General Specifications 7.12); a day without a year is the one nearest to `today`, which comes in from outside, and
unless that is near (`SURELY_MEANT`) the one on the other side of today as well: then it is asked which; the read-back says
the year. "November twenty six" may be a day or a year, and then means both; "november thirty one" is no day, and so
nothing. After a day said as a plain number behind its month ("november twenty ...") only a year of four figures may come,
so that "november twenty twenty seven" is a month. Six figures alone are not taken for a date: people differ in their order.
"""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Callable, Iterable
from datetime import MAXYEAR, date, timedelta
from functools import lru_cache
from itertools import product

from assistant.core.labels.dates import full_year
from assistant.core.speech.automaton import Piece, Tag, either, maybe, seq, word, words
from assistant.core.speech.english import ENGLISH
from assistant.core.speech.language import Language
from assistant.core.speech.numbers import DIGITS, NOT_ZERO, TEENS, TENS
from assistant.core.speech.saying import below_hundred, sent_singly

MONTHS = ("january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november",
          "december")  # fmt: skip
ORDINALS = (
    "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth", "eleventh", "twelfth",
    "thirteenth", "fourteenth", "fifteenth", "sixteenth", "seventeenth", "eighteenth", "nineteenth", "twentieth",
    *(f"twenty {w}" for w in ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth")),
    "thirtieth", "thirty first",
)  # fmt: skip
"""The days of a month, from 1."""
ALL_MONTHS = tuple(range(1, 13))
DAYS_OF_MONTHS = (
    (range(1, 30), ALL_MONTHS),
    (range(30, 31), tuple(m for m in ALL_MONTHS if m != 2)),
    (range(31, 32), (1, 3, 5, 7, 8, 10, 12)),
)
"""Which days which months have; 29 February is looked at with its year."""
CENTURIES = ("19", "20")
DaysAs = Callable[[Iterable[int]], Piece]
MonthsAs = Callable[[Iterable[int]], Piece]


@lru_cache(maxsize=1)
def date_piece() -> Piece:
    """The grammar of a day, a month of a year, or a quarter; its tags are read by `date_values`."""
    of, the = maybe(word("of")), maybe(word("the"))
    any_year = maybe(either(_long_year(), _short_year()))
    first_day = _matched(_day_said, _month_said, lambda day, month: seq(the, day, of, month))
    counted_day = _matched(_day_counted, _month_said, lambda day, month: seq(month, the, day))
    plain_day = _matched(_day_plain, _month_said, lambda day, month: seq(month, day))
    figures = _matched(_in_two_figures("day"), _in_two_figures("month"), lambda day, month: seq(month, day))
    return either(
        seq(first_day, any_year),
        seq(counted_day, any_year),
        seq(plain_day, maybe(_long_year())),
        seq(_month_said(ALL_MONTHS), of, either(_long_year(), _short_year())),
        seq(_year_in_figures(), figures),
        seq(_quarter(), of, either(_long_year(), _short_year())),
    )


SURELY_MEANT = timedelta(days=60)
"""How near a day without its year must lie for that year to be meant beyond doubt (common practice, no source)."""


def date_values(tags: tuple[Tag, ...], today: date | None) -> tuple[str, ...]:
    """The ISO text that a path means, seen from `today`; nothing where there is no such day, or the year cannot be told."""
    part = dict(tag for tag in tags if len(tag) == 2)
    figures = "".join(tag[1] for tag in tags if tag[0] == "of year")
    year = _year(part.get("century", ""), figures, today)
    if "quarter" in part:
        return () if year is None else (f"{year:04}-Q{part['quarter']}",)
    month = int(part["month"])
    if "day" not in part:
        impossible_day = "century" not in part and 1 <= int(figures) <= 31 and not _nearest(month, int(figures), today)
        return () if year is None or impossible_day else (f"{year:04}-{month:02}",)
    day = int(part["day"])
    found = _days_of(month, day, today) if not figures else filter(None, (_day(year, month, day),))
    return tuple(each.isoformat() for each in found)


def date_aloud(text: str, language: Language = ENGLISH) -> str:
    """A date as it is read back, figure by figure, the month by its name.

    >>> date_aloud("2026-11-23"), date_aloud("2024-Q3")
    ('two three November two zero two six', 'third quarter two zero two four')
    """
    first, *rest = text.split("-")
    year = sent_singly(first, language)
    if rest[0].startswith("Q"):
        return language.phrase(f"quarter {rest[0][1]}", year=year)
    month = language.months[int(rest[0]) - 1]
    if len(rest) == 1:
        return language.phrase("month", month=month, year=year)
    return language.phrase("day", day=sent_singly(rest[1], language), month=month, year=year)


# What a path means


def _year(century: str, figures: str, today: date | None) -> int | None:
    if century:
        return int(century + figures)
    return full_year(int(figures), today) if figures and today else None


def _day(year: int | None, month: int, day: int) -> date | None:
    if year is None or not 1 <= year <= MAXYEAR or day > monthrange(year, month)[1]:
        return None
    return date(year, month, day)


def _days_of(month: int, day: int, today: date | None) -> tuple[date, ...]:
    """The day of that name nearest to `today`, and where that is no near one the next nearest too: then it is asked which."""
    nearest = _nearest(month, day, today)
    if today is None or nearest is None or abs(nearest - today) <= SURELY_MEANT:
        return () if nearest is None else (nearest,)
    other = _day(nearest.year + (1 if nearest < today else -1), month, day)
    return (nearest,) if other is None else (nearest, other)


def _nearest(month: int, day: int, today: date | None) -> date | None:
    """The day of that name nearest to `today`; of 29 February only the years beside `today`'s own are looked at."""
    if today is None:
        return None
    near = [d for year in (today.year - 1, today.year, today.year + 1) if (d := _day(year, month, day))]
    return min(near, key=lambda d: abs(d - today), default=None)


# How it is said


def _matched(days: DaysAs, months: MonthsAs, join: Callable[[Piece, Piece], Piece]) -> Piece:
    """A day and a month that has it."""
    return either(*(join(days(some), months(having)) for some, having in DAYS_OF_MONTHS))


def _month_said(months: Iterable[int]) -> Piece:
    return words({MONTHS[m - 1]: ("month", str(m)) for m in months})


def _day_counted(days: Iterable[int]) -> Piece:
    return words({ORDINALS[d - 1]: ("day", str(d)) for d in days})


def _day_plain(days: Iterable[int]) -> Piece:
    """A day as a plain number: in words or in figures, one or two."""
    table = {said: ("day", str(d)) for d in days for said in (" ".join(below_hundred(d)), *_in_figures(str(d)))}
    return either(words(table), _in_two_figures("day")(d for d in days if d < 10))


def _day_said(days: Iterable[int]) -> Piece:
    return either(_day_counted(days), _day_plain(days))


def _in_two_figures(tag: str) -> Callable[[Iterable[int]], Piece]:
    """A day or month as two figures, "zero five"."""
    return lambda numbers: words({said: (tag, str(n)) for n in numbers for said in _in_figures(f"{n:02}")})


def _in_figures(number: str) -> list[str]:
    return [" ".join(chosen) for chosen in product(*([w for w, d in DIGITS.items() if d == c] for c in number))]


def _quarter() -> Piece:
    counted = words({ORDINALS[q - 1]: ("quarter", str(q)) for q in range(1, 5)})
    plain = words({w: ("quarter", d) for w, d in DIGITS.items() if d in "1234"})
    letter = either(word("q"), word("quarter"))
    return either(seq(counted, word("quarter")), seq(plain, letter), seq(letter, plain))


def _of_year(table: dict[str, str]) -> Piece:
    return words({w: ("of year", d) for w, d in table.items()})


@lru_cache(maxsize=1)
def _year_in_figures() -> Piece:
    """Four figures, one by one."""
    century = words({said: ("century", c) for c in CENTURIES for said in _in_figures(c)})
    return seq(century, _of_year(DIGITS), _of_year(DIGITS))


@lru_cache(maxsize=1)
def _short_year() -> Piece:
    """Two figures of a year: "twenty six", "two six", "oh five"."""
    tens = {w: d[0] for w, d in TENS.items()}
    return either(
        _of_year(TEENS | TENS), seq(_of_year(tens), _of_year(NOT_ZERO)), seq(_of_year(DIGITS), _of_year(DIGITS))
    )


@lru_cache(maxsize=1)
def _long_year() -> Piece:
    """Four figures of a year: "twenty twenty six", "two thousand and five", or one by one."""
    century = words({"nineteen": ("century", "19"), "twenty": ("century", "20")})
    thousand = word("two thousand", ("century", "20"))
    below_ten = words({w: ("of year", f"0{d}") for w, d in NOT_ZERO.items()})
    tens = seq(_of_year({w: d[0] for w, d in TENS.items()}), _of_year(NOT_ZERO))
    rest = seq(maybe(word("and")), either(below_ten, _of_year(TEENS | TENS), tens))
    return either(
        seq(century, _short_year()),
        seq(thousand, rest),
        word("two thousand", ("century", "20"), ("of year", "00")),
        _year_in_figures(),
    )

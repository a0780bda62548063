"""Hull identification numbers: which country, maker and craft, when built, and for which model year.

Formats, told apart by their last four characters:
    A626  month by letter, last figure of the year, model year      33 CFR 181.25, since August 1984
    M82H  M, model year, month by letter from A = August            the model year format, 1972 to 1984
    0482  month and year in figures                                 the straight year format, 1972 to 1984
Sources: 33 CFR 181.25 (twelve characters; I, O and Q never in the serial); the older two as public explanations of the
rule restate them (M82H: model year 1982, built in March). ISO 10087 puts a country of two letters and a hyphen before the
same twelve; its text was not seen. A model year runs from June of the year before to the end of July (33 CFR 175.3).

A hull number has no check character. What can be checked is that its months exist, lie in the past, and agree.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date

from assistant.core.labels.faults import LabelFault

FIRST_YEAR, OLD_UNTIL = 1972, 1984
"""The rule began on 1 November 1972; the older two formats ended with July 1984."""
LETTERS = "ABCDEFGHIJKL"
"""Months by letter: A is January, in the model year format August."""

_SHAPE = re.compile(r"(?:(?P<country>[A-Z]{2})-?)?(?P<maker>[A-Z0-9]{3})(?P<serial>[A-Z0-9]{5})(?P<dates>[A-Z0-9]{4})")
_BY_LETTER = re.compile(r"([A-L])([0-9])([0-9]{2})")
_MODEL_YEAR = re.compile(r"M([0-9]{2})([A-L])")
_STRAIGHT = re.compile(r"(0[1-9]|1[0-2])([0-9]{2})")


@dataclass(frozen=True)
class HullNumber:
    """What a hull number says. `written`: as the standards write it, with the hyphen behind a country.

    country: "" where none is given; built: "2016-01"; model_year: None in the straight year format, which has none;
    doubt: a plain sentence where month and model year do not go together, "" else: then look at the hull again.
    """

    written: str
    country: str
    maker: str
    serial: str
    built: str
    model_year: int | None
    doubt: str = ""


def read_hull_number(text: str, today: date) -> HullNumber | LabelFault:
    """Read twelve characters, or fourteen with the country; capitals or not, and spaces around it, do not matter.

    >>> read_hull_number("US-ABC12345K485", date(2026, 11, 26)).built
    '1984-11'
    """
    number = text.strip().upper()
    found = _SHAPE.fullmatch(number) if number.isascii() else None
    if found is None:
        return LabelFault("a hull number is 12 letters and figures, or 14 with its country, without gaps")
    odd = next((c for c in found["serial"] if c in "IOQ"), "")
    if odd:
        return LabelFault(f"the serial of a hull number has no {odd}: look for a one or a zero")
    dated = _dated(found["dates"], today)
    if isinstance(dated, LabelFault):
        return dated
    year, month, model_year = dated
    if (year, month) > (today.year, today.month):
        return LabelFault(f"it says built in {year}-{month:02}, which is yet to come")
    if year < FIRST_YEAR:
        return LabelFault(f"it says built in {year}, before there were hull numbers")
    country = found["country"] or ""
    bare = number.removeprefix(country).removeprefix("-")
    return HullNumber(
        f"{country}-{bare}" if country else bare,
        country,
        found["maker"],
        found["serial"],
        f"{year}-{month:02}",
        model_year,
        _doubt(year, month, model_year),
    )


def _dated(dates: str, today: date) -> tuple[int, int, int | None] | LabelFault:
    """Year, month and model year."""
    if found := _BY_LETTER.fullmatch(dates):
        model_year = _full_year(found[3], today.year + 1)
        month = LETTERS.index(found[1]) + 1
        return model_year - (model_year - int(found[2])) % 10, month, model_year
    if found := _MODEL_YEAR.fullmatch(dates):
        model_year = _full_year(found[1], OLD_UNTIL + 1)
        month = (LETTERS.index(found[2]) + 7) % 12 + 1
        return model_year - (month >= 8), month, model_year
    if found := _STRAIGHT.fullmatch(dates):
        return _full_year(found[2], OLD_UNTIL), int(found[1]), None
    return LabelFault(f"{dates} at its end is no month and year")


def _full_year(two_figures: str, latest: int) -> int:
    """The last year, up to `latest`, that ends in these figures."""
    return latest - (latest - int(two_figures)) % 100


def _doubt(year: int, month: int, model_year: int | None) -> str:
    if model_year is None or (model_year - 1, 6) <= (year, month) <= (model_year, 7):
        return ""
    return f"built in {year}-{month:02} does not go with model year {model_year}"

"""Days, months and quarters of a year: how rubber is dated, and how long it lasts from there.

A quarter is marked nQyy, "3Q24" (seal suppliers), or n/yy, "3/94" (the label of ISO 2230:2002 section 5.3), and kept as
"2024-Q3", beside the days and months of ISO 8601. Ageing counts from the end of the quarter (reference.md section 4.3).
"""

from __future__ import annotations

import re
from calendar import monthrange
from dataclasses import dataclass
from datetime import date

from assistant.core.labels.dates import full_year

ISO_DATE = re.compile(r"(\d{4})-(?:Q([1-4])|(\d\d)(?:-(\d\d))?)", re.ASCII)
"""2026-11-23, 2027-11, 2024-Q3."""
MARKED = re.compile(r"([1-4])\s?[Qq/]\s?((?:19|20)?\d\d)", re.ASCII)
"""3Q24, 3q2024, 3/94."""


@dataclass(frozen=True)
class Quarter:
    """Quarter `number`, 1 to 4, of a year."""

    year: int
    number: int

    @property
    def first_day(self) -> date:
        """The first of January, April, July or October."""
        return date(self.year, 3 * self.number - 2, 1)

    @property
    def last_day(self) -> date:
        """The day from whose end ageing counts."""
        month = 3 * self.number
        return date(self.year, month, monthrange(self.year, month)[1])

    @property
    def mark(self) -> str:
        """As it stands on a bag: "3Q24"."""
        return f"{self.number}Q{self.year % 100:02}"

    def later(self, years: int) -> Quarter:
        """The same quarter of a later year.

        >>> Quarter(2024, 2).later(15).last_day
        datetime.date(2039, 6, 30)
        """
        return Quarter(self.year + years, self.number)


def quarter_of(day: date) -> Quarter:
    """The quarter in which a day lies."""
    return Quarter(day.year, (day.month + 2) // 3)


def quarter_marked(text: str, today: date) -> Quarter:
    """The quarter that a mark, or an ISO day, month or quarter, stands for.

    Two figures of a year mean what they mean on a label (GS1 General Specifications 7.12), seen from `today`.
    Raises ValueError for what is no quarter.

    >>> quarter_marked("3/94", date(2026, 11, 26)).last_day, quarter_marked("2020-11-15", date(2026, 11, 26)).mark
    (datetime.date(1994, 9, 30), '4Q20')
    """
    found = MARKED.fullmatch(text.strip())
    if found is not None:
        year = int(found[2])
        return Quarter(year if len(found[2]) == 4 else full_year(year, today), int(found[1]))
    if ISO_DATE.fullmatch(text.strip()) is None:
        raise ValueError(f"'{text}' is no quarter: write it as 3Q24, 3/94, 2024-Q3, or the day as 2024-08-15")
    return quarter_of(first_day(text.strip()))


def first_day(text: str) -> date:
    """The first day of an ISO day, month or quarter. ValueError, saying so, where the text is none of them.

    >>> first_day("2024-Q3"), last_day("2024-Q3")
    (datetime.date(2024, 7, 1), datetime.date(2024, 9, 30))
    """
    found = ISO_DATE.fullmatch(text)
    if found is None:
        raise ValueError(f"'{text}' is no day, month or quarter of a year")
    year, quarter, month, day = (int(part or 0) for part in found.groups())
    try:
        return Quarter(year, quarter).first_day if quarter else date(year, month, day or 1)
    except ValueError as error:
        raise ValueError(f"there is no {text}") from error


def last_day(text: str) -> date:
    """The last day of a day, month or quarter. ValueError as `first_day`."""
    first = first_day(text)
    if "Q" in text:
        return quarter_of(first).last_day
    return first if len(text) == len("2026-11-23") else first.replace(day=monthrange(first.year, first.month)[1])

"""Trade computations called from a procedure: what their inputs may be given, and the call itself.

An input is given amounts, words, texts, dates as text, or kept values (`OfReading`); which of these fit is read from the
computation's own signature (`trade.inputs`).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from difflib import get_close_matches
from typing import Any

from assistant.core.procedure import Given, OfReading, Reading
from assistant.core.trade.figure import Figure
from assistant.core.trade.inputs import Computation, Input
from assistant.core.trade.quarters import last_day
from assistant.core.units import Amount, kind_of

ITSELF, WHOLE, TODAY = "it", "all", "today"
"""What a limit may give an input: the value that is judged, the set that it belongs to; for a date also the day of the job."""
One = Amount | str | OfReading


def parts_of(given: Given) -> tuple[One, ...]:
    """One or several values given, as several."""
    return given if isinstance(given, tuple) else (given,)


def input_named(computation: Computation, name: str) -> Input | None:
    """The input of that name."""
    return next((i for i in computation.inputs if i.name == name), None)


def misnamed(computation: Computation, names: Iterable[str]) -> Iterator[tuple[str, str, str]]:
    """(name, what is wrong, what to do) for each name that it does not take, and each that it needs and is not given."""
    given = set(names)
    wanted = [i.name for i in computation.inputs]
    needed = {i.name for i in computation.inputs if i.needed}
    for name in sorted((given - set(wanted)) | (needed - given)):
        near = get_close_matches(name, wanted, 1) if name in given else []
        what = "does not take" if name in given else "needs"
        advice = f"did you mean '{near[0]}'?" if near else f"it takes {', '.join(wanted)}"
        yield name, f"{computation.name} {what} '{name}'", advice


def fits(wanted: Input, reading: Reading) -> bool:
    """May the input be given this reading's value."""
    if wanted.form == "amount":
        return reading.kind in ("measured", "count") and kind_of(reading.unit) == kind_of(wanted.unit)
    if wanted.form == "word":
        return reading.kind == "choice" and all(choice.name in wanted.words for choice in reading.choices)
    return reading.kind == "date" if wanted.form == "date" else reading.kind in ("letters", "date", "choice")


def wanted_kind(wanted: Input) -> str:
    """What an input takes, in words."""
    told = {"amount": kind_of(wanted.unit) or "", "word": f"one of {', '.join(wanted.words)}", "date": "date"}
    return told.get(wanted.form, "text")


def is_date(text: str) -> bool:
    """Is it a day, a month, a quarter, or today."""
    try:
        return text == TODAY or bool(last_day(text))
    except ValueError:
        return False


def compute(computation: Computation, given: Mapping[str, Sequence[Amount | str]], today: date | None) -> Figure:
    """Call it with values for each input. A month or quarter counts as its last day (as elsewhere); `today` as that day.

    Raises ValueError, in words for a person, for whatever it cannot compute.
    """
    try:
        taken = {i.name: _taken(i, given[i.name], today) for i in computation.inputs if i.name in given}
        return computation(**taken)
    except ArithmeticError as error:
        raise ValueError(
            f"{computation.name} cannot be worked out from these values ({type(error).__name__})"
        ) from error


def _taken(wanted: Input, values: Sequence[Amount | str], today: date | None) -> Any:
    found = tuple(_date(value, today) if wanted.form == "date" else value for value in values)
    if not wanted.several and len(found) != 1:
        raise ValueError(f"'{wanted.name}' takes one value, and is given {len(found)}")
    return found if wanted.several else found[0]


def _date(value: Amount | str, today: date | None) -> date:
    if value == TODAY and today is not None:
        return today
    if isinstance(value, Amount):
        raise ValueError(f"{value} is no date")
    return last_day(value)

"""Is this packet the part that the step wants? The answer, and the sentence that is spoken.

Right only where the product number, or failing that the part number, is one that the machine sheet lists for the role.
Part numbers are compared whole, capitals aside: hyphens and spaces count, and a sheet lists each way of writing one.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Literal

from assistant.core.labels.check_digit import gtin14
from assistant.core.labels.meaning import LabelMeaning
from assistant.core.procedure import WantedPart
from assistant.core.speech.saying import READ_BACK

Answer = Literal["right", "wrong", "not known", "past its date", "already used"]

_LETTERS = (
    "Alfa", "Bravo", "Charlie", "Delta", "Echo", "Foxtrot", "Golf", "Hotel", "India", "Juliett", "Kilo", "Lima", "Mike",
    "November", "Oscar", "Papa", "Quebec", "Romeo", "Sierra", "Tango", "Uniform", "Victor", "Whiskey", "X-ray",
    "Yankee", "Zulu",
)  # fmt: skip
_SIGNS = {"-": "dash", ".": "decimal", "/": "slash", "+": "plus", " ": "space"}


@dataclass(frozen=True)
class PartAnswer:
    """The answer; the role that the packet fits ("" if none is known); one short sentence to be spoken."""

    answer: Answer
    role: str
    sentence: str


def spelled(number: str) -> str:
    """Figure by figure and letter by letter, by the ICAO alphabet.

    >>> spelled("T3-09")
    'Tango three dash zero niner'
    """
    return " ".join(_character(c) for c in number.upper())


def _character(c: str) -> str:
    if c in "0123456789":
        return READ_BACK[int(c)]
    if "A" <= c <= "Z":
        return _LETTERS[ord(c) - ord("A")]
    return _SIGNS.get(c, c)


def use_key(meaning: LabelMeaning) -> str:
    """What makes one packet the same packet again: product or part number with serial; "" where it has no serial."""
    product = meaning.gtin or meaning.number
    return f"{product}/{meaning.serial}" if meaning.serial and product else ""


def check_part(
    meaning: LabelMeaning,
    wanted: WantedPart,
    all_wanted: Iterable[WantedPart],
    already_used: frozenset[str],
    today: date,
) -> PartAnswer:
    """Judge one packet for the role `wanted`; `already_used` holds `use_key` of packets taken before."""
    if meaning.problem is not None:
        return PartAnswer("not known", "", f"I can't trust that label: {_said_problem(meaning.problem)}.")
    if not _fits(meaning, wanted):
        return _misfit(meaning, wanted, all_wanted)
    if _is_past(meaning.expiry, today):
        return PartAnswer(
            "past its date", wanted.role, f"{_opened(wanted)}, but past its date, {_spoken_day(meaning.expiry)}."
        )
    if use_key(meaning) in already_used:
        sentence = f"{_opened(wanted)}, but serial {spelled(meaning.serial)} was already used."
        return PartAnswer("already used", wanted.role, sentence)
    return PartAnswer("right", wanted.role, f"{_opened(wanted)}, that fits.")


def _misfit(meaning: LabelMeaning, wanted: WantedPart, all_wanted: Iterable[WantedPart]) -> PartAnswer:
    other = next((part for part in all_wanted if part.role != wanted.role and _fits(meaning, part)), None)
    if other is not None:
        return PartAnswer("wrong", other.role, f"Wrong part: that is the {other.say}. I want the {wanted.say}.")
    return PartAnswer("not known", "", f"I don't know {_said_number(meaning)}. I want the {wanted.say}.")


def _said_problem(problem: str) -> str:
    return re.sub(r"[0-9]+", lambda figures: spelled(figures[0]), problem)


def _opened(wanted: WantedPart) -> str:
    return wanted.say[:1].upper() + wanted.say[1:]


def _fits(meaning: LabelMeaning, part: WantedPart) -> bool:
    """By product number where the label and the sheet both give one; else by part number."""
    if meaning.gtin and part.gtins:
        return meaning.gtin in {gtin14(g) for g in part.gtins}
    written = {n.upper() for n in (meaning.number, meaning.number_checked) if n}
    return not written.isdisjoint(n.strip().upper() for n in part.numbers)


def _is_past(expiry: str, today: date) -> bool:
    """The day itself is still good. A time of day is not looked at: the bench's day is what counts."""
    return bool(expiry) and date.fromisoformat(expiry[:10]) < today


def _spoken_day(expiry: str) -> str:
    day = date.fromisoformat(expiry[:10])
    return f"{day:%B} {day.year}"


def _said_number(meaning: LabelMeaning) -> str:
    """The part number, or the last four figures of the product number: found on the packet, and short to hear."""
    if meaning.number:
        return f"part number {spelled(meaning.number)}"
    return f"the product that ends in {spelled(meaning.gtin[-4:])}" if meaning.gtin else "what that label says"

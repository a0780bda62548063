"""The words of numbers, as data: a table a language, from which the grammar of `numbers` and the words of `saying` are made.

A word is told what figure it stands for; of several words for one figure the first is the one that is said. English counts its
hundreds ("two hundred") and has no word between tens and units; Spanish has a word for each hundred ("quinientos") and a "y".
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

DIGITS: dict[str, str] = {
    "zero": "0", "oh": "0", "one": "1", "two": "2", "three": "3", "tree": "3", "four": "4", "fower": "4",
    "five": "5", "fife": "5", "six": "6", "seven": "7", "eight": "8", "nine": "9", "niner": "9",
}  # fmt: skip
TEENS: dict[str, str] = {
    "ten": "10", "eleven": "11", "twelve": "12", "thirteen": "13", "fourteen": "14", "fifteen": "15",
    "sixteen": "16", "seventeen": "17", "eighteen": "18", "nineteen": "19",
}  # fmt: skip
TENS: dict[str, str] = {
    "twenty": "20", "thirty": "30", "forty": "40", "fifty": "50",
    "sixty": "60", "seventy": "70", "eighty": "80", "ninety": "90",
}  # fmt: skip
FRACTIONS: dict[str, str] = {
    "a half": "0.5", "half": "0.5", "one half": "0.5", "a quarter": "0.25", "one quarter": "0.25",
    "three quarters": "0.75",
}  # fmt: skip
"""Words said after "and", or alone."""
POINT = ("point", "decimal")
SIGNS = ("minus", "negative")
READ_BACK = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "niner")


@dataclass(frozen=True, eq=False)
class NumberWords:
    """One language's. Compared by identity, so that grammars are kept for it cheaply.

    `sent`: the figures 0 to 9 as they are read back. `digits`, `teens` (10 and more, no unit follows), `tens` (a unit may
    follow, behind `and_unit`), `hundreds`: word -> figure. `hundred`: the word behind a digit, where hundreds are counted;
    `hundred_alone`: one hundred where nothing follows. `thousand_alone`: it is one thousand by itself; `before_thousand`: words
    that are shortened there. `and_rest` may stand behind hundreds, `and_part` stands before `fractions` and `tenths`.
    `articles` are worth one before a unit, `of_one` stands between a
    fraction and a unit ("half `of a` gallon"). `points`, the first one counted with, the last one read back.
    `below`: said behind a number below zero, as `signs` before it. `times`: "double five". `none` is no count at all,
    "`no` faults" too. `pairs`: "one ninety" for 190 and "twelve six" for 12.6, which only English has.
    """

    sent: tuple[str, ...]
    digits: Mapping[str, str]
    teens: Mapping[str, str]
    tens: Mapping[str, str]
    thousand: str
    points: tuple[str, ...]
    signs: tuple[str, ...]
    hundreds: Mapping[str, str] = field(default_factory=dict)
    hundred: str = ""
    hundred_alone: str = ""
    thousand_alone: bool = False
    before_thousand: Mapping[str, str] = field(default_factory=dict)
    and_unit: str = ""
    and_rest: str = ""
    and_part: str = ""
    articles: tuple[str, ...] = ()
    of_one: tuple[str, ...] = ()
    below: tuple[str, ...] = ()
    fractions: Mapping[str, str] = field(default_factory=dict)
    tenths: tuple[str, ...] = ()
    times: Mapping[str, str] = field(default_factory=dict)
    none: tuple[str, ...] = ()
    no: str = ""
    pairs: bool = False

    def said(self, figure: str) -> str:
        """The word that says a figure, a teen, a ten or a hundred; "" where no single word does."""
        tables = (self.digits, self.teens, self.tens, self.hundreds)
        return next((word for table in tables for word, worth in table.items() if worth == figure), "")

    @property
    def not_zero(self) -> dict[str, str]:
        """The digits from 1 to 9."""
        return {word: digit for word, digit in self.digits.items() if digit != "0"}


ENGLISH_NUMBERS = NumberWords(
    sent=READ_BACK,
    digits=DIGITS,
    teens=TEENS,
    tens=TENS,
    thousand="thousand",
    points=POINT,
    signs=SIGNS,
    hundred="hundred",
    and_rest="and",
    and_part="and",
    articles=("a", "an"),
    of_one=("a", "an", "of a", "of an"),
    below=("below", "below zero"),
    fractions=FRACTIONS,
    tenths=("tenths", "tenth"),
    times={"double": "2", "triple": "3"},
    none=("none",),
    no="no",
    pairs=True,
)

"""A language, as data: every sentence that the program says, and the words of numbers, units and commands.

English is `ENGLISH` (`english.py`), in Python, because `core` reads no files and must be able to talk without any; every other
is a YAML file with the same keys (`files/language_file.py`). Nothing else in the program depends on which language it is.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from string import Formatter

from assistant.core.speech.number_words import NumberWords

DETAIL = "detail"
"""A placeholder for what the program itself found, in English: a translation may leave it out."""


@dataclass(frozen=True, eq=False)
class UnitWords:
    """How units are said after a number. `phrases`: unit -> what may be said; `bare`: of the gallon that the shop means;
    `degrees`: the reading's own scale; `of_one`: the phrases for one of a unit, which may follow an article;
    `inch_parts`: word of a part of an inch -> into how many it divides it."""

    phrases: Mapping[str, tuple[str, ...]]
    bare: Mapping[str, Mapping[str, tuple[str, ...]]] = field(default_factory=dict)
    degrees: tuple[str, ...] = ()
    of_one: frozenset[str] = frozenset()
    inch_parts: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True, eq=False)
class PlaceWords:
    """What may stand about a place: "`on_number` cylinder `number` two `is_`", "`on_word` port side `is_`"."""

    on_number: tuple[str, ...] = ()
    on_word: tuple[str, ...] = ()
    number: str = ""
    is_: str = ""


@dataclass(frozen=True, eq=False)
class Language:
    """One language. Compared by identity, so that grammars are kept for it cheaply.

    `code`: its name in a site sheet; `voice`: of espeak-ng. `phrases`: key -> sentence with {placeholders}. `units`: unit ->
    (one, many) as said. `point`: the decimal sign of a number in a text that is spoken. `names`: names of the files (places,
    conditions and their values, readings) as they are said, where not as they are written. `commands`: command -> what may
    be said. `everyday`: answers that mean nothing here. `sides`: "after" and "before" of *say again all after*. `signs`: spoken
    word -> sign of a code that is no letter and no figure; `sign_words`: how each is read back. `ordinals`: first to
    fourteenth. `of`: before the month and the year of a date; `dates`: are dates understood as they are said in English.
    """

    code: str
    voice: str
    phrases: Mapping[str, str]
    numbers: NumberWords
    units: Mapping[str, tuple[str, str]]
    unit_words: UnitWords
    commands: Mapping[str, tuple[str, ...]]
    everyday: tuple[str, ...]
    sides: Mapping[str, str]
    all_: str
    part_number: str
    months: tuple[str, ...]
    ordinals: tuple[str, ...]
    sign_words: Mapping[str, str]
    signs: Mapping[str, str]
    places: PlaceWords
    names: Mapping[str, str] = field(default_factory=dict)
    of: str = ""
    point: str = "."
    dates: bool = False

    def phrase(self, key: str, **named: str) -> str:
        """The sentence of that key with its placeholders filled. KeyError for a key or a placeholder that there is not."""
        return self.phrases[key].format(**named)

    def unit(self, unit: str) -> str:
        """A unit as it is said after a number; one that is not on the list as it stands."""
        return self.units[unit][1] if unit in self.units else unit

    def named(self, name: str) -> str:
        """A name of the files as it is said: "rest_voltage" is "rest voltage"."""
        return self.names.get(name, name.replace("_", " "))

    def listed(self, things: list[str]) -> str:
        """ "a, b and c"."""
        if len(things) == 1:
            return things[0]
        return self.phrase("and", first=", ".join(things[:-1]), last=things[-1])


def capital(text: str) -> str:
    """The text as it begins a sentence."""
    return text[:1].upper() + text[1:]


def placeholders(sentence: str) -> frozenset[str]:
    """The names in {brackets}. Raises ValueError where brackets do not match, or hold more than a name.

    >>> sorted(placeholders("Step {number} of {steps}."))
    ['number', 'steps']
    """
    found = set()
    for _, name, form, conversion in Formatter().parse(sentence):
        if name is None:
            continue
        if not name.isidentifier() or form or conversion:
            raise ValueError(f"'{{{name}}}' is no placeholder")
        found.add(name)
    return frozenset(found)

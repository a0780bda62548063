"""Dates in any language but English: with the month by its name, or by figures alone; the tags are those of `dates`.

    veintitrés de noviembre de dos mil veintiséis     noviembre de dos mil veintisiete     dos cero dos seis uno uno dos tres

Quarters, years of two figures and days counted by ordinals are not understood: they differ too much from language to language.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from itertools import product

from assistant.core.speech.automaton import Piece, Tag, either, maybe, seq, word
from assistant.core.speech.dates import ALL_MONTHS, CENTURIES, DAYS_OF_MONTHS
from assistant.core.speech.language import Language
from assistant.core.speech.saying import below_hundred, in_full


@lru_cache(maxsize=4)
def plain_date_piece(language: Language) -> Piece:
    """The grammar of a day, or of a month of a year, in that language."""
    of, year = maybe(word(language.of)), _year(language)
    days = [seq(_day(some, language), of, _month(having, language), of, year) for some, having in DAYS_OF_MONTHS]
    figures = [
        seq(_two_figures("month", having, language), _two_figures("day", some, language))
        for some, having in DAYS_OF_MONTHS
    ]
    return either(*days, seq(_month(ALL_MONTHS, language), of, year), seq(_year(language), either(*figures)))


def _month(months: Iterable[int], language: Language) -> Piece:
    return either(*(word(language.months[m - 1].lower(), ("month", str(m))) for m in months))


def _day(days: Iterable[int], language: Language) -> Piece:
    ways = ((d, said) for d in days for said in (" ".join(below_hundred(d, language)), *_in_figures(str(d), language)))
    return either(*(word(said, ("day", str(d))) for d, said in ways))


def _two_figures(tag: str, numbers: Iterable[int], language: Language) -> Piece:
    return either(*(word(said, (tag, str(n))) for n in numbers for said in _in_figures(f"{n:02}", language)))


def _year(language: Language) -> Piece:
    """Four figures one by one, or in full."""
    forms = []
    for century, rest in product(CENTURIES, range(100)):
        tags: tuple[Tag, ...] = (("century", century), ("of year", f"{rest:02}"))
        year = f"{century}{rest:02}"
        forms += [word(said, *tags) for said in (" ".join(in_full(int(year), language)), *_in_figures(year, language))]
    return either(*forms)


def _in_figures(number: str, language: Language) -> list[str]:
    """Figure by figure, as anyone says it and as it is read back."""
    words = language.numbers
    return list(dict.fromkeys(" ".join(said(c) for c in number) for said in (words.said, lambda c: words.sent[int(c)])))

"""Is a packet past its date, or past the shelf life of its rubber? By what its labels say and what the sheet says of it.

Expiry (17, 7003, 14D) and best-before (15) are judged alike: the day itself is still good. Where the sheet says how its rubber
ages, the date it was made (11, 16D, 9D) counts as the cure date, by the computations of `core.trade.seals`; an expiry on the
packet is its maker's own word, and then the rubber is not reckoned anew.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import cast

from assistant.core.labels.meaning import LabelMeaning
from assistant.core.machine import SealLife
from assistant.core.speech.english import ENGLISH
from assistant.core.speech.language import Language
from assistant.core.trade.figure import Figure
from assistant.core.trade.seals import Arp5316Polymer, Iso2230Polymer, seal_arp5316, seal_iso2230, seal_on_label
from assistant.core.units import Amount


@dataclass(frozen=True)
class Age:
    """`past`: refused; `doubtful`: to be affirmed; else `sentence` is only said ("" nothing to say). It begins small, and has
    no full stop."""

    sentence: str = ""
    past: bool = False
    doubtful: bool = False


def age_of(meaning: LabelMeaning, seal: SealLife | None, today: date, language: Language = ENGLISH) -> Age:
    """The first thing that stands against it. A time of day is not looked at: the bench's day is what counts."""
    for day, phrase in ((meaning.expiry, "past date"), (meaning.best_before, "past best before")):
        if day and date.fromisoformat(day[:10]) < today:
            return Age(language.phrase(phrase, month=_spoken_month(day, language)), past=True)
    if seal is None or meaning.expiry:
        return Age()
    if not meaning.made:
        return Age(language.phrase("no cure date"))
    return _rubber(seal, meaning.made, today, language)


def _rubber(seal: SealLife, made: str, today: date, language: Language) -> Age:
    cured = _spoken_month(made, language)
    try:
        figure = seal_figure(seal, made, today)
    except ValueError:
        return Age(language.phrase("cured impossible", month=cured), doubtful=True)
    if figure.verdict == "high":
        return Age(language.phrase("rubber past", month=cured), past=True)
    if figure.verdict == "unsure":
        return Age(language.phrase("rubber doubtful", month=cured), doubtful=True)
    return Age()


def seal_figure(seal: SealLife, cured: str, on: date) -> Figure:
    """The computation that the sheet names. Raises ValueError as that does: a polymer that it does not know, a cure date
    that is none or lies after `on`."""
    if seal.rule == "iso2230":
        return seal_iso2230(polymer=cast("Iso2230Polymer", seal.polymer), cured=cured, on=on)
    if seal.rule == "arp5316":
        return seal_arp5316(polymer=cast("Arp5316Polymer", seal.polymer), cured=cured, on=on)
    return seal_on_label(cured=cured, years=Amount(Decimal(seal.years), "count"), on=on)


def _spoken_month(day: str, language: Language) -> str:
    on = date.fromisoformat(day[:10])
    return language.phrase("month", month=language.months[on.month - 1], year=str(on.year))

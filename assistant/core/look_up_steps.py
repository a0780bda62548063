"""The steps by which a number is looked up in the manual: the number, its page; and the one where all are affirmed.

They are ordinary steps with ordinary readings, so that everything that holds for a reading holds here: two ears, the asking
rule, the read-back, the sound on record. What is usual for such a number is the limit that it is judged by at once.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal

from assistant.core.entries import ReadingKept
from assistant.core.machine import Site
from assistant.core.procedure import Limit, Reading, Step
from assistant.core.sheet_needs import Need
from assistant.core.speech.english import ENGLISH
from assistant.core.speech.language import Language
from assistant.core.speech.letters import spelled_back
from assistant.core.speech.wording import amount_aloud
from assistant.core.trade.plausible import usual_of
from assistant.core.units import Amount, convert, kind_of

NUMBER, PAGE = "looked_up_number", "looked_up_page"
"""The two readings of a look-up."""
LONGEST_PAGE = 10
"""Signs of a page: "6-4", "A-112"; common practice, no source."""
GATE = "look_up.affirmed"
WIDE: Mapping[str, tuple[str, str, str]] = {
    "length": ("mm", "0", "1000"),
    "volume": ("L", "0", "600"),
    "pressure": ("psi", "0", "1000"),
    "absolute pressure": ("psi_abs", "0", "1000"),
    "torque": ("Nm", "0", "500"),
    "temperature": ("degF", "-100", "600"),
    "temperature difference": ("delta_F", "0", "200"),
    "voltage": ("V", "0", "60"),
    "current": ("A", "0", "500"),
    "resistance": ("ohm", "0", "99999"),
    "time": ("h", "0", "9999"),
    "speed": ("rpm", "0", "20000"),
    "mass": ("kg", "0", "999"),
    "share": ("percent", "0", "100"),
    "specific gravity": ("sg", "0.5", "2"),
    "count": ("count", "0", "99"),
}
"""What a number of that kind can be at all, wide enough for any machine of the trade (common practice, no source)."""
ANYTHING = ("0", "9999")
PLACES: Mapping[str, int] = {
    "V": 2,
    "mm": 2,
    "inch": 3,
    "L": 2,
    "us_gal": 2,
    "imp_gal": 2,
    "us_qt": 2,
    "us_pt": 2,
    "sg": 3,
}
"""Decimals that are customary in a manual; of other units `FEW`, of counts none (common practice, no source)."""
FEW = 1


def step_id(name: str) -> str:
    """The step that looks up a number.

    >>> step_id("plug_torque")
    'look_up.plug_torque'
    """
    return f"look_up.{name}"


def condition_of(name: str, language: Language = ENGLISH) -> str:
    """The condition that is affirmed of a number: "plug torque in the manual must be ..."."""
    return language.phrase("in the manual", name=called(name, language)).replace(" ", "_")


def called(name: str, language: Language = ENGLISH) -> str:
    """What a number is called aloud.

    >>> called("plug_torque"), called("compression_least")
    ('plug torque', 'least compression')
    """
    for ending in ("least", "usual", "most"):
        if name.endswith(f"_{ending}") and not name.endswith(f"_at_{ending}"):
            return language.phrase(ending, name=language.named(name.removesuffix(f"_{ending}")))
    return language.named(name)


def in_words(number: ReadingKept, page: str, site: Site) -> str:
    """Number and page as they are put to be affirmed: "one three pound force feet, page six dash four"."""
    said = amount_aloud(Decimal(number.value), number.unit, site.read_back, site.language)
    return site.language.phrase("number and page", number=said, page=spelled_back(page, site.language))


def look_up_step(need: Need, language: Language = ENGLISH) -> Step:
    """Look a number up, say it, say its page."""
    name, unit = called(need.name, language), language.unit(need.units[0])
    look = language.phrase("look it up in", name=name, unit=unit) if unit else language.phrase("look it up", name=name)
    used = language.phrase("it is for", step=need.steps[0]) if need.steps else ""
    page = Reading(PAGE, language.phrase("ask page"), kind="letters", length=(1, LONGEST_PAGE))
    return Step(
        step_id(need.name),
        language.phrase("look up", name=name),
        " ".join(filter(None, (look, used, language.phrase("say number")))),
        readings=(_number(need, language.phrase("ask number")), page),
    )


def gate_step(said: Mapping[str, str], refused: Sequence[str], language: Language = ENGLISH) -> Step:
    """Where each number that was read out is affirmed, as a condition that the step needs. `said`: name -> number and page.

    `refused`: those that cannot be, though they were affirmed: least above most, or outside of what can be read at all.
    """
    told = language.phrase("numbers taken" if said else "numbers none")
    if refused:
        names = language.listed([called(name, language) for name in refused])
        told = language.phrase("numbers refused", names=names)
    needs = {condition_of(name, language): words for name, words in said.items()}
    return Step(GATE, language.phrase("job begins"), language.phrase("numbers", told=told), needs=needs)


def _number(need: Need, ask: str) -> Reading:
    """A number of the kind that is wanted, in the customary unit, no wider than what it must lie in."""
    unit = need.units[0]
    low, high = _range(need, unit)
    if unit == "count":
        return Reading(NUMBER, ask, kind="count", plausible=(low, high), limits=_usual(need, unit, low, high))
    places = max((reading.places for reading in need.readings if reading.unit == unit), default=PLACES.get(unit, FEW))
    limits = _usual(need, unit, low, high)
    return Reading(NUMBER, ask, unit=unit, plausible=(low, high), places=places, limits=limits)


def _range(need: Need, unit: str) -> tuple[Decimal, Decimal]:
    of, *bounds = WIDE.get(need.kind, (unit, *ANYTHING))
    low, high = (convert(Amount(Decimal(bound), of), unit).value for bound in bounds)
    for reading in need.readings:
        if kind_of(reading.unit) == kind_of(unit):
            least, most = (convert(Amount(bound, reading.unit), unit).value for bound in reading.plausible)
            low, high = max(low, least), min(high, most)
    return low, high


def _usual(need: Need, unit: str, low: Decimal, high: Decimal) -> tuple[Limit, ...]:
    """What such a number usually is, as far as it can be here; none where nothing is known."""
    usual = usual_of(need.name, Amount(low, unit))
    if usual is None:
        return ()
    least, most = (convert(Amount(bound, usual.unit), unit) for bound in (usual.least, usual.most))
    least, most = Amount(max(least.value, low), unit), Amount(min(most.value, high), unit)
    return (Limit("between", low=least, high=most, source=usual.source),) if least.value < most.value else ()

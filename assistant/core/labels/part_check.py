"""Is this packet the part that the step wants? The answer, and the sentence that is spoken.

Right only where the product number, or failing that the part number, is one that the machine sheet lists for the role.
Part numbers are compared whole, capitals aside: hyphens and spaces count, and a sheet lists each way of writing one. A
number that is listed only less its mod 43 character is not known: one number in 43 ends in that character by chance.

Refused: wrong, already used, past its date. Asked (*affirm* takes it): superseded, an age that nobody can vouch for, the
same label again where no serial tells two packets apart, not known. Taken at once: right, and learnt in this job.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from functools import partial, reduce
from typing import Literal

from assistant.core.labels.check_digit import gtin14
from assistant.core.labels.meaning import LabelMeaning
from assistant.core.labels.part_age import Age, age_of
from assistant.core.machine import WantedPart
from assistant.core.speech.english import ENGLISH
from assistant.core.speech.language import Language, capital
from assistant.core.speech.saying import sent_singly

Answer = Literal[
    "right",
    "learnt",
    "shown before",
    "superseded",
    "age in doubt",
    "already used",
    "past its date",
    "wrong",
    "not known",
]
TAKEN: tuple[Answer, ...] = ("right", "learnt")
ASKED: tuple[Answer, ...] = ("shown before", "superseded", "age in doubt", "not known")
BEST_FIRST: tuple[Answer, ...] = (
    "right", "learnt", "shown before", "superseded", "age in doubt", "already used", "past its date", "wrong", "not known",
)  # fmt: skip
"""Of several labels of one look, the first of these counts."""
Fit = Literal["", "accepted", "learnt", "superseded"]

_LETTERS = (
    "Alfa", "Bravo", "Charlie", "Delta", "Echo", "Foxtrot", "Golf", "Hotel", "India", "Juliett", "Kilo", "Lima", "Mike",
    "November", "Oscar", "Papa", "Quebec", "Romeo", "Sierra", "Tango", "Uniform", "Victor", "Whiskey", "X-ray",
    "Yankee", "Zulu",
)  # fmt: skip


@dataclass(frozen=True)
class PartAnswer:
    """The answer; the role that the packet fits ("" if none is known); one short sentence to be spoken."""

    answer: Answer
    role: str
    sentence: str


@dataclass(frozen=True)
class Taken:
    """What the job has taken before. `serials`: `use_key` of packets with one; `counts`: pieces by `same_key` of those
    without; `learnt`: product and part numbers affirmed in this job, by role."""

    serials: frozenset[str] = frozenset()
    counts: Mapping[str, int] = field(default_factory=dict)
    learnt: Mapping[str, frozenset[str]] = field(default_factory=dict)


NOTHING_TAKEN = Taken()


def spelled(number: str, language: Language = ENGLISH) -> str:
    """Figure by figure and letter by letter, by the ICAO alphabet, which is the same in every language.

    >>> spelled("T3-09")
    'Tango three dash zero niner'
    """
    return " ".join(_character(c, language) for c in number.upper())


def _character(c: str, language: Language) -> str:
    if c in "0123456789":
        return sent_singly(c, language)
    if "A" <= c <= "Z":
        return _LETTERS[ord(c) - ord("A")]
    return language.sign_words.get(c, c)


def use_key(meaning: LabelMeaning) -> str:
    """What makes one packet the same packet again: product or part number with serial; "" where it has no serial."""
    return f"{meaning.product}/{meaning.serial}" if meaning.serial and meaning.product else ""


def same_key(product: str, lot: str) -> str:
    """What two packets without serials have in common, so that one may be the other shown again."""
    return f"{product}/{lot}"


def check_part(
    meaning: LabelMeaning,
    wanted: WantedPart,
    all_wanted: Iterable[WantedPart],
    today: date,
    taken: Taken = NOTHING_TAKEN,
    language: Language = ENGLISH,
) -> PartAnswer:
    """Judge one packet for the role `wanted`; the sentence is in that language."""
    if meaning.problem is not None:
        return PartAnswer("not known", "", _untrusted(meaning, language))
    parts = (wanted, *all_wanted)
    listed = _as_listed(meaning, parts, taken)
    fit = fit_of(listed, wanted, taken)
    if not fit:
        others = (part for part in parts if part.role != wanted.role)
        other = next((part for part in others if fit_of(listed, part, taken)), None)
        return _misfit(meaning, wanted, other, language)

    def answer(key: Answer, phrase: str, **named: str) -> PartAnswer:
        return PartAnswer(key, wanted.role, language.phrase(phrase, part=capital(wanted.say), **named))

    age = age_of(meaning, wanted.seal, today, language)
    if age.past:
        return answer("past its date", "part but", why=age.sentence)
    if use_key(meaning) in taken.serials:
        return answer("already used", "part used", serial=spelled(meaning.serial, language))
    doubts = _doubts(meaning, wanted, fit, age, taken, language)
    if listed is not meaning:
        longer = language.phrase("longer number", character=spelled(meaning.number[-1], language))
        doubts = [("not known", longer), *doubts]
    if doubts:
        also = partial(_and_also, language)
        return answer(doubts[0][0], "part doubted", doubts=reduce(also, (text for _, text in doubts)))
    found = answer("learnt", "part learnt") if fit == "learnt" else answer("right", "part right")
    return replace(found, sentence=f"{found.sentence} {capital(age.sentence)}.") if age.sentence else found


def _and_also(language: Language, first: str, last: str) -> str:
    return language.phrase("and also", first=first, last=last)


def _untrusted(meaning: LabelMeaning, language: Language) -> str:
    if meaning.problem_said:
        return language.phrase("number untrusted", why=meaning.problem_said)
    return language.phrase("label untrusted", detail=_said_figures(meaning.problem or "", language))


def _doubts(
    meaning: LabelMeaning, wanted: WantedPart, fit: Fit, age: Age, taken: Taken, language: Language
) -> list[tuple[Answer, str]]:
    """What must be affirmed before a packet that fits is taken, the weightiest first."""
    found: list[tuple[Answer, str]] = []
    if fit == "superseded" and wanted.numbers:
        number = spelled(wanted.numbers[0], language)
        found.append(("superseded", language.phrase("superseded by", number=number)))
    elif fit == "superseded":
        found.append(("superseded", language.phrase("superseded")))
    if age.doubtful:
        found.append(("age in doubt", language.phrase("but", why=age.sentence)))
    if pieces_left(meaning, taken) == 0:
        found.append(("shown before", language.phrase("same label")))
    return found


def pieces_left(meaning: LabelMeaning, taken: Taken) -> int:
    """How many pieces the packet can still give: as many as it says, else one; 0 where so many of that label were taken."""
    if meaning.serial:
        return meaning.quantity or 1
    before = taken.counts.get(same_key(meaning.product, meaning.lot), 0)
    return max((meaning.quantity or 1) - before, 0)


def _misfit(meaning: LabelMeaning, wanted: WantedPart, other: WantedPart | None, language: Language) -> PartAnswer:
    def say(phrase: str, **named: str) -> str:
        return language.phrase(phrase, part=wanted.say, **named)

    if other is not None:
        return PartAnswer("wrong", other.role, say("wrong part", other=other.say))
    if meaning.machine:
        return PartAnswer("wrong", "", say("no part", machine=language.named(meaning.machine)))
    if meaning.only_piece:
        return PartAnswer("not known", "", say("no product"))
    if meaning.number:
        return PartAnswer("not known", "", say("unknown part number", number=spelled(meaning.number, language)))
    if meaning.gtin:  # its last figures: found on the packet, and short to hear
        return PartAnswer("not known", "", say("unknown product", figures=spelled(meaning.gtin[-4:], language)))
    return PartAnswer("not known", "", say("unknown label"))


def _said_figures(problem: str, language: Language) -> str:
    return re.sub(r"[0-9]+", lambda figures: spelled(figures[0], language), problem)


def _as_listed(meaning: LabelMeaning, parts: Iterable[WantedPart], taken: Taken) -> LabelMeaning:
    """The label itself; where none of the parts has its number, with what its number is if it ends in a check character."""
    if not meaning.number_checked or any(fit_of(meaning, part, taken) for part in parts):
        return meaning
    return replace(meaning, number=meaning.number_checked)


def fit_of(meaning: LabelMeaning, part: WantedPart, taken: Taken = NOTHING_TAKEN) -> Fit:
    """How it fits: by product number where the label and the sheet both give one; else by part number."""
    if _listed(meaning, part.gtins, part.numbers):
        return "accepted"
    learnt = taken.learnt.get(part.role, frozenset())
    if meaning.gtin in learnt or (not meaning.gtin and meaning.number.upper() in learnt):
        return "learnt"
    old = tuple(text for text in part.superseded if isinstance(gtin14(text), str))
    return "superseded" if _listed(meaning, old, part.superseded) else ""


def _listed(meaning: LabelMeaning, gtins: tuple[str, ...], numbers: tuple[str, ...]) -> bool:
    if meaning.gtin and gtins:
        return meaning.gtin in {gtin14(g) for g in gtins}
    return bool(meaning.number) and meaning.number.upper() in {n.strip().upper() for n in numbers}

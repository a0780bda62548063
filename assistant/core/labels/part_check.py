"""Is this packet the part that the step wants? The answer, and the sentence that is spoken.

Right only where the product number, or failing that the part number, is one that the machine sheet lists for the role.
Part numbers are compared whole, capitals aside: hyphens and spaces count, and a sheet lists each way of writing one.

Refused: wrong, already used, past its date. Asked (*affirm* takes it): superseded, an age that nobody can vouch for, the
same label again where no serial tells two packets apart, not known. Taken at once: right, and learnt in this job.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from assistant.core.labels.check_digit import gtin14
from assistant.core.labels.meaning import LabelMeaning
from assistant.core.labels.part_age import Age, age_of
from assistant.core.procedure import WantedPart
from assistant.core.speech.saying import READ_BACK

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
_SIGNS = {"-": "dash", ".": "decimal", "/": "slash", "+": "plus", " ": "space"}


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
) -> PartAnswer:
    """Judge one packet for the role `wanted`."""
    if meaning.problem is not None:
        return PartAnswer("not known", "", f"I can't trust that label: {_said_figures(meaning.problem)}.")
    fit = fit_of(meaning, wanted, taken)
    if not fit:
        return _misfit(meaning, wanted, all_wanted, taken)
    opened = wanted.say[:1].upper() + wanted.say[1:]
    age = age_of(meaning, wanted.seal, today)
    if age.past:
        return PartAnswer("past its date", wanted.role, f"{opened}, but {age.sentence}.")
    if use_key(meaning) in taken.serials:
        sentence = f"{opened}, but serial {spelled(meaning.serial)} was already used."
        return PartAnswer("already used", wanted.role, sentence)
    doubts = _doubts(meaning, wanted, fit, age, taken)
    if doubts:
        return PartAnswer(doubts[0][0], wanted.role, f"{opened}, {', and '.join(text for _, text in doubts)}.")
    beside = f" {age.sentence[:1].upper()}{age.sentence[1:]}." if age.sentence else ""
    if fit == "learnt":
        return PartAnswer("learnt", wanted.role, f"{opened}, the one that you affirmed.{beside}")
    return PartAnswer("right", wanted.role, f"{opened}, that fits.{beside}")


def _doubts(meaning: LabelMeaning, wanted: WantedPart, fit: Fit, age: Age, taken: Taken) -> list[tuple[Answer, str]]:
    """What must be affirmed before a packet that fits is taken, the weightiest first."""
    found: list[tuple[Answer, str]] = []
    if fit == "superseded":
        now = f", now {spelled(wanted.numbers[0])}" if wanted.numbers else ""
        found.append(("superseded", f"but by an old number that was superseded{now}"))
    if age.doubtful:
        found.append(("age in doubt", f"but {age.sentence}"))
    if pieces_left(meaning, taken) == 0:
        found.append(("shown before", "the same label as one before"))
    return found


def pieces_left(meaning: LabelMeaning, taken: Taken) -> int:
    """How many pieces the packet can still give: as many as it says, else one; 0 where so many of that label were taken."""
    if meaning.serial:
        return meaning.quantity or 1
    before = taken.counts.get(same_key(meaning.product, meaning.lot), 0)
    return max((meaning.quantity or 1) - before, 0)


def _misfit(meaning: LabelMeaning, wanted: WantedPart, all_wanted: Iterable[WantedPart], taken: Taken) -> PartAnswer:
    other = next((part for part in all_wanted if part.role != wanted.role and fit_of(meaning, part, taken)), None)
    if other is not None:
        return PartAnswer("wrong", other.role, f"Wrong part: that is the {other.say}. I want the {wanted.say}.")
    if meaning.machine:
        return PartAnswer("wrong", "", f"That is a {meaning.machine}, no part. I want the {wanted.say}.")
    if meaning.only_piece:
        return PartAnswer("not known", "", f"That label names no product. I want the {wanted.say}.")
    return PartAnswer("not known", "", f"I don't know {_said_number(meaning)}. I want the {wanted.say}.")


def _said_figures(problem: str) -> str:
    return re.sub(r"[0-9]+", lambda figures: spelled(figures[0]), problem)


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
    written = {n.upper() for n in (meaning.number, meaning.number_checked) if n}
    return not written.isdisjoint(n.strip().upper() for n in numbers)


def _said_number(meaning: LabelMeaning) -> str:
    """The part number, or the last four figures of the product number: found on the packet, and short to hear."""
    if meaning.number:
        return f"part number {spelled(meaning.number)}"
    return f"the product that ends in {spelled(meaning.gtin[-4:])}" if meaning.gtin else "what that label says"

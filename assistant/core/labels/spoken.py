"""A label that no camera can read, said letter by letter: what it means, and where it slipped.

Figures as many as a product number has must end in the right check digit; where they do not, the sentence says where to look,
by the numbers that the sheet lists or by what is taken for each other (`slips`). Nothing is mended unasked: the technician
looks, and says it again. A part number of the sheet that happens to be so long is one all the same. Anything else has no
check, and is read back to be affirmed. Dashes that were left out are put in where only one number of the sheet is meant.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from datetime import date

from assistant.core.events import Label
from assistant.core.labels.check_digit import GTIN_LENGTHS, gtin14, is_figures
from assistant.core.labels.meaning import LabelMeaning, read_label
from assistant.core.labels.slips import Slip, find_slips, likely_slips
from assistant.core.machine import WantedPart
from assistant.core.speech.english import ENGLISH
from assistant.core.speech.language import Language
from assistant.core.speech.saying import sent_singly

SPOKEN = "SPOKEN"
"""The symbology of a label that was said."""
TOLD_AT_MOST = 2


def read_spoken(number: str, parts: Iterable[WantedPart], today: date, language: Language = ENGLISH) -> LabelMeaning:
    """The meaning of a number as it was said, capitals and figures; `problem` where its check digit is wrong."""
    listed = tuple(parts)
    written = {n.strip().upper() for part in listed for n in (*part.numbers, *part.superseded)}
    number = _as_listed(number.upper(), written)
    if number in written or len(number) not in GTIN_LENGTHS or not is_figures(number):
        return read_label(Label(SPOKEN, number), today)
    found = gtin14(number)
    if isinstance(found, str):
        return LabelMeaning(gtin=found, fields={"01": found})
    gtins = [filled for part in listed for g in part.gtins if isinstance(filled := gtin14(g), str)]
    in_english, said = (told.phrase("check digit", where=_where(number, gtins, told)) for told in (ENGLISH, language))
    return LabelMeaning(problem=in_english, problem_said=said)


def _as_listed(said: str, written: Collection[str]) -> str:
    """With its dashes, slashes, points and spaces, where exactly one number of the sheet has the same letters and figures."""
    bare = _bare(said)
    meant = [number for number in written if _bare(number) == bare]
    return meant[0] if said not in written and len(meant) == 1 else said


def _bare(number: str) -> str:
    return "".join(c for c in number if c.isalnum())


def carries_check_digit(meaning: LabelMeaning) -> bool:
    """Whether a slip of the tongue or the ear would have shown; else it is read back."""
    return bool(meaning.gtin)


def _where(number: str, gtins: Iterable[str], language: Language) -> str:
    """Where to look, in words for the ear. `gtins` have 14 figures, the number perhaps fewer."""
    slips = find_slips(number, lambda text: isinstance(gtin14(text), str))
    known = {filled[len(filled) - len(number) :] for filled in gtins}
    likely = likely_slips(number, slips, known)[:TOLD_AT_MOST]
    if not likely:
        return language.phrase("figures slipped")
    first, *rest = (_look(slip, language) for slip in likely)
    for other in rest:
        first = language.phrase("and also", first=first, last=other)
    return language.phrase("look at", figures=first)


def _look(slip: Slip, language: Language) -> str:
    said, instead = sent_singly(slip.said, language), sent_singly(slip.instead, language)
    place = language.ordinals[slip.place - 1]
    if len(slip.said) == 2:
        return language.phrase(
            "two figures", place=place, next=language.ordinals[slip.place], said=said, instead=instead
        )
    return language.phrase("figure", place=place, said=said, instead=instead)

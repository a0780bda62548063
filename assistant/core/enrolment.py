"""What a technician repeats so that the program learns the voice: numbers as they are said at the bench, and every
command.

Drawn once, by lot among the usual forms (digit by digit, in pairs, in full, with a place, a point, a minus, a unit), always
taking what had come least often; `tests/test_enrol_prompts.py` holds it to that. Either half has every command once
and each figure three times or more, so that one half can be learnt from and the other tell whether it helped.
"""

from __future__ import annotations

from collections.abc import Sequence

from assistant.core.word_errors import word_edits

_FIRST = """
stop, seven ten, four twenty six, go ahead, minus ninety two, note, five seventeen, three twelve p s i, correction,
sixteen fifty, done, eighteen forty r p m, one hundred and sixty nine, roger, zero niner eight, limits, cylinder one
five fifteen, eight nineteen hours, read back, four oh seven, where are we, fourteen seventy, minus thirteen degrees,
unable, six two zero, disregard, three thirty nine pounds, eleven point five volts, say again, cylinder nine three
eighty, stand by, thirty seven point four gallons, two fifteen inch pounds, negative, one six eight, finding, ten
decimal zero, nine five six quarts, words twice, eight two seven, part, three thousand four hundred, one twelve, go
back, five sixty two foot pounds, affirm, one eighteen
"""
_SECOND = """
stop, eighteen thirty, one ten p s i, finding, five fourteen, disregard, seven eleven pounds, six fifteen hours, words
twice, eight nineteen inch pounds, say again, minus thirteen, cylinder three nine fifty, part, four thousand two
hundred, done, two zero five, six seventeen quarts, affirm, one nine four, read back, seven zero eight, three twenty
two gallons, negative, eight twelve, note, nine three five, one hundred and forty seven, where are we, sixteen seventy
r p m, roger, minus sixty four degrees, six ninety seven, limits, eight eighty five foot pounds, correction, fifty
nine point zero, fifteen point zero volts, go back, three oh four, go ahead, one niner six, cylinder two three
thirteen, stand by, eleven decimal zero, unable, ten sixty
"""


def _listed(text: str) -> tuple[str, ...]:
    return tuple(" ".join(prompt.split()) for prompt in text.split(","))


HALVES = (_listed(_FIRST), _listed(_SECOND))
PROMPTS = HALVES[0] + HALVES[1]
VOCABULARY = tuple(sorted({w for prompt in PROMPTS for w in prompt.split()}))

ALIKE = {"niner": "nine", "oh": "zero", "decimal": "point"}
"""Words that mean the same in a number; and *and* means nothing there."""


def same_reading(said: Sequence[str], heard: Sequence[str]) -> bool:
    """Would a step take one for the other: the same words, but for those that mean the same.

    >>> same_reading(("one", "oh", "niner"), ("one", "zero", "nine"))
    True
    """
    plain, other = ([ALIKE.get(w, w) for w in words if w != "and"] for words in (said, heard))
    return plain == other


def words_wrong(said: Sequence[str], heard: Sequence[str]) -> int:
    """Words put in, left out or changed, the fewest that do (Levenshtein's distance over words).

    >>> words_wrong(("one", "ninety"), ("one", "nineteen", "oh"))
    2
    """
    return len(word_edits(said, heard))

"""How unlike two strings of phones sound to the ears: the cheapest way to make one of the other, by costs learnt from the ears.

A phone is described as phoneticians do: a consonant by voice, manner and place, a vowel by height, backness and the glide it
ends in (the chart of the International Phonetic Association; the phones are CMUdict's). What it costs to take one for another
is the sum of what differs; so is learnt from sixteen confusions what then holds for every pair of phones.

Costs are in nats, on top of what any confusion costs (`sound_alikes.ONE_EDIT`): a distance of 3 leaves the other string
exp(-3), a twentieth, of the certainty that an ear gives to what was said.

How they were learnt
    On tuning speakers alone (four synthetic voices; mcel, mdxn and ftmj of AN4, whom the bench model then used was not
    trained on): number strings and compression readings, clean and in noise at 20 to 0 dB, 1241 sounds, each heard by
    Vosk and by Whisper. For every word said, and every word that the grammar allows in its place or beside it, and
    every dropped word, the share of that string beside what was
    said, share / (share + share of what was said), is summed over the hearings, both ways together; 0 where no candidate of
    the ear had it. The sums are explained as Poisson counts of mean (chances to be heard) x exp(-distance), costs at least
    0.05, a weak ridge; alignments and costs in turn, eight times; then rounded, and put between where the turns went to and
    fro. Shares, not differences of scores: those are not known wherever a string is not among the candidates, which is so of
    98 chances in 100.
How well they do
    Learnt without a speaker and tried on him, all seven in turn: 67 of the 78 number words that an ear took for another were
    among the five nearest (of 29) to the word said; with each phone costing the same, 42. (That an R behind a vowel is worth
    little was seen on one of the seven, who says *four* without it.) Where 3 to 4 nats were foretold 3.3 were found, for 4 to
    5: 5.1, 5 to 6: 5.6, 6 to 7: 6.5, 7 to 8: 7.1. All pairs by how often they were taken for each other: rank correlation
    0.35 to 0.52. On lone commands of the same voices, whose words took no part in the learning, 9 of 12 confusions were among
    the five nearest of 19, but there were more of them than foretold. All this is of all noises together: in clean sound a
    confusion is rarer (half a nat farther), at 10 dB as foretold within a quarter, at 0 dB nearer by about one nat.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

from assistant.core.speech.pronunciations import Phones

CONSONANT = 0.5
"""Any consonant for another; on top of it:"""
OTHER_VOICE = 0.05
OTHER_PLACE = 0.5
OTHER_MANNER = 0.2
"""Stop, fricative and sibilant; or nasal and glide."""
SONOROUS = 0.8
"""A nasal or glide for a consonant that is neither, or the other way."""
VOWEL = 0.7
"""Any vowel for another; on top of it:"""
A_STEP_OF_HEIGHT = 0.45
A_STEP_BACK = 0.6
OTHER_GLIDE = 0.05
ADDED_OR_DROPPED: Mapping[str, float] = {
    "stop": 1.1, "fricative": 0.75, "sibilant": 0.75, "nasal": 0.4, "glide": 0.75, "r behind a vowel": 0.05,
    "short vowel": 1.1, "full vowel": 1.9,
}  # fmt: skip

CONSONANTS: Mapping[str, tuple[bool, str, int]] = {
    "P": (False, "stop", 0), "B": (True, "stop", 0), "T": (False, "stop", 2), "D": (True, "stop", 2),
    "K": (False, "stop", 4), "G": (True, "stop", 4), "F": (False, "fricative", 1), "V": (True, "fricative", 1),
    "TH": (False, "fricative", 1), "DH": (True, "fricative", 1), "HH": (False, "fricative", 5),
    "S": (False, "sibilant", 2), "Z": (True, "sibilant", 2), "SH": (False, "sibilant", 3), "ZH": (True, "sibilant", 3),
    "CH": (False, "sibilant", 3), "JH": (True, "sibilant", 3), "M": (True, "nasal", 0), "N": (True, "nasal", 2),
    "NG": (True, "nasal", 4), "L": (True, "glide", 2), "R": (True, "glide", 3), "W": (True, "glide", 0),
    "Y": (True, "glide", 3),
}  # fmt: skip
"""Phone -> voiced, manner (affricates as sibilants, liquids as glides), place from the lips (0) to the glottis (5)."""
VOWELS: Mapping[str, tuple[float, float, str]] = {
    "IY": (3, 0, ""), "IH": (2.5, 0.5, ""), "EH": (1.5, 0, ""), "AE": (0.5, 0, ""), "AH": (1.5, 1, ""),
    "ER": (1.5, 1, "r"), "UH": (2.5, 1.5, ""), "UW": (3, 2, ""), "AO": (1, 2, ""), "AA": (0, 1.5, ""),
    "EY": (2, 0, "y"), "AY": (0.5, 1, "y"), "OY": (1, 2, "y"), "OW": (2, 2, "w"), "AW": (0.5, 1, "w"),
}  # fmt: skip
"""Phone -> height, open (0) to close (3); front (0) to back (2); the glide it ends in. Of diphthongs where they begin."""
SHORT = frozenset(("AH", "IH", "ER", "UH", "IY"))
"""Vowels that may stand in an unstressed syllable, and go lost there."""
SONORANTS = ("nasal", "glide")
NEVER = float("inf")


@cache
def instead(phone: str, other: str) -> float:
    """What it costs to take one phone for the other, in nats; infinite between vowel and consonant."""
    if phone == other:
        return 0.0
    if phone in VOWELS and other in VOWELS:
        (height, back, glide), (height_2, back_2, glide_2) = VOWELS[phone], VOWELS[other]
        steps = abs(height - height_2) * A_STEP_OF_HEIGHT + abs(back - back_2) * A_STEP_BACK
        return VOWEL + steps + OTHER_GLIDE * (glide != glide_2)
    if phone in VOWELS or other in VOWELS:
        return NEVER
    (voiced, manner, place), (voiced_2, manner_2, place_2) = CONSONANTS[phone], CONSONANTS[other]
    cost = CONSONANT + OTHER_VOICE * (voiced != voiced_2) + OTHER_PLACE * (place != place_2)
    if (manner in SONORANTS) != (manner_2 in SONORANTS):
        return cost + SONOROUS
    return cost + OTHER_MANNER * (manner != manner_2)


def added(phones: Phones) -> list[float]:
    """What it costs to add, or drop, each phone of a string, in nats.

    >>> added(("F", "AO", "R"))
    [0.75, 1.9, 0.05]
    """
    return [ADDED_OR_DROPPED[_sort(phones, i)] for i in range(len(phones))]


def _sort(phones: Phones, i: int) -> str:
    phone = phones[i]
    if phone in VOWELS:
        return "short vowel" if phone in SHORT else "full vowel"
    behind_vowel = i > 0 and phones[i - 1] in VOWELS
    before_vowel = i + 1 < len(phones) and phones[i + 1] in VOWELS
    return "r behind a vowel" if phone == "R" and behind_vowel and not before_vowel else CONSONANTS[phone][1]


def apart(phones: Phones, other: Phones) -> float:
    """The cost of the cheapest way from one string of phones to the other, in nats.

    >>> apart(tuple("F IH F T IY N".split()), tuple("F IH F T IY".split()))
    0.4
    """
    adding = added(other)
    row = [0.0]
    for cost in adding:
        row.append(row[-1] + cost)
    for phone, dropping in zip(phones, added(phones), strict=True):
        before, row = row, [row[0] + dropping]
        for j, (other_phone, cost) in enumerate(zip(other, adding, strict=True)):
            row.append(min(before[j] + instead(phone, other_phone), before[j + 1] + dropping, row[j] + cost))
    return row[-1]

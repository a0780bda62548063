"""What the voice can't say, or would say in a way nobody means: figures run together with letters, signs, parentheses,
abbreviations, words that no dictionary has.

What comes out hangs on the voice. What stands here of each sign and abbreviation was asked of espeak-ng 1.51, the program's own
voice, and the tests ask it again: "<" is left out, "psi" is *sigh*, "mm" *em em*, "approx." ends the sentence, "%" is right.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from assistant.core.binding import PLACEHOLDER
from assistant.core.ear_lint.findings import Finding, Grade
from assistant.core.ear_lint.texts import Text, is_number, spoken_words
from assistant.core.units import SPOKEN


@dataclass(frozen=True)
class Pronouncing:
    """What is known of the sound of words.

    `syllables` of a word in small letters that a dictionary has, else None; `guess`: which sound the voice makes of a
    text, "" where there is no voice to ask.
    """

    syllables: Callable[[str], int | None]
    guess: Callable[[str], str]


RULE = "can't be said"
MIXED = re.compile(
    r"(?<![\w-])(?=[\w/-]*[A-Za-z])(?=[\w/-]*\d)(?!\d*(?:1st|2nd|3rd|\dth)\b)[A-Za-z\d]+(?:[-/][A-Za-z\d]+)*"
)
ORDINAL = re.compile(r"\b\d*(?:1st|2nd|3rd|\dth)\b")
CAPITALS = re.compile(r"(?<![\w-])[A-Z]{2,}s?(?!\w)")
MINUS = re.compile(r"(?<!\S)-(?=\d)")
PARENTHESES = re.compile(r"[()\[\]]")
DECIMAL_COMMA = re.compile(r"(?<![\d,])\d+,\d{1,2}(?![\d,])")
SIGNS: dict[str, tuple[Grade, str]] = {
    "<": ("must", "'below'"), ">": ("must", "'above'"), "_": ("should", "a space"), "|": ("should", "'or'"),
    "/": ("should", "'per', 'or', or the fraction in words"), "*": ("should", "'times'"), "#": ("should", "'number'"),
    "~": ("should", "'about'"), "\u03a9": ("should", "'ohms'"), "\u2126": ("should", "'ohms'"), "\u00b5": ("should", "'micro'"),
    "%": ("look", "'percent'"), "\u00b0": ("look", "'degrees Celsius' or 'degrees Fahrenheit'"), "&": ("look", "'and'"),
    "+": ("look", "'plus' or 'and'"), "=": ("look", "'is'"), "@": ("look", "'at'"), "\u00b1": ("look", "'plus or minus'"),
    "\u2264": ("look", "'at most'"), "\u2265": ("look", "'at least'"), "\u00d7": ("look", "'times'"),
}  # fmt: skip
"""Sign -> what to write. *must*: the voice leaves it out; *look*: ours says it, another may not."""
PLAIN = frozenset(" .,;:?!'\"-\u2019\u2018\u201c\u201d\u2013\u2014\n")
SHORTENED: dict[str, str] = {
    "approx": "about", "max": "at most", "min": "at least, or minutes", "no": "number", "nos": "numbers", "temp": "temperature",
    "qty": "how many", "incl": "with", "ie": "that is", "vs": "against", "hr": "hours", "hrs": "hours", "sec": "seconds",
    "secs": "seconds", "mins": "minutes", "deg": "degrees", "lb": "pounds", "oz": "ounces", "gal": "gallons", "qt": "quarts",
    "pt": "pints", "pts": "pints", "ft": "feet", "psi": "P S I", "ml": "millilitres", "nm": "newton metres",
    "kpa": "kilopascals", **{unit: said for unit, said in SPOKEN.items() if len(unit) > 1},
}  # fmt: skip
"""What is short for something, and is not said so."""
WORDS_OF_THEIR_OWN = frozenset(("bar", "percent", "count", "inch", "thou", "ohm", "rpm", "sg"))
"""Names of units that are said as they are written."""
ONLY_WITH_A_STOP = frozenset(("no", "nos", "min", "max", "temp"))
"""Words in themselves, where no full stop stands behind them in the middle of a sentence."""
ONE_LETTER = frozenset(unit for unit in SPOKEN if len(unit) == 1)
"""Signs of units that are a letter: only behind a number."""


def unsayable(text: Text, pronouncing: Pronouncing) -> Iterator[Finding]:
    """Each run of signs, and each word, that would come out wrong."""
    said = PLACEHOLDER.sub(" ", text.text)
    for comma in DECIMAL_COMMA.findall(said):
        what = f"'{comma}' is heard as two numbers"
        yield text.found("must", RULE, what, f"write '{comma.replace(',', '.')}'")
    yield from _signs(text, said)
    for run in dict.fromkeys(MIXED.findall(said)):
        what = f"'{run}' runs figures and letters together{_heard(pronouncing, run)}"
        apart = " ".join(re.findall(r"[A-Za-z]+|\d+", run))
        yield text.found("should", RULE, what, f"write it as it is said: '{apart}', or the name of the thing")
    plain = ORDINAL.sub(" ", MIXED.sub(" ", said))
    for run in dict.fromkeys(CAPITALS.findall(plain)):
        what = f"'{run}' in capitals is said as a word, or letter by letter{_heard(pronouncing, run)}"
        do = f"write the words, or the letters apart: '{' '.join(run.rstrip('s'))}'"
        yield text.found("should", RULE, what, do)
    plain = CAPITALS.sub(" ", plain)
    short = dict(_shortened(plain))
    for run, in_words in short.items():
        what = f"'{run}' is short for something and not said so{_heard(pronouncing, run)}"
        yield text.found("should", RULE, what, f"write '{in_words}'")
    yield from _unknown(text, plain, {run.rstrip(".").lower() for run in short}, pronouncing)


def _signs(text: Text, said: str) -> Iterator[Finding]:
    if PARENTHESES.search(said):
        what = f"parentheses are not heard: '{text.text}'"
        yield text.found("should", RULE, what, "make a sentence of what stands in them, or leave it out")
    if MINUS.search(said):
        yield text.found("look", RULE, "a minus sign: ours says it, another voice may not", "write 'minus'")
    without = MIXED.sub(" ", PARENTHESES.sub(" ", said))
    for sign in sorted({c for c in without if not (c.isalpha() or c in PLAIN or is_number(c))}):
        grade, instead = SIGNS.get(sign, ("should", "what it means"))
        yield text.found(grade, RULE, f"the sign '{sign}' in '{text.text}'", f"write {instead} for it")


def _shortened(said: str) -> Iterator[tuple[str, str]]:
    """Each abbreviation, and sign of a unit, with the words for it."""
    for found in re.finditer(
        r"(\d\s+)?(?<![\w'\u2019-])([A-Za-z_]+(?:\.[A-Za-z])?)(\.?)(?![\w'\u2019-])(?=(\s+[a-z\d])?)", said
    ):
        number, word, stop, more = found.groups()
        plain = word.replace(".", "")
        in_words = SHORTENED.get(plain, SHORTENED.get(plain.lower(), ""))
        if number and plain in ONE_LETTER:
            yield word, SPOKEN[plain]
        elif not in_words or plain.lower() in WORDS_OF_THEIR_OWN:
            continue
        elif plain.lower() not in ONLY_WITH_A_STOP or (stop and more) or (number and plain == "min"):
            yield word + (stop if more else ""), in_words


def _unknown(text: Text, said: str, short: set[str], pronouncing: Pronouncing) -> Iterator[Finding]:
    for word in dict.fromkeys(w.lower() for w in spoken_words(said)):
        if len(word) > 1 and word not in short and pronouncing.syllables(word) is None:
            what = f"no dictionary has '{word}': the voice guesses{_heard(pronouncing, word)}"
            yield text.found("look", "unknown word", what, "listen to it once; if it is wrong, write a commoner word")


def _heard(pronouncing: Pronouncing, written: str) -> str:
    sound = pronouncing.guess(written)
    return f" (our voice: {sound})" if sound else ""

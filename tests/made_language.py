"""A language that nobody speaks, made of English by a machine: "zu" before each of its words."""

from __future__ import annotations

import re
from collections.abc import Mapping
from string import Formatter
from typing import Any

import yaml

from assistant.core.speech.english import ENGLISH
from assistant.core.speech.language import DETAIL, Language

WORD = re.compile(r"[^\W\d_]+(?:'[^\W\d_]+)?")
MARK = "zu"


def made(text: str) -> str:
    """The text with each word marked, its {placeholders} left alone, save what would come in English."""
    out = ""
    for literal, name, _, _ in Formatter().parse(text):
        out += WORD.sub(lambda found: MARK + found[0].lower(), literal)
        out += "" if name is None else f"{MARK}{name}" if name == DETAIL else f"{{{name}}}"
    return out


def made_all(value: Any) -> Any:
    """The same of each text in a list or table, its keys left alone."""
    if isinstance(value, Mapping):
        return {key: made_all(inner) for key, inner in value.items()}
    if isinstance(value, (list, tuple, set, frozenset)):
        return [made_all(inner) for inner in value]
    return made(value) if isinstance(value, str) else value


def language_text(code: str = "zu", language: Language = ENGLISH) -> str:
    """The language file of that language."""
    n, u = language.numbers, language.unit_words

    def worth(words: Mapping[str, str]) -> dict[str, str]:
        return {made(word): figure for word, figure in words.items()}

    table = {
        "code": code,
        "voice": "en-us",
        "decimal_sign": ".",
        "phrases": made_all(language.phrases),
        "numbers": {
            "read_back": made_all(n.sent),
            "digits": worth(n.digits), "teens": worth(n.teens), "tens": worth(n.tens),
            "hundred": made(n.hundred), "thousand": made(n.thousand),
            "and_rest": made(n.and_rest), "and_part": made(n.and_part),
            "articles": made_all(n.articles), "of_one": made_all(n.of_one), "points": made_all(n.points),
            "signs": made_all(n.signs), "below": made_all(n.below), "fractions": worth(n.fractions),
            "tenths": made_all(n.tenths), "times": worth(n.times), "none": made_all(n.none), "no": made(n.no),
        },
        "units": {unit: made_all(said) for unit, said in language.units.items() if said[1]},
        "said_units": {unit: made_all(said) for unit, said in u.phrases.items() if said},
        "bare_gallon": made_all(u.bare),
        "degrees": made_all(u.degrees),
        "one_of": made_all(sorted(u.of_one)),
        "commands": made_all(language.commands),
        "everyday": made_all(language.everyday),
        "all": made(language.all_),
        "sides": {side: made(side) for side in language.sides},
        "part_number": made(language.part_number),
        "of": made(language.of),
        "months": made_all(language.months),
        "ordinals": made_all(language.ordinals),
        "sign_words": made_all(language.sign_words),
        "signs": {sign: made(word) for word, sign in language.signs.items()},
        "places": {
            "on_number": made_all(language.places.on_number), "on_word": made_all(language.places.on_word),
            "number": made(language.places.number), "is": made(language.places.is_),
        },
        "names": {name: made(said) for name, said in language.names.items()},
    }  # fmt: skip
    return yaml.safe_dump(table, allow_unicode=True, sort_keys=False, width=200)

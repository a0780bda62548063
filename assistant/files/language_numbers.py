"""The number words in a language file -> `NumberWords`: can every number be said and heard with them."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial

from assistant.core.speech.number_words import NumberWords
from assistant.files.yaml_fields import Fields
from assistant.files.yaml_source import Table

FIGURES = tuple(str(n) for n in range(10))
TEENS = tuple(str(n) for n in range(10, 100))
TENS = tuple(str(n) for n in range(20, 100, 10))
HUNDREDS = tuple(str(n) for n in range(100, 1000, 100))
FRACTIONS = ("0.5", "0.25", "0.75")
TIMES = ("2", "3")
KEYS = (
    "read_back", "digits", "teens", "tens", "hundreds", "hundred", "hundred_alone", "thousand", "thousand_alone",
    "before_thousand", "and_unit", "and_rest", "and_part", "articles", "of_one", "points", "signs", "below", "fractions",
    "tenths", "times", "none", "no",
)  # fmt: skip


def numbers_of(given: Fields) -> NumberWords:
    """The words in the table 'numbers'; complained of is each number that they cannot say."""
    fields = Fields(given.table, "'numbers'", KEYS, given.complaints)
    sent = tuple(text.value for text in fields.texts("read_back"))
    if len(sent) != len(FIGURES):
        fields.complain("read_back", "the figures 0 to 9 are read back by ten words", "write ten, zero first")
        sent = FIGURES
    one, several = partial(_one, fields), partial(_several, fields)
    words = NumberWords(
        sent=sent,
        digits=_worth(fields, "digits", FIGURES, FIGURES),
        teens=_worth(fields, "teens", TEENS),
        tens=_worth(fields, "tens", TENS),
        hundreds=_worth(fields, "hundreds", HUNDREDS),
        hundred=one("hundred"),
        hundred_alone=one("hundred_alone"),
        thousand=fields.text("thousand").lower(),
        thousand_alone=fields.flag("thousand_alone", False),
        before_thousand=_free(fields, "before_thousand"),
        and_unit=one("and_unit"),
        and_rest=one("and_rest"),
        and_part=one("and_part"),
        articles=several("articles"),
        of_one=several("of_one"),
        points=several("points"),
        signs=several("signs"),
        below=several("below"),
        fractions=_worth(fields, "fractions", FRACTIONS),
        tenths=several("tenths"),
        times=_worth(fields, "times", TIMES),
        none=several("none"),
        no=one("no"),
    )
    for key, found in (("points", words.points), ("signs", words.signs)):
        if not found:
            fields.complain(key, f"'numbers' needs the key '{key}'", f"add '{key}: ...'")
    _check_all_said(fields, words)
    return words


def _check_all_said(fields: Fields, words: NumberWords) -> None:
    """Each whole number below a thousand must have its words."""
    tens = [n for n in range(10, 100) if not words.said(str(n)) and not words.said(f"{n // 10}0")]
    if tens:
        fields.complain("tens", f"nothing says {tens[0]}", "give it in 'teens', or its ten in 'tens'")
    hundreds = [n for n in HUNDREDS if not words.said(n)]
    if hundreds and not words.hundred:
        fields.complain(
            "hundreds", f"nothing says {hundreds[0]}", "give it here, or the word 'hundred' that is counted"
        )


def _one(fields: Fields, key: str) -> str:
    return fields.text(key, "").lower()


def _several(fields: Fields, key: str) -> tuple[str, ...]:
    return tuple(text.value.lower() for text in fields.texts(key))


def _free(fields: Fields, key: str) -> dict[str, str]:
    """A table whose keys are words of the language."""
    node = fields.table.entries.get(key)
    inner = fields.under(key, tuple(node.entries) if isinstance(node, Table) else ())
    return {word.lower(): inner.text(word) for word in inner.names}


def _worth(fields: Fields, key: str, may_be: tuple[str, ...], must_be: Iterable[str] = ()) -> dict[str, str]:
    """Word -> the figure that it says."""
    found = _free(fields, key)
    inner = fields.table.entries.get(key)
    for word, figure in found.items():
        if figure and figure not in may_be and isinstance(inner, Table):
            place = next(node.place for name, node in inner.entries.items() if name.lower() == word)
            what = f"'{word}' cannot say '{figure}' in '{key}'"
            fields.complaints.add(place, what, f"write one of {may_be[0]} to {may_be[-1]}")
    lacking = [figure for figure in must_be if figure not in found.values()]
    if lacking:
        fields.complain(key, f"nothing says {', '.join(lacking)} in '{key}'", f"add 'word: {lacking[0]}'")
    return found

"""Every way to say a number in English: the reverse of `numbers`, and how the assistant itself reads figures back.

The read-back is digit by digit with *niner* and *decimal*, as ICAO Annex 10 volume II 5.2.1.4 says figures are sent. A shop
whose people have learnt another rule for whole hundreds and thousands sets it as `read_back` in its site sheet.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise, product
from typing import Literal

from assistant.core.speech.english import ENGLISH
from assistant.core.speech.language import Language
from assistant.core.speech.number_words import FRACTIONS, POINT, READ_BACK
from assistant.core.units import plain

ORDINARY = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
AS_PRONOUNCED = ("zero", "one", "two", "tree", "fower", "fife", "six", "seven", "eight", "niner")
TOGETHER = ("", "", "double", "triple")
LINKS = ("", "and ")
GROUPINGS = ((1, 2), (2, 2), (2, 1), (2, 2, 1), (2, 2, 2))
"""Digits of the groups that a number may be said in."""

ReadBack = Literal["digits", "icao", "faa", "acp125", "maritime"]


@dataclass(frozen=True)
class Regime:
    """How figures are sent: the word for the decimal point, and whether whole hundreds and thousands are said so."""

    point: str = "decimal"
    hundreds: bool = False
    thousands: bool = False


REGIMES: Mapping[ReadBack, Regime] = {
    "digits": Regime(),
    "icao": Regime(hundreds=True, thousands=True),
    "faa": Regime("point", hundreds=True, thousands=True),
    "acp125": Regime(thousands=True),
    "maritime": Regime(thousands=True),
}
"""Quantities: ICAO Annex 10 volume II 5.2.1.4 (whole hundreds, whole thousands, and both together), FAA AIM 4-2-8 (the same,
with *point*), ACP 125 and the Canadian maritime rule (whole thousands only). `digits` is every figure by itself."""

PRONOUNCED: Mapping[str, str] = {
    "ze-ro": "zero", "zeero": "zero", "wun": "one", "fow-er": "four", "sev-en": "seven", "ait": "eight",
    "nin-er": "niner", "day-see-mal": "decimal", "hun-dred": "hundred", "tou-sand": "thousand", "tousand": "thousand",
}  # fmt: skip
"""Spellings that only show how a figure is pronounced (ICAO, ACP 125, IMO SMCP) -> the word. *Tree, fower, fife, niner* are
words of `numbers` themselves, for ears know them."""


def sent_singly(text: str, language: Language = ENGLISH) -> str:
    """Figure by figure, as every regime sends what is no quantity: a heading, code, serial number or time of day.

    >>> sent_singly("0715"), sent_singly("080")
    ('zero seven one five', 'zero eight zero')
    """
    return " ".join(language.numbers.sent[int(c)] for c in text)


def figures(value: Decimal, regime: ReadBack = "digits", language: Language = ENGLISH) -> str:
    """A quantity as read back.

    >>> figures(Decimal("12.60")), figures(Decimal("-20"))
    ('one two decimal six zero', 'minus two zero')
    >>> figures(Decimal(13500), "faa"), figures(Decimal(13500), "acp125")
    ('one three thousand five hundred', 'one three five zero zero')
    """
    rule = REGIMES[regime]
    whole, _, decimals = format(value.copy_abs(), "f").partition(".")
    sign = [language.phrase("minus")] if value.is_signed() else []
    tail = [language.phrase(rule.point), sent_singly(decimals, language)] if decimals else []
    said = sent_singly(whole, language) if decimals else _round_number(whole, rule, language)
    return " ".join([*sign, said, *tail])


def _round_number(whole: str, rule: Regime, language: Language) -> str:
    """A whole number: as hundreds and thousands where it is round and the rule has them, else figure by figure."""
    thousands, hundreds = int(whole) // 1000, int(whole) // 100 % 10
    if whole.endswith("00") and rule.hundreds and hundreds:
        head = _thousands_sent(thousands, language) if thousands else []
        return " ".join([*head, *_whole_hundred(hundreds, language.numbers.sent[hundreds], language)])
    if whole.endswith("000") and rule.thousands and thousands:
        return " ".join(_thousands_sent(thousands, language))
    return sent_singly(whole, language)


def _thousands_sent(thousands: int, language: Language) -> list[str]:
    words = language.numbers
    alone = thousands == 1 and words.thousand_alone
    return [words.thousand] if alone else [sent_singly(str(thousands), language), words.thousand]


def _whole_hundred(n: int, digit: str, language: Language) -> list[str]:
    """n hundreds and nothing behind them; `digit`: how the n is said where hundreds are counted."""
    words = language.numbers
    if words.hundred:
        return [digit, words.hundred]
    return [words.hundred_alone if n == 1 and words.hundred_alone else words.said(f"{n}00")]


def below_hundred(n: int, language: Language = ENGLISH) -> list[str]:
    """1 to 99 in words."""
    words = language.numbers
    if one := words.said(str(n)):
        return [one]
    return list(filter(None, (words.said(f"{n // 10}0"), words.and_unit, words.said(str(n % 10)))))


def in_full(n: int, language: Language = ENGLISH) -> list[str]:
    """0 to 999 999 in words, without "and"."""
    words = language.numbers
    if n == 0:
        return [words.said("0")]
    out: list[str] = []
    if n >= 2000 or (n >= 1000 and not words.thousand_alone):
        *head, last = in_full(n // 1000, language)
        out += [*head, words.before_thousand.get(last, last)]
    if n >= 1000:
        out.append(words.thousand)
    hundreds = n % 1000 // 100
    if hundreds and n % 100 and not words.hundred:
        out.append(words.said(f"{hundreds}00"))
    elif hundreds:
        out += _whole_hundred(hundreds, words.said(str(hundreds)), language)
    if n % 100:
        out += below_hundred(n % 100, language)
    return out


def spoken(value: Decimal, language: Language = ENGLISH) -> str:
    """As anyone would say it: "one hundred ninety five", "twelve point six"."""
    text = plain(abs(value))
    whole, _, decimals = text.partition(".")
    words = language.numbers
    out = [language.phrase("minus")] if value < 0 else []
    out += in_full(int(whole), language)
    if decimals:
        out += [words.points[0], *(words.said(c) for c in decimals)]
    return " ".join(out)


def ways_to_say(value: Decimal, *, tenths: bool = False) -> frozenset[str]:
    """Every form of `numbers` in which a value can be said; of digit words a few mixtures.

    `tenths`: with "and four tenths", which only readings that are said so know.
    """
    whole, _, decimals = format(value.copy_abs(), "f").partition(".")
    tails = _decimals_ways(decimals)
    ways = {f"{head} {tail}".strip() for head in _whole_ways(whole) for tail in tails or ("",)}
    if decimals:
        ways |= _grouped_across_the_point(whole, decimals) | _with_a_part(whole, decimals, tenths=tenths)
        ways |= tails if whole == "0" else set()
    if value >= 0:
        return frozenset(ways)
    return frozenset(s for w in ways for s in (f"minus {w}", f"negative {w}", f"{w} below", f"{w} below zero"))


def _whole_ways(whole: str) -> set[str]:
    ways = _digit_ways(whole) | _grouped(whole, GROUPINGS)
    return ways | _full_ways(int(whole)) if whole == str(int(whole)) else ways


def _digit_ways(number: str) -> set[str]:
    """Digit by digit: plain, as ICAO has it, as its pronunciations are spelled, with "oh", with "double" and "triple"."""
    ways = {" ".join(table[int(c)] for c in number) for table in (ORDINARY, READ_BACK, AS_PRONOUNCED)}
    ways.add(" ".join("oh" if c == "0" else ORDINARY[int(c)] for c in number))
    runs = [(m[0][0], len(m[0])) for m in re.finditer(r"(\d)\1{0,2}", number)]
    ways.add(" ".join(f"{TOGETHER[n]} {ORDINARY[int(c)]}".strip() for c, n in runs))
    return ways


def _grouped(number: str, groupings: Iterable[tuple[int, ...]]) -> set[str]:
    """In groups of so many digits: "one ninety", "two oh five", "eighteen fifty", "twelve six"."""
    ways: set[str] = set()
    for widths in groupings:
        if sum(widths) == len(number):
            starts = [sum(widths[:i]) for i in range(len(widths))]
            groups = [number[at : at + width] for at, width in zip(starts, widths, strict=True)]
            if any(_runs_together(a, b) for a, b in pairwise(groups)):
                continue
            said = [_group_ways(group, first=at == 0) for at, group in zip(starts, groups, strict=True)]
            ways |= {" ".join(each) for each in product(*said)}
    return ways


def _runs_together(group: str, after: str) -> bool:
    """Would the two be heard as one: "twenty" and "one" are 21, never 201."""
    return len(after) == 1 and after != "0" and len(group) == 2 and group[0] > "1" and group[1] == "0"


def _group_ways(group: str, *, first: bool) -> list[str]:
    if len(group) == 1:
        return [ORDINARY[int(group)]] if group != "0" else [] if first else ["zero", "oh"]
    if group[0] != "0":
        return [" ".join(below_hundred(int(group)))]
    return [] if first or group[1] == "0" else [f"{zero} {ORDINARY[int(group[1])]}" for zero in ("oh", "zero")]


def _full_ways(n: int) -> set[str]:
    """In full, with and without "and", with "a" for one, in hundreds ("nineteen hundred"), and with the thousands by
    their digits ("one two thousand")."""
    heads = {(" ".join(in_full(n - n % 100)), n % 100)} if n >= 100 else {("", n)}
    if 1000 <= n < 10000:
        heads.add((" ".join([*below_hundred(n // 100), "hundred"]), n % 100))
    if n >= 10000:
        hundreds = [ORDINARY[n // 100 % 10], "hundred"] if n // 100 % 10 else []
        thousands = _digit_ways(str(n // 1000)) | (_full_ways(n // 1000) if n >= 100000 else set())
        heads |= {(" ".join([many, "thousand", *hundreds]), n % 100) for many in thousands}
    heads |= {
        (f"a {head.removeprefix('one ')}", rest) for head, rest in heads if re.match("one (hundred|thousand)", head)
    }
    heads |= {("hundred", rest) for head, rest in heads if head == "one hundred" and rest}
    ways = {head for head, rest in heads if not rest and head}
    ways |= {f"{head} {link}{' '.join(below_hundred(rest))}" for head, rest in heads if rest and head for link in LINKS}
    return ways | ({" ".join(in_full(n))} if n < 100 else set())


def _decimals_ways(decimals: str) -> set[str]:
    if not decimals:
        return set()
    pair = {" ".join(below_hundred(int(decimals)))} if len(decimals) == 2 and decimals[0] != "0" else set()
    said = _digit_ways(decimals) | pair
    return {f"{point} {words}" for point in POINT for words in said}


def _grouped_across_the_point(whole: str, decimals: str) -> set[str]:
    """In groups, the point not said: "twelve six", "twelve sixty five", "twelve six five", "one oh five" for 1.05."""
    if len(whole) == 1 and len(decimals) == 1:
        return set()  # "two nine" is 29
    found = _grouped(whole + decimals, [widths for widths in GROUPINGS if _cuts_at(widths, len(whole))])
    if len(whole) == 1:
        found = {said for said in found if "zero" not in said.split()}  # "one zero five" is figure by figure: 105
    if len(whole) == 2 and len(decimals) == 2:
        found |= _grouped(whole + decimals, [(2, 1, 1)])
    return found


def _cuts_at(widths: tuple[int, ...], digits: int) -> bool:
    return digits in (sum(widths[:i]) for i in range(1, len(widths)))


def _with_a_part(whole: str, decimals: str, *, tenths: bool) -> set[str]:
    """ "two and a half", "three quarters", "four tenths"."""
    part = Decimal(f"0.{decimals}")
    parts = {w for w, worth in FRACTIONS.items() if Decimal(worth) == part}
    if tenths and len(decimals) == 1 and part:
        parts |= {f"{ORDINARY[int(decimals)]} {tenth}" for tenth in ("tenths", "tenth")}
    heads = _full_ways(int(whole)) | _grouped(whole, GROUPINGS)
    return {f"{head} and {said}" for head in heads for said in parts} | (parts if whole == "0" else set())

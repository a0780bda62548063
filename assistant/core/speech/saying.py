"""Every way to say a number: the reverse of `numbers`, and how the assistant itself reads figures back.

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

from assistant.core.speech.numbers import FRACTIONS, POINT, TEENS, TENS
from assistant.core.units import plain

READ_BACK = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "niner")
ORDINARY = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
AS_PRONOUNCED = ("zero", "one", "two", "tree", "fower", "fife", "six", "seven", "eight", "niner")
TOGETHER = ("", "", "double", "triple")
LINKS = ("", "and ")
GROUPINGS = ((1, 2), (2, 2), (2, 1), (2, 2, 1), (2, 2, 2))
"""Digits of the groups that a number may be said in."""
_TEEN_WORDS = {value: w for w, value in TEENS.items()}
_TEN_WORDS = {value: w for w, value in TENS.items()}


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


def sent_singly(text: str) -> str:
    """Figure by figure, as every regime sends what is no quantity: a heading, code, serial number or time of day.

    >>> sent_singly("0715"), sent_singly("080")
    ('zero seven one five', 'zero eight zero')
    """
    return " ".join(READ_BACK[int(c)] for c in text)


def figures(value: Decimal, regime: ReadBack = "digits") -> str:
    """A quantity as read back.

    >>> figures(Decimal("12.60")), figures(Decimal("-20"))
    ('one two decimal six zero', 'minus two zero')
    >>> figures(Decimal(13500), "faa"), figures(Decimal(13500), "acp125")
    ('one three thousand five hundred', 'one three five zero zero')
    """
    rule = REGIMES[regime]
    whole, _, decimals = format(value.copy_abs(), "f").partition(".")
    sign = ["minus"] if value.is_signed() else []
    tail = [rule.point, sent_singly(decimals)] if decimals else []
    return " ".join([*sign, sent_singly(whole) if decimals else _round_number(whole, rule), *tail])


def _round_number(whole: str, rule: Regime) -> str:
    """A whole number: as hundreds and thousands where it is round and the rule has them, else figure by figure."""
    thousands, hundreds = int(whole) // 1000, int(whole) // 100 % 10
    if whole.endswith("00") and rule.hundreds and hundreds:
        head = [sent_singly(str(thousands)), "thousand"] if thousands else []
        return " ".join([*head, READ_BACK[hundreds], "hundred"])
    if whole.endswith("000") and rule.thousands and thousands:
        return f"{sent_singly(str(thousands))} thousand"
    return sent_singly(whole)


def below_hundred(n: int) -> list[str]:
    """1 to 99 in words."""
    if n < 10:
        return [ORDINARY[n]]
    if str(n) in _TEEN_WORDS:
        return [_TEEN_WORDS[str(n)]]
    tens = [_TEN_WORDS[f"{n // 10}0"]]
    return tens + ([ORDINARY[n % 10]] if n % 10 else [])


def in_full(n: int) -> list[str]:
    """0 to 999 999 in words, without "and"."""
    if n == 0:
        return ["zero"]
    out: list[str] = []
    if n >= 1000:
        out += [*in_full(n // 1000), "thousand"]
    if n % 1000 >= 100:
        out += [ORDINARY[n % 1000 // 100], "hundred"]
    if n % 100:
        out += below_hundred(n % 100)
    return out


def spoken(value: Decimal) -> str:
    """As anyone would say it: "one hundred ninety five", "twelve point six"."""
    text = plain(abs(value))
    whole, _, decimals = text.partition(".")
    out = ["minus"] if value < 0 else []
    out += in_full(int(whole))
    if decimals:
        out += ["point", *(ORDINARY[int(c)] for c in decimals)]
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

"""Every way to say a number: the reverse of `numbers`, and how the assistant itself reads figures back.

The read-back is digit by digit with *niner* and *decimal*, as ICAO Annex 10 volume II 5.2.1.4 says figures are sent.
"""

from __future__ import annotations

from decimal import Decimal

from assistant.core.speech.numbers import TEENS, TENS
from assistant.core.units import plain

READ_BACK = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "niner")
ORDINARY = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
_TEEN_WORDS = {value: w for w, value in TEENS.items()}
_TEN_WORDS = {value: w for w, value in TENS.items()}


def figures(value: Decimal) -> str:
    """Digit by digit, as read back.

    >>> figures(Decimal("12.60")), figures(Decimal("-20"))
    ('one two decimal six zero', 'minus two zero')
    """
    text = format(value, "f")
    out = ["minus"] if text.startswith("-") else []
    for c in text.lstrip("-"):
        out.append("decimal" if c == "." else READ_BACK[int(c)])
    return " ".join(out)


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


def ways_to_say(value: Decimal) -> frozenset[str]:
    """Every form of `numbers` in which a value can be said, with a few of their mixtures of digit words."""
    text = format(abs(value), "f")
    whole, _, decimals = text.partition(".")
    tails = [f" {p} {' '.join(ORDINARY[int(c)] for c in decimals)}" for p in ("point", "decimal")] if decimals else [""]
    ways = {head + tail for head in _whole_ways(whole) for tail in tails}
    if len(decimals) == 1 and len(whole) == 2 and whole[0] != "0":
        ways.add(" ".join([*below_hundred(int(whole)), ORDINARY[int(decimals)]]))
    if value < 0:
        return frozenset(f"minus {w}" for w in ways) | frozenset(f"{w} below" for w in ways if not decimals)
    return frozenset(ways)


def _whole_ways(whole: str) -> set[str]:
    n = int(whole)
    ways = {" ".join(ORDINARY[int(c)] for c in whole), " ".join(READ_BACK[int(c)] for c in whole)}
    if "0" in whole and len(whole) > 1:
        ways.add(" ".join("oh" if c == "0" else ORDINARY[int(c)] for c in whole))
    if whole == str(n):
        full = in_full(n)
        ways.add(" ".join(full))
        if 100 < n < 1000 and n % 100:
            ways.add(" ".join([*full[:2], "and", *full[2:]]))
            ways.add(" ".join([full[0], *_pair(whole[1:])]))
        if 1000 <= n < 10000 and whole[1] != "0":
            ways.add(" ".join([*below_hundred(n // 100), *(_pair(whole[2:]) if n % 100 else ["hundred"])]))
    return ways


def _pair(two: str) -> list[str]:
    if two[0] == "0":
        return ["oh", ORDINARY[int(two[1])]]
    return below_hundred(int(two))

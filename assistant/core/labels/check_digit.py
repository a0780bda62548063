"""Check digits and characters: GS1 mod 10, Code 39 mod 43.

Sources: GS1 General Specifications 7.9 (the mod 10 rule, as in the worked examples of the public calculators);
ISO/IEC 16388 annex A (mod 43 and its value table).
"""

from __future__ import annotations

from assistant.core.labels.faults import LabelFault

CODE_39_VALUES = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ-. $/+%"
"""A character's value is its place here: 0-9 = 0-9, A-Z = 10-35, then - . space $ / + % = 36-42."""

GTIN_LENGTHS = (8, 12, 13, 14)


def is_figures(text: str) -> bool:
    """Nothing but 0 to 9, at least one. (str.isdigit also takes other scripts' digits and superscripts.)"""
    return text.isascii() and text.isdigit()


def mod10_digit(data: str) -> str:
    """The check digit that belongs behind `data` (figures only): weights 3, 1, 3 ... from the right.

    >>> mod10_digit("629104150021")
    '3'
    """
    total = sum(int(c) * (3 if i % 2 == 0 else 1) for i, c in enumerate(reversed(data)))
    return str(-total % 10)


def mod10_fault(number: str) -> LabelFault | None:
    """What is wrong with a number that ends in its mod 10 check digit; None where nothing is."""
    if not is_figures(number):
        return LabelFault(f"{number!r} holds something other than figures" if number else "there are no figures")
    if len(number) < 2:
        return LabelFault("one figure alone has no check digit")
    if mod10_digit(number[:-1]) != number[-1]:
        return LabelFault("the check digit is wrong: a figure was misread or misprinted")
    return None


def gtin14(number: str) -> str | LabelFault:
    """A GTIN-8, -12, -13 or -14 filled with leading zeros to the 14 figures that products are compared by.

    >>> gtin14("416000336108")
    '00416000336108'
    """
    if len(number) not in GTIN_LENGTHS:
        return LabelFault(f"a product number has 8, 12, 13 or 14 figures, {number!r} has {len(number)}")
    return mod10_fault(number) or number.zfill(14)


def mod43_character(data: str) -> str | LabelFault:
    """The optional check character behind Code 39 `data`.

    >>> mod43_character("A1207-D")
    'Q'
    """
    if not data:
        return LabelFault("there are no characters")
    odd = sorted(set(data) - set(CODE_39_VALUES))
    if odd:
        return LabelFault(f"Code 39 has no {odd[0]!r}")
    return CODE_39_VALUES[sum(CODE_39_VALUES.index(c) for c in data) % 43]


def ends_in_mod43(text: str) -> bool:
    """Whether the last character is the mod 43 check character of those before it (one in 43 is so by chance)."""
    return len(text) > 1 and mod43_character(text[:-1]) == text[-1]

"""How the numbers of a computation are written in its working, counted, and looked up by a word."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypeVar

from assistant.core.trade.given import given
from assistant.core.trade.rounding import to_figures
from assistant.core.units import Amount

T = TypeVar("T")
READING_FIGURES = 4


def about(amount: Amount) -> str:
    """An amount as a working line writes it, to four significant figures.

    >>> from decimal import Decimal
    >>> about(Amount(Decimal("5.649241451380835"), "Nm"))
    '5.649 N·m'
    """
    return str(Amount(to_figures(amount.value, READING_FIGURES), amount.unit))


def whole(name: str, amount: Amount, least: int, most: int, source: str = "") -> int:
    """A count that must be a whole number from `least` to `most`. Raises ValueError naming the value and the range."""
    value = given(name, amount, "count", least=str(least), most=str(most), source=source)
    if value != value.to_integral_value():
        raise ValueError(f"'{name}' is {amount}, and must be a whole number")
    return int(value)


def one_of(name: str, word: str, table: Mapping[Any, T]) -> T:
    """What a table has under a word. Raises ValueError naming the word and those that it has.

    >>> one_of("joint", "reused", {"reused": 75})
    75
    """
    if word not in table:
        raise ValueError(f"'{name}' is '{word}', and must be one of {', '.join(table)}")
    return table[word]

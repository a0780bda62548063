"""Does a value keep to a limit. Bounds are inclusive: a value on the bound is within.

Sources. Inclusive bounds: so `procedure.Limit` says, and so handbooks read at their boundary (80/60 psi leak-down is
exactly 25 % and passes, AC 43.13-1B para 8-14; a cell spread of exactly 0.025 still serves, TM 9-6140-200-14 s.4-7).
Spread as a share of the highest: trade practice for compression ("lowest within 10 % of highest").
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal, localcontext
from typing import Literal

from assistant.core.procedure import Limit, Value
from assistant.core.units import Amount, convert, plain

Verdict = Literal["within", "low", "high", "unsure"]
EXACT_DIGITS = 50
"""Enough for the product of any two values that can be said, so that no boundary is lost to rounding."""


@dataclass(frozen=True)
class Judgement:
    """The verdict, and by how much: "5 psi above 190 psi". `unsure`: there is nothing to compare with."""

    verdict: Verdict
    margin: str


def judge(value: Amount, limit: Limit, others: Sequence[Amount] = ()) -> Judgement:
    """Judge a value by one bound limit (its names already amounts).

    `others`: for `spread` the rest of the set (none: a set of one); for `same_as` the one value it must equal.
    Raises ValueError where kinds of quantity differ, or a bound is still a name.

    >>> judge(Amount(Decimal(190), "psi"), Limit("at_least", low=Amount(Decimal(190), "psi"))).verdict
    'within'
    """
    with localcontext() as context:
        context.prec = EXACT_DIGITS
        if limit.rule == "spread":
            return _judge_spread(value, limit.share or Decimal(0), others)
        if limit.rule == "same_as":
            return _judge_same(value, others)
        return _judge_bounds(value, _bound(limit.low, value.unit), _bound(limit.high, value.unit))


def spread_share(values: Sequence[Amount]) -> Amount:
    """(highest - lowest) as a percentage of the highest, to 28 figures.

    Source: trade practice for compression. Raises ValueError where nothing is given or the highest is not above zero.

    >>> spread_share([Amount(Decimal(120), "psi"), Amount(Decimal(90), "psi")])
    Amount(value=Decimal('25'), unit='percent')
    """
    highest, lowest = _ends(values)
    if highest <= 0:
        raise ValueError("a spread is a share of the highest, which must be above zero")
    return Amount(Decimal(plain((highest - lowest) * 100 / highest)), "percent")


def _ends(values: Sequence[Amount]) -> tuple[Decimal, Decimal]:
    if not values:
        raise ValueError("a spread needs at least one value")
    same = [convert(value, values[0].unit).value for value in values]
    return max(same), min(same)


def _judge_bounds(value: Amount, low: Decimal | None, high: Decimal | None) -> Judgement:
    if low is not None and value.value < low:
        return Judgement("low", _gap(low - value.value, "below", low, value.unit))
    if high is not None and value.value > high:
        return Judgement("high", _gap(value.value - high, "above", high, value.unit))
    inside = [(value.value - low, "above", low)] if low is not None else []
    inside += [(high - value.value, "below", high)] if high is not None else []
    if not inside:
        raise ValueError("a limit needs a bound")
    return Judgement("within", _gap(*min(inside), value.unit))


def _judge_spread(value: Amount, share: Decimal, others: Sequence[Amount]) -> Judgement:
    """The set fails as a whole: its highest is then high, every other value of it low."""
    highest, lowest = _ends([value, *others])
    if highest <= 0:
        return Judgement("unsure", "a share of nothing")
    text = f"lowest {plain(lowest)}, highest {plain(highest)} {value.unit}"
    if (highest - lowest) * 100 <= share * highest:
        return Judgement("within", text)
    return Judgement("high" if value.value == highest else "low", text)


def _judge_same(value: Amount, others: Sequence[Amount]) -> Judgement:
    if not others:
        return Judgement("unsure", "nothing to compare with")
    other = convert(others[0], value.unit).value
    if value.value == other:
        return Judgement("within", f"the same as {plain(other)}")
    if value.value < other:
        return Judgement("low", f"{plain(other - value.value)} fewer than {plain(other)}")
    return Judgement("high", f"{plain(value.value - other)} more than {plain(other)}")


def _bound(bound: Value | None, unit: str) -> Decimal | None:
    if isinstance(bound, str):
        raise ValueError(f"the bound '{bound}' is a name: bind the procedure first")
    return convert(bound, unit).value if bound else None


def _gap(gap: Decimal, side: str, bound: Decimal, unit: str) -> str:
    return f"{Amount(gap, unit)} {side} {Amount(bound, unit)}"

"""Does a value keep to a limit. Bounds are inclusive, a value on the bound is within; those of above and below are not.

Sources. Inclusive bounds: so `procedure.Limit` says, and so handbooks read at their boundary (80/60 psi leak-down is
exactly 25 % and passes, AC 43.13-1B para 8-14; a cell spread of exactly 0.025 still serves, TM 9-6140-200-14 s.4-7).
Spread as a share of the highest: trade practice for compression ("lowest within 10 % of highest").
Guard bands: JCGM 106:2012 (guarded acceptance with w = U, U expanded with k = 2) and ISO 14253-1 (conformity is proven where
the reading and its uncertainty lie inside of the limits, the contrary where they lie outside, else neither); both from
memory, restated by ILAC-G8:09/2019 as the non-binary statement with a guard band. So the zone in which a value is taken as
within only ever gets narrower.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal, localcontext

from assistant.core.procedure import Limit, Value
from assistant.core.trade.figure import Figure, Verdict
from assistant.core.units import Amount, convert, kind_of, plain

EXACT_DIGITS = 50
"""Enough for the product of any two values that can be said, so that no boundary is lost to rounding."""
SAME = Decimal("1e-17")
"""Two numbers nearer than this share of the greater are one: converted amounts are exact to 20 figures."""


@dataclass(frozen=True)
class Judgement:
    """The verdict, and by how much: "5 psi above 190 psi". `unsure`: nothing to compare with, or too near for the gauge.

    `gap`: how far the value lies from the bound that decided, None where no single bound did.
    """

    verdict: Verdict
    margin: str
    gap: Amount | None = None


@dataclass(frozen=True)
class Bounds:
    """What the value itself must keep to, in its own unit; `exclusive`: the bound itself is out."""

    low: Decimal | None
    high: Decimal | None
    exclusive: bool = False


def judge(value: Amount, limit: Limit, others: Sequence[Amount] = ()) -> Judgement:
    """Judge a value by one bound limit (its names already amounts).

    `others`: for `spread` the rest of the set (none: a set of one); for `same_as` and a compared limit the one other value.
    Raises ValueError where kinds of quantity differ, or a bound is still a name.

    >>> judge(Amount(Decimal(190), "psi"), Limit("at_least", low=Amount(Decimal(190), "psi"))).verdict
    'within'
    >>> guarded = Limit("at_least", low=Amount(Decimal(190), "psi"), uncertainty=Amount(Decimal(3), "psi"))
    >>> judge(Amount(Decimal(192), "psi"), guarded).margin
    '2 psi above 190 psi, and the gauge is good to 3 psi'
    """
    with localcontext() as context:
        context.prec = EXACT_DIGITS
        if limit.rule == "spread":
            return _judge_spread(value, limit, others)
        if limit.rule == "same_as":
            return _judge_same(value, others)
        if not limit.compared:
            return _judge_bounds(value, _plain_bounds(limit, value.unit), doubt(value, limit))
        if not others:
            return Judgement("unsure", "nothing to compare with")
        other = convert(others[0], value.unit)
        both = doubt(value, limit) + doubt(other, limit)
        return _judge_bounds(value, _compared_bounds(limit, other), both)


def judge_figure(figure: Figure, limit: Limit) -> Judgement:
    """Judge what a computation gave: by the limit's bounds, or without any as the computation itself judges.

    An answer that the computation itself is unsure of (sources conflict) is unsure, whatever the bounds are.

    Raises ValueError where it gave a word or another kind of quantity and there are bounds, or no verdict and there are none.
    """
    if limit.rule != "by":
        with localcontext() as context:
            context.prec = EXACT_DIGITS
            found = _judge_bounds(figure.amount, _plain_bounds(limit, figure.amount.unit), Decimal(0))
        return replace(found, verdict="unsure") if figure.verdict == "unsure" else found
    if figure.verdict is None:
        raise ValueError("the computation does not judge by itself, and the limit has no bound")
    return Judgement(figure.verdict, str(figure.answer))


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


def difference_unit(unit: str) -> str:
    """The unit in which two amounts of this one differ.

    >>> difference_unit("degF"), difference_unit("psi")
    ('delta_F', 'psi')
    """
    return {"degC": "delta_K", "degF": "delta_F"}.get(unit, unit)


def doubt(value: Amount, limit: Limit) -> Decimal:
    """The gauge's uncertainty at this value, in its unit; 0 where none is stated. Raises ValueError for a negative one."""
    if limit.uncertainty is None:
        return Decimal(0)
    found = _difference(limit.uncertainty, abs(value.value), value.unit)
    if found < 0:
        raise ValueError(f"the uncertainty {limit.uncertainty} is negative")
    return found


def around(target: Amount, tolerance: Amount) -> tuple[Amount, Amount]:
    """The target less and plus its tolerance, in the target's unit. Raises ValueError for a tolerance of another kind.

    >>> [str(bound) for bound in around(Amount(Decimal(20), "Nm"), Amount(Decimal(4), "percent"))]
    ['19.2 N\u00b7m', '20.8 N\u00b7m']
    """
    apart = _difference(tolerance, abs(target.value), target.unit)
    return Amount(target.value - apart, target.unit), Amount(target.value + apart, target.unit)


def _difference(amount: Value, of: Decimal, unit: str) -> Decimal:
    """A difference in `unit`: an amount, or so many percent of `of`."""
    if isinstance(amount, str):
        raise ValueError(f"the bound '{amount}' is a name: bind the procedure first")
    if amount.unit == "percent" != unit:
        if kind_of(unit) == "temperature":
            raise ValueError("a percentage of a temperature means nothing")
        return amount.value * of / 100
    return convert(amount, difference_unit(unit)).value


def _ends(values: Sequence[Amount]) -> tuple[Decimal, Decimal]:
    if not values:
        raise ValueError("a spread needs at least one value")
    same = [convert(value, values[0].unit).value for value in values]
    return max(same), min(same)


def _plain_bounds(limit: Limit, unit: str) -> Bounds:
    low, high = _bound(limit.low, unit), _bound(limit.high, unit)
    if low is None and high is None:
        raise ValueError("a limit needs a bound")
    return Bounds(low, high, limit.rule in ("above", "below"))


def _compared_bounds(limit: Limit, other: Amount) -> Bounds:
    """What the value itself must keep to, so that its difference to the other keeps to the limit's bounds."""
    low, high = (
        None if bound is None else _difference(bound, abs(other.value), other.unit) for bound in (limit.low, limit.high)
    )
    if limit.compared == "less_than":
        low, high = (None if bound is None else -bound for bound in (high, low))
    elif limit.compared == "differs_from" and high is not None:
        low = -high
    if low is None and high is None:
        raise ValueError("a limit needs a bound")
    return Bounds(
        None if low is None else other.value + low,
        None if high is None else other.value + high,
        limit.rule in ("above", "below"),
    )


def _judge_bounds(value: Amount, bounds: Bounds, uncertain: Decimal) -> Judgement:
    """Outside where all that the reading may be lies outside, within where all of it lies inside, else unsure."""
    x, unit = value.value, value.unit
    beyond: list[tuple[Decimal, Verdict, Decimal]] = []
    if bounds.low is not None:
        beyond.append((bounds.low - x, "low", bounds.low))
    if bounds.high is not None:
        beyond.append((x - bounds.high, "high", bounds.high))
    near: list[tuple[Decimal, Verdict, Decimal]] = []
    for by, side, bound in beyond:
        lost = max(abs(x), abs(bound)) * SAME
        if _is_out(by - uncertain, lost, bounds.exclusive):
            return Judgement(side, _gap(abs(by), side == "low", bound, unit, uncertain), Amount(abs(by), unit))
        if _is_out(by + uncertain, lost, bounds.exclusive):
            near.append((by, side, bound))
    by, side, bound = max(near or beyond)
    text = _gap(abs(by), (side == "low") == (by > 0), bound, unit, uncertain)
    return Judgement("unsure" if near else "within", text, Amount(abs(by), unit))


def _is_out(by: Decimal, lost: Decimal, exclusive: bool) -> bool:
    """Is what lies so far beyond a bound out; what is `lost` in a conversion counts as nothing."""
    return by >= -lost if exclusive else by > lost


def _judge_spread(value: Amount, limit: Limit, others: Sequence[Amount]) -> Judgement:
    """The set fails as a whole: its highest is then high, every other value of it low.

    With an uncertainty the least and the greatest spread that the readings may stand for are looked at: each end of the
    set may be wrong by that much, either way (worst case; the same gauge's common error would cancel in part).
    """
    share = limit.share or Decimal(0)
    highest, lowest = _ends([value, *others])
    if highest <= 0:
        return Judgement("unsure", "a share of nothing")
    text = f"lowest {plain(lowest)}, highest {plain(highest)} {value.unit}"
    over, under = (doubt(Amount(end, value.unit), limit) for end in (highest, lowest))
    least_high = highest - over
    sure = not others or ((highest + over) - (lowest - under)) * 100 <= share * (highest + over)
    broken = least_high > 0 and (least_high - (lowest + under)) * 100 > share * least_high
    if sure:
        return Judgement("within", text)
    if not broken:
        return Judgement("unsure", f"{text}, and the gauge is good to {limit.uncertainty}")
    return Judgement("high" if value.value == highest else "low", text)


def _judge_same(value: Amount, others: Sequence[Amount]) -> Judgement:
    if not others:
        return Judgement("unsure", "nothing to compare with")
    other = convert(others[0], value.unit).value
    if value.value < other:
        return Judgement("low", f"{plain(other - value.value)} fewer than {plain(other)}")
    if value.value > other:
        return Judgement("high", f"{plain(value.value - other)} more than {plain(other)}")
    return Judgement("within", f"the same as {plain(other)}")


def _bound(bound: Value | None, unit: str) -> Decimal | None:
    if isinstance(bound, str):
        raise ValueError(f"the bound '{bound}' is a name: bind the procedure first")
    return convert(bound, unit).value if bound else None


def _gap(gap: Decimal, below: bool, bound: Decimal, unit: str, uncertain: Decimal) -> str:
    text = f"{Amount(gap, unit)} {'below' if below else 'above'} {Amount(bound, unit)}"
    return f"{text}, and the gauge is good to {Amount(uncertain, unit)}" if uncertain else text

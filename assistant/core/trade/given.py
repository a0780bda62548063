"""What a computation is given, looked at before it is used: the kind of quantity, and the range that its source covers."""

from __future__ import annotations

from decimal import Decimal

from assistant.core.units import Amount, a_kind, convert, kind_of


def given(
    name: str, amount: Amount, unit: str, *, least: str | None = None, most: str | None = None, source: str = ""
) -> Decimal:
    """The number of `amount` in `unit`, where it is of that unit's kind and from `least` to `most` (in `unit`, inclusive).

    Raises ValueError that names the value, the range and the source.

    >>> given("volume", Amount(Decimal("1.5"), "us_qt"), "L", least="0")
    Decimal('1.419529419')
    """
    if kind_of(amount.unit) != kind_of(unit):
        raise ValueError(
            f"'{name}' is {amount} ({kind_of(amount.unit) or 'not on the list'}), and must be {a_kind(unit)}"
        )
    value = convert(amount, unit).value
    if not value.is_finite() or (least is not None and value < Decimal(least)):
        raise ValueError(_outside(name, amount, unit, least, most, source))
    if most is not None and value > Decimal(most):
        raise ValueError(_outside(name, amount, unit, least, most, source))
    return value


def above_zero(name: str, amount: Amount, unit: str) -> Decimal:
    """The number of `amount` in `unit`, which must be above zero. Raises ValueError."""
    value = given(name, amount, unit)
    if value <= 0:
        raise ValueError(f"'{name}' is {amount}, and must be above zero")
    return value


def _outside(name: str, amount: Amount, unit: str, least: str | None, most: str | None, source: str) -> str:
    low = f"from {Amount(Decimal(least), unit)}" if least is not None else "at most"
    high = f"{'to ' if least is not None else ''}{Amount(Decimal(most), unit)}" if most is not None else "up"
    return f"'{name}' is {amount}, and must be {low} {high}" + (f" ({source})" if source else "")

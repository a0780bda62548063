"""Rounding for reading: computed numbers have 28 figures, a gauge has three."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Context, Decimal

from assistant.core.units import plain


def to_figures(value: Decimal, figures: int) -> Decimal:
    """The number with so many significant figures, halves away from zero.

    >>> to_figures(Decimal("99.8496"), 4), to_figures(Decimal("1234.5"), 4)
    (Decimal('99.85'), Decimal('1235'))
    """
    return Decimal(plain(Context(prec=figures, rounding=ROUND_HALF_UP).plus(value)))


def in_short(value: Decimal) -> str:
    """A reading or what is computed of it as a line of working writes it, whatever its unit: 5 significant figures.

    >>> in_short(Decimal("111.25")), in_short(Decimal("0.6894757"))
    ('111.25', '0.68948')
    """
    return plain(to_figures(value, 5))


def shown(value: Decimal, places: int = 2) -> str:
    """The number as a line of working writes it, with at most so many places, halves away from zero.

    >>> shown(Decimal("76.6666")), shown(Decimal("120.00")), shown(Decimal("0.86165"), 4)
    ('76.67', '120', '0.8617')
    """
    return plain(value.quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP))

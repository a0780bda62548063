"""A set of readings, one a cylinder, counted from one in the order in which they stand side by side."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import Decimal

from assistant.core.trade.given import given
from assistant.core.trade.rounding import to_figures
from assistant.core.units import Amount, convert

MOST_PSI = "1000"
"""No piston engine shows more when it is cranked: a slip of the unit (common practice, no source)."""
NONE = "none"
"""The answer where no cylinder is named."""


def cranking_pressure(name: str, reading: Amount, unit: str) -> Decimal:
    """One gauge pressure in `unit`. Raises ValueError below none and above 1000 psi."""
    given(name, reading, "psi", least="0", most=MOST_PSI, source="cranking pressures, common practice")
    return convert(reading, unit).value


def cranking_pressures(name: str, readings: Sequence[Amount]) -> tuple[list[Decimal], str]:
    """The numbers of a set of gauge pressures, all in the unit of the first, and that unit.

    Raises ValueError for fewer than two readings, one below none or above 1000 psi, or none above zero.
    """
    if len(readings) < 2:
        raise ValueError(f"'{name}' needs at least two readings, one for each cylinder, and has {len(readings)}")
    unit = readings[0].unit
    numbers = [cranking_pressure(name, reading, unit) for reading in readings]
    if max(numbers) == 0:
        raise ValueError(f"'{name}' is 0 throughout: look at the gauge and its hose first")
    return numbers, unit


def compared(number: Decimal) -> Decimal:
    """A pressure as it is compared with a bound: 12 figures, so that a boundary is the same in every unit."""
    return to_figures(number, 12)


def where(numbers: Sequence[Decimal], is_so: Callable[[Decimal], bool]) -> list[int]:
    """The cylinders, counted from one, whose number is so."""
    return [at for at, number in enumerate(numbers, start=1) if is_so(number)]


def named(cylinders: Sequence[int]) -> str:
    """How cylinders are named together.

    >>> named([2]), named([1, 2, 4]), named([])
    ('cylinder 2', 'cylinders 1, 2 and 4', 'none')
    """
    if not cylinders:
        return NONE
    if len(cylinders) == 1:
        return f"cylinder {cylinders[0]}"
    return f"cylinders {', '.join(map(str, cylinders[:-1]))} and {cylinders[-1]}"

"""A published table of two columns: read between its rows, never outside of them."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from assistant.core.units import Amount


@dataclass(frozen=True)
class Table:
    """Rows of numbers in rising order of the first column; `x_unit` and `y_unit` are of the unit list."""

    title: str
    source: str
    x_name: str
    x_unit: str
    y_unit: str
    rows: tuple[tuple[Decimal, Decimal], ...]

    def at(self, x: Decimal) -> Decimal:
        """Linear between the rows around `x`. Raises ValueError outside of the table, naming value, range and source."""
        for (x0, y0), (x1, y1) in pairwise(self.rows):
            if x0 <= x <= x1:
                return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
        first, last = (Amount(row[0], self.x_unit) for row in (self.rows[0], self.rows[-1]))
        raise ValueError(
            f"'{self.x_name}' is {Amount(x, self.x_unit)}, outside of the table '{self.title}', which goes from {first}"
            f" to {last} ({self.source}); nothing is extrapolated"
        )

    def turned(self, y_name: str) -> Table:
        """The same table read the other way, where the second column rises or falls throughout.

        Raises ValueError where it turns, since one value would then have two answers.
        """
        other = tuple((y, x) for x, y in self.rows)
        rising = other if other[0] < other[-1] else other[::-1]
        if any(a[0] >= b[0] for a, b in pairwise(rising)):
            raise ValueError(f"the table '{self.title}' turns over, and cannot be read backwards ({self.source})")
        return Table(self.title, self.source, y_name, self.y_unit, self.x_unit, rising)


def table(title: str, source: str, x_name: str, x_unit: str, y_unit: str, *rows: tuple[str, str]) -> Table:
    """A table as it is printed: numbers as text."""
    return Table(title, source, x_name, x_unit, y_unit, tuple((Decimal(x), Decimal(y)) for x, y in rows))

"""What a number of a machine sheet usually is, by its name and its kind: for questions, never for a limit.

The ranges are wide, for small craft, outboards, quads, generators and mowers with a 12 V battery. All of them are common
practice, no source, but for what is said beside them. A number outside is asked about: the manual may be right.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from assistant.core.units import KINDS, Amount, convert, kind_of

PRACTICE = "common practice, no source"
ATMOSPHERE = "common practice, no source; water boils at 212 degF at sea level"
UNDER_A_CAP = "common practice, no source; half glycol under a cap of 15 psi boils near 265 degF, from memory"
SIX_CELLS = "six lead cells of about 2.1 V at rest; the range is common practice, no source"
TENFOLD = Decimal(10)


@dataclass(frozen=True)
class Usual:
    """From `least` to `most` in `unit`, for names that have all of `words` in them ("plug", "gap")."""

    words: tuple[str, ...]
    unit: str
    least: Decimal
    most: Decimal
    source: str = PRACTICE

    def holds(self, amount: Amount) -> bool:
        """Does the amount, of the same kind, lie there."""
        return self.least <= convert(amount, self.unit).value <= self.most

    @property
    def told(self) -> str:
        """The range in words."""
        return f"{Amount(self.least, self.unit)} to {Amount(self.most, self.unit)}"


def _usual(words: str, unit: str, least: str, most: str, source: str = PRACTICE) -> Usual:
    return Usual(tuple(words.split()), unit, Decimal(least), Decimal(most), source)


USUAL = (
    _usual("drain plug torque", "Nm", "8", "60"),
    _usual("cover torque", "Nm", "3", "30"),
    _usual("filter torque", "Nm", "3", "30"),
    _usual("plug torque", "Nm", "8", "45"),
    _usual("torque", "Nm", "1", "250"),
    _usual("compression", "psi", "60", "300"),
    _usual("oil", "psi", "3", "120"),
    _usual("fuel", "psi", "1", "100"),
    _usual("plug gap", "mm", "0.3", "1.5"),
    _usual("impeller gap", "mm", "0.05", "2"),
    _usual("valve", "mm", "0.02", "0.8"),
    _usual("gap", "mm", "0.02", "5"),
    _usual("charging", "V", "13", "15.5", SIX_CELLS),
    _usual("rest", "V", "11.8", "13.2", SIX_CELLS),
    _usual("", "V", "5", "17", SIX_CELLS),
    _usual("exhaust", "degF", "32", "450"),
    _usual("warm", "degF", "100", "230", ATMOSPHERE),
    _usual("thermostat", "degF", "100", "230", ATMOSPHERE),
    _usual("cold", "degF", "-60", "150"),
    _usual("coolant", "degF", "-90", "275", UNDER_A_CAP),
    _usual("", "degF", "-90", "500"),
    _usual("tank", "L", "0.5", "600"),
    _usual("dose", "L", "0.002", "2"),
    _usual("cylinder oil", "L", "0.001", "0.1"),
    _usual("oil", "L", "0.05", "15"),
    _usual("antifreeze", "L", "0.5", "60"),
    _usual("coolant", "L", "0.2", "40"),
    _usual("idle", "rpm", "500", "3000"),
    _usual("", "rpm", "100", "20000"),
    _usual("tolerance", "percent", "0.5", "30"),
    _usual("", "percent", "0", "100"),
)  # fmt: skip
"""The first that fits counts: from the special to the general."""


def usual_of(name: str, amount: Amount) -> Usual | None:
    """The range for a number of that name and kind; None where nothing is known of it.

    >>> usual_of("plug_gap_least", Amount(Decimal("0.7"), "mm")).told
    '0.3 mm to 1.5 mm'
    """
    parts, kind = set(name.split("_")), kind_of(amount.unit)
    return next((row for row in USUAL if kind_of(row.unit) == kind and parts.issuperset(row.words)), None)


def otherwise_read(amount: Amount, fits: Usual) -> Iterator[Amount]:
    """The same figures in another unit, or with the point one place on, that would lie in the range.

    What a slip of the eye makes: 89 lbf.ft for 89 lbf.in, 195 bar for 195 psi, 7.5 mm for 0.75 mm.
    """
    for unit, kind in KINDS.items():
        if kind == kind_of(amount.unit) and unit != amount.unit:
            other = Amount(amount.value, unit)
            if fits.holds(other):
                yield other
    if kind_of(amount.unit) != "temperature":
        for value in (amount.value / TENFOLD, amount.value * TENFOLD):
            if fits.holds(Amount(value, amount.unit)):
                yield Amount(value, amount.unit)

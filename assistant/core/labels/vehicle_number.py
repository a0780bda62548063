"""Seventeen-character vehicle identification numbers: maker, model year and serial, and the check digit in the middle.

Sources: 49 CFR 565.15 (characters, values, weights, check digit, model year in place 10); ISO 3779 and 3780 for the parts
of the number and the regions, from memory. The check digit is law where vehicles are made for North America (first
character 1 to 5); elsewhere a maker may put anything into place 9, so there a wrong one proves nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from assistant.core.labels.faults import LabelFault
from assistant.core.labels.slips import told_slips

CHARACTERS = "0123456789ABCDEFGHJKLMNPRSTUVWXYZ"
"""All capitals and figures less I, O and Q, which are too like 1 and 0."""
_VALUES = {c: int(c) for c in "0123456789"} | dict(
    zip("ABCDEFGHJKLMNPRSTUVWXYZ", (1, 2, 3, 4, 5, 6, 7, 8, 1, 2, 3, 4, 5, 7, 9, 2, 3, 4, 5, 6, 7, 8, 9), strict=True)
)
_WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
_YEARS = "ABCDEFGHJKLMNPRSTVWXY123456789"
"""Place 10: A is 1980, 9 is 2009, and round again every 30 years."""
FIRST_YEAR, ROUND = 1980, 30
CHECKED_REGIONS = "12345"


@dataclass(frozen=True)
class VehicleNumber:
    """What a vehicle number says: maker (three characters), the maker's description, serial; whether its check digit is
    right; the model years that place 10 may mean, oldest first (none outside North America, where it is free)."""

    written: str
    maker: str
    description: str
    serial: str
    checked: bool
    model_years: tuple[int, ...]


def check_digit(number: str) -> str:
    """What belongs into place 9 of seventeen of `CHARACTERS`, whatever stands there.

    >>> check_digit("1G4AH59H05G118341")
    '4'
    """
    total = sum(_VALUES[c] * w for c, w in zip(number, _WEIGHTS, strict=True))
    return "0123456789X"[total % 11]


def read_vehicle_number(text: str, today: date) -> VehicleNumber | LabelFault:
    """Read it; capitals or not, and spaces around it, do not matter. A wrong check digit says where the slip may be."""
    number = text.strip().upper()
    if len(number) != 17:
        return LabelFault(f"a vehicle number has 17 characters, this has {len(number)}")
    odd = next((c for c in number if c not in CHARACTERS), "")
    if odd:
        hint = ": look for a one or a zero" if odd in "IOQ" else ""
        return LabelFault(f"a vehicle number has no {odd!r}{hint}")
    checked = _is_right(number)
    if not checked and number[0] in CHECKED_REGIONS:
        return LabelFault(f"the check digit is wrong: {told_slips(number, _is_right, CHARACTERS)}")
    years = _model_years(number[9], today) if number[0] in CHECKED_REGIONS else ()
    return VehicleNumber(number, number[:3], number[3:8], number[9:], checked, years)


def _is_right(number: str) -> bool:
    return check_digit(number) == number[8]


def _model_years(code: str, today: date) -> tuple[int, ...]:
    at = _YEARS.find(code)
    first = FIRST_YEAR + at
    return () if at < 0 else tuple(range(first, today.year + 2, ROUND))

"""A text that is the number of a machine, and no part's: a hull number or a vehicle number.

Only where nothing contradicts it: a vehicle number with a right check digit, a hull number whose dates agree. Anything
else of that length may be a part number, and is left one.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from assistant.core.labels.hull_number import HullNumber, read_hull_number
from assistant.core.labels.vehicle_number import VehicleNumber, read_vehicle_number


def read_machine_number(text: str, today: date) -> tuple[str, Mapping[str, str]]:
    """What it is called, and what it says by name; ("", {}) where it is no such number for sure.

    >>> read_machine_number("ABC12345C585", date(2026, 11, 26))[1]["built"]
    '1985-03'
    """
    hull = read_hull_number(text, today)
    if isinstance(hull, HullNumber) and hull.maker.isalpha() and not hull.doubt:
        years = str(hull.model_year or "")
        said = {"country": hull.country, "maker": hull.maker, "serial": hull.serial, "built": hull.built}
        return "hull number", _given({"hull number": hull.written, **said, "model year": years})
    vehicle = read_vehicle_number(text, today)
    if isinstance(vehicle, VehicleNumber) and vehicle.checked and not vehicle.written.isdigit():
        years = " or ".join(map(str, vehicle.model_years))
        said = {"maker": vehicle.maker, "serial": vehicle.serial, "model year": years}
        return "vehicle number", _given({"vehicle number": vehicle.written, **said})
    return "", {}


def _given(said: Mapping[str, str]) -> Mapping[str, str]:
    return {name: value for name, value in said.items() if value}

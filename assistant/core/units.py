"""Units of the trade: one short list, exact factors, and nothing else.

pint does the arithmetic on `Decimal` with our own definitions, so that `Nm` is a torque (never an energy, never a
number per metre), a temperature is not a temperature difference, a US gallon is not an imperial one, and a unit that
is not on the list is refused. Factors are exact: inch 25.4 mm, pound 0.45359237 kg, standard gravity 9.80665 m/s2, US
gallon 231 cubic inches (the international yard and pound agreement of 1959, and NIST Handbook 44 appendix C).
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal, localcontext
from functools import cache

import pint

DEFINITIONS = """
m = [length] = metre
mm = 0.001 * m = millimetre
inch = 25.4 * mm = in
thou = 0.001 * inch
ft = 12 * inch = foot
mm2 = [area]
in2 = 645.16 * mm2
L = [volume] = litre
mL = 0.001 * L = millilitre
us_gal = 3.785411784 * L
us_qt = 0.946352946 * L
us_pt = 0.473176473 * L
us_fl_oz = 0.0295735295625 * L
imp_gal = 4.54609 * L
kPa = [pressure]
bar = 100 * kPa
MPa = 1000 * kPa
psi = 6.894757293168361336722673445346890693781387562775 * kPa
kPa_abs = [absolute_pressure]
bar_abs = 100 * kPa_abs
psi_abs = 6.894757293168361336722673445346890693781387562775 * kPa_abs
inHg_abs = 3.386389 * kPa_abs
Nm = [torque]
lbf_in = 0.1129848290276167 * Nm
lbf_ft = 1.3558179483314004 * Nm
J = [energy] = joule
N = [force] = newton
lbf = 4.4482216152605 * N
degF = [temperature]; offset: 0 = fahrenheit
degC = 1.8 * degF; offset: 32 = celsius
delta_F = [temperature_difference]
delta_K = 1.8 * delta_F
V = [voltage] = volt
mV = 0.001 * V
A = [current] = ampere
mA = 0.001 * A
ohm = [resistance]
s = [time] = second
min = 60 * s = minute
h = 3600 * s = hour
rpm = [speed]
kg = [mass]
g = 0.001 * kg
percent = [share]
sg = [specific_gravity]
count = [count]
"""

KINDS: dict[str, str] = {
    "m": "length", "mm": "length", "inch": "length", "thou": "length", "ft": "length",
    "mm2": "area", "in2": "area",
    "L": "volume", "mL": "volume", "us_gal": "volume", "us_qt": "volume", "us_pt": "volume",
    "us_fl_oz": "volume", "imp_gal": "volume",
    "kPa": "pressure", "bar": "pressure", "MPa": "pressure", "psi": "pressure",
    "kPa_abs": "absolute pressure", "bar_abs": "absolute pressure", "psi_abs": "absolute pressure",
    "inHg_abs": "absolute pressure",
    "Nm": "torque", "lbf_in": "torque", "lbf_ft": "torque",
    "J": "energy", "N": "force", "lbf": "force",
    "degC": "temperature", "degF": "temperature",
    "delta_K": "temperature difference", "delta_F": "temperature difference",
    "V": "voltage", "mV": "voltage", "A": "current", "mA": "current", "ohm": "resistance",
    "s": "time", "min": "time", "h": "time",
    "rpm": "speed", "kg": "mass", "g": "mass",
    "percent": "share", "sg": "specific gravity", "count": "count",
}  # fmt: skip
"""Every unit of the list, and what kind of quantity it measures."""

SPOKEN: dict[str, str] = {
    "m": "metres", "mm": "millimetres", "inch": "inches", "thou": "thou",
    "ft": "feet", "mm2": "square millimetres", "in2": "square inches",
    "L": "litres", "mL": "millilitres", "us_gal": "U S gallons", "us_qt": "U S quarts", "us_pt": "U S pints",
    "us_fl_oz": "U S fluid ounces", "imp_gal": "imperial gallons",
    "kPa": "kilopascals", "bar": "bar", "MPa": "megapascals", "psi": "P S I",
    "kPa_abs": "kilopascals absolute", "bar_abs": "bar absolute", "psi_abs": "P S I absolute",
    "inHg_abs": "inches of mercury", "J": "joules", "N": "newtons", "lbf": "pounds force",
    "Nm": "newton metres", "lbf_in": "pound force inches", "lbf_ft": "pound force feet",
    "degC": "degrees Celsius", "degF": "degrees Fahrenheit",
    "delta_K": "degrees Celsius", "delta_F": "degrees Fahrenheit",
    "V": "volts", "mV": "millivolts", "A": "amps", "mA": "milliamps", "ohm": "ohms",
    "s": "seconds", "min": "minutes", "h": "hours", "rpm": "R P M",
    "kg": "kilograms", "g": "grams", "percent": "percent", "sg": "", "count": "",
}  # fmt: skip
"""How the assistant says a unit."""

WRITTEN: dict[str, str] = {
    "us_gal": "US gal", "us_qt": "US qt", "us_pt": "US pt", "us_fl_oz": "US fl oz", "imp_gal": "imp gal",
    "Nm": "N\u00b7m", "lbf_in": "lbf\u00b7in", "lbf_ft": "lbf\u00b7ft", "degC": "\u00b0C", "degF": "\u00b0F",
    "delta_K": "K", "delta_F": "\u00b0F", "ohm": "\u03a9", "mm2": "mm\u00b2", "in2": "in\u00b2",
    "kPa_abs": "kPa abs", "bar_abs": "bar abs", "psi_abs": "psi abs", "inHg_abs": "inHg abs",
    "percent": "%", "inch": "in", "sg": "", "count": "",
}  # fmt: skip
"""How a report prints a unit, where its name will not do."""


BARE_GALLONS = ("gal", "gallon", "gallons")
"""What may mean two things: a US gallon, or an imperial one that is a fifth larger."""


@dataclass(frozen=True)
class Amount:
    """An exact number with a unit of the list."""

    value: Decimal
    unit: str

    def __str__(self) -> str:
        return f"{plain(self.value)} {WRITTEN.get(self.unit, self.unit)}".strip()

    def quantity(self) -> pint.Quantity[Decimal]:
        """The same as a pint quantity of the one registry."""
        return registry().Quantity(self.value, self.unit)


@cache
def registry() -> pint.UnitRegistry[Decimal]:
    """The one registry: Decimal numbers, our definitions only."""
    return pint.UnitRegistry(DEFINITIONS.strip().splitlines(), non_int_type=Decimal)


def plain(value: Decimal) -> str:
    """Decimal text without exponent and without trailing zeros after the point.

    >>> plain(Decimal("190.00")), plain(Decimal("1E+2")), plain(Decimal("-0.50"))
    ('190', '100', '-0.5')
    """
    text = format(value, "f")
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def kind_of(unit: str) -> str | None:
    """The kind of quantity that a unit measures; None for a unit that is not on the list."""
    return KINDS.get(unit)


def a_kind(unit: str) -> str:
    """The kind of a unit with its article, as messages name it; "unit that is not on the list" for another.

    >>> a_kind("psi"), a_kind("psi_abs")
    ('a pressure', 'an absolute pressure')
    """
    kind = kind_of(unit) or "unit that is not on the list"
    return f"{'an' if kind[0] in 'aeio' else 'a'} {kind}"


def convert(amount: Amount, unit: str) -> Amount:
    """The same amount in another unit of its kind, exact to 20 significant figures.

    Raises ValueError for a unit of another kind or not on the list.

    >>> convert(Amount(Decimal("0.3"), "inch"), "mm")
    Amount(value=Decimal('7.62'), unit='mm')
    """
    if amount.unit == unit and unit in KINDS:
        return amount
    here, there = KINDS.get(amount.unit), KINDS.get(unit)
    if here is None or here != there:
        raise ValueError(
            f"{amount.unit} ({here or 'not on the list'}) cannot become {unit} ({there or 'not on the list'})"
        )
    with localcontext() as ctx:
        ctx.prec = 34
        raw = amount.quantity().to(unit).magnitude
        ctx.prec = 20
        value = +Decimal(raw)
    return Amount(Decimal(plain(value)), unit)

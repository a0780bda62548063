"""How units are said. A bare "gallon" or "quart" is a trap (US and imperial differ by a fifth): it follows the site."""

from __future__ import annotations

from collections.abc import Mapping

from assistant.core.speech.language import UnitWords
from assistant.core.units import KINDS

SAID: Mapping[str, tuple[str, ...]] = {
    "psi": ("psi", "p s i", "pounds", "pounds per square inch"),
    "kPa": ("kilopascals",),
    "bar": ("bar",),
    "MPa": ("megapascals",),
    "V": ("volts", "volt"),
    "mV": ("millivolts", "millivolt"),
    "A": ("amps", "amp"),
    "mA": ("milliamps", "milliamp"),
    "ohm": ("ohms", "ohm"),
    "degF": ("degrees fahrenheit", "fahrenheit"),
    "degC": ("degrees celsius", "celsius"),
    "delta_K": ("degrees celsius",),
    "delta_F": ("degrees fahrenheit",),
    "L": ("liters", "litres", "liter", "litre"),
    "mL": ("milliliters", "millilitres", "cubic centimeters", "cubic centimetres", "c c", "cc"),
    "us_fl_oz": ("ounces", "fluid ounces", "ounce"),
    "us_pt": ("u s pints", "u s pint"),
    "us_qt": ("u s quarts", "u s quart"),
    "us_gal": ("u s gallons", "u s gallon"),
    "imp_gal": ("imperial gallons", "imperial gallon"),
    "inch": ("inches", "inch"),
    "mm": ("millimeters", "millimeter"),
    "m": ("meters", "metres"),
    "thou": ("thou", "thousandths", "thousandth"),
    "Nm": ("newton meters", "newton metres"),
    "lbf_in": ("inch pounds", "pound inches"),
    "lbf_ft": ("foot pounds", "pound feet"),
    "rpm": ("rpm", "r p m"),
    "h": ("hours", "hour"),
    "min": ("minutes", "minute"),
    "s": ("seconds", "second"),
    "percent": ("percent",),
    "count": (),
    "sg": (),
    "kg": ("kilograms",),
    "g": ("grams",),
}

US_MEASURES: Mapping[str, tuple[str, ...]] = {
    "us_gal": ("gallons", "gallon"), "us_qt": ("quarts", "quart"), "us_pt": ("pints", "pint"),
}  # fmt: skip
IMPERIAL_MEASURES: Mapping[str, tuple[str, ...]] = {"imp_gal": ("gallons", "gallon")}

SINGULAR = frozenset((
    "pint", "quart", "gallon", "liter", "litre", "ounce", "inch", "millimeter", "hour", "minute", "second", "volt", "amp",
))  # fmt: skip
"""Last words of the phrases for one of a unit: what may follow "a" and "half a"."""
PARTS_OF_AN_INCH: Mapping[tuple[str, ...], int] = {
    ("halves",): 2, ("quarter", "quarters"): 4, ("eighth", "eighths"): 8, ("sixteenth", "sixteenths"): 16,
    ("thirty second", "thirty seconds"): 32, ("sixty fourth", "sixty fourths"): 64,
}  # fmt: skip
"""The parts into which an inch rule and a set of wrenches divide it."""


_PHRASES = [
    phrase for table in (SAID, US_MEASURES, IMPERIAL_MEASURES) for phrases in table.values() for phrase in phrases
]
ENGLISH_UNITS = UnitWords(
    phrases=SAID,
    bare={"us_gal": US_MEASURES, "imp_gal": IMPERIAL_MEASURES},
    degrees=("degrees", "degree"),
    of_one=frozenset(phrase for phrase in _PHRASES if phrase.split()[-1] in SINGULAR),
    inch_parts={words: size for each, size in PARTS_OF_AN_INCH.items() for words in each},
)


def phrases_for(unit: str, gallon: str, words: UnitWords = ENGLISH_UNITS) -> dict[str, str]:
    """What may be said after a number whose unit is `unit` -> the unit meant: every unit of the same kind.

    "degrees" alone means the reading's own scale; a bare gallon follows the site.
    """
    kind = KINDS[unit]
    bare = words.bare.get("us_gal" if gallon == "us_gal" else "imp_gal", {})
    found = {phrase: u for u, said in words.phrases.items() if KINDS[u] == kind for phrase in (*said, *bare.get(u, ()))}
    if kind in ("temperature", "temperature difference"):
        found |= dict.fromkeys(words.degrees, unit)
    return found

"""English, the language that the program is written in and that every other is held to."""

from __future__ import annotations

from assistant.core.speech.commands import ALL, EVERYDAY
from assistant.core.speech.english_parts import DEVICES
from assistant.core.speech.english_phrases import PHRASES
from assistant.core.speech.language import Language, PlaceWords
from assistant.core.speech.number_words import ENGLISH_NUMBERS
from assistant.core.speech.unit_words import ENGLISH_UNITS
from assistant.core.units import SPOKEN

ONE_OF: dict[str, str] = {
    "metres": "metre", "millimetres": "millimetre", "inches": "inch", "feet": "foot", "litres": "litre",
    "millilitres": "millilitre", "gallons": "gallon", "quarts": "quart", "pints": "pint", "ounces": "ounce",
    "kilopascals": "kilopascal", "megapascals": "megapascal", "joules": "joule", "newtons": "newton", "pounds": "pound",
    "degrees": "degree", "volts": "volt", "millivolts": "millivolt", "amps": "amp", "milliamps": "milliamp", "ohms": "ohm",
    "seconds": "second", "minutes": "minute", "hours": "hour", "kilograms": "kilogram", "grams": "gram",
}  # fmt: skip
"""Words of units of which there is one."""
MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
          "December")  # fmt: skip
ORDINALS = (
    "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth", "eleventh", "twelfth",
    "thirteenth", "fourteenth",
)  # fmt: skip

NAMES = (
    "microphone", "loudspeaker", "camera", "hull number", "vehicle number", "a third", "two thirds", "full", "round",
)  # fmt: skip
"""What the program itself calls things; a language has words for each, and for names of the files as far as it likes."""


def one_of(many: str) -> str:
    """The name of one of a unit.

    >>> one_of("U S fluid ounces"), one_of("P S I")
    ('U S fluid ounce', 'P S I')
    """
    return " ".join(ONE_OF.get(word, word) for word in many.split())


ENGLISH = Language(
    code="en",
    voice="en-us",
    phrases=PHRASES,
    numbers=ENGLISH_NUMBERS,
    units={unit: (one_of(many), many) for unit, many in SPOKEN.items()},
    unit_words=ENGLISH_UNITS,
    commands={command.name: command.said for command in ALL},
    everyday=EVERYDAY,
    sides={"after": "after", "before": "before"},
    all_="all",
    part_number="number",
    months=MONTHS,
    ordinals=ORDINALS,
    sign_words={"-": "dash", ".": "decimal", "/": "slash", "+": "plus", " ": "space"},
    signs={"dash": "-", "slash": "/"},
    names={name: name for name in NAMES},
    places=PlaceWords(on_number=("on",), on_word=("on", "on the"), number="number", is_="is"),
    of="of",
    dates=True,
)
_KEYS = {sentence: key for key, sentence in DEVICES.items()}


def told(text: str, language: Language) -> str:
    """What a device or the disk says in English, in another language; as it stands where the table has no such sentence."""
    return language.phrase(_KEYS[text]) if text in _KEYS else text

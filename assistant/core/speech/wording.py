"""What the assistant says of readings and conditions: read-backs, questions, verdicts; limits in `limit_wording`.

The sentences themselves are the language's (`english_phrases`); here they are put together.
"""

from __future__ import annotations

from decimal import Decimal

from assistant.core.procedure import Position, Reading, ReadingKind, place_of, position_in
from assistant.core.speech.dates import date_aloud
from assistant.core.speech.english import ENGLISH
from assistant.core.speech.language import Language
from assistant.core.speech.letters import spelled_back
from assistant.core.speech.saying import ReadBack, figures, in_full
from assistant.core.speech.step_grammar import Meaning, SpokenReading

VERDICTS = {
    word: ENGLISH.phrase(f"verdict {word}".strip()) for word in ("within", "low", "high", "outside", "unsure", "")
}
"""Each verdict on a number, and what it is called in print."""
BROKEN = ("low", "high", "outside", "unsure")
"""The verdicts with which the limit is said."""


def amount_aloud(value: Decimal, unit: str, regime: ReadBack = "digits", language: Language = ENGLISH) -> str:
    """Figures with their unit: "one niner zero P S I"."""
    return f"{figures(value, regime, language)} {language.unit(unit)}".strip()


def place_aloud(place: str, language: Language = ENGLISH) -> str:
    """ "cylinder 2" as it is said: "cylinder two"; "side port" as it stands."""
    each, at = place.partition(" ")[0], position_in(place)
    if isinstance(at, int):
        return f"{language.named(each)} {' '.join(in_full(at, language))}"
    return " ".join(language.names.get(word, word) for word in place.split(" "))


def value_aloud(r: SpokenReading, regime: ReadBack = "digits", language: Language = ENGLISH) -> str:
    """A reading's value as read back; said in another unit, both are read. Codes are spelled."""
    if not isinstance(r.value, Decimal):
        return text_aloud(r.value, r.kind, language)
    own = amount_aloud(r.value, r.unit, regime, language)
    if r.said_unit and r.said_unit != r.unit and isinstance(r.said_value, Decimal):
        said = amount_aloud(r.said_value, r.said_unit, regime, language)
        own = amount_aloud(rounded(r.value), r.unit, regime, language)
        return language.phrase("converted", said=said, own=own)
    return own


def text_aloud(text: str, kind: ReadingKind, language: Language = ENGLISH) -> str:
    """A value that is no number: a code spelled, a date by its figures, a choice by its name."""
    if kind == "letters":
        return spelled_back(text, language)
    return date_aloud(text, language) if kind == "date" else language.named(text)


def rounded(value: Decimal) -> Decimal:
    """A converted value for the ear: one decimal under a hundred, none above. The record keeps it whole."""
    step = Decimal("0.1") if abs(value) < 100 else Decimal(1)
    return value.quantize(step).normalize() if value != value.to_integral_value() else value


def readings_aloud(meaning: Meaning, regime: ReadBack = "digits", language: Language = ENGLISH) -> str:
    """All readings of a meaning: "cylinder two, one niner zero P S I"."""
    parts = [
        ", ".join(filter(None, (place_aloud(r.place, language), value_aloud(r, regime, language))))
        for r in meaning.readings
    ]
    return "; ".join(parts)


def question_affirm(meaning: Meaning, regime: ReadBack = "digits", language: Language = ENGLISH) -> str:
    """Asks for a yes."""
    return language.phrase("affirm?", readings=readings_aloud(meaning, regime, language))


def question_choose(first: Meaning, second: Meaning, regime: ReadBack = "digits", language: Language = ENGLISH) -> str:
    """Asks which of two."""
    key = "choose?" if len(first.readings) < 2 else "choose one by one?"
    one, other = (readings_aloud(meaning, regime, language) for meaning in (first, second))
    return language.phrase(key, first=one, second=other)


def ask_reading(reading: Reading, at: Position | None, language: Language = ENGLISH) -> str:
    """The prompt for one value: "Compression, cylinder two?"."""
    name = reading.ask.rstrip("?")
    if at is None or not reading.each:
        return language.phrase("ask", name=name)
    return language.phrase("ask at", name=name, place=place_aloud(place_of(reading.each, at), language))


def verdict_aloud(
    verdict: str, limit: str, *, number: bool = True, margin: str = "", language: Language = ENGLISH
) -> str:
    """The verdict, with the limit where it is broken; an answer that is no `number` is or is not as it should be.

    `margin`: how far from the limit ("five P S I"), said where the gauge's uncertainty is known.
    """
    kind = "verdict" if number or verdict in ("unsure", "") else "answer"
    words = language.phrase(f"{kind} {verdict}".strip())
    if margin and verdict == "unsure":
        words = language.phrase("too near", margin=margin)
    elif margin:
        words = language.phrase("verdict by", verdict=words, margin=margin)
    return f"{words}; {limit}" if verdict in BROKEN and limit else words


def condition_aloud(condition: str, value: str, language: Language = ENGLISH) -> str:
    """ "engine: stopped" as it is said."""
    return language.phrase("condition", condition=language.named(condition), value=language.named(value))


def before_step(title: str, condition: str, value: str, language: Language = ENGLISH) -> str:
    """What is asked before a step that needs a condition which does not surely hold."""
    return language.phrase("before", title=title, condition=condition_aloud(condition, value, language))

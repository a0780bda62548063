"""What the assistant says, in one place: read-backs, questions, verdicts, what is missing; limits in `limit_wording`."""

from __future__ import annotations

from decimal import Decimal

from assistant.core.procedure import Position, Reading, ReadingKind, place_of, position_in
from assistant.core.speech.dates import date_aloud
from assistant.core.speech.letters import spelled_back
from assistant.core.speech.saying import ReadBack, figures, in_full
from assistant.core.speech.step_grammar import Meaning, SpokenReading
from assistant.core.units import SPOKEN

ANSWERS = {"within": "as it should be", "outside": "not as it should be", "low": "too early", "high": "too late"}
"""Verdicts on answers that are no numbers."""
VERDICTS = {
    "within": "within limits",
    "low": "low",
    "high": "high",
    "outside": "not as it should be",
    "unsure": "not sure",
    "": "kept",
}

TOO_NEAR = "too near the limit to tell"
"""What is said instead where only the gauge's uncertainty stands against a verdict."""


def amount_aloud(value: Decimal, unit: str, regime: ReadBack = "digits") -> str:
    """Figures with their unit: "one niner zero P S I"."""
    return f"{figures(value, regime)} {SPOKEN.get(unit, unit)}".strip()


def place_aloud(place: str) -> str:
    """ "cylinder 2" as it is said: "cylinder two"; "side port" as it stands."""
    each, at = place.partition(" ")[0], position_in(place)
    return f"{each} {' '.join(in_full(at))}" if isinstance(at, int) else place


def value_aloud(r: SpokenReading, regime: ReadBack = "digits") -> str:
    """A reading's value as read back; said in another unit, both are read. Codes are spelled."""
    if not isinstance(r.value, Decimal):
        return text_aloud(r.value, r.kind)
    if r.said_unit and r.said_unit != r.unit and isinstance(r.said_value, Decimal):
        own = rounded(r.value)
        return f"{amount_aloud(r.said_value, r.said_unit, regime)}, that is {amount_aloud(own, r.unit, regime)}"
    return amount_aloud(r.value, r.unit, regime)


def text_aloud(text: str, kind: ReadingKind) -> str:
    """A value that is no number: a code spelled, a date by its figures, a choice by its name."""
    if kind == "letters":
        return spelled_back(text)
    return date_aloud(text) if kind == "date" else text.replace("_", " ")


def rounded(value: Decimal) -> Decimal:
    """A converted value for the ear: one decimal under a hundred, none above. The record keeps it whole."""
    step = Decimal("0.1") if abs(value) < 100 else Decimal(1)
    return value.quantize(step).normalize() if value != value.to_integral_value() else value


def readings_aloud(meaning: Meaning, regime: ReadBack = "digits") -> str:
    """All readings of a meaning: "cylinder two, one niner zero P S I"."""
    parts = [", ".join(filter(None, (place_aloud(r.place), value_aloud(r, regime)))) for r in meaning.readings]
    return "; ".join(parts)


def question_affirm(meaning: Meaning, regime: ReadBack = "digits") -> str:
    """Asks for a yes."""
    return f"{readings_aloud(meaning, regime)}. Affirm?"


def question_choose(first: Meaning, second: Meaning, regime: ReadBack = "digits") -> str:
    """Asks which of two."""
    again = "Say it again" if len(first.readings) < 2 else "Say them one at a time"
    return f"{readings_aloud(first, regime)}; or, {readings_aloud(second, regime)}? {again}."


def ask_reading(reading: Reading, at: Position | None) -> str:
    """The prompt for one value: "Compression, cylinder two?"."""
    place = f", {place_aloud(place_of(reading.each, at))}" if at is not None and reading.each else ""
    return f"{reading.ask.rstrip('?')}{place}?"


def verdict_aloud(verdict: str, limit: str, *, number: bool = True, margin: str = "") -> str:
    """The verdict, with the limit where it is broken; an answer that is no `number` is or is not as it should be.

    `margin`: how far from the limit ("five P S I"), said where the gauge's uncertainty is known.
    """
    words = VERDICTS[verdict] if number else ANSWERS.get(verdict, VERDICTS[verdict])
    if margin:
        words = f"{TOO_NEAR}, {margin} from it" if verdict == "unsure" else f"{words} by {margin}"
    return f"{words}; {limit}" if verdict in ("low", "high", "outside", "unsure") and limit else words


def listed(things: list[str]) -> str:
    """ "a, b and c"."""
    return things[0] if len(things) == 1 else f"{', '.join(things[:-1])} and {things[-1]}"


def condition_aloud(condition: str, value: str) -> str:
    """ "engine: stopped" as it is said."""
    return f"{condition.replace('_', ' ')} must be {value.replace('_', ' ')}"


def before_step(title: str, condition: str, value: str) -> str:
    """What is asked before a step that needs a condition which does not surely hold."""
    return f"Before {title}: {condition_aloud(condition, value)}. Affirm when it is so."

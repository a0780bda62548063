"""How long a job may take: speech by its words, counts by their seconds, work by what the writer gave or what is assumed.

What is assumed is nobody's measurement and says so; a shop that wants better writes `minutes` at its steps.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

Answered = Literal["caution", "condition", "reading", "choice", "part", "turn", "done", "word"]
ASSUMED_S: Mapping[Answered, int] = {
    "caution": 2,
    "condition": 10,
    "reading": 20,
    "choice": 15,
    "part": 20,
    "turn": 10,
    "done": 60,
    "word": 2,
}
"""Seconds of work before an answer: hearing a caution out, looking after a condition, taking a reading, looking something over,
unpacking a part, one turn of the wrench in an order, doing what a step says, any other word. Assumed, no source."""
ASSUMED = "assumed, no source"
FIGURE = re.compile(r"[0-9]")


@dataclass(frozen=True)
class Pace:
    """How fast both speak, in words a minute, and the seconds of quiet that end an utterance."""

    words_per_minute: int
    end_of_speech_s: float


@dataclass(frozen=True)
class Answer:
    """One thing that the technician said: at which step, in answer to what, in how many words."""

    step: str
    to: Answered
    words: int


@dataclass(frozen=True)
class TimePart:
    """A part of the whole: what it is, how often, how many seconds in all, and by what that was reckoned."""

    what: str
    times: int
    seconds: float
    source: str


def words_aloud(text: str) -> int:
    """How many words a text is when it is read out; each figure of a number counts as one.

    >>> words_aloud("Measure 7.5 fluid ounces."), words_aloud("one niner zero P S I")
    (5, 6)
    """
    return sum(max(1, len(FIGURE.findall(word))) for word in text.split())


def expected_time(
    said: Sequence[str], answers: Sequence[Answer], counted_s: int, minutes: Mapping[str, Decimal], pace: Pace
) -> tuple[TimePart, ...]:
    """The parts of the expected time. `said`: what the assistant says; `minutes`: of the steps whose writer gave them: these
    stand in the place of what would be assumed for their answers."""
    spoken = sum(words_aloud(text) for text in said)
    answered = sum(answer.words for answer in answers)
    rate = f"{pace.words_per_minute} words a minute"
    quiet_s = pace.end_of_speech_s * len(answers)
    parts = [
        TimePart("words of the assistant", spoken, _speaking_s(spoken, pace), f"at {rate}, as the voice is set"),
        TimePart(
            "words of the technician",
            answered,
            _speaking_s(answered, pace) + quiet_s,
            f"at {rate}, {ASSUMED}; and {pace.end_of_speech_s:g} s of quiet after each utterance, as set",
        ),
        TimePart("seconds counted aloud", counted_s, float(counted_s), "as the steps say"),
        TimePart(
            "steps whose minutes are given",
            len(minutes),
            float(sum(minutes.values()) * 60),
            "by the writer of the procedure",
        ),
        *_assumed(answers, minutes),
    ]
    return tuple(part for part in parts if part.times)


def _speaking_s(words: int, pace: Pace) -> float:
    return words * 60 / pace.words_per_minute


def _assumed(answers: Sequence[Answer], minutes: Mapping[str, Decimal]) -> list[TimePart]:
    called: Mapping[Answered, str] = {
        "caution": "cautions heard out",
        "condition": "conditions looked after",
        "reading": "readings taken",
        "choice": "things looked over",
        "part": "parts shown, or photographed",
        "turn": "turns of the wrench",
        "done": "pieces of work ended with done",
        "word": "other words",
    }
    found = []
    for to, what in called.items():
        times = sum(answer.to == to and answer.step not in minutes for answer in answers)
        found.append(TimePart(what, times, float(times * ASSUMED_S[to]), f"{ASSUMED_S[to]} s each, {ASSUMED}"))
    return found


def total_s(parts: Sequence[TimePart]) -> float:
    """Seconds in all."""
    return sum(part.seconds for part in parts)

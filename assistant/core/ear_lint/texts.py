"""What a procedure has the assistant say, text by text, and how a text falls into sentences and words.

A text is looked at as it is spoken: bound to a machine sheet its placeholders are amounts, each with its unit. Without a
sheet a placeholder still stands there as `{name}`; it is one word, and never found fault with.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from assistant.core.ear_lint.findings import Finding, Grade, Path
from assistant.core.procedure import Procedure, Step
from assistant.core.speech.saying import ORDINARY, in_full

SENTENCE_END = re.compile(r"(?<=[.!?;:])\s+")
"""Where the voice ends a sentence, or stops as if it did: behind the sign, before a space ("4.5" is no end)."""
TOKEN = re.compile(r"\{[^{}]*\}|[0-9]+(?:[.,][0-9]+)*|[^\W\d_]+(?:['\u2019-][^\W\d_]+)*|\S")
"""A placeholder, a number, a word with its apostrophes and hyphens, or one sign."""
LARGEST_IN_WORDS = 999_999


@dataclass(frozen=True)
class Text:
    """One text that is said, and where it stands: see `Finding`. `kind`: say, caution, title, ask, countdown, because."""

    text: str
    kind: str
    step: str
    line: int
    path: Path

    def found(self, grade: Grade, rule: str, what: str, do: str, weight: float = 0.0) -> Finding:
        """A finding about this text."""
        return Finding(grade, rule, what, do, self.step, self.line, self.path, weight)


def texts_of(procedure: Procedure) -> Iterator[Text]:
    """Everything said straight from the procedure, in its order: of each rule why it is there, of each step all its texts."""
    for n, never in enumerate(procedure.never):
        yield Text(never.because, "because", "", 0, ("never", n, "because"))
    for step in procedure.steps:
        yield from texts_of_step(step)


def texts_of_step(step: Step) -> Iterator[Text]:
    """Title, cautions, what is said, what is asked for, and around a count."""

    def text(said: str, kind: str, *path: str | int) -> Text:
        return Text(said, kind, step.id, step.line, path)

    yield text(step.title, "title", "title")
    for n, caution in enumerate(step.cautions):
        yield text(caution, "caution", "cautions", n)
    yield text(step.say, "say", "say")
    for n, reading in enumerate(step.readings):
        yield text(reading.ask, "ask", "readings", n, "ask")
    if step.countdown is not None:
        yield text(step.countdown.start, "countdown", "countdown", "start")
        yield text(step.countdown.end, "countdown", "countdown", "end")


def sentences(text: str) -> list[str]:
    """The sentences of a text.

    >>> sentences("Set 4.5 volts. Wait; then look.")
    ['Set 4.5 volts.', 'Wait;', 'then look.']
    """
    return [part for part in SENTENCE_END.split(text.strip()) if part]


def tokens(text: str) -> list[str]:
    """Words, numbers, placeholders and signs, in order.

    >>> tokens("The hoist's 4.5 V, {dose}.")
    ['The', "hoist's", '4.5', 'V', ',', '{dose}', '.']
    """
    return TOKEN.findall(text)


def is_number(token: str) -> bool:
    """Does the token begin with a figure."""
    return token[0] in "0123456789"


def spoken_words(text: str) -> list[str]:
    """The words as they are heard: numbers in full, hyphens opened, without placeholders and signs.

    >>> spoken_words("Set the O-ring 21.5 mm, {dose}.")
    ['Set', 'the', 'O', 'ring', 'twenty', 'one', 'point', 'five', 'mm']
    """
    heard: list[str] = []
    for token in tokens(text):
        if is_number(token):
            heard += _number_in_words(token)
        elif token[0].isalpha():
            heard += token.split("-")
    return heard


def _number_in_words(number: str) -> list[str]:
    whole, _, decimals = number.replace(",", "").partition(".")
    if int(whole) > LARGEST_IN_WORDS or (decimals and not decimals.isdigit()):
        return [ORDINARY[int(figure)] for figure in number if figure.isdigit()]
    return in_full(int(whole)) + (["point", *(ORDINARY[int(f)] for f in decimals)] if decimals else [])

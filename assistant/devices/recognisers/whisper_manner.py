"""How Whisper is asked: the length of its window, and what it is shown before it hears.

As it came it needs silence after the speech (10 s are enough; in shorter windows it repeats itself), and without examples in
the wished style it writes figures instead of words: both were found by measuring. Taught for the bench it needs neither.
"""

from __future__ import annotations

from dataclasses import dataclass

from assistant.core.speech.automaton import Automaton

Words = tuple[str, ...]

STYLE = (
    " cylinder two one ninety. cylinder one two niner zero. cylinder three one hundred and forty five."
    " cylinder four two oh five. ninety two. one eight niner."
)
MOST_EXAMPLES = 40
_NUMBER_WORDS = """zero one two three four five six seven eight nine oh niner ten eleven twelve thirteen fourteen
fifteen sixteen seventeen eighteen nineteen twenty thirty forty fifty sixty seventy eighty ninety hundred thousand
point decimal"""
NUMBER_WORDS = frozenset(_NUMBER_WORDS.split())
_NAMES = """roger charlie juliett juliet mike oscar romeo victor quebec lima india november sierra
    celsius fahrenheit"""
NAMES = frozenset(_NAMES.split())
"""Words that Whisper writes with a capital: a small "roger" is a thousand times less likely to it. It was taught so: another
spelling here needs another lesson."""
_OTHER_FIGURES = "tree fower fife half quarter quarters double triple minus below a"
FIGURES = NUMBER_WORDS | frozenset(_OTHER_FIGURES.split())


@dataclass(frozen=True)
class Manner:
    """One way to ask: the windows there are, shortest first, and whether examples are shown."""

    windows_s: tuple[int, ...]
    shows_examples: bool

    def window_s(self, sound_s: float) -> int | None:
        """The shortest window that the sound fits; None where it fits none."""
        return next((window_s for window_s in self.windows_s if sound_s <= window_s), None)

    def prompt(self, grammar: Automaton) -> str:
        """What Whisper is told was said before; "" for nothing."""
        if not self.shows_examples:
            return ""
        return STYLE + "".join(f" {' '.join(map(as_written, phrase))}." for phrase in examples_of(grammar))


UNTAUGHT = Manner((10, 30), shows_examples=True)
"""30 s is what Whisper was trained on."""
TAUGHT = Manner(tuple(range(2, 31, 2)), shows_examples=False)
"""The lesson's windows: `models/bench-en/recipe/whisper_net.py`."""


def as_written(text: str) -> str:
    """A word as Whisper would write it: names with a capital."""
    return text.capitalize() if text in NAMES else text


def examples_of(grammar: Automaton) -> tuple[Words, ...]:
    """Phrases of the grammar without figures, the shortest first, that show its other words: commands and answers.

    Whisper takes a lone "roger" or "affirm" for unlikely unless its prompt has shown that such things are said.
    """
    shown: set[str] = set()
    found: list[Words] = []
    for phrase in sorted(grammar.phrases, key=len):
        if FIGURES.isdisjoint(phrase) and not shown.issuperset(phrase) and len(found) < MOST_EXAMPLES:
            shown.update(phrase)
            found.append(phrase)
    return tuple(found)

"""The risk of a step's vocabulary, known before anyone speaks: what may be said there, sounds alike and leads elsewhere.

Words of one meaning ("oh" and "zero", *affirm* and *affirmative*) are no risk, nor is a number that an everyday word is taken
for: these are listened for so that they are known. Of number words only those are named that can
really stand for each other at that reading, each with two values that differ by them; where the reading has limits the two are,
if it can be, one within and one out of them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from itertools import combinations

from assistant.core.procedure import Reading
from assistant.core.speech.commands import spoken_forms
from assistant.core.speech.dates import MONTHS, ORDINALS
from assistant.core.speech.expectation import Asked, Expectation
from assistant.core.speech.letters import SIGNS
from assistant.core.speech.numbers import DIGITS, TEENS, TENS
from assistant.core.speech.saying import ORDINARY, in_full
from assistant.core.speech.sound_alikes import Words, distance
from assistant.core.speech.step_grammar import grammar_of, meanings_of
from assistant.core.trade.limits import judge
from assistant.core.units import Amount

WORTH_TELLING = 5.0
"""Distance in nats up to which a pair is told: below one in 150."""
PAIRS_A_READING = 24
"""Number words, signs or parts of a date told of one reading: the nearest."""
NUMBER_WORDS = {**DIGITS, **TEENS, **TENS}
_FIGURES = ORDINARY[1:]
FRAMES: tuple[tuple[Words, Words], ...] = (
    ((), ()),
    *(((w,), ()) for w in (*_FIGURES, *TENS, *TEENS)),
    *(((w, "point"), ()) for w in (*_FIGURES, *TEENS)),
    *(((), (w,)) for w in _FIGURES),
)
"""What may stand before and behind a number word: "one ...", "twelve point ...", "... five"."""
FIGURE_FRAMES: tuple[tuple[Words, Words], ...] = tuple(((a, b), ()) for a in _FIGURES for b in TENS)
"""The same of a single figure: "one forty ..."."""
ValueOf = Callable[[Words], Decimal | None]
PRONUNCIATIONS = ("tree", "fower", "fife", "niner")
"""Words said so that they are not misheard; the risk is that of the everyday word."""


@dataclass(frozen=True)
class Risk:
    """Two things that may be said at one moment, sound alike and lead elsewhere.

    `distance` in nats (`sound_alikes`). `leads`: where each leads: "command stop", "plug black", "means nothing", "number 1".
    `examples`: of number words two values that differ by them; else empty. `turns`: one is as it should be, the other not.
    """

    said: str
    other: str
    distance: float
    leads: tuple[str, str]
    examples: tuple[str, ...] = ()
    turns: bool = False

    def __str__(self) -> str:
        shown = f" ({', '.join(self.examples)})" if self.examples else ""
        return f"{self.said} / {self.other} {self.distance:.1f}{shown}"


def _near(words: Iterable[str]) -> Iterator[tuple[float, str, str]]:
    """Pairs of phrases within `WORTH_TELLING`."""
    for a, b in combinations(words, 2):
        away = distance(tuple(a.split()), tuple(b.split()))
        if away <= WORTH_TELLING:
            yield away, a, b


@cache
def _near_numbers() -> list[tuple[float, str, str]]:
    return sorted(_near(w for w in NUMBER_WORDS if w not in PRONUNCIATIONS))


def risks(expectation: Expectation) -> tuple[Risk, ...]:
    """What may be taken for something else at this moment, nearest first; none farther apart than `WORTH_TELLING`."""
    found = [*_whole_utterances(expectation)]
    for asked in expectation.asked:
        if asked.reading.kind in ("measured", "count"):
            found += _numbers(expectation, asked)
        elif asked.reading.kind == "letters":
            found += _parts(asked.reading, SIGNS)
        elif asked.reading.kind == "date":
            found += _parts(asked.reading, {w: w for w in (*MONTHS, *ORDINALS)})
    return tuple(sorted(found, key=lambda risk: (risk.distance, risk.said)))


def _whole_utterances(expectation: Expectation) -> Iterator[Risk]:
    """Commands, choices, everyday words, and numbers of one word."""
    leads = dict.fromkeys(expectation.language.everyday, "means nothing")
    accepts = grammar_of(expectation).accepts
    leads |= {w: f"number {number}" for w, number in NUMBER_WORDS.items() if accepts((w,)) and w not in PRONUNCIATIONS}
    for asked in expectation.asked:
        reading = asked.reading
        leads |= {phrase: f"{reading.name} {c.name}" for c in reading.choices for phrase in c.words}
    commands = spoken_forms(expectation.commands, expectation.command_words)
    leads |= {phrase: f"command {name}" for phrase, name in commands.items()}
    good = {f"{a.reading.name} {c.name}": c.good for a in expectation.asked for c in a.reading.choices}
    for away, a, b in _near(leads):
        ours, theirs = leads[a], leads[b]
        if ours != theirs and not {ours.split()[0], theirs.split()[0]} <= {"number", "means"}:
            yield Risk(a, b, away, (ours, theirs), turns={good.get(ours), good.get(theirs)} == {True, False})


def _parts(reading: Reading, means: Mapping[str, str]) -> list[Risk]:
    """Signs of a code, or words of a date, that mean different ones."""
    near = sorted(pair for pair in _near(means) if means[pair[1]] != means[pair[2]])
    return [Risk(a, b, away, (f"{reading.name} {a}", f"{reading.name} {b}")) for away, a, b in near[:PAIRS_A_READING]]


def _numbers(expectation: Expectation, asked: Asked) -> Iterator[Risk]:
    """Number words that can stand for each other in a value of the reading."""
    lead_in = (*(() if asked.unnamed else asked.reading.spoken_name.split()), *_place(asked))
    value_of = cache(lambda number: _value(expectation, (*lead_in, *number)))
    told = 0
    for away, a, b in _near_numbers():
        example = _example(asked.reading, value_of, a, b)
        if example is not None:
            told += 1
            one, other, turns = example
            yield Risk(
                a, b, away, (f"{asked.reading.name} {one}", f"{asked.reading.name} {other}"), (one, other), turns
            )
        if told == PAIRS_A_READING:
            return


def _example(reading: Reading, value_of: ValueOf, a: str, b: str) -> tuple[str, str, bool] | None:
    """Two values that differ by these words, and whether that turns the verdict; such a pair if there is one."""
    limited = any(limit.alone for limit in reading.limits)
    found = None
    for before, after in FRAMES + (FIGURE_FRAMES if a in DIGITS and b in DIGITS else ()):
        one = value_of((*before, a, *after))
        other = value_of((*before, b, *after)) if one is not None else None
        if one is None or other is None or one == other:
            continue
        turns = limited and _within(reading, one) != _within(reading, other)
        if turns or found is None:
            found = str(Amount(one, reading.unit)), str(Amount(other, reading.unit)), turns
        if turns or not limited:
            break
    return found


def _value(expectation: Expectation, said: Words) -> Decimal | None:
    """The one value that these words mean; None where they mean several, or one outside of what the reading can be."""
    if not grammar_of(expectation).accepts(said):
        return None
    values = [r for meaning in meanings_of(expectation, said) for r in meaning.readings]
    if len(values) != 1 or values[0].implausible:
        return None
    value = values[0].value
    return value if isinstance(value, Decimal) else None


def _place(asked: Asked) -> Words:
    """The words for a place, where one must be said."""
    if asked.next_at is not None or not asked.reading.positions:
        return ()
    at = asked.reading.positions[0]
    return (asked.reading.each, *(in_full(at) if isinstance(at, int) else at.split()))


def _within(reading: Reading, value: Decimal) -> bool:
    """Does the value keep to the limits that need no other value."""
    amount = Amount(value, reading.unit)
    return all(judge(amount, limit).verdict == "within" for limit in reading.limits if limit.alone)

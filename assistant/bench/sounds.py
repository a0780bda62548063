"""What sounds alike at each step of a procedure, for those who write one: `layup prove --sounds`."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from datetime import date
from itertools import groupby

from assistant.bench.listening import state_at
from assistant.core.expected import expectation_of
from assistant.core.speech.risks import Risk, risks
from assistant.core.speech.sound_alikes import unknown_words
from assistant.core.speech.step_grammar import grammar_of
from assistant.files.work import Work

TURNING_SHOWN, OTHERS_SHOWN = 3, 6
"""Pairs told of a step, in print; the JSON has all of them."""


@dataclass(frozen=True)
class StepSounds:
    """What sounds alike at one step, nearest first, and the words of its grammar that have no pronunciation."""

    step: str
    risks: tuple[Risk, ...]
    unknown: tuple[str, ...] = ()

    def as_json(self) -> dict[str, object]:
        """One object."""
        return asdict(self)


def sounds_of(work: Work, today: date) -> tuple[StepSounds, ...]:
    """Every step of a bound procedure, opened with nothing kept."""
    found = []
    for step in work.procedure.steps:
        expectation = expectation_of(state_at(work, step.id, today))
        said = grammar_of(expectation).vocabulary - set(expectation.repeatable)
        found.append(StepSounds(step.id, risks(expectation), unknown_words(said)))
    return tuple(found)


def sounds_text(sounds: tuple[StepSounds, ...]) -> Iterator[str]:
    """Lines for a person: what holds at every step once, then of each step what is its own; steps that are alike together."""
    if not sounds:
        return
    yield "sound alike, nearest first; 3 is heard for the other about once in 20, 4 in 55, 5 in 150:"
    everywhere = set.intersection(*({_pair(r) for r in step.risks} for step in sounds))
    shared = [r for r in sounds[0].risks if _pair(r) in everywhere]
    if shared:
        yield f"  at every step: {_listed(shared, len(shared))}"
    own = [(step.step, tuple(r for r in step.risks if _pair(r) not in everywhere)) for step in sounds]
    for found, same in groupby(own, key=lambda one: one[1]):
        yield from _step_lines(", ".join(name for name, _ in same), found)
    unknown = sorted({w for step in sounds for w in step.unknown})
    if unknown:
        yield f"  not looked at, for their pronunciation is not known: {', '.join(unknown)}"


def _pair(risk: Risk) -> tuple[str, str, tuple[str, str]]:
    return risk.said, risk.other, risk.leads


def _step_lines(name: str, found: tuple[Risk, ...]) -> Iterator[str]:
    turning = [r for r in found if r.turns]
    others = [r for r in found if not r.turns]
    if turning:
        yield f"  {name}, and turn the verdict: {_listed(turning, TURNING_SHOWN)}"
    if others:
        yield f"  {name}: {_listed(others, OTHERS_SHOWN)}"


def _listed(found: list[Risk], most: int) -> str:
    texts = list(dict.fromkeys(map(str, found)))
    more = f"; {len(texts) - most} more" if len(texts) > most else ""
    return "; ".join(texts[:most]) + more

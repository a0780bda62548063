"""Which words of a job the streaming ear's model cannot hear: told at the start, and by `layup models` of another model.

A word that is not in a Vosk model is not heard wrong but not at all: a reading that needs it falls to the weighing ear alone.
The model itself is asked, since not every model folder lists its words. Words that only *say again all after* may name are left
out: they are those of the step's whole text, and nothing is lost with them but a part of a repetition.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date
from pathlib import Path
from typing import Protocol, runtime_checkable

from assistant.bench.hearing import Ears
from assistant.bench.listening import state_at
from assistant.core.expected import expectation_of
from assistant.core.speech.automaton import either, word
from assistant.core.speech.commands import ALL, spoken_forms
from assistant.core.speech.compiling import compile_grammar
from assistant.core.speech.step_grammar import grammar_of
from assistant.devices.protocols import StreamingRecogniser
from assistant.files.work import Work, read_work

SAMPLE = (Path("pwc-off-season"), Path("tern-3"), Path("our-shop"))
"""The job whose words a model is asked for where there is none yet: procedure, machine and site sheet of the program."""


@runtime_checkable
class KnowsItsWords(Protocol):
    """An ear of a fixed set of words; `unknown_words` are those of its grammar that are not among them."""

    unknown_words: tuple[str, ...]


def words_of(work: Work, today: date) -> frozenset[str]:
    """Every word that may have to be said in this job: all commands, and what each step's readings want."""
    found = {
        w for said in spoken_forms((c.name for c in ALL), work.site.words_for_commands) for w in said.split()
    } | set(work.site.language.everyday)
    for step in work.procedure.steps:
        expectation = expectation_of(state_at(work, step.id, today))
        found |= grammar_of(expectation).vocabulary - set(expectation.repeatable)
    return frozenset(found)


def sample_work() -> Work:
    """The job that travels with the program."""
    return read_work(*SAMPLE)


def lacking(ear: StreamingRecogniser, words: Iterable[str]) -> tuple[str, ...]:
    """Which of them the ear cannot hear, in order; none for an ear that can hear any."""
    ear.listen_for(compile_grammar(either(*(word(w) for w in sorted(words)))))
    return ear.unknown_words if isinstance(ear, KnowsItsWords) else ()


def tell_lacking(ears: Ears, words: Iterable[str]) -> Iterator[str]:
    """A line for a person where words are lacking, with what follows from that."""
    found = lacking(ears.streaming, words)
    if found:
        alone = (
            f"{ears.weighing.name} alone hears them, and you are asked"
            if ears.weighing
            else "they are not heard at all"
        )
        yield f"{ears.streaming.name}: its model does not know {', '.join(found)}; {alone}."

"""An ear that hears what it was told to hear: the double for tests and rehearsals."""

from __future__ import annotations

from collections import deque
from collections.abc import Collection, Iterable
from dataclasses import replace

from assistant.core.events import Take
from assistant.core.speech.automaton import Automaton
from assistant.devices.protocols import Samples, Utterance

NOTHING = Take("scripted", ())


class ScriptedEar:
    """A `StreamingRecogniser` and `Dictation` that gives its takes in order, and empty ones after the last.

    It holds to the grammar as every ear does: candidates that it does not allow are left out.
    """

    name = "scripted"

    def __init__(self, takes: Iterable[Take], dictated: Iterable[str] = ()) -> None:
        self._takes = deque(takes)
        self._dictated = deque(dictated)
        self._grammar = Automaton({0: {}}, {})
        self._last = NOTHING

    def listen_for(self, grammar: Automaton) -> None:
        """From now on only what the grammar allows is heard."""
        self._grammar = grammar

    def hear(self, utterance: Utterance) -> Take:
        """The next take, whatever the sound; an utterance without samples has nothing in it and takes none."""
        return self.finish() if len(utterance.samples) else NOTHING

    def begin(self) -> None:
        """A new utterance starts."""

    def feed(self, samples: Samples) -> tuple[str, ...]:
        """The best words of the take to come."""
        best = self._takes[0].candidates[:1] if self._takes and len(samples) else ()
        return best[0].words if best else ()

    def finish(self) -> Take:
        """The next take."""
        if not self._takes:
            return NOTHING
        take = self._takes.popleft()
        self._last = self._held(take)
        return self._last

    def compare(self, _strings: Collection[tuple[str, ...]], /) -> Take:
        """The last take: what it was told to hear is all that it knows of any string."""
        return self._last

    def _held(self, take: Take) -> Take:
        legal = tuple(c for c in take.candidates if self._grammar.accepts(c.words))
        return replace(take, candidates=legal, unknown=take.unknown or legal != take.candidates)

    def dictate(self, utterance: Utterance) -> str:
        """The next dictated text."""
        return self._dictated.popleft() if self._dictated and len(utterance.samples) else ""

"""From blocks of sound to `Heard`: endpointing, the streaming ear while speech lasts, the weighing ear when it ends.

Both ears hear exactly the same samples, and exactly those are kept as the entry's clip. The weighing ear sets to work while
the endpointer still waits whether speech goes on: it mostly does not, and then its answer is there when the end is known.
Where both have already heard all of a command that nothing may follow (`is_whole`), the utterance ends there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from assistant.bench.shelf import Shelf
from assistant.core.events import Event, Heard, HeardEarly, Take
from assistant.core.speech.commands import spoken_forms
from assistant.core.speech.expectation import Expectation
from assistant.core.speech.step_grammar import grammar_of, meanings_of
from assistant.devices.endpointing import Endpointer, SpeechEnded, SpeechEvent, SpeechPaused, SpeechPiece, SpeechStarted
from assistant.devices.protocols import AudioBlock, Dictation, Recogniser, StreamingRecogniser, Utterance

GUESSES_AT_MOST = 2
"""Pauses of one utterance at which the weighing ear starts early; one who stops at every word is heard once at the end."""
COMPARED = 8
"""Strings of one ear that the other is asked about."""
EARLY = "stop"
"""The command that acts before the utterance has ended. *Say again* does not: *all after* may follow it in one breath."""


@dataclass(frozen=True)
class Ears:
    """The streaming ear, and the weighing ear where its model is there."""

    streaming: StreamingRecogniser
    weighing: Recogniser | None = None

    @property
    def names(self) -> str:
        """Which ears these are, for the record."""
        return self.streaming.name if self.weighing is None else f"{self.streaming.name}, {self.weighing.name}"

    def compared(self, takes: tuple[Take, ...]) -> tuple[Take, ...]:
        """Of what both heard last: where their best strings differ, what each makes of the other's strings as well.

        An ear that did not list a string has not refused it: its own search was narrow, or took words for others that fit it
        as well. On the tuning speakers this took the loss of the fit (nats an utterance) from 0.171 to 0.105, always asking to
        0.103; that was before Whisper was taught.
        """
        if self.weighing is None or len({_best(take) for take in takes}) == 1:
            return takes
        streamed, weighed = takes
        return (
            self.streaming.compare([c.words for c in weighed.candidates[:COMPARED]]),
            self.weighing.compare([c.words for c in streamed.candidates[:COMPARED]]),
        )


def _best(take: Take) -> tuple[str, ...]:
    return take.candidates[0].words if take.candidates else ()


def is_whole(expectation: Expectation, said: tuple[str, ...]) -> bool:
    """Is this a command, and all that an utterance can be: it may end here, and nothing longer begins so.

    A value never is: it may be taken back in the same breath. Nor is anything where free words are taken.

    Measured on the tuning speakers with both ears (2026-11-25, an earlier bench model; clean, and impacts at 10 dB):
    of 66 commands at a step 35 ended early, without a cut or another decision; from the end of speech to what was heard
    560 ms instead of 670, on a busy machine; Whisper takes the rest.

    Left out: Vosk alone (3 of 105 hearings with a pause of 0.4 s ended on a partial *note* that became *no*); *say again* (cuts
    "say again | all after"); to end sooner what may go on (one of 30 phrases of AN4 has a pause of 0.58 s in it).

    >>> [is_whole(Expectation(("affirm", "correction", "note")), (w,)) for w in ("affirm", "note", "seven", "[unk]")]
    [True, True, False, False]
    """
    grammar = grammar_of(expectation)
    states = grammar.start
    for text in said:
        states = grammar.follow(states, text)
    if expectation.free or not grammar.may_end(states) or grammar.words(states):
        return False
    return not any(meaning.readings for meaning in meanings_of(expectation, said))


def _ways_to_say(expectation: Expectation, command: str) -> frozenset[tuple[str, ...]]:
    """Of a command that may be given now; the shop may have its own words."""
    names = [command] if command in expectation.commands else []
    return frozenset(tuple(said.split()) for said in spoken_forms(names, expectation.command_words))


@dataclass(frozen=True)
class Timing:
    """When an utterance was known to have ended and when the ears had answered (loop clock), for `measure loop`."""

    ended_s: float
    known_s: float
    streamed_s: float
    weighed_s: float


class Hearing:
    """Endpointing and ears together. `feed` is called from one thread; `expect` from any."""

    def __init__(
        self,
        ears: Ears,
        endpointer: Endpointer,
        shelf: Shelf,
        now_s: Callable[[], float],
        timed: Callable[[Timing], None] | None = None,
    ) -> None:
        self._ears = ears
        self._endpointer = endpointer
        self._shelf = shelf
        self._now_s = now_s
        self._timed = timed
        self._expected = Expectation(commands=())
        self._during = self._expected
        self._told_early = False
        self._partial: tuple[str, ...] = ()
        self._guessed: Take | None = None
        self._guesses = 0

    def expect(self, expectation: Expectation) -> None:
        """From the next utterance on, this may be said. Compiles the grammar now, while nobody waits for it."""
        grammar_of(expectation)
        self._expected = expectation

    @property
    def speaking(self) -> bool:
        """Is the technician speaking now."""
        return self._endpointer.speaking

    def feed(self, block: AudioBlock) -> tuple[Event, ...]:
        """One more block; what was heard, if an utterance ended in it."""
        return self._events(self._endpointer.feed(block))

    def finish(self) -> tuple[Event, ...]:
        """No more sound: end an open utterance."""
        return self._events(self._endpointer.finish())

    def _events(self, pieces: Iterable[SpeechEvent]) -> tuple[Event, ...]:
        found: list[Event] = []
        for piece in pieces:
            match piece:
                case SpeechStarted():
                    self._begin()
                    found += self._stream(piece)
                case SpeechPiece():
                    found += self._stream(piece)
                case SpeechPaused(early=True):
                    if self._is_all(piece.utterance):
                        found.append(self._ended(self._endpointer.end_here()))
                case SpeechPaused():
                    self._guess(piece.utterance)
                case SpeechEnded():
                    found.append(self._ended(piece))
        return tuple(found)

    def _begin(self) -> None:
        self._during = self._expected
        self._told_early = False
        self._guessed, self._guesses = None, 0
        self._ears.streaming.listen_for(grammar_of(self._during))
        self._ears.streaming.begin()

    def _is_all(self, utterance: Utterance) -> bool:
        """Can nothing follow what was said so far, as both ears have it. The weighing ear's answer is then there already."""
        if self._ears.weighing is None or not is_whole(self._during, self._partial):
            return False
        self._guess(utterance)
        return self._guessed is not None and _best(self._guessed) == self._partial

    def _guess(self, utterance: Utterance) -> None:
        """Weigh what was said so far; it holds if nothing follows."""
        if self._ears.weighing is not None and self._guesses < GUESSES_AT_MOST:
            self._guesses += 1
            self._guessed = self._weigh(self._ears.weighing, utterance)

    def _weigh(self, ear: Recogniser, utterance: Utterance) -> Take:
        ear.listen_for(grammar_of(self._during))
        return ear.hear(utterance)

    def _stream(self, piece: SpeechStarted | SpeechPiece) -> list[Event]:
        self._partial = self._ears.streaming.feed(piece.samples)
        self._guessed = None  # what was weighed in a pause was not all
        if not self._told_early and self._partial in _ways_to_say(self._during, EARLY):
            self._told_early = True
            return [HeardEarly(self._now_s(), (EARLY,))]
        return []

    def _ended(self, ended: SpeechEnded) -> Heard:
        known_s = self._now_s()
        takes: tuple[Take, ...] = (self._ears.streaming.finish(),)
        streamed_s = self._now_s()
        weighing = self._ears.weighing
        if weighing is not None:
            takes = self._ears.compared((*takes, self._guessed or self._weigh(weighing, ended.utterance)))
        if self._timed:
            self._timed(Timing(ended.speech_ended_s, known_s, streamed_s, self._now_s()))
        clip = self._shelf.put_sound(ended.utterance.samples)
        return Heard(self._now_s(), clip, takes, self._dictated(ended.utterance))

    def _dictated(self, utterance: Utterance) -> str:
        ear: object = self._ears.weighing
        return ear.dictate(utterance) if self._during.free and isinstance(ear, Dictation) else ""

"""From blocks of sound to what was heard: the weighing ear starts in a pause, and its answer is of the whole utterance."""

from __future__ import annotations

from collections.abc import Collection

from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.bench.clock import JumpingClock
from assistant.bench.hearing import GUESSES_AT_MOST, Ears, Hearing
from assistant.bench.shelf import Shelf
from assistant.core.events import Event, Heard, Take
from assistant.core.speech.automaton import Automaton
from assistant.devices.endpointing import Endpointer, Endpointing
from assistant.devices.protocols import Samples, Utterance
from tests.conversation import take
from tests.scripted_bay import LoudIsSpeech, blocks, loud, quiet

LIMITS = Endpointing()
PAUSE_S = (LIMITS.margin_after_s + LIMITS.end_after_s) / 2
"""Long enough to set to work in, too short to be the end."""
END_S = LIMITS.end_after_s + 0.2


class Measures:
    """An ear, of either kind, that hears how many samples there were."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.asked: list[int] = []
        self._samples = 0

    def listen_for(self, grammar: Automaton) -> None:
        """Whatever may be said."""

    def begin(self) -> None:
        self._samples = 0

    def feed(self, samples: Samples) -> tuple[str, ...]:
        self._samples += len(samples)
        return ()

    def finish(self) -> Take:
        return self._take(self._samples)

    def compare(self, strings: Collection[tuple[str, ...]]) -> Take:
        raise AssertionError(f"asked about {strings}, though both ears heard the same")

    def hear(self, utterance: Utterance) -> Take:
        return self._take(len(utterance.samples))

    def _take(self, samples: int) -> Take:
        self.asked.append(samples)
        return take(self.name, (str(samples), 1.0))


def heard(*sounds: Samples) -> tuple[list[Event], Measures]:
    """What is heard in these sounds, and the weighing ear."""
    weighing = Measures("weighing")
    hearing = Hearing(
        Ears(Measures("streaming"), weighing), Endpointer(LoudIsSpeech(), LIMITS), Shelf(), JumpingClock().now_s
    )
    events: list[Event] = []
    for block in blocks(*sounds):
        events += hearing.feed(block)
    return [*events, *hearing.finish()], weighing


def with_pauses(pauses: int) -> tuple[Samples, ...]:
    """One utterance with so many pauses in it, and its end."""
    return (*(part for _ in range(pauses) for part in (loud(), quiet(PAUSE_S))), loud(), quiet(END_S))


def the_ears_heard_the_same(events: list[Event]) -> bool:
    """Every utterance was answered by both ears, of the same samples."""
    takes = [[one.candidates[0].words for one in event.takes] for event in events if isinstance(event, Heard)]
    return all(len(pair) == 2 and pair[0] == pair[1] for pair in takes)


def test_an_utterance_without_pauses_is_weighed_once() -> None:
    """While the end of it is awaited, and not again when it has come."""
    events, weighing = heard(*with_pauses(0))
    assert len(events) == len(weighing.asked) == 1
    assert the_ears_heard_the_same(events)


def test_what_follows_a_pause_is_weighed_with_it() -> None:
    """What was made of the first part is not what was said."""
    events, weighing = heard(*with_pauses(1))
    assert len(events) == 1
    assert len(weighing.asked) == 2
    assert weighing.asked[0] < weighing.asked[1]
    assert the_ears_heard_the_same(events)


def test_one_who_stops_at_every_word_is_not_weighed_at_each() -> None:
    """At most so many guesses, and then once at the end."""
    events, weighing = heard(*with_pauses(GUESSES_AT_MOST + 3))
    assert len(events) == 1
    assert len(weighing.asked) == GUESSES_AT_MOST + 1
    assert the_ears_heard_the_same(events)


def test_sound_that_ends_in_a_pause_is_weighed_whole() -> None:
    """A recording that is over before the end of speech is known."""
    events, weighing = heard(loud(), quiet(PAUSE_S))
    assert len(events) == len(weighing.asked) == 1
    assert the_ears_heard_the_same(events)


@given(st.lists(st.tuples(st.floats(0.05, 1.5), st.floats(0.05, 1.0)), min_size=1, max_size=8))
@settings(max_examples=60, deadline=None)
def test_whatever_is_said_and_left_out(parts: list[tuple[float, float]]) -> None:
    """Speech and quiet of any length: the weighing ear answers of just what the streaming ear followed, and is seldom asked."""
    events, weighing = heard(*(sound for said_s, left_s in parts for sound in (loud(said_s), quiet(left_s))))
    assert the_ears_heard_the_same(events)
    utterances = sum(isinstance(event, Heard) for event in events)
    assert len(weighing.asked) <= utterances * (GUESSES_AT_MOST + 1)


def test_without_a_weighing_ear_one_take_is_heard() -> None:
    """The streaming ear alone, pauses or not."""
    hearing = Hearing(Ears(Measures("streaming")), Endpointer(LoudIsSpeech(), LIMITS), Shelf(), JumpingClock().now_s)
    events = [event for block in blocks(*with_pauses(1)) for event in hearing.feed(block)]
    assert [len(event.takes) for event in events if isinstance(event, Heard)] == [1]


class Compares(Measures):
    """An ear that lists what it is asked about."""

    def __init__(self, name: str, heard: str) -> None:
        super().__init__(name)
        self._own = heard
        self.told: list[tuple[str, ...]] = []

    def heard(self) -> Take:
        return take(self.name, (self._own, 1.0))

    def compare(self, strings: Collection[tuple[str, ...]]) -> Take:
        self.told += strings
        return take(self.name, (self._own, 0.8), *((" ".join(s), 0.1) for s in strings))


def test_ears_that_differ_are_asked_about_each_others_strings() -> None:
    """What the other heard is told to each; where they agree on the best neither is asked."""
    one, two = Compares("streaming", "one ninety"), Compares("weighing", "one nineteen")
    takes = Ears(one, two).compared((one.heard(), two.heard()))
    assert [{" ".join(c.words) for c in each.candidates} for each in takes] == [{"one ninety", "one nineteen"}] * 2
    same = Compares("weighing", "one ninety")
    assert Ears(one, same).compared((one.heard(), same.heard())) == (one.heard(), same.heard())
    assert same.told == []
    alone = (one.heard(),)
    assert Ears(one).compared(alone) == alone

"""From blocks of sound to what was heard: the weighing ear starts in a pause, and its answer is of the whole utterance."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.bench.clock import JumpingClock
from assistant.bench.hearing import GUESSES_AT_MOST, Ears, Hearing, is_whole
from assistant.bench.listening import state_at
from assistant.bench.shelf import Shelf
from assistant.core.events import Event, Heard, HeardEarly, Take
from assistant.core.expected import COMMANDS_IN, expectation_of
from assistant.core.speech.automaton import Automaton
from assistant.core.speech.expectation import Expectation
from assistant.core.speech.step_grammar import grammar_of
from assistant.devices.endpointing import Endpointer, Endpointing
from assistant.devices.protocols import Samples, Utterance
from assistant.devices.recognisers.scripted import ScriptedEar
from assistant.files.work import read_work
from assistant.measure.speech_campaign import compression
from tests.conversation import take
from tests.scripted_bay import LoudIsSpeech, blocks, loud, quiet, sure

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


# An end before the usual one

STEP = expectation_of(compression().state)
IN_A_COUNT = Expectation(commands=COMMANDS_IN["counting"])
A_COUNT, A_LOOK = "tools_out", "hull"
"""Steps of the shipped procedure."""
WHOLE = [
    (STEP, "stop", True),
    (STEP, "done", True),
    (STEP, "affirm", True),
    (STEP, "negative", True),
    (STEP, "where are we", True),
    (STEP, "say again", False),
    (STEP, "say again all after", False),
    (STEP, "say", False),
    (STEP, "where are", False),
    (STEP, "correction", False),
    (STEP, "one ninety", False),
    (STEP, "one ninety five", False),
    (STEP, "cylinder two one ninety p s i", False),
    (STEP, "[unk]", False),
    (STEP, "stop [unk]", False),
    (STEP, "", False),
    (IN_A_COUNT, "say again", True),
    (IN_A_COUNT, "done", False),
    (A_COUNT, "twelve", False),
    (A_COUNT, "correction twelve", False),
    (A_COUNT, "done", True),
    (A_LOOK, "correction good", False),
    (Expectation(commands=COMMANDS_IN["remark"], free=True), "disregard", False),
    (Expectation(commands=("stop",), renamed=(("stop", ("halt", "halt it")),)), "halt it", True),
    (Expectation(commands=("stop",), renamed=(("stop", ("halt", "halt it")),)), "halt", False),
]


@pytest.mark.parametrize(("expectation", "said", "whole"), WHOLE)
def test_what_is_whole(expectation: Expectation | str, said: str, whole: bool) -> None:
    """What may end and cannot go on; never a number, nor free words, nor half a command."""
    now = at_shipped(expectation) if isinstance(expectation, str) else expectation
    assert is_whole(now, tuple(said.split())) == whole


@cache
def at_shipped(step: str) -> Expectation:
    work = read_work(Path("pwc-off-season"), Path("tern-3"), Path("our-shop"))
    return expectation_of(state_at(work, step, date(2026, 11, 25)))


@given(
    st.lists(st.deferred(lambda: st.sampled_from(sorted(grammar_of(STEP).vocabulary))), min_size=1, max_size=4).map(
        tuple
    )
)
def test_nothing_longer_of_the_grammar_begins_with_what_is_whole(said: tuple[str, ...]) -> None:
    """Whatever is said, no word of the step makes it longer."""
    if is_whole(STEP, said):
        assert not any(is_beginning(STEP, (*said, w)) for w in grammar_of(STEP).vocabulary)


def is_beginning(expectation: Expectation, said: tuple[str, ...]) -> bool:
    """Does anything that may be said begin so."""
    grammar = grammar_of(expectation)
    states = grammar.start
    for text in said:
        states = grammar.follow(states, text)
    return bool(states)


def after_quiet(streamed: str, weighed: str | None, quiet_s: float) -> list[Event]:
    """What has been heard when it was quiet for so long after one utterance at the step."""
    weighing = None if weighed is None else ScriptedEar(sure(*[weighed] * (GUESSES_AT_MOST + 1)))
    ears = Ears(ScriptedEar(sure(streamed)), weighing)
    hearing = Hearing(ears, Endpointer(LoudIsSpeech(), LIMITS), Shelf(), JumpingClock().now_s)
    hearing.expect(STEP)
    return [event for block in blocks(loud(), quiet(quiet_s)) for event in hearing.feed(block)]


EARLY_ENDS = [
    ("done", "done", True),
    ("done", None, False),
    ("say again", "say again", False),
    ("done", "down", False),
    ("done", "", False),
    ("one ninety", "one ninety", False),
    ("one ninety", None, False),
]


@pytest.mark.parametrize(("streamed", "weighed", "early"), EARLY_ENDS)
def test_an_utterance_that_is_whole_ends_early(streamed: str, weighed: str | None, early: bool) -> None:
    """Where both ears have heard the same whole command; else, and by one ear alone, at its usual end, and once in any case."""
    assert len(after_quiet(streamed, weighed, LIMITS.early_after_s + 0.04)) == early
    assert len(after_quiet(streamed, weighed, END_S)) == 1


def test_the_shops_own_word_for_stop_acts_at_once() -> None:
    """Told as *stop*, whatever the word."""
    hearing = Hearing(
        Ears(ScriptedEar(sure("halt"))), Endpointer(LoudIsSpeech(), LIMITS), Shelf(), JumpingClock().now_s
    )
    hearing.expect(Expectation(commands=("stop",), renamed=(("stop", ("halt",)),)))
    first, *_ = (event for block in blocks(loud(), quiet(END_S)) for event in hearing.feed(block))
    assert isinstance(first, HeardEarly)
    assert first.words == ("stop",)

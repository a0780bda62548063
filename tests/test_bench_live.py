"""The live inbox and its threads, on sources and cameras that are scripted. Nothing here waits longer than it must."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from itertools import chain, repeat

import numpy as np

from assistant.bench.clock import WallClock
from assistant.bench.live import EyesThread, HearingThread, LiveInbox
from assistant.bench.shelf import Shelf
from assistant.core.effects import Scan
from assistant.core.events import (
    DeviceBack,
    DeviceLost,
    EarsClosed,
    Event,
    Heard,
    HeardEarly,
    Label,
    Scanned,
    Take,
    Tick,
)
from assistant.core.expected import expectation_of
from assistant.core.problems import DeviceTrouble
from assistant.core.speech.expectation import Expectation
from assistant.devices.protocols import AudioBlock, Camera, Picture
from tests.conversation import short
from tests.scripted_bay import blocks, hearing_of, loud, quiet, sure

CLOCK = WallClock()
LONG_S = 30.0
"""What a test would wait if the event did not come."""


def next_of(inbox: LiveInbox) -> Event:
    """The next event; a tick means that none came."""
    return inbox.next_event(CLOCK.now_s() + LONG_S)


class Source:
    """A microphone that gives these blocks; a problem among them is raised once."""

    def __init__(self, what: Iterator[AudioBlock | DeviceTrouble]) -> None:
        self._what = what
        self.closed = False

    def read(self) -> AudioBlock | None:
        one = next(self._what, None)
        if isinstance(one, DeviceTrouble):
            raise one
        return one

    def close(self) -> None:
        self.closed = True


UNPLUGGED = DeviceTrouble("no sound for 2 s", where="microphone", do="plug it in")


def listening(
    sources: list[Source | DeviceTrouble], heard: list[Take], may_hear: Callable[[], bool] = lambda: True
) -> tuple[HearingThread, LiveInbox]:
    """A hearing thread that opens these sources in turn, at once; the short job's first step may be said."""
    inbox = LiveInbox(CLOCK)
    hearing = hearing_of(heard)
    hearing.expect(expectation_of(short().state))

    def open_source() -> Source:
        one = sources.pop(0)
        if isinstance(one, DeviceTrouble):
            raise one
        return one

    return HearingThread(open_source, hearing, inbox, CLOCK, may_hear, try_again_after_s=0.0), inbox


def words(event: Event) -> str:
    assert isinstance(event, Heard)
    return " ".join(event.takes[0].candidates[0].words)


def test_ticks_come_when_their_time_has_come() -> None:
    """An event that is there comes first; with none, a tick at the time asked for, at once when that has passed."""
    inbox = LiveInbox(CLOCK)
    inbox.put(EarsClosed(1.0))
    asked = CLOCK.now_s()
    assert inbox.next_event(asked) == EarsClosed(1.0)
    tick = inbox.next_event(asked + 0.02)
    assert isinstance(tick, Tick)
    assert tick.at_s >= asked + 0.02
    assert isinstance(inbox.next_event(asked), Tick)


def test_what_is_heard_comes_into_the_inbox() -> None:
    """Utterance by utterance, then that no more sound will come; the source is let go of."""
    source = Source(iter(blocks(quiet(0.5), loud(), quiet(1), loud(), quiet(1))))
    thread, inbox = listening([source], sure("twenty four", "done"))
    thread.start()
    assert [words(next_of(inbox)), words(next_of(inbox))] == ["twenty four", "done"]
    assert isinstance(next_of(inbox), EarsClosed)
    thread.close()
    assert source.closed


def test_nothing_is_heard_before_it_is_known_what_may_be_said_now() -> None:
    """Two utterances without a pause for thought: the second is heard as what the first has led to, however long that took."""
    inbox = LiveInbox(CLOCK)
    hearing = hearing_of(sure("done", "twenty four"))
    hearing.expect(Expectation(commands=("done",)))
    source = Source(iter(blocks(loud(), quiet(1), loud(), quiet(1))))
    thread = HearingThread(lambda: source, hearing, inbox, CLOCK)
    thread.start()
    assert words(next_of(inbox)) == "done"
    time.sleep(0.1)  # a slow disk
    hearing.expect(expectation_of(short().state))
    assert words(next_of(inbox)) == "twenty four"
    thread.close()


def test_an_open_utterance_is_ended_by_the_end_of_sound() -> None:
    """Nothing said is lost at the end."""
    thread, inbox = listening([Source(iter(blocks(quiet(0.3), loud())))], sure("twenty four"))
    thread.start()
    assert words(next_of(inbox)) == "twenty four"
    thread.close()


def test_a_microphone_that_is_pulled_out_and_put_back() -> None:
    """Lost, tried again until it opens, back; then it hears."""
    first = Source(chain(blocks(quiet(0.2)), [UNPLUGGED]))
    second = Source(iter(blocks(loud(), quiet(1))))
    thread, inbox = listening([first, UNPLUGGED, UNPLUGGED, second], sure("twenty four"))
    thread.start()
    lost, back = next_of(inbox), next_of(inbox)
    assert isinstance(lost, DeviceLost)
    assert (lost.device, lost.why) == ("microphone", "no sound for 2 s")
    assert isinstance(back, DeviceBack)
    assert first.closed
    assert words(next_of(inbox)) == "twenty four"
    thread.close()


def test_without_a_headset_it_is_deaf_while_it_speaks() -> None:
    """What it says itself is never heard as the technician's."""
    own_voice, his = blocks(loud(), quiet(1)), blocks(loud(), quiet(1))
    left = iter([False] * len(own_voice))
    thread, inbox = listening([Source(iter(own_voice + his))], sure("twenty four"), lambda: next(left, True))
    thread.start()
    assert words(next_of(inbox)) == "twenty four"
    assert isinstance(next_of(inbox), EarsClosed)
    thread.close()


def test_stop_is_heard_early_once() -> None:
    """Before the utterance has ended, and one time only; the whole utterance follows."""
    thread, inbox = listening([Source(iter(blocks(loud(1.0), quiet(1))))], sure("stop"))
    thread.start()
    early, whole, end = next_of(inbox), next_of(inbox), next_of(inbox)
    assert isinstance(early, HeardEarly)
    assert words(whole) == "stop"
    assert isinstance(end, EarsClosed)
    thread.close()


def test_a_thread_that_is_closed_stops_listening() -> None:
    """Even while sound goes on and on."""
    source = Source(repeat(AudioBlock(quiet(0.032), 0.0)))
    thread, _ = listening([source], [])
    thread.start()
    thread.close()
    assert source.closed


GREY = np.zeros((8, 8, 3), np.uint8)


class Frames:
    """A camera that gives grey frames for ever, or trouble."""

    def __init__(self, trouble: DeviceTrouble | None = None) -> None:
        self._trouble = trouble

    def frame(self) -> Picture | None:
        if self._trouble:
            raise self._trouble
        return GREY

    def close(self) -> None:
        """Nothing is held."""


class Reads:
    """A reader that sees the same label in every frame."""

    def read(self, picture: Picture) -> tuple[Label, ...]:
        return (Label("EAN-13", "2990001000117"),)


def scanned(open_camera: Callable[[], Camera], shelf: Shelf) -> Scanned:
    inbox = LiveInbox(CLOCK)
    EyesThread(open_camera, Reads(), shelf, inbox, CLOCK).scan(Scan(5.0))
    event = next_of(inbox)
    assert isinstance(event, Scanned)
    return event


def test_a_label_is_seen_with_its_picture() -> None:
    """Two frames that agree; the picture is on the shelf until the entry is kept."""
    shelf = Shelf()
    event = scanned(Frames, shelf)
    assert event.labels == (Label("EAN-13", "2990001000117"),)
    assert (shelf.picture(event.picture) or b"").startswith(b"\x89PNG")


def test_a_camera_in_trouble_is_told_in_words() -> None:
    """Whether it does not open or stops giving frames."""
    trouble = DeviceTrouble("there is no camera 97", where="camera", do="plug it in")

    def no_camera() -> Camera:
        raise trouble

    for opens in (no_camera, lambda: Frames(trouble)):
        event = scanned(opens, Shelf())
        assert (event.labels, event.trouble) == ((), "there is no camera 97.")

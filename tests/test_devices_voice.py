"""The voice: one promise for every Speaker; and a voice process that is killed, frozen, or without a sound card.

The real speaker plays through PortAudio and ALSA into a sound card made of ALSA's own plugins: `file` over `null`,
which writes what is played as raw samples (22 050 Hz, mono, 16 bit), at once or, through a pipe to a program, at the
pace of a real card.
"""

from __future__ import annotations

import ctypes.util
import os
import queue
import signal
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from assistant.core.problems import CallProblem, DeviceTrouble
from assistant.devices.protocols import RATE_HZ, Speaker
from assistant.devices.sound_file import read_sound
from assistant.devices.voice.child import VoiceSettings
from assistant.devices.voice.conversation import ConversationTrack
from assistant.devices.voice.lines import Ended, Failed, Speak, Started, read, written
from assistant.devices.voice.renderer import RenderedSpeaker, Renderer, Spoken
from assistant.devices.voice.scripted_speaker import ScriptedSpeaker
from assistant.devices.voice.speaker import ProcessSpeaker
from tests.sound_card import PACE

PATIENCE_S = 20.0
needs_portaudio = pytest.mark.skipif(
    not (sys.platform == "linux" and ctypes.util.find_library("portaudio") and ctypes.util.find_library("asound")),
    reason="needs Linux with libportaudio2 for a sound card of ALSA's own plugins",
)


class VirtualCard:
    """A sound card that writes what it plays to `played`."""

    def __init__(self, folder: Path, paced: bool = False) -> None:
        self.played = folder / "played.raw"
        self.configuration = folder / "asound.conf"
        pace = folder / "pace.py"
        pace.write_text(PACE)
        target = f"| exec {sys.executable} {pace} {self.played}" if paced else str(self.played)
        self.text = (
            'pcm.!default { type plug slave { pcm "kept" rate 22050 channels 1 format S16_LE } }\n'
            f'pcm.kept {{ type file slave.pcm "nothing" file "{target}" format "raw" }}\n'
            "pcm.nothing { type null }\n"
        )
        self.plug_in()

    def plug_in(self) -> None:
        self.configuration.write_text(self.text)

    def pull_out(self) -> None:
        self.configuration.write_text("pcm.gone { type hw card 7 }\n")

    @property
    def environment(self) -> dict[str, str]:
        return {"ALSA_CONFIG_PATH": str(self.configuration)}

    def seconds_played(self) -> float:
        return self.played.stat().st_size / 2 / 22_050


class Callbacks:
    """What a ProcessSpeaker calls, in order."""

    def __init__(self) -> None:
        self.calls: queue.SimpleQueue[tuple[str, object]] = queue.SimpleQueue()

    def started(self, number: int) -> None:
        self.calls.put(("started", number))

    def done(self, number: int) -> None:
        self.calls.put(("done", number))

    def trouble(self, problem: DeviceTrouble) -> None:
        self.calls.put(("trouble", str(problem)))

    def back(self) -> None:
        self.calls.put(("back", None))

    def next(self) -> tuple[str, object]:
        return self.calls.get(timeout=PATIENCE_S)

    def speaker(self, card: VirtualCard, margin_s: float = PATIENCE_S) -> ProcessSpeaker:
        return ProcessSpeaker(
            started=self.started,
            trouble=self.trouble,
            back=self.back,
            margin_s=margin_s,
            environment=card.environment,
        )


class SpeakerContract:
    """What every Speaker promises."""

    @pytest.fixture
    def speaker(self, tmp_path: Path) -> Iterator[Speaker]:
        raise NotImplementedError

    def settle(self, speaker: Speaker) -> None:
        """Let time pass until all has been said."""

    def test_it_is_a_speaker(self, speaker: Speaker) -> None:
        """It has the Protocol's three methods."""
        assert isinstance(speaker, Speaker)

    def test_each_text_is_done_once_in_order(self, speaker: Speaker) -> None:
        """Three texts, one with nothing in it to say: done one, two, three."""
        done: list[int] = []
        last = threading.Event()
        speaker.say(1, "One niner zero.", done.append)
        speaker.say(2, " ", done.append)
        speaker.say(3, 'Within limits: "good"\nnext.', lambda number: (done.append(number), last.set()))
        self.settle(speaker)
        assert last.wait(PATIENCE_S)
        assert done == [1, 2, 3]

    def test_a_hush_completes_everything(self, speaker: Speaker) -> None:
        """What is being said and what waits is done after a hush, and the next text is said."""
        done: queue.SimpleQueue[int] = queue.SimpleQueue()
        for number in (1, 2, 3):
            speaker.say(number, "Fill the raw water side with antifreeze. " * 20, done.put)
        speaker.hush()
        assert [done.get(timeout=PATIENCE_S) for _ in range(3)] == [1, 2, 3]
        speaker.say(4, "Go ahead.", done.put)
        self.settle(speaker)
        assert done.get(timeout=PATIENCE_S) == 4
        assert done.empty()

    def test_a_hush_with_nothing_said_is_nothing(self, speaker: Speaker) -> None:
        """A hush in silence changes nothing."""
        speaker.hush()
        self.test_each_text_is_done_once_in_order(speaker)

    def test_closing_completes_everything(self, speaker: Speaker) -> None:
        """What waits when the speaker is closed is done."""
        done: list[int] = []
        speaker.say(1, "Stand by. " * 50, done.append)
        speaker.say(2, "Stand by.", done.append)
        speaker.close()
        assert done == [1, 2]


class TestScriptedSpeaker(SpeakerContract):
    @pytest.fixture
    def speaker(self, tmp_path: Path) -> Iterator[Speaker]:
        yield ScriptedSpeaker()

    def test_it_keeps_what_was_said(self) -> None:
        """Number and text, in order."""
        speaker = ScriptedSpeaker()
        speaker.say(1, "Warm the engine.", lambda number: None)
        assert speaker.said == [(1, "Warm the engine.")]


class TestRenderedSpeaker(SpeakerContract):
    @pytest.fixture
    def speaker(self, tmp_path: Path) -> Iterator[Speaker]:
        speaker = RenderedSpeaker(Renderer(), ConversationTrack(), lambda: 0.0)
        yield speaker
        speaker.close()

    def settle(self, speaker: Speaker) -> None:
        assert isinstance(speaker, RenderedSpeaker)
        while speaker.next_end_s is not None:
            speaker.run_to(speaker.next_end_s)


@needs_portaudio
class TestProcessSpeaker(SpeakerContract):
    @pytest.fixture
    def speaker(self, tmp_path: Path) -> Iterator[Speaker]:
        speaker = ProcessSpeaker(environment=VirtualCard(tmp_path).environment)
        yield speaker
        speaker.close()


@needs_portaudio
def test_what_is_said_is_what_the_card_plays(tmp_path: Path) -> None:
    """Started comes before done, and the card has played as long as the renderer says that the text takes."""
    card, calls = VirtualCard(tmp_path), Callbacks()
    speaker = calls.speaker(card)
    speaker.say(1, "Torque the fasteners in the order of the manual.", calls.done)
    assert [calls.next(), calls.next()] == [("started", 1), ("done", 1)]
    speaker.close()
    renderer = Renderer()
    wanted_s = len(renderer.render("Torque the fasteners in the order of the manual.")) / RATE_HZ
    renderer.close()
    played = np.fromfile(card.played, "<i2")
    sounding = np.flatnonzero(np.abs(played.astype(int)) > 64)
    assert (sounding[-1] - sounding[0]) / 22_050 == pytest.approx(wanted_s, abs=0.1)


@needs_portaudio
def test_a_hush_stops_the_sound(tmp_path: Path) -> None:
    """A long text that is hushed when its first sound is out is not played to its end."""
    card, calls = VirtualCard(tmp_path, paced=True), Callbacks()
    speaker = calls.speaker(card)
    speaker.say(1, "Count the small parts back on. " * 30, calls.done)
    assert calls.next() == ("started", 1)
    speaker.hush()
    assert calls.next() == ("done", 1)
    speaker.close()
    assert card.seconds_played() < 5.0  # of about 60


@needs_portaudio
def test_a_voice_that_is_killed_says_it_again(tmp_path: Path) -> None:
    """The voice process dies in the middle of a text: a new one says it, it has started once and is done once."""
    card, calls = VirtualCard(tmp_path, paced=True), Callbacks()
    speaker = calls.speaker(card)
    speaker.say(1, "Draw the oil while it is warm, then change the filter.", calls.done)
    assert calls.next() == ("started", 1)
    first = speaker.voice_pid
    assert first is not None
    os.kill(first, signal.SIGKILL)
    assert calls.next() == ("done", 1)
    assert speaker.voice_pid not in (None, first)
    speaker.close()
    assert calls.calls.empty()


@needs_portaudio
def test_a_voice_that_hangs_says_it_again(tmp_path: Path) -> None:
    """The voice process is frozen: the watchdog kills it, a new one says the text."""
    calls = Callbacks()
    speaker = calls.speaker(VirtualCard(tmp_path), margin_s=1.0)
    first = speaker.voice_pid
    assert first is not None
    os.kill(first, signal.SIGSTOP)
    speaker.say(1, "Battery negative first.", calls.done)
    assert [calls.next(), calls.next()] == [("started", 1), ("done", 1)]
    assert speaker.voice_pid != first
    speaker.close()


@needs_portaudio
def test_a_frozen_voice_is_hushed(tmp_path: Path) -> None:
    """A hush does not wait for a voice process that hangs, and it is no trouble."""
    calls = Callbacks()
    speaker = calls.speaker(VirtualCard(tmp_path))
    assert speaker.voice_pid is not None
    os.kill(speaker.voice_pid, signal.SIGSTOP)
    speaker.say(1, "Fog the first cylinder.", calls.done)
    speaker.hush()
    assert calls.next() == ("done", 1)
    speaker.say(2, "Go ahead.", calls.done)
    assert [calls.next(), calls.next()] == [("started", 2), ("done", 2)]
    speaker.close()


@needs_portaudio
def test_trouble_is_called_once_and_it_comes_back(tmp_path: Path) -> None:
    """Killed, and no card for the next voice process: trouble once, every text done; with a card again it is back."""
    card, calls = VirtualCard(tmp_path), Callbacks()
    speaker = calls.speaker(card)
    card.pull_out()
    assert speaker.voice_pid is not None
    os.kill(speaker.voice_pid, signal.SIGKILL)
    speaker.say(1, "Close up.", calls.done)
    speaker.say(2, "Count the tools.", calls.done)
    kind, problem = calls.next()
    assert kind == "trouble"
    assert "layup devices" in str(problem)
    assert [calls.next(), calls.next()] == [("done", 1), ("done", 2)]
    card.plug_in()
    speaker.say(3, "Hand over.", calls.done)
    assert [calls.next() for _ in range(3)] == [("started", 3), ("done", 3), ("back", None)]
    speaker.close()


@needs_portaudio
@pytest.mark.parametrize(
    ("settings", "plugged", "word"),
    [
        (VoiceSettings(), False, "loudspeaker"),
        (VoiceSettings(output="headset"), True, "headset"),
        (VoiceSettings(voice="en-mars"), True, "en-us"),
    ],
)
def test_a_speaker_that_cannot_be_is_trouble(tmp_path: Path, settings: VoiceSettings, plugged: bool, word: str) -> None:
    """No sound card, none of that name, no such voice: said at the start, with what to do."""
    card = VirtualCard(tmp_path)
    if not plugged:
        card.pull_out()
    with pytest.raises(DeviceTrouble, match=word) as raised:
        ProcessSpeaker(settings, environment=card.environment)
    assert raised.value.do


@pytest.fixture(scope="module")
def renderer() -> Iterator[Renderer]:
    made = Renderer()
    yield made
    made.close()


def test_a_text_is_rendered_once(renderer: Renderer) -> None:
    """The same text is the same array; it is sound, and takes about as long as eight words at 165 a minute."""
    text = "cylinder two compression one niner zero within limits"
    sound = renderer.render(text)
    assert renderer.render(text) is sound
    assert np.abs(sound).max() > 3000
    assert len(sound) / RATE_HZ == pytest.approx(8 / 165 * 60, rel=0.4)


def test_a_faster_voice_is_shorter(renderer: Renderer) -> None:
    """Words a minute are a setting."""
    fast = Renderer(VoiceSettings(words_per_minute=250))
    text = "Remove the plugs and look at them one by one."
    assert len(fast.render(text)) < 0.8 * len(renderer.render(text))
    fast.close()


def test_an_unknown_voice_renders_nothing() -> None:
    """The renderer says so too."""
    with pytest.raises(DeviceTrouble, match="no voice 'en-mars'"):
        Renderer(VoiceSettings(voice="en-mars")).render("hello")


def test_a_clock_of_ones_own(renderer: Renderer) -> None:
    """Texts stand on the track one after the other from the clock's time; a hush cuts one and drops the next."""
    now_s = [10.0]
    track, spoken, done = ConversationTrack(), list[Spoken](), list[int]()
    speaker = RenderedSpeaker(renderer, track, lambda: now_s[0], spoken.append)
    for number, text in enumerate(("Warm the engine.", "Then stop it.", "Draw the oil.")):
        speaker.say(number, text, done.append)
    assert spoken[0].began_s == 10.0
    assert spoken[1].began_s == spoken[0].ended_s == speaker.next_end_s
    now_s[0] = spoken[0].ended_s + 0.25
    speaker.run_to(now_s[0])
    assert done == [0]
    speaker.hush()
    assert done == [0, 1, 2]
    assert [(part.who, len(part.samples) / RATE_HZ) for part in track.parts] == [
        ("assistant", pytest.approx(spoken[0].duration_s)),
        ("assistant", pytest.approx(0.25)),
    ]


@pytest.mark.parametrize("suffix", [".wav", ".flac"])
def test_a_conversation_is_one_file(tmp_path: Path, suffix: str) -> None:
    """Parts stand where they were said, as they were; the file begins with the first."""
    track = ConversationTrack()
    track.add(7.5, np.full(8000, 300, np.int16), "technician")
    track.add(5.0, np.full(16_000, 9000, np.int16), "assistant")
    path = tmp_path / f"conversation{suffix}"
    assert track.write(path) == pytest.approx(3.0)
    sound = read_sound(path)
    assert len(sound) == 3 * RATE_HZ
    assert set(sound[:16_000]) == {9000}
    assert set(sound[16_000:40_000]) == {0}
    assert set(sound[40_000:]) == {300}


def test_voices_together_do_not_overload() -> None:
    """Where both speak at full level the whole is made softer, not clipped."""
    track = ConversationTrack(from_s=0.0)
    track.add(0.0, np.full(100, 30_000, np.int16), "assistant")
    track.add(-50 / RATE_HZ, np.full(100, 30_000, np.int16), "technician")
    mix = track.mixed()
    assert (mix[0], mix[99]) == (32_767, pytest.approx(16_384, abs=1))


def test_an_empty_conversation_has_no_sound() -> None:
    """Nothing said is nothing."""
    assert len(ConversationTrack().mixed()) == 0


@pytest.mark.parametrize("name", ["conversation.mp3", "nowhere/conversation.wav"])
def test_a_conversation_that_cannot_be_written(tmp_path: Path, name: str) -> None:
    """A wrong ending or folder is a wrong call."""
    with pytest.raises(CallProblem):
        ConversationTrack().write(tmp_path / name)


@pytest.mark.parametrize("line", [Speak(3, 'say "ä"\nnow'), Started(3, 1.5), Ended(3), Failed("a", "b", "c")])
def test_a_line_is_read_as_it_was_written(line: Speak | Started | Ended | Failed) -> None:
    """One line each, whatever is in it."""
    text = written(line)
    assert text.count("\n") == 1
    assert read(text) == line


@pytest.mark.parametrize(
    "text", ["", "[]", "{}", '{"Sing": {}}', '{"Ended": {"number": 1, "more": 2}}', '{"Ended": 1}']
)
def test_a_line_that_is_none_is_refused(text: str) -> None:
    """It is a ValueError, never half a line."""
    with pytest.raises(ValueError, match="voice process"):
        read(text)

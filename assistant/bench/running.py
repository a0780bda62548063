"""A job from start to end: live (microphone, loudspeaker, camera) or on recordings, with the same loop."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import ExitStack
from dataclasses import dataclass

from assistant.bench.clock import JumpingClock, WallClock
from assistant.bench.equipment import hearing_with, label_reader, microphone_of, onlookers_of, voice_settings
from assistant.bench.hearing import Ears, Timing
from assistant.bench.live import EyesThread, HearingThread, LiveInbox, scan_once
from assistant.bench.loop import Bench, Watcher
from assistant.bench.recorded import RecordedInbox, Technician
from assistant.bench.shelf import Shelf
from assistant.bench.starting import Follow
from assistant.core.events import DeviceBack, DeviceLost
from assistant.core.problems import DeviceTrouble
from assistant.core.speech.english import ENGLISH
from assistant.core.speech.language import Language
from assistant.core.state import State
from assistant.devices.microphone import SoundSource
from assistant.devices.protocols import Camera, Speaker
from assistant.devices.voice.conversation import ConversationTrack
from assistant.devices.voice.renderer import RenderedSpeaker, Renderer
from assistant.devices.voice.scripted_speaker import ScriptedSpeaker
from assistant.devices.voice.speaker import ProcessSpeaker
from assistant.files.job_file import JobFile
from assistant.settings import Settings


@dataclass(frozen=True)
class Session:
    """A job and what it is worked on with. `begin` opens its file and gives the state it makes; `follow` keeps that up.

    `begin` is called when every device is there: a missing microphone leaves no empty job behind.
    """

    begin: Callable[[], tuple[JobFile, State]]
    ears: Ears
    open_camera: Callable[[], Camera]
    settings: Settings
    watchers: tuple[Watcher, ...] = ()
    timed: Callable[[Timing], None] | None = None
    window: bool = False
    language: Language = ENGLISH
    follow: Callable[[JobFile], Follow] = lambda _: lambda state, _kept: state


def run_live(
    session: Session,
    *,
    silent: bool = False,
    open_source: Callable[[], SoundSource] | None = None,
    started: Callable[[int], None] | None = None,
) -> str:
    """Microphone and loudspeaker, in real time. Returns why it ended; DeviceTrouble where a device is not there."""
    clock = WallClock()
    inbox = LiveInbox(clock)
    shelf = Shelf()
    hearing = hearing_with(session.ears, session.settings, shelf, clock.now_s, session.timed)
    with ExitStack() as closing:
        speaker: Speaker = ScriptedSpeaker() if silent else _loudspeaker(session, inbox, clock, started)
        closing.callback(speaker.close)
        talk = _Talking(speaker)
        may_hear = (lambda: True) if session.settings.headset else (lambda: not talk.busy)
        source = open_source or microphone_of(session.settings, clock.now_s)
        listening = HearingThread(source, hearing, inbox, clock, may_hear)
        closing.callback(listening.close)
        onlookers = onlookers_of(window=session.window, silent=silent)
        eyes = EyesThread(session.open_camera, label_reader(still=False), shelf, inbox, clock, onlookers)
        job_file, state = session.begin()
        closing.enter_context(job_file)
        bench = Bench(
            state,
            job_file,
            inbox,
            clock,
            shelf,
            speaker=talk,
            expect=hearing.expect,
            scan=eyes.scan,
            watchers=session.watchers,
            follow=session.follow(job_file),
        )
        listening.start()
        return bench.run()


def _loudspeaker(
    session: Session, inbox: LiveInbox, clock: WallClock, started: Callable[[int], None] | None
) -> ProcessSpeaker:
    def trouble(problem: DeviceTrouble) -> None:
        inbox.put(DeviceLost(clock.now_s(), "loudspeaker", problem.what))

    def back() -> None:
        inbox.put(DeviceBack(clock.now_s(), "loudspeaker"))

    voice = voice_settings(session.settings, session.language)
    return ProcessSpeaker(voice, started=started or (lambda _: None), trouble=trouble, back=back)


class _Talking:
    """A speaker that knows whether it is speaking: without a headset the assistant must not hear itself."""

    def __init__(self, speaker: Speaker) -> None:
        self._speaker = speaker
        self._waiting = 0

    @property
    def busy(self) -> bool:
        """Is anything being said, or waiting to be said."""
        return self._waiting > 0

    def say(self, number: int, text: str, done: Callable[[int], None]) -> None:
        self._waiting += 1

        def said(n: int) -> None:
            self._waiting -= 1
            done(n)

        self._speaker.say(number, text, said)

    def hush(self) -> None:
        self._speaker.hush()

    def close(self) -> None:
        self._speaker.close()


def run_recorded(session: Session, technician: Technician, track: ConversationTrack | None = None) -> str:
    """Recordings as ears, on a clock that jumps. With a `track` the assistant's voice is rendered, and both are on it."""
    clock = JumpingClock()
    shelf = Shelf()
    hearing = hearing_with(session.ears, session.settings, shelf, clock.now_s, session.timed)
    reader = label_reader(still=True)
    with ExitStack() as closing:
        rendered = None
        if track is not None:
            voice = voice_settings(session.settings, session.language)
            rendered = RenderedSpeaker(Renderer(voice), track, clock.now_s)
            closing.callback(rendered.close)
        inbox = RecordedInbox(technician, hearing, clock, track or ConversationTrack(), rendered)
        job_file, state = session.begin()
        closing.enter_context(job_file)
        bench = Bench(
            state,
            job_file,
            inbox,
            clock,
            shelf,
            speaker=rendered or ScriptedSpeaker(),
            expect=hearing.expect,
            scan=lambda wanted: inbox.put(scan_once(session.open_camera, reader, shelf, clock, wanted)),
            watchers=(inbox, *session.watchers),
            follow=session.follow(job_file),
        )
        return bench.run()

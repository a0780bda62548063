"""The live loop: one thread, one inbox, one job file. It advances the engine and does what the engine wants done.

Rules for maintainers: only this thread calls `advance` and writes the job file. A thing is spoken as kept only after
`append` returned. All effects of one turn are done before the entries they committed are fed back.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from typing import Protocol

from assistant.bench.clock import Clock
from assistant.bench.shelf import Shelf
from assistant.core.effects import Effect, Finish, Hush, Listen, Record, Say, Scan, Wake
from assistant.core.engine import advance
from assistant.core.entries import Kept
from assistant.core.events import Event, NotRecorded, Recorded, SpeechDone, Started
from assistant.core.speech.expectation import Expectation
from assistant.core.state import State
from assistant.devices.protocols import Speaker
from assistant.files.job_file import JobFile, NotKept


class Inbox(Protocol):
    """Where events come from."""

    def put(self, event: Event) -> None:
        """Add an event; from any thread."""

    def next_event(self, wake_at_s: float | None) -> Event:
        """Wait for the next event, or send Tick at `wake_at_s`."""


class Watcher(Protocol):
    """Sees everything that goes on, for transcripts and the recorded technician. Called from the loop's thread."""

    def event(self, state: State, event: Event) -> None:
        """This happened; `state` is the one before it."""

    def effect(self, state: State, effect: Effect) -> None:
        """This is being done; `state` is the one after the event."""


class Bench:
    """One job being done. `run` returns why it ended. `follow`: the state by which an entry that is on disk is taken up."""

    def __init__(
        self,
        state: State,
        job_file: JobFile,
        inbox: Inbox,
        clock: Clock,
        shelf: Shelf,
        *,
        speaker: Speaker,
        expect: Callable[[Expectation], None],
        scan: Callable[[Scan], None],
        watchers: tuple[Watcher, ...] = (),
        follow: Callable[[State, Kept], State] = lambda state, _kept: state,
    ) -> None:
        self.state = state
        self._job_file = job_file
        self._inbox = inbox
        self._clock = clock
        self._shelf = shelf
        self._speaker = speaker
        self._expect = expect
        self._scan = scan
        self._watchers = watchers
        self._follow = follow
        self._keeps_sound = state.job.opened is None or state.job.opened.keeps_sound
        self._wake_at_s: float | None = None
        self._ended = ""

    def run(self) -> str:
        """Work until the job is finished or no more sound will come."""
        self._turn(Started(self._clock.now_s()))
        while not self._ended:
            event = self._inbox.next_event(self._wake_at_s)
            if self._wake_at_s is not None and event.at_s >= self._wake_at_s:
                self._wake_at_s = None
            self._turn(event)
        return self._ended

    def _turn(self, event: Event) -> None:
        """One event and all that follows from it at once."""
        todo: deque[Event] = deque((event,))
        while todo:
            now = todo.popleft()
            for watcher in self._watchers:
                watcher.event(self.state, now)
            if isinstance(now, Recorded):
                self.state = self._follow(self.state, now.kept)
            self.state, effects = advance(self.state, now)
            for effect in effects:
                for watcher in self._watchers:
                    watcher.effect(self.state, effect)
                after = self._do(effect)
                if after is not None:
                    todo.append(after)

    def _do(self, effect: Effect) -> Event | None:
        match effect:
            case Record():
                return self._record(effect)
            case Say(number=number, text=text):
                self._speaker.say(number, text, self._said)
            case Hush():
                self._speaker.hush()
            case Listen(expectation=expectation):
                self._expect(expectation)
            case Scan():
                self._scan(effect)
            case Wake(at_s=at_s):
                self._wake_at_s = at_s
            case Finish(why=why):
                self._ended = why
        return None

    def _record(self, effect: Record) -> Event:
        sound = self._shelf.sound(effect.clip)
        picture = self._shelf.picture(effect.picture)
        if picture is not None or not self._keeps_sound:
            sound = None  # an entry has one clip: a label's picture says more
        try:
            kept = self._job_file.append(effect.entry, self._clock.utc(), sound, picture)
        except NotKept as problem:
            return NotRecorded(self._clock.now_s(), problem.what.removeprefix("not kept: "), problem.do)
        return Recorded(self._clock.now_s(), kept)

    def _said(self, number: int) -> None:
        self._inbox.put(SpeechDone(self._clock.now_s(), number))

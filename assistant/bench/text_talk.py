"""A job talked through in text: the engine as the loop drives it, without sound, camera, clock or disk.

Words come in as `layup parse` takes them, entries are kept in memory, time passes only when it is told to. Rehearsals and
the engine's tests run on it.
"""

from __future__ import annotations

from collections import deque
from dataclasses import replace

from assistant.bench.loop import Watcher
from assistant.core.effects import Effect, Finish, Record, Say, Wake
from assistant.core.engine import advance
from assistant.core.entries import Entry, Kept
from assistant.core.events import Event, Heard, Label, Recorded, Scanned, SpeechDone, Started, Tick
from assistant.core.job import fold
from assistant.core.speech.understanding import take_of_words
from assistant.core.state import State

AT = "2000-01-01T00:00:00.000Z"
"""The time of entries that no file will ever hold."""


def heard(words: str, at_s: float = 0.0, clip: str = "") -> Heard:
    """The event of these words, heard beyond doubt."""
    return Heard(at_s, clip, (take_of_words(words),), dictated=words)


class TextTalk:
    """One conversation. `kept` are the entries, `said` what the assistant said, `finished` why it ended ("" it goes on).

    `watchers` see every event and effect, as those of the loop do.
    """

    clip = ""
    """The name of every utterance's sound."""

    def __init__(self, state: State, first: Entry, watchers: tuple[Watcher, ...] = ()) -> None:
        self.kept: list[Kept] = []
        self.said: list[str] = []
        self.finished = ""
        self.now_s = 0.0
        self.wake_at_s: float | None = None
        self._watchers = watchers
        self.commit(first)
        self.state = replace(state, job=fold(self.kept))

    def begin(self) -> list[str]:
        """The program starts; what is said."""
        return self.send(Started(self.now_s))

    def hear(self, words: str) -> list[str]:
        """These words are heard beyond doubt; what is said then."""
        return self.send(heard(words, self.now_s, self.clip))

    def see(self, *labels: Label, picture: str = "") -> list[str]:
        """The eyes close, and have read these labels, or taken this picture; what is said then."""
        return self.send(Scanned(self.now_s, labels, picture))

    def wait(self, seconds: float) -> list[str]:
        """Time passes; what is said meanwhile."""
        until = self.now_s + seconds
        before = len(self.said)
        while self.wake_at_s is not None and self.wake_at_s <= until:
            self.now_s, self.wake_at_s = self.wake_at_s, None
            self.send(Tick(self.now_s))
        self.now_s = until
        return self.said[before:]

    def send(self, event: Event) -> list[str]:
        """Any event; what is said because of it."""
        before = len(self.said)
        todo: deque[Event] = deque((event,))
        while todo:
            now = todo.popleft()
            for watcher in self._watchers:
                watcher.event(self.state, now)
            self.state, effects = advance(self.state, now)
            for effect in effects:
                for watcher in self._watchers:
                    watcher.effect(self.state, effect)
                self.do(effect, todo)
        return self.said[before:]

    def do(self, effect: Effect, todo: deque[Event]) -> None:
        """Do what the engine wants; what follows from it at once goes to `todo`."""
        if isinstance(effect, Record):
            todo.append(self.record(effect.entry))
        elif isinstance(effect, Say):
            self.said.append(effect.text)
            if self.state.talk.phase == "finished":
                todo.append(SpeechDone(self.now_s, effect.number))
        elif isinstance(effect, Wake):
            self.wake_at_s = effect.at_s
        elif isinstance(effect, Finish):
            self.finished = effect.why

    def record(self, entry: Entry) -> Event:
        """Keep the entry; the event that the loop would feed back."""
        return Recorded(self.now_s, self.commit(entry))

    def commit(self, entry: Entry) -> Kept:
        """The entry, kept."""
        kept = Kept(len(self.kept) + 1, AT, entry)
        self.kept.append(kept)
        return kept

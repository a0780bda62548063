"""A conversation without devices: words in, speech out, entries kept in a list. The engine's tests run on it."""

from __future__ import annotations

import math
from collections import deque
from dataclasses import replace
from datetime import date
from pathlib import Path

from assistant.bench.starting import Earlier, read_work
from assistant.core.effects import Effect, Finish, Hush, Record, Say, Scan, Wake
from assistant.core.engine import advance
from assistant.core.entries import Entry, JobOpened, JobResumed, Kept
from assistant.core.events import (
    Candidate,
    Event,
    Heard,
    Label,
    NotRecorded,
    Recorded,
    Scanned,
    SpeechDone,
    Started,
    Take,
    Tick,
)
from assistant.core.job import Job, fold
from assistant.core.procedure import Procedure, Site, WantedPart
from assistant.core.speech.understanding import take_of_words
from assistant.core.state import State

TODAY = date(2026, 11, 25)
TABLES = Path(__file__).parent / "tables"
SHORT = read_work(TABLES / "short.yaml", TABLES / "short.sheet.yaml", None)
"""The short job: one step of every kind."""


def short() -> Conversation:
    """The short job, begun."""
    return Conversation(SHORT.procedure, dict(SHORT.sheet.parts), SHORT.site).start()


class Conversation:
    """Drives `advance` as the loop does; every entry is "on disk" at once unless `disk_full`."""

    def __init__(
        self,
        procedure: Procedure,
        parts: dict[str, WantedPart] | None = None,
        site: Site | None = None,
        earlier: Earlier = (),
    ) -> None:
        self.state = State(procedure, parts or {}, site or Site(), TODAY)
        self.kept: list[Kept] = []
        self.story: list[Kept | Say] = []
        self.said: list[str] = []
        self.effects: list[Effect] = []
        self.disk_full = False
        self.finished = ""
        self.now_s = 0.0
        self.wake_at_s: float | None = None
        self._commit(replace(_opened(procedure), earlier=earlier))
        self.state = replace(self.state, job=fold(self.kept))

    def copy(self) -> Conversation:
        """The same conversation, to go on with apart from this one."""
        other = Conversation(self.state.procedure, dict(self.state.parts), self.state.site)
        other.state, other.now_s, other.wake_at_s = self.state, self.now_s, self.wake_at_s
        other.kept, other.story, other.said = list(self.kept), list(self.story), list(self.said)
        other.finished, other.disk_full = self.finished, self.disk_full
        return other

    def start(self) -> Conversation:
        """The program starts."""
        self.send(Started(self.now_s))
        return self

    def resumed(self) -> Conversation:
        """The power fails and the program is started again on what is on disk: a new talk about the folded job."""
        again = Conversation(self.state.procedure, dict(self.state.parts), self.state.site)
        again.kept, again.story, again.said = list(self.kept), list(self.story), list(self.said)
        again.disk_full = self.disk_full
        again._commit(JobResumed("test", "text"))
        again.state = replace(again.state, job=fold(again.kept))
        return again.start()

    def hear(self, words: str) -> list[str]:
        """These words are heard beyond doubt; what is said then."""
        return self.send(Heard(self.now_s, "clip", (take_of_words(words),), dictated=words))

    def hear_takes(self, *takes: Take) -> list[str]:
        """Two ears, or one in doubt; what is said then."""
        return self.send(Heard(self.now_s, "clip", takes))

    def say_all(self, *lines: str) -> list[str]:
        """Several utterances; what is said after the last."""
        said: list[str] = []
        for line in lines:
            said = self.hear(line)
        return said

    def scan(self, *labels: Label) -> list[str]:
        """*part*, and these labels are seen."""
        self.hear("part")
        return self.send(Scanned(self.now_s, labels))

    def wait(self, seconds: float) -> list[str]:
        """Time passes."""
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
            self.state, effects = advance(self.state, todo.popleft())
            for effect in effects:
                self._do(effect, todo)
        return self.said[before:]

    @property
    def job(self) -> Job:
        """What stands in the job."""
        return self.state.job

    def entries(self, kind: type[Entry]) -> list[Entry]:
        """The kept entries of one kind."""
        return [k.entry for k in self.kept if isinstance(k.entry, kind)]

    def _do(self, effect: Effect, todo: deque[Event]) -> None:
        self.effects.append(effect)
        if isinstance(effect, Record):
            if self.disk_full:
                todo.append(NotRecorded(self.now_s, "the disk is full", "make room, then say it again"))
            else:
                todo.append(Recorded(self.now_s, self._commit(effect.entry)))
        elif isinstance(effect, Say):
            self.said.append(effect.text)
            self.story.append(effect)
            if self.state.talk.phase == "finished":
                todo.append(SpeechDone(self.now_s, effect.number))
        elif isinstance(effect, Wake):
            self.wake_at_s = effect.at_s
        elif isinstance(effect, Finish):
            self.finished = effect.why
        else:
            assert not isinstance(effect, Scan | Hush) or effect

    def _commit(self, entry: Entry) -> Kept:
        kept = Kept(len(self.kept) + 1, "2026-11-25T08:00:00.000Z", entry)
        self.kept.append(kept)
        self.story.append(kept)
        return kept


def _opened(procedure: Procedure) -> JobOpened:
    return JobOpened(
        procedure=procedure.name,
        procedure_text="",
        sheet_text="",
        site_text="",
        job="test",
        conditions=tuple(sorted(procedure.start.items())),
        program="test",
        ears="text",
    )


def take(ear: str, *said: tuple[str, float], fits: float | None = None, gap: float | None = None) -> Take:
    """An ear's take: (words, share) pairs, best first; how far apart they lie in nats follows from the shares."""
    return Take(ear, tuple(Candidate(tuple(w.split()), math.log(share), share) for w, share in said), fits, gap)

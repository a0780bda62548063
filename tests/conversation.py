"""A conversation without devices: words in, speech out, entries kept in a list. The engine's tests run on it."""

from __future__ import annotations

import math
from collections import deque
from dataclasses import replace
from datetime import date
from pathlib import Path

from assistant.bench.starting import Earlier
from assistant.bench.text_talk import TextTalk
from assistant.core.effects import Effect, Say
from assistant.core.entries import Entry, JobOpened, JobResumed, Kept
from assistant.core.events import Candidate, Event, Heard, Label, NotRecorded, Take
from assistant.core.job import Job, fold
from assistant.core.machine import Site, WantedPart
from assistant.core.procedure import Procedure
from assistant.core.state import State
from assistant.files.work import read_work

TODAY = date(2026, 11, 25)
TABLES = Path(__file__).parent / "tables"
SHORT = read_work(TABLES / "short.yaml", TABLES / "short.sheet.yaml", None)
"""The short job: one step of every kind."""


def short() -> Conversation:
    """The short job, begun."""
    return Conversation(SHORT.procedure, dict(SHORT.sheet.parts), SHORT.site).start()


class Conversation(TextTalk):
    """A `TextTalk` that can be copied, resumed and refused by a full disk; every effect and the story of it are kept."""

    clip = "clip"

    def __init__(
        self,
        procedure: Procedure,
        parts: dict[str, WantedPart] | None = None,
        site: Site | None = None,
        earlier: Earlier = (),
    ) -> None:
        self.story: list[Kept | Say] = []
        self.effects: list[Effect] = []
        self.disk_full = False
        state = State(procedure, parts or {}, site or Site(), TODAY)
        super().__init__(state, replace(_opened(procedure), earlier=earlier))

    def copy(self) -> Conversation:
        """The same conversation, to go on with apart from this one."""
        other = Conversation(self.state.procedure, dict(self.state.parts), self.state.site)
        other.state, other.now_s, other.wake_at_s = self.state, self.now_s, self.wake_at_s
        other.kept, other.story, other.said = list(self.kept), list(self.story), list(self.said)
        other.finished, other.disk_full = self.finished, self.disk_full
        return other

    def start(self) -> Conversation:
        """The program starts."""
        self.begin()
        return self

    def resumed(self) -> Conversation:
        """The power fails and the program is started again on what is on disk: a new talk about the folded job."""
        again = Conversation(self.state.procedure, dict(self.state.parts), self.state.site)
        again.kept, again.story, again.said = list(self.kept), list(self.story), list(self.said)
        again.disk_full = self.disk_full
        again.commit(JobResumed("test", "text"))
        again.state = replace(again.state, job=fold(again.kept))
        return again.start()

    def hear_takes(self, *takes: Take) -> list[str]:
        """Two ears, or one in doubt; what is said then."""
        return self.send(Heard(self.now_s, self.clip, takes))

    def say_all(self, *lines: str) -> list[str]:
        """Several utterances; what is said after the last."""
        said: list[str] = []
        for line in lines:
            said = self.hear(line)
        return said

    def scan(self, *labels: Label) -> list[str]:
        """*part*, and these labels are seen."""
        self.hear("part")
        return self.see(*labels)

    @property
    def job(self) -> Job:
        """What stands in the job."""
        return self.state.job

    def entries(self, kind: type[Entry]) -> list[Entry]:
        """The kept entries of one kind."""
        return [k.entry for k in self.kept if isinstance(k.entry, kind)]

    def do(self, effect: Effect, todo: deque[Event]) -> None:
        """As ever, and remember it."""
        self.effects.append(effect)
        if isinstance(effect, Say):
            self.story.append(effect)
        super().do(effect, todo)

    def record(self, entry: Entry) -> Event:
        """Kept, unless the disk is full."""
        if self.disk_full:
            return NotRecorded(self.now_s, "the disk is full", "make room, then say it again")
        return super().record(entry)

    def commit(self, entry: Entry) -> Kept:
        """The entry, kept; it is part of the story."""
        kept = super().commit(entry)
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

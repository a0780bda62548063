"""The job that is broken off: a scripted technician at the live loop's own bench, with a real job file and no hardware.

As a program it is a server: it loads everything once, then forks a child for each line on standard input, which does the job
as it was told to and dies of it. What the loop was told is on disk (`Recorded`) goes to standard output before anything else
is done, as JSON lines; the last says how the child ended. Its clock is a script too: the same job is the same file again.
"""

from __future__ import annotations

import json
import os
import resource
import sys
import tempfile
from collections import deque
from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np

from assistant.bench.loop import Bench
from assistant.bench.shelf import Shelf
from assistant.bench.starting import open_job, resume_job
from assistant.core.effects import Effect, Say
from assistant.core.entries import Kept
from assistant.core.events import EarsClosed, Event, Heard, NotRecorded, Recorded, Scanned, Tick
from assistant.core.problems import LayupProblem
from assistant.core.speech.understanding import take_of_words
from assistant.core.state import State
from assistant.devices.protocols import RATE_HZ, Samples
from assistant.devices.voice.scripted_speaker import ScriptedSpeaker
from assistant.files.shipped import shipped_folder
from assistant.files.times import utc_text
from assistant.files.work import Work, read_work
from assistant.measure.fault_shim import How, arm

Tell = Callable[[dict[str, Any]], None]
HERE = Path(__file__).parent
BEGAN = datetime(2026, 10, 14, 9, tzinfo=UTC)
SOUND_S = 0.8
DIES_QUIETLY = 70
"""The exit status after an error of Python, which no fault may lead to."""


@dataclass(frozen=True)
class Script:
    """What is said at which job; the files by name, in this folder or among those that travel with the program."""

    lines: tuple[str, ...]
    procedure: str
    sheet: str

    def work(self) -> Work:
        """The job's files, read."""
        folder = HERE if (HERE / self.procedure).is_file() else shipped_folder("procedures")
        return read_work(folder / self.procedure, folder / self.sheet, None)


SCRIPTS = {
    "compression": Script(
        ("one ninety", "correction one eighty five", "note", "plug two is dark", "one ninety two", "unclear talk", "finding",
         "the hose is cracked", "one eighty eight", "go back", "one ninety one", "one ninety five"),
        "compression.yaml", "four-cylinder.sheet.yaml",
    ),
    "off-season": Script(
        ("roger", "done", "roger", "done", "twenty four", "note", "the cover is scratched", "affirm", "good", "unclear talk",
         "roger", "eight", "correction nine", "affirm", "roger", "tight", "go back", "loose"),
        "pwc-off-season.yaml", "tern-3.sheet.yaml",
    ),
}  # fmt: skip
"""Two jobs: a short one, and the shipped one, whose first entry is large, so that pages move into the file in its middle."""


@dataclass(frozen=True)
class Order:
    """One job to be done and what is to happen in it.

    A job file that is there is resumed. stroke, how: see `fault_shim`. room: bytes a file may have, 0 any (RLIMIT_FSIZE).
    back_at: the entry at which the clock steps back by an hour, 0 none. user: whose rights the child takes, 0 its own.
    """

    script: str
    job: str
    stroke: int = 0
    how: int = How.COUNTED
    room: int = 0
    back_at: int = 0
    user: int = 0


class ScriptedClock:
    """A second from each entry to the next, and one step back; the loop's seconds jump."""

    def __init__(self, begins_s: int, back_at: int = 0) -> None:
        self._entries, self._back_at, self._now_s = begins_s, back_at, 0.0

    def now_s(self) -> float:
        """Seconds told so far."""
        return self._now_s

    def jump_to(self, at_s: float) -> None:
        """It is now `at_s`."""
        self._now_s = max(self._now_s, at_s)

    def utc(self) -> str:
        """The next second; asked for once an entry."""
        self._entries += 1
        back = timedelta(hours=1 if 0 < self._back_at <= self._entries else 0)
        return utc_text(BEGAN + timedelta(seconds=self._entries) - back)


class ScriptedInbox:
    """The technician's lines, one after the other, each with a sound of its own; a Watcher that tells what happens."""

    def __init__(self, lines: tuple[str, ...], clock: ScriptedClock, shelf: Shelf, tell: Tell) -> None:
        self._lines, self._clock, self._shelf, self._tell = deque(lines), clock, shelf, tell
        self._waiting: deque[Event] = deque()
        self.said: list[Say] = []

    def put(self, event: Event) -> None:
        """An event that is there already."""
        self._waiting.append(event)

    def next_event(self, wake_at_s: float | None) -> Event:
        """What waits, else the time asked for, else the next line."""
        if self._waiting:
            return self._waiting.popleft()
        if wake_at_s is not None:
            self._clock.jump_to(wake_at_s)
            return Tick(wake_at_s)
        if not self._lines:
            return EarsClosed(self._clock.now_s())
        words = self._lines.popleft()
        sound = self._shelf.put_sound(noise(len(self._lines)))
        return Heard(self._clock.now_s(), sound, (take_of_words(words),), dictated=words)

    def event(self, state: State, event: Event) -> None:  # noqa: ARG002 - the protocol's
        """Tell at once what is on disk, and what is not."""
        if isinstance(event, Recorded):
            self._tell({"told": row_of(event.kept)})
        elif isinstance(event, NotRecorded):
            self._tell({"refused": event.why})

    def effect(self, state: State, effect: Effect) -> None:  # noqa: ARG002 - the protocol's
        """Remember what is said."""
        if isinstance(effect, Say):
            self.said.append(effect)


def noise(seed: int) -> Samples:
    """A sound that does not pack well, the same each time."""
    drawn = np.random.default_rng(seed).normal(0, 3000, int(SOUND_S * RATE_HZ))
    return drawn.clip(-32768, 32767).astype(np.int16)


def row_of(kept: Kept) -> list[object]:
    """An entry as it is compared."""
    return [kept.sequence, kept.at, kept.entry.kind, json.loads(json.dumps(kept.entry.body())), kept.clip]


def tell(what: dict[str, Any]) -> None:
    """One line on standard output, past every buffer."""
    os.write(1, (json.dumps(what) + "\n").encode())


def talk(path: Path, clock: ScriptedClock, work: Work | None, lines: tuple[str, ...], tell: Tell) -> list[Say]:
    """Begin the job of `work`, or resume one without it, and say the lines; what was said. Raises as the loop does."""
    shelf = Shelf()
    inbox = ScriptedInbox(lines, clock, shelf, tell)
    job_file, state = open_job(path, work, clock, "scripted") if work else resume_job(path, clock, "scripted")
    with job_file:
        tell({"told": row_of(job_file.entries()[-1])})
        bench = Bench(
            state,
            job_file,
            inbox,
            clock,
            shelf,
            speaker=ScriptedSpeaker(),
            expect=lambda _: None,
            scan=lambda _: inbox.put(Scanned(clock.now_s(), ())),
            watchers=(inbox,),
        )
        bench.run()
    return inbox.said


def _child(order: Order, work: Work, shim: str) -> int:
    """The job, as ordered; the exit status."""
    if order.room:
        resource.setrlimit(resource.RLIMIT_FSIZE, (order.room, order.room))
    if order.user:
        os.setgid(order.user)
        os.setuid(order.user)
    counting = arm(shim, order.stroke, How(order.how)) if shim else None
    try:
        path, clock = Path(order.job), ScriptedClock(0, order.back_at)
        talk(path, clock, None if path.exists() else work, SCRIPTS[order.script].lines, tell)
    except LayupProblem as problem:
        tell({"stopped": str(problem)})
    except Exception as fault:  # what nobody foresaw is what is looked for
        tell({"broke": f"{type(fault).__name__}: {fault}".replace(f"{Path(order.job).parent}/", "")})
        return DIES_QUIETLY
    if counting is not None:
        tell({"strokes": counting.fault_strokes()})
    return 0


def serve(scripts: list[str], shim: str) -> None:
    """Do orders for jobs of these scripts, a JSON object a line, until there are no more. shim: "" none."""
    works = {name: SCRIPTS[name].work() for name in scripts}
    with tempfile.TemporaryDirectory() as folder:  # done once before any fork: all that is loaded when used is loaded
        for name, work in works.items():
            talk(Path(folder) / f"{name}.job", ScriptedClock(0), work, SCRIPTS[name].lines, lambda _: None)
    for line in sys.stdin:
        order = Order(**json.loads(line))
        child = os.fork()
        if child == 0:
            os._exit(_child(order, works[order.script], shim))
        tell({"ended": os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])})


def order_line(order: Order) -> str:
    """An order as the server takes it."""
    return json.dumps(asdict(replace(order, how=int(order.how)))) + "\n"


if __name__ == "__main__":
    serve(sys.argv[2:], sys.argv[1])

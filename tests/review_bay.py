"""For the tests of the pages as they are used: jobs that a real engine kept, a served folder, and Debian's Chromium.

The technician's part is a script: what each of two ears made of an utterance, labels that the eyes read, time that passes.
Everything after the ears is the program's own: engine, asking rule, loop, job file, FLAC, pages, gate, server.
"""

from __future__ import annotations

import io
import socket
import threading
from collections import deque
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import numpy as np
import segno
import uvicorn

from assistant.bench.clock import JumpingClock, WallClock
from assistant.bench.loop import Bench
from assistant.bench.shelf import Shelf
from assistant.bench.starting import open_job
from assistant.core.effects import Scan
from assistant.core.entries import Entry, JobFinished, ReadingKept, StepDone, StepOpened
from assistant.core.events import EarsClosed, Event, Heard, Label, Scanned, Take, Tick
from assistant.devices.protocols import RATE_HZ, Samples
from assistant.devices.voice.scripted_speaker import ScriptedSpeaker
from assistant.files.job_file import JobFile
from assistant.files.keys import Locking
from assistant.files.times import utc_now
from assistant.files.work import DEFAULT_SITE, Work, work_of
from assistant.review.app import build_app
from assistant.review.entrance import GateSettings
from assistant.review.roles import Role
from assistant.review.users import add_user
from tests.conversation import SHORT, take

CHROMIUM = Path("/usr/bin/chromium")
LIGHT = Locking(1, 8192)
NAMES: dict[Role, str] = {"foreman": "Ines Voss", "technician": "Timo Hahl"}
PASSPHRASES: dict[Role, str] = {"foreman": "wet bilge pump", "technician": "dry bilge pump"}

Heard2 = tuple[Take, ...]
Turn = str | Heard2 | Label | float
"""Of a script: words that both ears are sure of, what each ear made of it, a label that is shown, or seconds that pass."""


def both(words: str) -> Heard2:
    """Both ears, sure of it."""
    return (take("vosk", (words, 0.97), gap=0.0), take("whisper", (words, 0.97), fits=-0.1, gap=0.0))


def differ(one: str, other: str) -> Heard2:
    """Whisper is sure of the one, Vosk takes the other for likelier: the one is asked about."""
    heard = take("vosk", (other, 0.92), (one, 0.08), gap=0.0)
    return (heard, take("whisper", (one, 0.985), (other, 0.015), fits=-0.1, gap=0.0))


def voice(number: int, seconds: float = 1.2) -> Samples:
    """A sound of its own for every utterance: a tone."""
    t = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    return (np.sin(2 * np.pi * (220 + 11 * number) * t) * 6000).astype(np.int16)


class Script:
    """An `Inbox`: hands the turns of a script to the loop, each when nothing else is waiting, its sound on the shelf."""

    def __init__(self, turns: list[Turn], shelf: Shelf, clock: JumpingClock, seconds: float) -> None:
        self._turns, self._shelf, self._clock, self._seconds = deque(turns), shelf, clock, seconds
        self._waiting: deque[Event] = deque()
        self._said = 0
        self.shown: deque[Label] = deque()

    def put(self, event: Event) -> None:
        self._waiting.append(event)

    def next_event(self, wake_at_s: float | None) -> Event:
        while not self._waiting:
            if not self._turns:
                return EarsClosed(self._clock.now_s())
            self._next(self._turns.popleft(), wake_at_s)
        return self._waiting.popleft()

    def scan(self, _: Scan) -> None:
        """The eyes: the label that is shown, with a picture of it."""
        label = self.shown.popleft()
        picture = io.BytesIO()
        segno.make(label.text, error="m").save(picture, kind="png", scale=6)
        self.put(Scanned(self._clock.now_s(), (label,), self._shelf.put_picture(picture.getvalue())))

    def _next(self, turn: Turn, wake_at_s: float | None) -> None:
        now = self._clock.now_s()
        if isinstance(turn, float):
            if wake_at_s is not None and wake_at_s <= now + turn:
                self._turns.appendleft(now + turn - wake_at_s)
                self.put(Tick(wake_at_s))
            self._clock.jump_to(min(now + turn, wake_at_s or now + turn))
        elif isinstance(turn, Label):
            self.shown.append(turn)
            self._turns.appendleft("part")
        else:
            takes = both(turn) if isinstance(turn, str) else turn
            self._said += 1
            clip = self._shelf.put_sound(voice(self._said, self._seconds))
            dictated = turn if isinstance(turn, str) else ""
            self.put(Heard(now, clip, takes, dictated))


def do_job(path: Path, work: Work, turns: list[Turn], customer: str = "", seconds: float = 1.2) -> Path:
    """The job, done to the script's end, in a job file at `path`."""
    clock, shelf, speaker = JumpingClock(), Shelf(), ScriptedSpeaker()
    script = Script(turns, shelf, clock, seconds)
    job_file, state = open_job(path, work, clock, "two scripted ears", NAMES["technician"], customer=customer)
    with job_file:
        Bench(
            state, job_file, script, clock, shelf, speaker=speaker, expect=lambda _: None, scan=script.scan
        ).run()  # fmt: skip
    return path


SHORT_TURNS: list[Turn] = [
    "twenty four", "affirm", "roger", "roger", "done", "done", "done", "done",
    "one ninety", differ("one niner zero", "one eighty"), "affirm", "one fifty",
    "finding", "the plug thread of cylinder three is worn", "done",
    "good", "twelve point two", "done",
    Label("EAN-13", "2990001000117"), "unable", "there are no washers",
    "go ahead", 4.0, "twenty four", "done",
]  # fmt: skip
"""The short job: one value kept after the ears differed, two too low, a finding, a part with its picture, a step unable."""


def short_job(path: Path) -> Path:
    return do_job(path, SHORT, SHORT_TURNS, customer="Mara Quill")


BANKS, CYLINDERS = 40, 5
WRONG = (28, 3)
"""Bank and cylinder of the wrong one of two hundred: said one eighty, heard as one ninety by one ear, affirmed unheeded."""


def long_job(path: Path) -> Path:
    """Two hundred values, all within their limits; one was kept in doubt, and is not what was said.

    The engine keeps one bank, with the doubt in it. The others stand in the file as it kept that one's first value: to hear two
    hundred takes half a minute.
    """
    turns: list[Turn] = ["one ninety"] * CYLINDERS
    turns[WRONG[1] - 1 : WRONG[1]] = [differ("one niner zero", "one eighty"), "affirm"]
    one = do_job(path.with_suffix(".one"), _banks(1), turns)
    kept = [entry for entry in entries_of(one) if isinstance(entry, ReadingKept)]
    job_file, _ = open_job(path, _banks(BANKS), WallClock(), "two scripted ears")
    with job_file:
        for bank in range(1, BANKS + 1):
            job_file.append(StepOpened(f"bank_{bank}"), utc_now())
            for entry in kept:
                like = entry if bank == WRONG[0] else replace(kept[0], at=entry.at)
                own = replace(like, step=f"bank_{bank}", name=f"bank_{bank}")
                job_file.append(own, utc_now(), voice(bank, 0.3))
            job_file.append(StepDone(f"bank_{bank}", ()), utc_now())
        job_file.append(JobFinished(BANKS, 0), utc_now())
    one.unlink()
    return path


def _banks(count: int) -> Work:
    steps = "\n".join(
        f"  - {{id: bank_{n}, title: Bank {n}, say: Crank bank {n}., readings: [{{name: bank_{n}, ask: Compression, "
        "unit: psi, plausible: [0, 400], each: cylinder, limits: [{at_least: least}]}]}"
        for n in range(1, count + 1)
    )
    procedure = f"procedure: long\ntitle: Long job\nversion: 1\nfor: test engine\nsteps:\n{steps}\n"
    sheet = (
        "model: Test 200\nfor: test engine\nmanual: test\nentered: {by: Ada Lind, on: 2026-11-25}\n"
        f"counts: {{cylinder: {CYLINDERS}}}\nvalues:\n  least: {{is: 170 psi, page: 1}}\n"
    )
    return work_of(procedure, sheet, DEFAULT_SITE, ("procedure", "sheet", "site"))


@contextmanager
def served(folder: Path, settings: GateSettings, cache: Path) -> Iterator[str]:
    """The pages of a folder by uvicorn on loopback; their address."""
    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        listening.listen()
        port = listening.getsockname()[1]
        app = build_app(folder, replace(settings, port=port), cache)
        server = uvicorn.Server(uvicorn.Config(app, log_level="critical", lifespan="off", timeout_graceful_shutdown=1))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
        thread.start()
        try:
            yield f"http://127.0.0.1:{port}"
        finally:
            server.should_exit = True
            thread.join()


def with_users(path: Path) -> GateSettings:
    """A foreman and a technician, who log in."""
    for role, name in NAMES.items():
        add_user(path, name, role, PASSPHRASES[role], LIGHT)
    return GateSettings(users=path, locking=LIGHT)


def entries_of(path: Path) -> tuple[Entry, ...]:
    """What stands in a job file, in order."""
    with JobFile.open(path, read_only=True) as job_file:
        return tuple(k.entry for k in job_file.entries())

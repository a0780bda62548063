"""The loop with scripted parts and a real job file: what is on disk when something is spoken, and how sessions end."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest

from assistant.bench.clock import JumpingClock, WallClock
from assistant.bench.loop import Bench
from assistant.bench.shelf import MOST_HELD, Shelf
from assistant.bench.starting import open_job, resume_job
from assistant.core.entries import HeardUnclear, JobResumed, ReadingKept, RemarkKept, StepUnable
from assistant.core.events import Candidate, EarsClosed, Event, Heard, Label, Take, Tick
from assistant.core.job import fold
from assistant.core.problems import CallProblem
from assistant.devices.voice.scripted_speaker import ScriptedSpeaker
from assistant.files.job_file import JobFile
from assistant.files.times import utc_text
from assistant.files.verify import verify
from assistant.files.work import DEFAULT_SITE
from tests.conversation import SHORT, take
from tests.scripted_bay import do_short_job, loud, sure

WHOLE = [
    "twenty four", "affirm", "roger", "roger", "done", "done", "done", "done", "one ninety", "one eighty five",
    "one ninety two", "good", "twelve point six", "part", "unable", "there are no washers", "go ahead", "twenty four", "done",
]  # fmt: skip


def test_a_whole_job(tmp_path: Path) -> None:
    """From the first step to the end: it finishes, the file is whole, each heard entry has its sound."""
    done = do_short_job(tmp_path / "short.job", sure(*WHOLE), Label("EAN-13", "2990001000117"), ("no washers",))
    assert done.why == "the job is finished"
    assert done.readings() == [
        ("tools_out", "24"), ("cylinder 1", "190"), ("cylinder 2", "185"), ("cylinder 3", "192"), ("leads", "tight"),
        ("rest", "12.6"), ("tools_back", "24"),
    ]  # fmt: skip
    assert [(x.step, x.reason) for x in done.kept if isinstance(x, StepUnable)] == [("filter", "no washers")]
    assert verify(tmp_path / "short.job").whole
    assert min(done.clip_lengths) >= len(loud())
    assert [number for number, _ in done.said] == list(range(1, len(done.said) + 1))


def test_nothing_is_spoken_as_kept_before_it_is_on_disk(tmp_path: Path) -> None:
    """At every read-back the newest reading on disk, read by another connection, is the one that is spoken."""
    lines = (
        "twenty four",
        "affirm",
        "note",
        "one",
        "roger",
        "roger",
        "correction twenty five",
        "correction twenty six",
    )
    done = do_short_job(tmp_path / "short.job", sure(*lines))
    read_back = [(say, kept) for say, kept in done.watched if say.about == "read back"]
    assert [say.text for say, _ in read_back] == [
        "two four, kept.", "Correction, number, two five, kept.", "Correction, number, two six, kept."
    ]  # fmt: skip
    for spoken, (_, kept) in zip(("24", "25", "26"), read_back, strict=True):
        newest = [k.entry.value for k in kept if isinstance(k.entry, ReadingKept)][-1]
        assert newest == spoken
    notes = [kept for say, kept in done.watched if say.text == "Note kept."]
    assert [any(isinstance(k.entry, RemarkKept) for k in kept) for kept in notes] == [True]


def test_a_job_that_keeps_no_sound(tmp_path: Path) -> None:
    """Such a job keeps every entry and its words, and no sound; resumed, it is still such a job."""
    done = do_short_job(tmp_path / "short.job", sure("twenty four", "affirm", "note", "one"), keeps_sound=False)
    assert done.readings() == [("tools_out", "24")]
    assert done.clip_lengths == []
    assert done.state.job.opened is not None
    job_file, state = resume_job(tmp_path / "short.job", WallClock(), "scripted")
    with job_file:
        assert state.job.opened is not None
        assert not state.job.opened.keeps_sound
    assert (verify(tmp_path / "short.job").whole, verify(tmp_path / "short.job").clips) == (True, 0)


def test_what_is_unclear_is_kept_as_sound(tmp_path: Path) -> None:
    """Off-grammar talk is no reading; its sound and what the ear made of it are on record."""
    done = do_short_job(tmp_path / "short.job", [Take("scripted", (), unknown=True), *sure("what about lunch")])
    assert done.readings() == []
    assert len([x for x in done.kept if isinstance(x, HeardUnclear)]) == 2
    assert len(done.clip_lengths) == 2


def test_a_doubt_is_asked_before_anything_is_kept(tmp_path: Path) -> None:
    """Then *affirm* keeps it with the sound of the first saying."""
    doubt = take("scripted", ("twenty four", 0.6), ("read back", 0.4))
    done = do_short_job(tmp_path / "short.job", [doubt, *sure("affirm")])
    assert done.readings() == [("tools_out", "24")]
    assert next(x for x in done.kept if isinstance(x, ReadingKept)).asked == "affirm"


def test_recordings_that_end_leave_the_job_open(tmp_path: Path) -> None:
    """The program says how to go on, and resume folds the file to the same open step."""
    done = do_short_job(tmp_path / "short.job", sure("twenty four", "affirm"))
    assert "layup resume" in done.why
    job_file, state = resume_job(tmp_path / "short.job", WallClock(), "scripted")
    with job_file:
        assert state.job.step == done.state.job.step == "start"
        assert state.job.conditions == done.state.job.conditions
        assert state.procedure.steps == SHORT.procedure.steps
        assert isinstance(job_file.entries()[-1].entry, JobResumed)


def test_a_job_that_was_never_begun_is_no_job(tmp_path: Path) -> None:
    """An empty file is told from a job, and let go of."""
    JobFile.create(tmp_path / "empty.job").close()
    with pytest.raises(CallProblem, match="never begun"):
        resume_job(tmp_path / "empty.job", WallClock(), "scripted")
    JobFile.open(tmp_path / "empty.job").close()


class Lines:
    """An inbox of events that are there already; before the last the job file's disk may be taken away."""

    def __init__(self, *events: Event, before_last: Callable[[], None] = lambda: None) -> None:
        self._events, self._before_last = list(events), before_last
        self.asked_wakes: list[float | None] = []

    def put(self, event: Event) -> None:
        """What the speaker has done is not looked at."""

    def next_event(self, wake_at_s: float | None) -> Event:
        self.asked_wakes.append(wake_at_s)
        if len(self._events) == 1:
            self._before_last()
        return self._events.pop(0) if self._events else EarsClosed(0.0)


def heard(words: str) -> Heard:
    return Heard(0.0, "", (Take("text", (Candidate(tuple(words.split()), 0.0, 1.0),), certain=True),))


def bench_on(path: Path, inbox: Lines, speaker: ScriptedSpeaker) -> tuple[Bench, JobFile]:
    job_file, state = open_job(path, SHORT, WallClock(), "text")
    clock = JumpingClock()
    shelf = Shelf()
    bench = Bench(state, job_file, inbox, clock, shelf, speaker=speaker, expect=lambda _: None, scan=lambda _: None)
    return bench, job_file


def test_a_disk_that_refuses_is_spoken_and_nothing_is_kept(tmp_path: Path) -> None:
    """SQLite itself refuses (its file may not grow): the value is not spoken as kept, and the job file stays whole."""
    path, speaker = tmp_path / "short.job", ScriptedSpeaker()
    files: list[JobFile] = []

    def no_more_room() -> None:
        pages = files[0]._connection.execute("PRAGMA page_count").fetchone()[0]
        files[0]._connection.execute(f"PRAGMA max_page_count={pages}")

    long_note = "worn " * 4000
    events = (heard("note"), Heard(0.0, "", (), dictated=long_note))
    bench, job_file = bench_on(path, Lines(*events, before_last=no_more_room), speaker)
    files.append(job_file)
    with job_file:
        bench.run()
        kept = job_file.entries()
    assert speaker.said[-1][1] == "Not kept: the disk is full. Make room, then say it again."
    assert not any(isinstance(k.entry, RemarkKept) for k in kept)
    assert bench.state.job == fold(kept)
    assert verify(path).whole


def test_the_loop_asks_to_be_woken_while_it_counts(tmp_path: Path) -> None:
    """A tick is asked for a second after *go ahead* and after each tick, and no more once the count is over."""
    speaker = ScriptedSpeaker()
    to_the_count = ["twenty four", "affirm", "roger", "roger", "done", "done", "done", "done", *["unable", "no"] * 3]
    count = [Tick(1.0), Tick(2.0), Tick(3.0)]
    inbox = Lines(*map(heard, to_the_count), heard("go ahead"), *count, heard("where are we"))
    bench, job_file = bench_on(tmp_path / "short.job", inbox, speaker)
    with job_file:
        bench.run()
    said = [text for _, text in speaker.said]
    assert said[said.index("Now.") : said.index("Counted.")] == ["Now.", "one", "two", "Stop."]
    assert [w for w in inbox.asked_wakes if w is not None] == [1.0, 2.0, 3.0]


def test_the_shelf_lets_old_sounds_go() -> None:
    """It holds what was heard last, and names are never used twice."""
    shelf = Shelf()
    names = [shelf.put_sound(loud()) for _ in range(MOST_HELD + 3)]
    assert len(set(names)) == len(names)
    assert [shelf.sound(n) is None for n in names[:4]] == [True, True, True, False]
    assert shelf.sound("") is None
    assert shelf.picture(shelf.put_picture(b"png")) == b"png"


def test_clocks_agree_on_how_time_is_written() -> None:
    """UTC with milliseconds, as the job file has it; the jumping clock never goes back."""
    east = datetime(2026, 11, 25, 10, 0, 0, 5000, tzinfo=timezone(timedelta(hours=2)))
    assert utc_text(east) == "2026-11-25T08:00:00.005Z"
    clock = JumpingClock()
    clock.jump_to(3.0)
    clock.jump_to(2.0)
    assert clock.now_s() == 3.0
    assert len(clock.utc()) == len(WallClock().utc()) == 24
    assert DEFAULT_SITE.startswith("shop:")

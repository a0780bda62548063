"""The bay board: what it tells of a talk, that a reader sees it whole or not at all, and that the job never suffers from it."""

from __future__ import annotations

import fcntl
import json
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.bench.bay_board import BayBoard, BoardThread
from assistant.bench.clock import JumpingClock, WallClock
from assistant.bench.hearing import Ears, Hearing
from assistant.bench.loop import Bench, Watcher
from assistant.bench.recorded import RecordedInbox
from assistant.bench.shelf import Shelf
from assistant.bench.starting import open_job
from assistant.bench.text_talk import TextTalk
from assistant.cli import main
from assistant.core.effects import Effect, Say
from assistant.core.entries import Kept
from assistant.core.events import Event, Heard, HeardEarly, Label, Scanned, SpeechDone
from assistant.core.state import State
from assistant.devices.endpointing import Endpointer
from assistant.devices.protocols import Speaker
from assistant.devices.recognisers.scripted import ScriptedEar
from assistant.devices.voice.conversation import ConversationTrack
from assistant.devices.voice.scripted_speaker import ScriptedSpeaker
from assistant.files.bay_board import (
    Board,
    BoardReader,
    BoardWriter,
    Saying,
    Step,
    Value,
    board_of,
    board_path,
    board_text,
)
from assistant.files.job_file import JobFile
from assistant.files.verify import verify
from tests.conversation import SHORT, TABLES, TODAY, _opened, take
from tests.scripted_bay import LoudIsSpeech, Speaks, sure
from tests.test_bench_loop import WHOLE
from tests.test_files_disk_trouble import small_disk

WAV = str(TABLES.parents[1] / "demo" / "recordings" / "done.engine18.flac")


class Spoken(TextTalk):
    """A talk in which what is said takes its time: `finish` ends the first that is still being said."""

    def __init__(self, watcher: BayBoard, *first: Watcher) -> None:
        state = State(SHORT.procedure, dict(SHORT.sheet.parts), SHORT.site, TODAY)
        super().__init__(state, _opened(SHORT.procedure), (*first, watcher))
        self.begin()

    def finish(self) -> None:
        """All that was said so far has been said to its end."""
        self.send(SpeechDone(self.now_s, self.state.talk.said))


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return tmp_path / "short.job"


def look(job: Path) -> Board | None:
    """What a reader sees who comes by."""
    with BoardReader(job) as reader:
        return reader.look()


def told(job: Path) -> Board:
    """What stands in the file, and is seen."""
    board = board_of(board_path(job).read_bytes())
    assert look(job) == board
    return board


def test_the_board_follows_the_talk(job: Path) -> None:
    """At each moment: the step and its number, what is said and heard, the value kept last with its verdict, what is wanted."""
    with BayBoard(BoardWriter(job)) as watcher:
        talk = Spoken(watcher)
        first = told(job)
        assert (first.phase, first.step, first.awaited) == ("step", Step(1, 10, "Tools out"), "Number")
        assert (first.saying, first.heard, first.kept) == (Saying("Count the tools.", speaking=True), None, None)
        talk.send(SpeechDone(0.0, 1))
        assert told(job).saying == Saying("Number?", speaking=True)
        talk.finish()
        assert told(job).saying == Saying("Number?", speaking=False)
        moments = [
            ("what about lunch", "step", "", False, None, "Number"),
            (
                "twenty four",
                "condition",
                "twenty four",
                True,
                Value("Number", "", "24", "count", ""),
                "affirm / negative",
            ),
            ("affirm", "caution", "affirm", True, Value("Number", "", "24", "count", ""), "roger"),
        ]
        for words, phase, heard, clear, kept, awaited in moments:
            talk.hear(words)
            now = told(job)
            assert now.heard is not None
            assert (now.phase, now.heard.words, now.heard.clear, now.kept) == (phase, heard, clear, kept)
            assert now.awaited == awaited
        for words in ("roger", "roger", "done", "done", "done", "done", "one ninety"):
            talk.hear(words)
        assert told(job).awaited == "Compression, cylinder 2 (psi)"
        assert told(job).step == Step(6, 10, "Compression")
        talk.hear("one fifty")
        assert told(job).kept == Value("Compression", "cylinder 2", "150", "psi", "low")
        talk.finish()
        talk.hear("limits")
        assert (told(job).saying.text, told(job).saying.speaking) == (talk.said[-1], True)
        talk.send(HeardEarly(0.0, ("stop",)))
        assert told(job).saying == Saying(talk.said[-1], speaking=False)
        assert told(job).heard is not None
        assert told(job).heard.words == "stop"
    assert not board_path(job).exists()


def test_what_each_kind_of_step_waits_for(job: Path) -> None:
    """A remark waits for free words, a part for itself, a count for go ahead, a choice between two for the reading."""
    with BayBoard(BoardWriter(job)) as watcher:
        talk = Spoken(watcher)
        seen = {}
        for words in WHOLE:
            seen[told(job).step.title, told(job).phase] = told(job).awaited
            if words == "part":
                talk.hear(words)
                seen["Filter", "scanning"] = told(job).awaited
                talk.see(Label("EAN-13", "2990001000117"))
                continue
            talk.hear(words)
            talk.wait(4.0 if words == "go ahead" else 0.0)
        seen["", "finished"] = told(job).awaited
        assert told(job).step == Step(0, 10, "")
    wanted = {
        ("Battery", "step"): "Battery (V)",
        ("Filter", "scanning"): "oil filter",
        ("Filter", "remark"): "",
        ("Fogging", "step"): "go ahead",
        ("", "finished"): "",
    }
    assert {place: seen.get(place) for place in wanted} == wanted


def test_a_doubt_between_two_waits_for_the_reading(job: Path) -> None:
    """While the assistant asks which of two, the board names the reading that is in question."""
    with BayBoard(BoardWriter(job)) as watcher:
        talk = Spoken(watcher)
        talk.send(Heard(0.0, "", (take("one", ("twenty four", 0.5), ("twenty five", 0.5)),)))
        assert (told(job).phase, told(job).awaited) == ("question", "Number")


class Looker:
    """A watcher that goes after the board's: what a reader sees when something is said."""

    def __init__(self, reader: BoardReader) -> None:
        self._reader = reader
        self.seen: list[tuple[str, Board | None]] = []

    def event(self, state: State, event: Event) -> None:
        """Not looked at."""

    def effect(self, state: State, effect: Effect) -> None:
        if isinstance(effect, Say):
            self.seen.append((effect.text, self._reader.look()))


def do_job(job: Path, writer: BoardWriter) -> tuple[str, tuple[Kept, ...], Looker]:
    """The short job by the loop itself on a real job file, with a board beside it."""
    heard = sure(*WHOLE)
    clock, shelf = JumpingClock(), Shelf()
    ears = Ears(ScriptedEar(heard), ScriptedEar(heard, ("no washers",)))
    hearing = Hearing(ears, Endpointer(LoudIsSpeech()), shelf, clock.now_s)
    speaker: Speaker = ScriptedSpeaker()
    with BayBoard(writer) as board, BoardReader(job) as reader:
        looker = Looker(reader)
        job_file, state = open_job(job, SHORT, WallClock(), "scripted")
        with job_file:
            inbox = RecordedInbox(Speaks(len(heard)), hearing, clock, ConversationTrack())
            label = Label("EAN-13", "2990001000117")
            bench = Bench(
                state, job_file, inbox, clock, shelf, speaker=speaker, expect=hearing.expect,
                scan=lambda _: inbox.put(Scanned(clock.now_s(), (label,))), watchers=(inbox, board, looker),
            )  # fmt: skip
            return bench.run(), job_file.entries(), looker


class Shows(BoardWriter):
    """Notes what it shows as being said."""

    def __init__(self, job: Path) -> None:
        super().__init__(job)
        self.spoken: list[str] = []

    def show(self, board: Board) -> None:
        if board.saying.speaking:
            self.spoken.append(board.saying.text)
        super().show(board)


def test_the_loop_keeps_the_board(job: Path) -> None:
    """A whole job by the live loop: every text is shown as being said, in its order; afterwards nothing lies there."""
    writer = Shows(job)
    why, _, looker = do_job(job, writer)
    assert why == "the job is finished"
    assert len(looker.seen) > 30
    assert all(board is not None and board.saying.speaking for _, board in looker.seen)
    assert list(dict.fromkeys(writer.spoken)) == list(dict.fromkeys(text for text, _ in looker.seen))
    assert [path.name for path in job.parent.iterdir()] == [job.name]


def _no_disk(job: Path) -> None:
    job.with_name("short.job-bay-new").mkdir()


def _taken(job: Path) -> None:
    board_path(job).mkdir()


@pytest.mark.parametrize("trouble", [_no_disk, _taken])
def test_a_disk_that_refuses_the_board_is_no_matter_for_the_job(job: Path, trouble: Callable[[Path], None]) -> None:
    """The board cannot be written: the job goes to its end as ever, and nobody is told."""
    trouble(job)
    why, kept, looker = do_job(job, BoardWriter(job))
    assert why == "the job is finished"
    assert len(kept) > 20
    assert {board for _, board in looker.seen} == {None}
    assert verify(job).whole


def test_a_full_disk_ends_the_board_alone(tmp_path: Path) -> None:
    """On a disk that is full but for the board that stands there: the next one does not fit, and the old one goes."""
    with small_disk(tmp_path / "disk", 8) as disk:
        job, writer = disk / "short.job", BoardWriter(disk / "short.job")
        writer.show(Board(1, "", 1, "en", "step"))
        assert look(job) is not None
        with (disk / "filler").open("wb", buffering=0) as filler, pytest.raises(OSError, match="No space left"):
            while True:
                filler.write(bytes(4096))
        writer.show(Board(2, "", 1, "en", "step", saying=Saying("x" * 900)))
        assert look(job) is None
        writer.show(Board(3, "", 1, "en", "step"))
        assert [path.name for path in disk.iterdir()] == ["filler"]


class Broken(BoardWriter):
    """A writer with a fault of the program in it."""

    def show(self, board: Board) -> None:
        raise ZeroDivisionError


def test_a_fault_of_the_board_itself_is_no_matter_for_the_job(job: Path) -> None:
    """Whatever is raised while the board is made, the job goes on."""
    why, kept, _ = do_job(job, Broken(job))
    assert (why, len(kept) > 20) == ("the job is finished", True)


class Slow(BoardWriter):
    """A disk that takes its time: each board waits until it is let go on."""

    def __init__(self, job: Path) -> None:
        super().__init__(job)
        self.go_on, self.begun, self.wrote = threading.Semaphore(0), threading.Event(), []

    def show(self, board: Board) -> None:
        self.begun.set()
        assert self.go_on.acquire(timeout=10)
        self.wrote.append(board.sequence)
        super().show(board)


def test_nobody_waits_for_a_slow_disk(job: Path) -> None:
    """While one board is being written ten more come, at once; then the newest of them is, and what came between is not."""
    slow = Slow(job)
    thread = BoardThread(slow)
    thread.show(Board(0, "", 1, "en", "step"))
    assert slow.begun.wait(10)
    for n in range(1, 11):
        thread.show(Board(n, "", 1, "en", "step"))
    assert slow.wrote == []
    slow.go_on.release(2)
    with BoardReader(job) as reader:
        deadline = time.monotonic() + 10
        while (seen := reader.look()) is None or seen.sequence < 10:
            assert time.monotonic() < deadline
    assert slow.wrote == [0, 10]
    thread.close()
    assert list(job.parent.iterdir()) == []
    thread.show(Board(11, "", 1, "en", "step"))
    assert list(job.parent.iterdir()) == []


def test_a_fault_in_the_thread_ends_the_board_alone(job: Path) -> None:
    """The thread ends without a word, and whoever shows more, or closes, is not held up."""
    thread = BoardThread(Broken(job))
    for n in range(3):
        thread.show(Board(n, "", 1, "en", "step"))
    thread.close()


@pytest.mark.speech
def test_run_and_resume_show_themselves(tmp_path: Path) -> None:
    """While `layup run` and `layup resume` work there is a board of their process; afterwards there is none."""
    job, settings = tmp_path / "short.job", tmp_path / "bay.toml"
    settings.write_text("whisper = false\n", encoding="utf-8")
    silent = ["--ears", WAV, "--voice", "silent"]
    short = [str(TABLES / "short.yaml"), "--machine", str(TABLES / "short.sheet.yaml"), "--job", str(job)]
    for call in (["run", *short], ["resume", str(job)]):
        seen: list[Board] = []
        over = threading.Event()
        looker = threading.Thread(target=_look_until, args=(job, over, seen))
        looker.start()
        try:
            assert main(["--settings", str(settings), *call, *silent]) == 0
        finally:
            over.set()
            looker.join()
        assert {(board.pid, board.step.title) for board in seen} == {(os.getpid(), "Tools out")}
        assert [path.name for path in tmp_path.glob("*.job*")] == ["short.job"]


def _look_until(job: Path, over: threading.Event, seen: list[Board]) -> None:
    with BoardReader(job) as reader:
        while not over.wait(0.001):
            board = reader.look()
            if board is not None and board.step.number and board not in seen:
                seen.append(board)


WRITES_THEN_WAITS = """
import sys
from pathlib import Path
from assistant.files.bay_board import Board, BoardWriter
writer = BoardWriter(Path(sys.argv[1]))
writer.show(Board(1, "2026-11-25T10:00:00.000Z", 1, "en", "step"))
print("there", flush=True)
sys.stdin.read()
"""


def test_a_dead_writer_is_known(job: Path) -> None:
    """Killed as a power cut would, its board stays on the disk and no reader takes it for a running job; the next may write."""
    command = [sys.executable, "-c", WRITES_THEN_WAITS, str(job)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == b"there\n"
        reader, other = BoardReader(job), BoardReader(job)
        assert reader.look() == other.look() == reader.look()
        assert reader.look() is not None
        process.send_signal(signal.SIGKILL)
        process.wait()
    assert reader.look() is None
    assert board_path(job).exists()
    again = BoardWriter(job)
    again.show(Board(1, "", os.getpid(), "en", "caution"))
    assert [r.look().phase for r in (reader, other)] == ["caution", "caution"]
    again.close()
    assert (reader.look(), list(job.parent.iterdir())) == (None, [])


def test_who_never_wrote_removes_nothing(job: Path) -> None:
    """A second session that is refused (the job is being done already) leaves the first one's board where it is."""
    writer = BoardWriter(job)
    writer.show(Board(1, "", 1, "en", "step"))
    BoardWriter(job).close()
    assert look(job) is not None


def test_looking_keeps_nobody_from_the_job(job: Path) -> None:
    """A reader never holds the lock of the job: whoever looks, a session can begin."""
    JobFile.create(job).close()
    with JobFile.open(job):
        writer = BoardWriter(job)
        writer.show(Board(1, "", 1, "en", "step"))
    reader = BoardReader(job)
    assert reader.look() is not None
    JobFile.open(job).close()
    with board_path(job).open("rb") as board:  # and the probe of a dead one holds nothing afterwards
        writer.close()
        assert reader.look() is None
        fcntl.flock(board, fcntl.LOCK_EX | fcntl.LOCK_NB)


def test_a_reader_sees_whole_boards_in_order_and_the_last(job: Path) -> None:
    """While a thousand are written as fast as can be: never none, never a part, never back, and the last is seen."""
    writer, reader = BoardWriter(job), BoardReader(job)
    writer.show(Board(0, "", 1, "en", "step"))

    def write() -> None:
        for n in range(1, 1001):
            writer.show(Board(n, "", 1, "en", "step", saying=Saying("x" * (n % 700))))

    thread = threading.Thread(target=write)
    thread.start()
    seen = []
    while thread.is_alive() or not seen or seen[-1] < 1000:
        board = reader.look()
        assert board is not None
        assert len(board.saying.text) == board.sequence % 700
        seen.append(board.sequence)
    thread.join()
    assert seen == sorted(seen)
    assert look(job) == reader.look()


GOOD = json.loads(board_text(Board(7, "2026-11-25T10:00:00.000Z", 4711, "en", "step", Step(1, 10, "Tools out"))))


@pytest.mark.parametrize(
    "text",
    [
        "", "null", "[]", "{", "[" * 60000, '"layup bay board"', json.dumps({**GOOD, "version": 2}),
        json.dumps({**GOOD, "format": "another"}), json.dumps({**GOOD, "pid": True}), json.dumps({**GOOD, "pid": 1.5}),
        json.dumps({**GOOD, "step": None}), json.dumps({**GOOD, "step": ["a"]}), json.dumps({**GOOD, "heard": {}}),
        json.dumps({**GOOD, "kept": {"name": 1}}), json.dumps({**GOOD, "phase": "\ud800"}), json.dumps({"format": "layup"}),
        json.dumps({**GOOD, "awaited": "x" * 70000}), json.dumps({k: v for k, v in GOOD.items() if k != "awaited"}),
    ],
)  # fmt: skip
def test_what_is_no_board_is_none(job: Path, text: str) -> None:
    """A file of another form, too long, cut or hostile is as if there were none; never an error, although its lock is held."""
    with board_path(job).open("w", encoding="utf-8") as file:
        fcntl.flock(file, fcntl.LOCK_EX)
        file.write(json.dumps(GOOD))
        file.flush()
        assert look(job) is not None  # so it is the text alone that makes the difference
        file.seek(0)
        file.truncate()
        file.write(text)
        file.flush()
        assert look(job) is None


def test_a_link_or_a_pipe_is_no_board(job: Path, tmp_path: Path) -> None:
    """They are neither followed nor waited for."""
    (tmp_path / "other").write_text(json.dumps(GOOD), encoding="utf-8")
    with (tmp_path / "other").open("rb") as file:
        fcntl.flock(file, fcntl.LOCK_EX)
        board_path(job).symlink_to(tmp_path / "other")
        assert look(job) is None
    board_path(job).unlink()
    os.mkfifo(board_path(job))
    assert look(job) is None


TEXT = st.text(st.characters(exclude_categories=("Cs",)), max_size=40)


@given(
    st.builds(
        Board,
        st.integers(0, 2**31), TEXT, st.integers(1, 2**22), TEXT, TEXT,
        st.builds(Step, st.integers(0, 99), st.integers(0, 99), TEXT),
        st.builds(Saying, TEXT, st.booleans()),
        st.none(), st.none() | st.builds(Value, TEXT, TEXT, TEXT, TEXT, TEXT), TEXT,
    )
)  # fmt: skip
def test_a_board_is_read_as_it_was_written(board: Board) -> None:
    """Any texts at all, and one JSON object on one line (RFC 8259), by Python's own reader."""
    text = board_text(board)
    assert board_of(text) == board
    assert "\n" not in text
    assert json.loads(text)["step"]["title"] == board.step.title


def test_a_text_without_end_is_cut() -> None:
    """However long a text is, the board stays within what a reader takes."""
    long = "\u00e9" * 100_000
    board = board_of(board_text(Board(1, long, 1, long, long, Step(1, 1, long), Saying(long), None, None, long)))
    assert board.saying.text == long[:1000] + "\u2026"

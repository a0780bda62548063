"""The bay board: what a running job says, hears and waits for just now, in a small file beside it, for a screen to show.

It is no part of the record: nothing is read back from it, and the job goes on without it. One JSON object (UTF-8) in
`NAME.job-bay`, put in the place of the one before in one step (rename, POSIX), and removed when the session ends:

| key | what |
|---|---|
| `format`, `version` | "layup bay board", 1 |
| `sequence` | counts up from 1 in one session |
| `at` | UTC, ISO 8601 with milliseconds |
| `pid` | the process that writes it, for a person to find it |
| `language` | of the texts (a site sheet's code, "en") |
| `phase` | what goes on: one of `assistant.core.state.Phase` |
| `step` | `{"number", "of", "title"}`; number 0: no step is open |
| `saying` | `{"text", "speaking"}`: what is being said, or was said last; "" nothing yet |
| `heard` | `{"words", "clear"}`: the words as they were understood; null: nothing yet |
| `kept` | `{"name", "at", "value", "unit", "verdict"}` of the value kept last, as in its entry; null: none |
| `awaited` | what is waited for, "" nothing |

Whether its writer still lives is asked of the kernel, as for the job file itself (`writer_lock`): the writer holds
`flock` on the file that stands there, from before it stands there; the kernel lets go of it when the process dies,
however it dies. A reader asks for a shared lock, and so gets in nobody's way: the job's own lock, which a reader could keep
a starting session from, is never touched.
"""

from __future__ import annotations

import contextlib
import fcntl
import json
import os
import stat
from dataclasses import asdict, dataclass
from pathlib import Path

END = "-bay"
"""The file is named as the job file, with this behind."""
FORMAT, VERSION = "layup bay board", 1
MOST_BYTES = 65536
"""A longer file is no board (ours are under 1 KiB)."""
MOST_LETTERS = 1000
"""Longer texts are cut: no screen shows more of what is being said (common practice, no source)."""
Json = dict[str, object]


@dataclass(frozen=True)
class Heard:
    """What was heard last. `words` are "" where it was not `clear`, or where only the sound is kept."""

    words: str
    clear: bool


@dataclass(frozen=True)
class Value:
    """The value kept last: its name as it is asked for, its place ("cylinder 2" or ""), and the rest as in its entry."""

    name: str
    at: str
    value: str
    unit: str
    verdict: str


@dataclass(frozen=True)
class Step:
    """The open step: its number from 1, of how many, and its title; number 0 where none is open."""

    number: int = 0
    of: int = 0
    title: str = ""


@dataclass(frozen=True)
class Saying:
    """What is being said now or, where nobody is `speaking`, was said last."""

    text: str = ""
    speaking: bool = False


@dataclass(frozen=True)
class Board:
    """All that the screen shows; the fields are the keys of the file (see above)."""

    sequence: int
    at: str
    pid: int
    language: str
    phase: str
    step: Step = Step()
    saying: Saying = Saying()
    heard: Heard | None = None
    kept: Value | None = None
    awaited: str = ""


def board_path(job: Path) -> Path:
    """Where the board of a job file stands."""
    return job.with_name(job.name + END)


def board_text(board: Board) -> str:
    """The board as its file has it; texts longer than `MOST_LETTERS` are cut."""
    return json.dumps({"format": FORMAT, "version": VERSION, **_cut(asdict(board))}, separators=(",", ":"))


def board_of(text: str | bytes) -> Board:
    """The board that a text says. Raises ValueError for anything that is not of this form; other keys are passed over."""
    try:
        told = json.loads(text)
        if not isinstance(told, dict) or (told["format"], told["version"]) != (FORMAT, VERSION):
            raise ValueError("this is no bay board of version 1")
        heard, kept = told["heard"], told["kept"]
        return Board(
            _int(told, "sequence"),
            _text(told, "at"),
            _int(told, "pid"),
            _text(told, "language"),
            _text(told, "phase"),
            Step(_int(told["step"], "number"), _int(told["step"], "of"), _text(told["step"], "title")),
            Saying(_text(told["saying"], "text"), _flag(told["saying"], "speaking")),
            None if heard is None else Heard(_text(heard, "words"), _flag(heard, "clear")),
            None if kept is None else Value(*(_text(kept, key) for key in ("name", "at", "value", "unit", "verdict"))),
            _text(told, "awaited"),
        )
    except (KeyError, TypeError, RecursionError) as fault:
        raise ValueError(f"this is no bay board: {fault}") from fault


class BoardWriter:
    """Writes the board of one job, for as long as the disk lets it; nothing here ever raises for what a disk does.

    Call from one thread, with the job file open for writing: who holds that may write the board. There is no fsync; still a
    `show` takes 4 ms on ext4 (measured), which writes out a file that replaces another, and lets go of the one before only
    when that is done: so not from the loop's thread.
    """

    def __init__(self, job: Path) -> None:
        self._path = board_path(job)
        self._beside = self._path.with_name(self._path.name + "-new")
        self._descriptor = -1
        self._ended = False

    def show(self, board: Board) -> None:
        """Put it in the place of the one before. A disk that refuses ends the board for this session, and removes it."""
        if self._ended:
            return
        try:
            self._put(board_text(board).encode("utf-8"))
        except OSError:
            self.close()

    def close(self) -> None:
        """The board ends; its file goes, if it is ours."""
        self._ended = True
        if self._descriptor < 0:
            return
        with contextlib.suppress(OSError):
            if os.path.samestat(os.fstat(self._descriptor), self._path.lstat()):
                self._path.unlink()
        with contextlib.suppress(OSError):
            os.close(self._descriptor)
        self._descriptor = -1

    def _put(self, data: bytes) -> None:
        self._beside.unlink(missing_ok=True)  # of a session that was killed between two lines of this
        flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC
        descriptor = os.open(self._beside, flags, 0o644)
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
            if os.write(descriptor, data) != len(data):
                raise OSError("the disk took a part of it")
            self._beside.replace(self._path)
        except OSError:
            os.close(descriptor)
            with contextlib.suppress(OSError):
                self._beside.unlink()
            raise
        before, self._descriptor = self._descriptor, descriptor
        if before >= 0:
            os.close(before)


class BoardReader:
    """Looks at the board of one job again and again; a board that was not replaced costs one `stat` and one `flock`.

    The file that was read last is kept open: so its number on the disk cannot be given to the next one, which would then
    be taken for it.
    """

    def __init__(self, job: Path) -> None:
        self._path = board_path(job)
        self._descriptor = -1
        self._board: Board | None = None

    def look(self) -> Board | None:
        """The board as it is now; None where no running job shows one."""
        while True:
            if not self._is_still_there():
                self._open()
            if self._descriptor < 0:
                return None
            if self._has_writer():
                return self._board
            if self._is_still_there():  # else it was replaced in between, and its lock let go of
                return None

    def __enter__(self) -> BoardReader:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the file."""
        if self._descriptor >= 0:
            os.close(self._descriptor)
        self._descriptor, self._board = -1, None

    def _is_still_there(self) -> bool:
        if self._descriptor < 0:
            return False
        try:
            return os.path.samestat(os.fstat(self._descriptor), self._path.lstat())
        except OSError:
            return False

    def _open(self) -> None:
        """Open and read what stands there now. What is no plain file (a link, a pipe) is not opened, or not waited for."""
        self.close()
        try:
            self._descriptor = os.open(self._path, os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK | os.O_CLOEXEC)
            found = os.fstat(self._descriptor)
            if not stat.S_ISREG(found.st_mode) or found.st_size > MOST_BYTES:
                raise ValueError("this is no bay board")
            self._board = board_of(os.read(self._descriptor, MOST_BYTES))
        except (OSError, ValueError):
            self.close()

    def _has_writer(self) -> bool:
        try:
            fcntl.flock(self._descriptor, fcntl.LOCK_SH | fcntl.LOCK_NB)
        except BlockingIOError:
            return True
        except OSError:
            return False
        fcntl.flock(self._descriptor, fcntl.LOCK_UN)
        return False


def _cut(told: Json) -> Json:
    def short(value: object) -> object:
        if isinstance(value, dict):
            return _cut(value)
        return f"{value[:MOST_LETTERS]}…" if isinstance(value, str) and len(value) > MOST_LETTERS else value

    return {key: short(value) for key, value in told.items()}


def _text(told: Json, key: str) -> str:
    value = told[key]
    if not isinstance(value, str):
        raise ValueError(f"{key} is no text")
    value.encode("utf-8")  # half a surrogate pair is a ValueError here, and nowhere later
    return value


def _int(told: Json, key: str) -> int:
    value = told[key]
    if type(value) is not int:
        raise ValueError(f"{key} is no whole number")
    return value


def _flag(told: Json, key: str) -> bool:
    value = told[key]
    if not isinstance(value, bool):
        raise ValueError(f"{key} is neither true nor false")
    return value

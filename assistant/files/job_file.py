"""The job file: entries and clips are added and read, never changed. The format is written down in JOBFILE.md.

This joins what opens it (`opening`), what writes rows (`writing`) and what reads them (`reading`). `append` returns when
the entry is on disk, not before: what the assistant says is kept, is. Time is what the bay's clock said; the order of
entries is their sequence. A clock that stepped back is kept as it was, neither clamped nor hidden, and shows: `verify` and
the report note it.
"""

from __future__ import annotations

import contextlib
import sqlite3
from pathlib import Path

from assistant.core.entries import Entry, Kept
from assistant.core.problems import CallProblem
from assistant.files import reading, writing
from assistant.files.clips import Samples, picture_clip, samples_of, sound_clip
from assistant.files.keys import SigningKey
from assistant.files.opening import connect_to_read, connect_to_write, disconnect_writer, make, unmake
from assistant.files.writer_lock import WriterLock
from assistant.files.writing import NotKept

__all__ = ["JobFile", "NotKept"]


class JobFile:
    """One job's file. One object writes it at a time, from one thread at a time; any number may read."""

    def __init__(self, path: Path, connection: sqlite3.Connection, lock: WriterLock | None) -> None:
        self.path = path
        self._connection = connection
        self._lock = lock

    @classmethod
    def create(cls, path: Path) -> JobFile:
        """A new, empty job file, open for writing. Raises CallProblem if there is one already or it cannot be made."""
        with contextlib.ExitStack() as undo:
            lock = undo.enter_context(WriterLock(path.resolve()))
            make(path)
            undo.callback(unmake, path)
            connection = connect_to_write(path, "begin the job again: nothing of it was kept")
            undo.pop_all()
        return cls(path, connection, lock)

    @classmethod
    def open(cls, path: Path, read_only: bool = False) -> JobFile:
        """A job file that is there. An older version is read as it is, and brought to this one when it is opened to write.

        Raises CallProblem for none, for something else, for a newer version, and (unless `read_only`) for one that
        another program is writing to; JobFileBroken for a damaged one.
        """
        if read_only:
            return cls(path, connect_to_read(path), None)
        if not path.is_file():
            raise CallProblem("there is no such job file", where=str(path), do="check the name")
        with contextlib.ExitStack() as undo:
            lock = undo.enter_context(WriterLock(path.resolve()))
            connection = connect_to_write(path)
            undo.pop_all()
        return cls(path, connection, lock)

    def append(self, entry: Entry, at: str, clip: Samples | None = None, picture: bytes | None = None) -> Kept:
        """Add an entry, with its sound or its picture. On disk when this returns.

        `at` is UTC as in `AT_FORM`. Raises NotKept where the disk refuses, Doubtful where it can't be told whether it did,
        JobFileBroken where the file is damaged, and ValueError for a time, body, sound or picture of another form, or a
        sound and a picture at once.
        """
        if clip is not None and picture is not None:
            raise ValueError("an entry has a sound or a picture, not both")
        both = sound_clip(clip) if clip is not None else picture_clip(picture) if picture is not None else None
        return writing.append(self._connection, self.path, entry, at, both)

    def sign(self, at: str, who: str, key: SigningKey) -> Kept:
        """Add the entry and the signature by which `who` answers for all entries so far. Raises as `append`."""
        return writing.sign(self._connection, self.path, at, who, key)

    def forget_sound(self, at: str, who: str, why: str) -> Kept | None:
        """Remove every sound, and keep an entry that says so; None where there is none. Raises as `append`."""
        return writing.forget_sound(self._connection, self.path, at, who, why)

    def entries(self) -> tuple[Kept, ...]:
        """Every entry in order. Raises ChainBroken at the first whose hash does not fit, showing both hashes."""
        return reading.entries(self._connection, self.path)

    def sounds(self) -> tuple[str, ...]:
        """The SHA-256 of every sound that is in the file; one that was forgotten is not."""
        return reading.sounds(self._connection, self.path)

    def clip_samples(self, sha256: str) -> Samples:
        """The samples of a kept sound, exactly as they were heard. Raises as `clip_bytes`, ValueError for a picture."""
        return samples_of(self.clip_bytes(sha256))

    def clip_bytes(self, sha256: str) -> bytes:
        """A clip as it is kept: FLAC, PNG or JPEG. Raises KeyError for none of that name, ChainBroken for a changed one."""
        return reading.clip_bytes(self._connection, self.path, sha256)

    def close(self) -> None:
        """Let go of the file."""
        if self._lock is None:
            self._connection.close()
        else:
            disconnect_writer(self._connection)
            self._lock.release()
            self._lock = None

    def __enter__(self) -> JobFile:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

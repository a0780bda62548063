"""The job file: entries and clips are added and read, never changed. The format is written down in JOBFILE.md.

`append` returns when the entry is on disk, not before: what the assistant says is kept, is. Time is what the bay's
clock said; the order of entries is their sequence. A clock that stepped back is kept as it was, neither clamped nor
hidden, and shows: `verify` and the report note it.
"""

from __future__ import annotations

import contextlib
import json
import sqlite3
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

from assistant.core.entries import Entry, Kept, entry_from
from assistant.core.problems import CallProblem, ChainBroken, DeviceTrouble, JobFileBroken
from assistant.files.chain import AT_FORM, NOTHING_BEFORE, Link, canonical, row_sha256, sha256_hex
from assistant.files.clips import Clip, Samples, picture_clip, samples_of, sound_clip
from assistant.files.opening import (
    UNREADABLE,
    WriterLock,
    broken,
    connect_to_read,
    connect_to_write,
    disconnect_writer,
    make,
)

WHY_NOT_KEPT: dict[int, tuple[str, str]] = {
    sqlite3.SQLITE_FULL: ("the disk is full", "make room, then say it again"),
    sqlite3.SQLITE_READONLY: ("the job file may only be read", "check the disk and who may write, then say it again"),
    sqlite3.SQLITE_IOERR: ("the disk does not work as it should", "check the disk, then say it again"),
    sqlite3.SQLITE_BUSY: ("another program holds the job file", "end that program, then say it again"),
    sqlite3.SQLITE_CANTOPEN: ("the job's folder cannot be written", "check the folder, then say it again"),
}
"""What SQLite's primary result codes (https://sqlite.org/rescode.html) mean to a person, and what to do."""

DAMAGED = (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB)


class NotKept(DeviceTrouble):
    """The entry did not get onto the disk. Nothing of it is in the file, which is as it was; it may be tried again."""


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
            connection = connect_to_write(path)
            undo.pop_all()
        return cls(path, connection, lock)

    @classmethod
    def open(cls, path: Path, read_only: bool = False) -> JobFile:
        """A job file that is there.

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

        `at` is UTC as in `AT_FORM`. Raises NotKept where the disk refuses, JobFileBroken where the file is damaged, and
        ValueError for a time, body, sound or picture of another form, or a sound and a picture at once.
        """
        if not AT_FORM.fullmatch(at):
            raise ValueError(f"an entry's time is like 2026-10-14T09:12:03.250Z, not {at!r}")
        datetime.fromisoformat(at)
        if clip is not None and picture is not None:
            raise ValueError("an entry has a sound or a picture, not both")
        bundle = sound_clip(clip) if clip is not None else picture_clip(picture) if picture is not None else None
        with self._transaction():
            return self._add(entry, at, bundle)

    def entries(self) -> tuple[Kept, ...]:
        """Every entry in order. Raises ChainBroken at the first whose hash does not fit, showing both hashes."""
        with self._reading():
            rows = self._connection.execute(
                "SELECT sequence, at, kind, version, body, clip, previous, hash FROM entry ORDER BY sequence"
            ).fetchall()
        head = NOTHING_BEFORE
        kept = []
        for number, (sequence, at, kind, version, text, clip, previous, stored) in enumerate(rows, start=1):
            worked_out = row_sha256(
                sequence=sequence, at=at, kind=kind, version=version, body=text, clip=clip, previous=head
            )
            if sequence != number or previous != head or stored != worked_out:
                raise self._misfit(number, stored, worked_out)
            kept.append(Kept(sequence, at, self._entry(kind, version, text, sequence), clip))
            head = stored
        return tuple(kept)

    def clip_samples(self, sha256: str) -> Samples:
        """The samples of a kept sound, exactly as they were heard. Raises as `clip_bytes`, ValueError for a picture."""
        return samples_of(self.clip_bytes(sha256))

    def clip_bytes(self, sha256: str) -> bytes:
        """A clip as it is kept: FLAC, PNG or JPEG.

        Raises KeyError for none of that name, ChainBroken for one that was changed.
        """
        with self._reading():
            row = self._connection.execute("SELECT data FROM clip WHERE sha256 = ?", (sha256,)).fetchone()
        if row is None:
            raise KeyError(sha256)
        data: bytes = row[0]
        if sha256_hex(data) != sha256:
            raise ChainBroken(f"clip {sha256} was changed: it is now {sha256_hex(data)}", where=str(self.path))
        return data

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

    def _add(self, entry: Entry, at: str, clip: Clip | None) -> Kept:
        row = self._connection.execute("SELECT sequence, hash FROM entry ORDER BY sequence DESC LIMIT 1").fetchone()
        last, head = row if row is not None else (0, NOTHING_BEFORE)
        named = clip.sha256 if clip is not None else ""
        link = Link(last + 1, at, entry.kind, entry.version, entry.body(), named, head)
        if clip is not None:
            self._add_clip(clip)
        self._connection.execute(
            "INSERT INTO entry (sequence, at, kind, version, body, clip, previous, hash) "
            "VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
            (link.sequence, at, link.kind, link.version, canonical(link.body).decode(), named, head, link.sha256()),
        )
        return Kept(link.sequence, at, entry, named)

    def _add_clip(self, clip: Clip) -> None:
        """The same sound may belong to two entries: it is kept once."""
        if self._connection.execute("SELECT 1 FROM clip WHERE sha256 = ?", (clip.sha256,)).fetchone():
            return
        self._connection.execute(
            "INSERT INTO clip (sha256, kind, media_type, samples, data) VALUES (?, ?, ?, ?, ?)",
            (clip.sha256, clip.kind, clip.media_type, clip.samples, clip.data),
        )

    @contextlib.contextmanager
    def _transaction(self) -> Iterator[None]:
        """All that is written inside stands on disk at the end, or nothing does."""
        try:
            self._connection.execute("BEGIN IMMEDIATE")
            yield
            self._connection.execute("COMMIT")
        except sqlite3.Error as fault:
            raise self._not_kept(fault) from fault
        finally:
            if self._connection.in_transaction:
                with contextlib.suppress(sqlite3.Error):  # the first fault is the one to tell
                    self._connection.execute("ROLLBACK")

    @contextlib.contextmanager
    def _reading(self) -> Iterator[None]:
        try:
            yield
        except UNREADABLE as fault:
            raise broken(self.path, str(fault)) from fault

    def _not_kept(self, fault: sqlite3.Error) -> NotKept | JobFileBroken:
        code = getattr(fault, "sqlite_errorcode", 0) & 0xFF  # the primary code is the low byte
        if code in DAMAGED:
            return broken(self.path, str(fault))
        what, do = WHY_NOT_KEPT.get(code, (str(fault), "check the disk, then say it again"))
        return NotKept(f"not kept: {what}", where=str(self.path), do=do)

    def _entry(self, kind: str, version: int, text: str, sequence: int) -> Entry:
        try:
            return entry_from(kind, version, json.loads(text))
        except (ValueError, TypeError) as fault:
            raise CallProblem(str(fault), where=f"{self.path}, entry {sequence}", do="use a newer program") from fault

    def _misfit(self, sequence: int, stored: str, worked_out: str) -> ChainBroken:
        return ChainBroken(
            f"entry {sequence} does not fit the chain: its hash is {stored}, it should be {worked_out}",
            where=str(self.path),
            do="see what `layup verify` says of it; nothing is added to a changed file",
        )

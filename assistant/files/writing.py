"""What is added to a job file: the only module that writes rows. Opening is `opening`, checking is `verify`.

All that one call adds stands on disk when it returns, or nothing does. A commit that fails is not believed blindly: SQLite
may report an error when the transaction is on the disk already (a folder that cannot be synced, say). The file is then
asked; what stands in it is kept, once.
"""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path
from typing import NamedTuple

from assistant.core.entries import AFTERWARDS, Entry, JobOpened, JobResumed, JobSigned, Kept, SoundForgotten
from assistant.core.problems import DeviceTrouble, JobFileBroken
from assistant.files.chain import AT_FORM, NOTHING_BEFORE, Link, canonical
from assistant.files.clips import Clip
from assistant.files.disk_trouble import Trouble, trouble_of
from assistant.files.keys import SigningKey, signed_text
from assistant.files.opening import broken, to_disk
from assistant.files.reading import sounds

DAMAGED = (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB)

AGAIN = "do it again"


class NotKept(DeviceTrouble):
    """The entry did not get onto the disk. Nothing of it is in the file, which is as it was; it may be tried again."""

    exit_status = 2  # nothing is wrong with the job


class Doubtful(DeviceTrouble):
    """The entry stands in the file, but the disk does not confirm it. Nothing may be added before the job is resumed."""

    exit_status = 2


class Added(NamedTuple):
    """An entry that was added, and its hash."""

    kept: Kept
    sha256: str


def append(connection: sqlite3.Connection, path: Path, entry: Entry, at: str, clip: Clip | None = None) -> Kept:
    """Add an entry with its clip. Raises NotKept, Doubtful, JobFileBroken; ValueError for what has no form in the file."""
    _check_time(at)
    if isinstance(entry, JobSigned | SoundForgotten):
        raise ValueError(f"'{entry.kind}' is only kept with what it says: see `sign` and `forget_sound`")
    return _committed(connection, path, lambda: _add(connection, entry, at, clip), _then(path, entry)).kept


def sign(connection: sqlite3.Connection, path: Path, at: str, who: str, key: SigningKey) -> Kept:
    """Add the entry that says who signs, and the signature over its hash, together. Raises as `append`."""
    _check_time(at)

    def write() -> Added:
        added = _add(connection, JobSigned(who, key.public), at, None)
        connection.execute(
            "INSERT INTO signature (entry, hash, key, signature) VALUES (?, ?, ?, ?)",
            (added.kept.sequence, added.sha256, key.public, key.sign(signed_text(added.sha256)).hex()),
        )
        return added

    return _committed(connection, path, write, AGAIN).kept


def forget_sound(connection: sqlite3.Connection, path: Path, at: str, who: str, why: str) -> Kept | None:
    """Remove every sound and add the entry that names them, together; None, and nothing is added, where there is no sound.

    What was removed is overwritten with zeros inside the file, and the file made small again. Raises as `append`.
    """
    _check_time(at)
    names = sounds(connection, path)
    if not names:
        return None

    def write() -> Added:
        connection.execute("PRAGMA secure_delete=ON")
        added = _add(connection, SoundForgotten(names, who, why), at, None)
        connection.execute("DELETE FROM clip WHERE kind = 'sound'")
        return added

    kept = _committed(connection, path, write, AGAIN).kept
    for statement in ("PRAGMA wal_checkpoint(TRUNCATE)", "VACUUM", "PRAGMA wal_checkpoint(TRUNCATE)"):
        with contextlib.suppress(sqlite3.OperationalError):  # no room: the sound is gone all the same
            connection.execute(statement)
    return kept


def _check_time(at: str) -> None:
    if not AT_FORM.fullmatch(at):
        raise ValueError(f"an entry's time is like 2026-10-14T09:12:03.250Z, not {at!r}")
    datetime.fromisoformat(at)


def _then(path: Path, entry: Entry) -> str:
    """What to do when the disk works again: only what came by voice is said again."""
    if isinstance(entry, JobOpened):
        return f"remove {path.name}, in which nothing stands, and begin the job again"
    if isinstance(entry, JobResumed):
        return f"`layup resume {path}` again; all that was told as kept is in the file"
    return AGAIN if isinstance(entry, AFTERWARDS) else "say it again"


def _add(connection: sqlite3.Connection, entry: Entry, at: str, clip: Clip | None) -> Added:
    row = connection.execute("SELECT sequence, hash FROM entry ORDER BY sequence DESC LIMIT 1").fetchone()
    last, head = row if row is not None else (0, NOTHING_BEFORE)
    named = clip.sha256 if clip is not None else ""
    link = Link(last + 1, at, entry.kind, entry.version, entry.body(), named, head)
    if clip is not None:
        _add_clip(connection, clip)
    sha256 = link.sha256()
    connection.execute(
        "INSERT INTO entry (sequence, at, kind, version, body, clip, previous, hash) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
        (link.sequence, at, link.kind, link.version, canonical(link.body).decode(), named, head, sha256),
    )
    return Added(Kept(link.sequence, at, entry, named), sha256)


def _add_clip(connection: sqlite3.Connection, clip: Clip) -> None:
    """The same sound may belong to two entries: it is kept once."""
    if connection.execute("SELECT 1 FROM clip WHERE sha256 = ?", (clip.sha256,)).fetchone():
        return
    connection.execute(
        "INSERT INTO clip (sha256, kind, media_type, samples, data) VALUES (?, ?, ?, ?, ?)",
        (clip.sha256, clip.kind, clip.media_type, clip.samples, clip.data),
    )


def _committed(connection: sqlite3.Connection, path: Path, write: Callable[[], Added], then: str) -> Added:
    """What `write` adds, in one transaction, on disk. Raises NotKept where it is not in the file, Doubtful where it may be.

    then: what to do when the disk works again.
    """
    added: Added | None = None
    try:
        with _transaction(connection, path, then):
            added = write()
    except NotKept as fault:
        if added is None or not _stands(connection, added, fault):
            raise
        _settle(connection, path, added, fault)
    assert added is not None
    return added


def _stands(connection: sqlite3.Connection, added: Added, fault: NotKept) -> bool:
    """The entry is in the file, although its commit failed."""
    place = (added.kept.sequence, added.sha256)
    try:
        return connection.execute("SELECT 1 FROM entry WHERE sequence = ? AND hash = ?", place).fetchone() is not None
    except sqlite3.Error:
        raise _doubtful(fault, added) from fault


def _settle(connection: sqlite3.Connection, path: Path, added: Added, fault: NotKept) -> None:
    """Have the disk confirm what it did not at first."""
    try:
        connection.execute("PRAGMA wal_checkpoint(FULL)")
        to_disk(path.resolve().parent)
    except (sqlite3.Error, OSError):
        raise _doubtful(fault, added) from fault


def _doubtful(fault: NotKept, added: Added) -> Doubtful:
    what = (
        f"the disk does not say whether entry {added.kept.sequence} is kept ({fault.what.removeprefix('not kept: ')})"
    )
    return Doubtful(what, where=fault.where, do="check the disk, then `layup resume`: it says what is kept")


@contextlib.contextmanager
def _transaction(connection: sqlite3.Connection, path: Path, then: str) -> Iterator[None]:
    """All that is written inside stands on disk at the end, or nothing does."""
    try:
        connection.execute("BEGIN IMMEDIATE")
        yield
        connection.execute("COMMIT")
    except sqlite3.Error as fault:
        raise _not_kept(fault, path, then) from fault
    finally:
        if connection.in_transaction:
            with contextlib.suppress(sqlite3.Error):  # the first fault is the one to tell
                connection.execute("ROLLBACK")


def _not_kept(fault: sqlite3.Error, path: Path, then: str) -> NotKept | JobFileBroken:
    if getattr(fault, "sqlite_errorcode", 0) & 0xFF in DAMAGED:  # the primary code is the low byte
        return broken(path, str(fault))
    trouble = trouble_of(fault) or Trouble(str(fault), "check the disk")
    return NotKept(f"not kept: {trouble.what}", where=str(path), do=f"{trouble.remedy}, then {then}")

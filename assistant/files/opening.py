"""How a job file is made and opened: its settings, and what is refused. Its tables: `schema`.

Settings, and why:
- `journal_mode=WAL` while a job is open: an append is one sync of one file (about 4 ms where a rollback journal takes
  16 to 20), and readers are never kept out. What is newest stands in `NAME.job-wal`; every 64 pages it moves into the
  job file.
- `journal_mode=DELETE` when it is closed: then all there is stands in the one file, which can be copied, mailed and
  read from a read-only medium. A file that is still marked WAL without its `-wal` beside it was copied while the job
  was open, and may lack its newest entries: `verify` notes that.
- `synchronous=EXTRA`: each commit is synced (as with FULL); and where a disk cannot do WAL, the folder is synced too
  after the rollback journal is deleted, without which a power cut can take a commit back
  (https://sqlite.org/pragma.html#pragma_synchronous).
- Readers may read at any time (the foreman's pages, a copy). Only one process may write: `writer_lock`.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import sqlite3
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Literal

from assistant.core.problems import CallProblem, JobFileBroken
from assistant.files.disk_trouble import trouble_of
from assistant.files.schema import APPLICATION_ID, VERSION, fill, upgrade

CHECKPOINT_PAGES = 64
"""How much may stand in the `-wal` file before it moves into the job file (256 KiB)."""

BUSY_S = 5.0
"""How long one side waits for the other's read or write to end."""

UNREADABLE = (sqlite3.DatabaseError, UnicodeDecodeError)
"""What reading a damaged file raises; the second where SQLite's own message quotes damaged text."""

Guard = Callable[[sqlite3.Connection], None]


def _unguarded(_: sqlite3.Connection) -> None:
    return


def make(path: Path) -> None:
    """Make an empty job file, whole or not at all. Call with the writer's lock held. Raises CallProblem."""
    if path.exists():
        raise CallProblem("there is a file of that name already", where=str(path), do="name another, or resume it")
    begun = path.with_name(path.name + "-new")
    try:
        begun.unlink(missing_ok=True)
        _made(begun)
        begun.rename(path)
        to_disk(path.parent)
    except (OSError, sqlite3.Error) as fault:
        with contextlib.suppress(OSError):  # the first fault is the one to tell; the next try removes what lies there
            begun.unlink()
        raise unusable(path, fault, "cannot be made", "do it again") from fault


def unmake(path: Path) -> None:
    """Remove a job file that was just made and has nothing in it, as far as the disk lets us."""
    for end in ("", "-wal", "-shm"):
        with contextlib.suppress(OSError):
            path.with_name(path.name + end).unlink()


def connect_to_write(path: Path, then: str = "") -> sqlite3.Connection:
    """A connection for the one writer; an older version is brought to this one. Raises CallProblem or JobFileBroken.

    then: what to do when the disk works again; "" for a job that was begun before.
    """
    then = then or f"do it again (the work: `layup resume {path}`); all that was told as kept is in the file"
    if not os.access(path, os.W_OK):
        raise CallProblem("cannot be written", where=str(path), do="check who may write it")
    connection = _checked(_connect(path, "rw"), path)
    try:
        connection.execute("PRAGMA synchronous=EXTRA")
        connection.execute("PRAGMA journal_mode=WAL")
        connection.execute(f"PRAGMA wal_autocheckpoint={CHECKPOINT_PAGES}")
        connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()  # makes the `-wal` file, for readers to see
        upgrade(connection)
    except (ValueError, *UNREADABLE) as fault:
        connection.close()
        raise unusable(path, fault, "cannot be opened to write", then) from fault
    return connection


def connect_to_read(path: Path, guard: Guard = _unguarded) -> sqlite3.Connection:
    """A connection that changes nothing on disk. Raises CallProblem or JobFileBroken.

    SQLite must write to read where a write was cut off, and makes files beside one that is marked WAL and has none:
    then a copy of the file and what stands beside it is read instead, in memory. `guard` is called with a connection before
    anything is read by it: it may set limits and a progress handler.
    """
    if lacks(path, "-shm"):
        return _checked(_settled_copy(path, guard), path)
    connection = _connect(path, "ro")
    guard(connection)
    try:
        connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()
    except sqlite3.OperationalError as fault:
        connection.close()
        if getattr(fault, "sqlite_errorcode", 0) == sqlite3.SQLITE_INTERRUPT:
            do = "see what `layup verify` says of it"
            raise CallProblem("it takes longer to open than it may", where=str(path), do=do) from fault
        connection = _settled_copy(path, guard)
    except UNREADABLE:
        pass  # `_checked`, or the first who reads it, says what it is
    return _checked(connection, path)


def disconnect_writer(connection: sqlite3.Connection) -> None:
    """Close up: everything into the one file.

    Where a reader, the disk or damage is in the way the `-wal` file stays, and belongs to the job.
    """
    with contextlib.suppress(sqlite3.DatabaseError):
        connection.execute("PRAGMA journal_mode=DELETE")
    connection.close()


def lacks(path: Path, end: Literal["-wal", "-shm"]) -> bool:
    """The job file is marked WAL (bytes 18 and 19 are 2) but its file of that ending is not beside it.

    Without its `-wal` it was taken away from an open job. Raises CallProblem where it cannot be read.
    """
    if not path.is_file():
        return False
    try:
        with path.open("rb") as file:
            marks = file.read(20)[18:]
    except OSError as fault:
        raise unusable(path, fault) from fault
    return marks == b"\x02\x02" and not _is_there(path.with_name(path.name + end))


def _is_there(path: Path) -> bool:
    """False also for a name that is too long to be one."""
    try:
        return path.exists()
    except OSError:
        return False


def unusable(
    path: Path, fault: Exception, what: str = "cannot be read", then: str = "try again"
) -> CallProblem | JobFileBroken:
    """What this error means: damage only where it is no trouble of the disk. then: what to do when that works again."""
    trouble = trouble_of(fault)
    if trouble is None:
        return broken(path, str(fault))
    return CallProblem(f"{what}: {trouble.what}", where=str(path), do=f"{trouble.remedy}, then {then}")


def broken(path: Path, what: str) -> JobFileBroken:
    """The file is damaged: `what` SQLite says of it."""
    return JobFileBroken(f"the job file is damaged: {what}", where=str(path), do="see what `layup verify` says of it")


def _connect(path: Path, mode: str) -> sqlite3.Connection:
    if not path.is_file():
        raise CallProblem("there is no such job file", where=str(path), do="check the name")
    try:
        connection = sqlite3.connect(
            f"{path.resolve().as_uri()}?mode={mode}",
            uri=True,
            isolation_level=None,
            timeout=BUSY_S,
            check_same_thread=False,
        )
    except sqlite3.OperationalError as fault:
        raise unusable(path, fault, "cannot be opened") from fault
    connection.execute("PRAGMA trusted_schema=OFF")
    connection.execute("PRAGMA cell_size_check=ON")
    return connection


def _checked(connection: sqlite3.Connection, path: Path) -> sqlite3.Connection:
    """The same connection, if it is to a job file that this program can read."""
    try:
        [application] = connection.execute("PRAGMA application_id").fetchone()
        [version] = connection.execute("PRAGMA user_version").fetchone()
    except UNREADABLE as fault:
        connection.close()
        if getattr(fault, "sqlite_errorcode", 0) == sqlite3.SQLITE_NOTADB:
            raise no_job_file(path) from fault
        raise unusable(path, fault) from fault
    if application == APPLICATION_ID and 1 <= version <= VERSION:
        return connection
    connection.close()
    if application != APPLICATION_ID or version < 1:
        raise no_job_file(path)
    raise CallProblem(
        f"this job file is of version {version}; this program reads up to version {VERSION}",
        where=str(path),
        do="use a newer program",
    )


def no_job_file(path: Path) -> CallProblem:
    """The file is something else."""
    return CallProblem("this is no job file", where=str(path), do="name a file that `layup run` made")


def _made(path: Path) -> None:
    connection = sqlite3.connect(path, isolation_level=None)
    try:
        connection.execute("PRAGMA synchronous=EXTRA")
        fill(connection)
    finally:
        connection.close()


def to_disk(path: Path) -> None:
    """Wait until a file, or the list of what is in a folder, is on the disk itself (fsync of POSIX)."""
    descriptor = os.open(path, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def _settled_copy(path: Path, guard: Guard) -> sqlite3.Connection:
    memory = sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False)
    guard(memory)
    try:
        with tempfile.TemporaryDirectory() as folder:
            copy = Path(folder) / "copy.job"
            for end in ("", "-wal", "-journal"):
                with contextlib.suppress(FileNotFoundError):
                    shutil.copyfile(path.with_name(path.name + end), copy.with_name(copy.name + end))
            with contextlib.closing(sqlite3.connect(copy)) as on_disk:
                on_disk.backup(memory)
    except (OSError, *UNREADABLE) as fault:
        memory.close()
        raise unusable(path, fault, "cannot be read by way of a copy in the folder for temporary files") from fault
    return memory

"""Job files as the pages read them: whatever lies in the folder may have been copied there by anybody.

A file is read only if its tables are just those of the format (no view, trigger or index that would run), under limits of
size, length and time; what does not fit is a LayupProblem in words. Hashes are checked as by every reader: a changed file is
told, not shown as if it were whole. The types of what an entry holds are the reader's business (`core.entries.shape`).
"""

from __future__ import annotations

import sqlite3
import stat
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

from assistant.core.entries import JobOpened, Kept, SoundForgotten
from assistant.core.problems import CallProblem, JobFileBroken
from assistant.files import reading
from assistant.files.opening import UNREADABLE, connect_to_read, lacks, unusable
from assistant.files.schema import rules_in, rules_of
from assistant.files.signature_check import signatures_in
from assistant.files.verdict import Fault, Signed
from assistant.reports.embedded import media_type_of

MOST_BYTES = 2 * 1024**3
"""A job of 300 sounds takes 11 MB; one of a whole week with pictures some hundred."""
MOST_COPIED_BYTES = 512 * 1024**2
"""Of a file that must be copied to be read: it was taken away from an open job (`connect_to_read`)."""
MOST_ENTRIES = 10_000
"""A season's job has some hundred."""
MOST_SIGNATURES = 100
"""A job is signed once, or once more after each amendment; each takes 0.1 ms to check."""
MOST_TEXT_BYTES = 24 * 1024**2
"""All bodies together; 5,000 entries have 3 MB."""
LONGEST_FIELD_BYTES = 32 * 1024**2
"""One clip or one body; SQLite refuses more (sqlite3_limit, SQLITE_LIMIT_LENGTH)."""
LONGEST_BODY_BYTES = 32 * 1024
"""The longest thing that is said is a dictated remark of a minute; that is typed, 2,000 characters."""
LONGEST_FIRST_BYTES = 512 * 1024
"""Of the first entry, which has the job's texts: the longest procedure that travels with the program has 46 KB."""
LONG_KINDS = (JobOpened.kind, SoundForgotten.kind)
"""The second names every sound by its hash."""
MOST_SECONDS = 1.5
"""Of one thread's own time (a slow disk is not the file's fault)."""
STEPS_A_LOOK = 1000
"""SQLite's instructions between two looks at the clock."""
BESIDE = ("-wal", "-shm", "-journal")


@dataclass(frozen=True)
class Clip:
    """A sound or a picture, and its media type by what it begins with (never by what the file says of it)."""

    data: bytes
    media_type: str


@dataclass(frozen=True)
class Record:
    """What stands in a job file: every entry, its signatures where all fit, the first `misfit` where one does not, and the
    names of the clips that are in it still."""

    kept: tuple[Kept, ...]
    signed: tuple[Signed, ...] = ()
    misfit: Fault | None = None
    clips: frozenset[str] = frozenset()


def record_in(path: Path) -> Record:
    """All of the file but what its clips hold. Raises as `entries_in`."""
    with _opened(path) as connection:
        kept = reading.entries(connection, path)
        clips = reading.clips(connection, path)
        connection.text_factory = bytes
        return Record(kept, *signatures_in(connection, len(kept)), clips)


def entries_in(path: Path) -> tuple[Kept, ...]:
    """Every entry of the file. Raises CallProblem or JobFileBroken, saying what is wrong with it."""
    with _opened(path) as connection:
        return reading.entries(connection, path)


def hashed_so(path: Path, begins: str) -> int:
    """The first entry whose hash begins so, 0 where none does. Raises as `entries_in`."""
    with _opened(path) as connection:
        return next((row.sequence for row in reading.rows(connection, path) if row.sha256.startswith(begins)), 0)


def clip_in(path: Path, sha256: str) -> Clip:
    """A clip of the file. Raises KeyError where it has none of that name, JobFileBroken for one that is changed or odd."""
    with _opened(path) as connection:
        data = reading.clip_bytes(connection, path, sha256)
    media_type = media_type_of(data)
    if not media_type:
        raise JobFileBroken("its clip is neither sound nor picture", where=str(path), do="see what `layup verify` says")
    return Clip(data, media_type)


def refuse_odd(path: Path) -> None:
    """Before anything is added to a file: raises as `entries_in` where its tables are not a job file's, or it is too large."""
    with _opened(path):
        return


@contextmanager
def _opened(path: Path) -> Iterator[sqlite3.Connection]:
    size = _size(path) + sum(_size(path.with_name(path.name + end), needed=False) for end in BESIDE)
    if size > MOST_BYTES:
        raise _too_much(path, f"it has {size:,} bytes")
    if lacks(path, "-shm") and size > MOST_COPIED_BYTES:
        raise _too_much(path, f"it was copied from an open job, and has {size:,} bytes")
    until = time.thread_time() + MOST_SECONDS

    def guard(connection: sqlite3.Connection) -> None:
        connection.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, LONGEST_FIELD_BYTES)
        connection.set_progress_handler(lambda: time.thread_time() > until, STEPS_A_LOOK)

    with closing(connect_to_read(path, guard)) as connection:
        try:
            _check(connection, path)
            yield connection
        except (OverflowError, RecursionError, MemoryError, *UNREADABLE) as fault:
            raise _too_much(path, f"it cannot be read within the limits: {fault}") from fault


def _size(path: Path, *, needed: bool = True) -> int:
    """Of a regular file. What SQLite reads beside the job must be one too: a link may lead anywhere, a pipe never ends."""
    try:
        found = path.lstat()
    except OSError as fault:
        if not needed:
            return 0
        raise unusable(path, fault) from fault
    if not stat.S_ISREG(found.st_mode):
        what = f"the pages do not read it: {path.name} is no plain file"
        raise CallProblem(what, where=str(path), do="see who put it there")
    return found.st_size


def _check(connection: sqlite3.Connection, path: Path) -> None:
    """The tables are those of the format, and not too much stands in them."""
    [version] = connection.execute("PRAGMA user_version").fetchone()
    if rules_in(connection) != rules_of(version):
        raise JobFileBroken(
            "its tables are not those of a job file: it is not read",
            where=str(path),
            do="see what `layup verify` says of it, and who put it here",
        )
    if version > 1:
        [signatures] = connection.execute("SELECT count(*) FROM signature").fetchone()
        if signatures > MOST_SIGNATURES:
            raise _too_much(path, f"it has {signatures:,} signatures")
    count, whole, first, longest = connection.execute(
        "SELECT count(*), total(bytes), max(iif(kind IN (?, ?), bytes, 0)), max(iif(kind IN (?, ?), 0, bytes)) "
        "FROM (SELECT kind, length(CAST(body AS BLOB)) + length(CAST(at AS BLOB)) AS bytes FROM entry)",
        (*LONG_KINDS, *LONG_KINDS),
    ).fetchone()
    if count > MOST_ENTRIES:
        raise _too_much(path, f"it has {count:,} entries")
    if whole > MOST_TEXT_BYTES:
        raise _too_much(path, f"its entries have {whole:,.0f} bytes")
    if (longest or 0) > LONGEST_BODY_BYTES or (first or 0) > LONGEST_FIRST_BYTES:
        raise _too_much(path, f"an entry has {max(longest, first):,} bytes")


def _too_much(path: Path, what: str) -> CallProblem:
    return CallProblem(f"the pages do not show this file: {what}", where=str(path), do="use `layup report`")

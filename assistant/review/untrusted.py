"""Job files as the pages read them: whatever lies in the folder may have been copied there by anybody.

A file is read only if its tables are just those of the format (no view, trigger or index that would run), under limits of
size, length and time; what does not fit is a LayupProblem in words. Hashes are checked as by every reader: a changed file is
told, not shown as if it were whole.
"""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

from assistant.core.entries import Kept
from assistant.core.problems import CallProblem, JobFileBroken
from assistant.files import reading
from assistant.files.opening import UNREADABLE, connect_to_read, unusable
from assistant.files.schema import rules_in, rules_of

MOST_BYTES = 2 * 1024**3
"""A job of 300 sounds takes 11 MB; one of a whole week with pictures some hundred."""
MOST_ENTRIES = 100_000
LONGEST_FIELD_BYTES = 32 * 1024**2
"""One clip or one body; SQLite refuses more (sqlite3_limit, SQLITE_LIMIT_LENGTH)."""
LONGEST_BODY_CHARACTERS = 4_000_000
MOST_SECONDS = 10.0
STEPS_A_LOOK = 100_000
"""SQLite's instructions between two looks at the clock."""
CLIP_TYPES: dict[bytes, str] = {
    b"fLaC": "audio/flac",
    b"\x89PNG\r\n\x1a\n": "image/png",
    b"\xff\xd8\xff": "image/jpeg",
}
"""What a clip may be, by its first bytes (FLAC: RFC 9639, 6; PNG: ISO/IEC 15948, 5.2; JPEG: ISO/IEC 10918-1, B.1.1.3)."""


@dataclass(frozen=True)
class Clip:
    """A sound or a picture, and its media type by what it begins with (never by what the file says of it)."""

    data: bytes
    media_type: str


def entries_in(path: Path) -> tuple[Kept, ...]:
    """Every entry of the file. Raises CallProblem or JobFileBroken, saying what is wrong with it."""
    with _opened(path) as connection:
        return reading.entries(connection, path)


def clip_in(path: Path, sha256: str) -> Clip:
    """A clip of the file. Raises KeyError where it has none of that name, JobFileBroken for one that is changed or odd."""
    with _opened(path) as connection:
        data = reading.clip_bytes(connection, path, sha256)
    media_type = next((found for begin, found in CLIP_TYPES.items() if data.startswith(begin)), "")
    if not media_type:
        raise JobFileBroken("its clip is neither sound nor picture", where=str(path), do="see what `layup verify` says")
    return Clip(data, media_type)


@contextmanager
def _opened(path: Path) -> Iterator[sqlite3.Connection]:
    try:
        size = path.stat().st_size
    except OSError as fault:
        raise unusable(path, fault) from fault
    if size > MOST_BYTES:
        raise _too_much(path, f"it has {size:,} bytes")
    with closing(connect_to_read(path)) as connection:
        connection.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, LONGEST_FIELD_BYTES)
        until = time.monotonic() + MOST_SECONDS
        connection.set_progress_handler(lambda: time.monotonic() > until, STEPS_A_LOOK)
        try:
            _check(connection, path)
            yield connection
        except (OverflowError, RecursionError, MemoryError, *UNREADABLE) as fault:
            raise _too_much(path, f"it cannot be read within the limits: {fault}") from fault


def _check(connection: sqlite3.Connection, path: Path) -> None:
    """The tables are those of the format, and not too much stands in them."""
    [version] = connection.execute("PRAGMA user_version").fetchone()
    if rules_in(connection) != rules_of(version):
        raise JobFileBroken(
            "its tables are not those of a job file: it is not read",
            where=str(path),
            do="see what `layup verify` says of it, and who put it here",
        )
    [count, longest] = connection.execute("SELECT count(*), coalesce(max(length(body)), 0) FROM entry").fetchone()
    if count > MOST_ENTRIES:
        raise _too_much(path, f"it has {count:,} entries")
    if longest > LONGEST_BODY_CHARACTERS:
        raise _too_much(path, f"an entry has {longest:,} characters")


def _too_much(path: Path, what: str) -> CallProblem:
    return CallProblem(f"the pages do not show this file: {what}", where=str(path), do="use `layup report`")

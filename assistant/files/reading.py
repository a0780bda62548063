"""What stands in a job file, read back: the only module that makes entries of rows. No hash is trusted unchecked."""

from __future__ import annotations

import contextlib
import json
import re
import sqlite3
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import NamedTuple

from assistant.core.entries import Entry, Kept, entry_from
from assistant.core.problems import CallProblem, ChainBroken, JobFileBroken
from assistant.files.chain import AT_FORM, NOTHING_BEFORE, row_sha256, sha256_hex
from assistant.files.opening import UNREADABLE, unusable

CLIP_FORM = re.compile(r"(?:[0-9a-f]{64})?", re.ASCII)


class Row(NamedTuple):
    """An entry as it stands in the file; `body` is JSON."""

    sequence: int
    at: str
    kind: str
    version: int
    body: str
    clip: str
    previous: str
    sha256: str


class Signature(NamedTuple):
    """A signature as it stands in the file: over the hash of an entry `job signed`. All but `entry` in small hex."""

    entry: int
    sha256: str
    key: str
    signature: str


def entries(connection: sqlite3.Connection, path: Path) -> tuple[Kept, ...]:
    """Every entry in order, older versions read as this program's. Raises as `rows`; CallProblem for a newer kind."""
    return tuple(Kept(row.sequence, row.at, _entry(row, path), row.clip) for row in rows(connection, path))


def rows(connection: sqlite3.Connection, path: Path) -> Iterator[Row]:
    """Every entry's row. Raises ChainBroken at the first whose hash does not fit, JobFileBroken where SQLite can't read."""
    with _readable(path):
        found = connection.execute(
            "SELECT sequence, at, kind, version, body, clip, previous, hash FROM entry ORDER BY sequence"
        ).fetchall()
    head = NOTHING_BEFORE
    for number, (sequence, at, kind, version, body, clip, previous, sha256) in enumerate(found, start=1):
        worked_out = row_sha256(
            sequence=sequence, at=at, kind=kind, version=version, body=body, clip=clip, previous=head
        )
        if sequence != number or previous != head or sha256 != worked_out:
            raise _misfit(path, number, sha256, worked_out)
        yield Row(sequence, at, kind, version, body, clip, previous, sha256)
        head = sha256


def clip_bytes(connection: sqlite3.Connection, path: Path, sha256: str) -> bytes:
    """A clip as it is kept: FLAC, PNG or JPEG.

    Raises KeyError for none of that name (it may have been forgotten), ChainBroken for one that was changed.
    """
    with _readable(path):
        row = connection.execute("SELECT data FROM clip WHERE sha256 = ?", (sha256,)).fetchone()
    if row is None:
        raise KeyError(sha256)
    data: bytes = row[0]
    if sha256_hex(data) != sha256:
        raise ChainBroken(f"clip {sha256} was changed: it is now {sha256_hex(data)}", where=str(path))
    return data


def sounds(connection: sqlite3.Connection, path: Path) -> tuple[str, ...]:
    """The SHA-256 of every sound that is in the file, in order."""
    with _readable(path):
        return tuple(
            name for [name] in connection.execute("SELECT sha256 FROM clip WHERE kind = 'sound' ORDER BY sha256")
        )


def clips(connection: sqlite3.Connection, path: Path) -> frozenset[str]:
    """The SHA-256 of every clip that is in the file. Of the index alone: no clip is read."""
    with _readable(path):
        return frozenset(name for [name] in connection.execute("SELECT sha256 FROM clip"))


def signatures(connection: sqlite3.Connection, path: Path) -> tuple[Signature, ...]:
    """The signatures, unchecked, in order; none in a file of version 1."""
    with _readable(path):
        [version] = connection.execute("PRAGMA user_version").fetchone()
        if version == 1:
            return ()
        found = connection.execute("SELECT entry, hash, key, signature FROM signature ORDER BY entry").fetchall()
    return tuple(map(Signature._make, found))


def _entry(row: Row, path: Path) -> Entry:
    where = f"{path}, entry {row.sequence}"
    if not _has_form(row):
        do = "see what `layup verify` says of it: no program of ours wrote that"
        raise JobFileBroken("the entry has a time, or a clip's name, that is none", where=where, do=do)
    try:
        return entry_from(row.kind, row.version, json.loads(row.body))
    except (ValueError, RecursionError) as fault:
        raise CallProblem(str(fault), where=where, do="use a newer program") from fault


def _has_form(row: Row) -> bool:
    """Its columns hold what they should, its time is one, and its clip a hash: a chain can be made to fit over anything."""
    if type(row.sequence) is not int or type(row.version) is not int or type(row.body) is not str:
        return False
    try:
        return bool(AT_FORM.fullmatch(row.at) and datetime.fromisoformat(row.at) and CLIP_FORM.fullmatch(row.clip))
    except (ValueError, TypeError):
        return False


@contextlib.contextmanager
def _readable(path: Path) -> Iterator[None]:
    try:
        yield
    except UNREADABLE as fault:
        raise unusable(path, fault) from fault


def _misfit(path: Path, sequence: int, stored: str, worked_out: str) -> ChainBroken:
    return ChainBroken(
        f"entry {sequence} does not fit the chain: its hash is {stored}, it should be {worked_out}",
        where=str(path),
        do="see what `layup verify` says of it; nothing is added to a changed file",
    )

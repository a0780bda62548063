"""Is this job file whole and unchanged, and if not, which entry is the first that does not fit, and how.

This reads the file on its own: plain sqlite3 and hashlib on the bytes as they stand, and the hashed text built by
joining them (see JOBFILE.md, "By hand"), not by the package that the writer uses. Of the format it shares only the text
of the tables.

What a chain cannot show: entries cut from the end (with their clips), entries added at the end by someone who knows the
format, and a file rewritten whole. Only a signature over the last hash, or a copy of it kept elsewhere, shows those;
the verdict gives that hash.
"""

from __future__ import annotations

import hashlib
import json
import re
import sqlite3
from collections.abc import Sequence
from contextlib import closing
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import pairwise
from pathlib import Path
from typing import Literal

from assistant.core.problems import JobFileBroken
from assistant.files.opening import SCHEMA, UNREADABLE, connect_to_read, lacks

How = Literal[
    "changed", "removed", "added", "reordered", "clip changed", "clip missing", "clip added", "rules changed", "damaged"
]

FIRST_PREVIOUS = b"0" * 64
HEX = re.compile(rb"[0-9a-f]{64}")
TIME = re.compile(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z")
KIND = re.compile(rb"[a-z]+( [a-z]+)*")
RULES = "SELECT type, name, tbl_name, sql FROM sqlite_schema"
ROW_TYPES = [int, bytes, bytes, int, bytes, bytes, bytes, bytes]
CLIP_TYPES = [bytes, bytes, bytes, int, bytes]
FLAC_RATE_HZ = 16_000
TAKEN_AWAY = "this file was copied while the job was open, without its -wal file: the newest entries may be missing"


@dataclass(frozen=True)
class Fault:
    """The first thing that does not fit. `sequence` is the entry, 0 where it is the file as a whole."""

    sequence: int
    how: How
    says: str


@dataclass(frozen=True)
class Verdict:
    """What `verify` found. `head` is the hash of the last entry that fits, "" for none; `notes` are no faults."""

    file: str
    entries: int
    clips: int
    head: str
    fault: Fault | None
    notes: tuple[str, ...] = ()

    @property
    def whole(self) -> bool:
        """True if everything fits."""
        return self.fault is None

    def __str__(self) -> str:
        if self.fault is None:
            head = (
                f"{self.file}: whole: {self.entries} entries, {self.clips} clips, last hash {self.head or 'none'} "
                "(unsigned: entries cut from the end would not show)"
            )
        else:
            place = f"entry {self.fault.sequence}" if self.fault.sequence else "the file"
            head = f"{self.file}: not whole: {place}: {self.fault.how}: {self.fault.says}"
        return "\n".join((head, *(f"  note: {note}" for note in self.notes)))


@dataclass(frozen=True)
class Row:
    """An entry's row, every text as its bytes."""

    sequence: int
    at: bytes
    kind: bytes
    version: int
    body: bytes
    clip: bytes
    previous: bytes
    hash: bytes

    def worked_out(self, sequence: int) -> bytes:
        """The hash that this row would have at that place."""
        text = (
            b'{"at":"%b","body":%b,"clip":"%b","kind":"%b","previous":"%b","sequence":%d,"version":%d}'
            % (self.at, self.body, self.clip, self.kind, self.previous, sequence, self.version)
        )  # fmt: skip
        return hashlib.sha256(text).hexdigest().encode()

    def fits(self) -> bool:
        """The hash is that of the row, and every field has its one form."""
        return self._formed() and self.worked_out(self.sequence) == self.hash

    def _formed(self) -> bool:
        """Fields of another form could shift bytes from one field to the next without changing the joined text."""
        return bool(
            TIME.fullmatch(self.at)
            and KIND.fullmatch(self.kind)
            and HEX.fullmatch(self.previous)
            and (not self.clip or HEX.fullmatch(self.clip))
            and _is_canonical(self.body)
        )


def verify(path: Path) -> Verdict:
    """Read the whole file and say whether everything fits.

    Raises CallProblem where there is nothing to check: no such file, no job file, a newer version.
    """
    taken_away = lacks(path, "-wal")
    try:
        with closing(connect_to_read(path)) as connection:
            connection.text_factory = bytes
            verdict = _verdict(str(path), connection)
    except JobFileBroken as fault:
        return Verdict(str(path), 0, 0, "", Fault(0, "damaged", fault.what))
    return replace(verdict, notes=(*verdict.notes, TAKEN_AWAY)) if taken_away else verdict


def _verdict(file: str, connection: sqlite3.Connection) -> Verdict:
    rows, cut = _rows(connection)
    clips, clips_cut = _clips(connection)
    fault = _first_misfit(rows, clips if not cut and not clips_cut else None)
    if fault is None and cut:
        fault = Fault(len(rows) + 1, "damaged", cut)
    if fault is None:
        fault = Fault(0, "damaged", clips_cut) if clips_cut else _file_fault(connection)
    good = rows if fault is None else [row for row in rows if row.sequence < fault.sequence]
    head = good[-1].hash.decode() if good else ""
    return Verdict(file, len(rows), len(clips), head, fault, _clock_notes(good))


def _rows(connection: sqlite3.Connection) -> tuple[list[Row], str]:
    """The entries as far as they can be read, and why no further."""
    rows: list[Row] = []
    try:
        for fields in connection.execute("SELECT * FROM entry ORDER BY sequence"):
            if [type(field) for field in fields] != ROW_TYPES:
                return rows, "its columns do not hold what they should"
            rows.append(Row(*fields))
    except UNREADABLE as trouble:
        return rows, f"it cannot be read: {trouble}"
    return rows, ""


def _clips(connection: sqlite3.Connection) -> tuple[dict[bytes, str], str]:
    """What is wrong with each clip ("" if nothing) by its name, as far as they can be read, and why no further."""
    clips: dict[bytes, str] = {}
    try:
        for fields in connection.execute("SELECT * FROM clip NOT INDEXED"):
            if [type(field) for field in fields] != CLIP_TYPES:
                return clips, "the columns of a clip do not hold what they should"
            clips[fields[0]] = _clip_trouble(*fields)
    except UNREADABLE as trouble:
        return clips, f"the clips cannot be read: {trouble}"
    return clips, ""


def _first_misfit(rows: Sequence[Row], clips: dict[bytes, str] | None) -> Fault | None:
    """Walk the chain. Without `clips` (they could not be read) only the entries are looked at."""
    for index, row in enumerate(rows):
        fault = _misfit(rows, index) or (_clip_fault(row, clips) if clips is not None else None)
        if fault:
            return fault
    named = {row.clip for row in rows}
    for sha256, trouble in (clips or {}).items():
        name = sha256.decode("ascii", "replace")
        if sha256 not in named:
            says = f"no entry names clip {name}: the clip was added, or entries were cut from the end"
            return Fault(0, "clip added", says)
        if trouble:  # cannot be reached by an entry that named it, but says so rather than trusting that
            return Fault(0, "clip changed", trouble)
    return None


def _misfit(rows: Sequence[Row], index: int) -> Fault | None:
    row, number = rows[index], index + 1
    before = rows[index - 1].hash if index else FIRST_PREVIOUS
    if row.sequence < number:
        return Fault(row.sequence, "added", "entries are numbered from 1")
    if row.sequence > number:
        return Fault(number, "removed", f"after entry {index} comes entry {row.sequence}")
    if not row.fits():
        return _moved(rows, index) or Fault(number, "changed", _both(row.hash, row.worked_out(number)))
    if row.previous == before:
        return None
    if index == 0:
        return Fault(1, "removed", f"it was written after an entry that is gone, of hash {row.previous.decode()}")
    says = f"entry {number} was written after one of hash {row.previous.decode()}; this one has {before.decode()}"
    return Fault(index, "changed", f"changed, or another in its place, with its hash made anew: {says}")


def _moved(rows: Sequence[Row], index: int) -> Fault | None:
    """The row at `index` does not fit there. If it fits another number it was moved: say how."""
    row, number = rows[index], index + 1
    came_from = next((k for k in range(1, 2 * len(rows) + 2) if row.worked_out(k) == row.hash), None)
    if came_from is None:
        return None
    if came_from < number and _is_shift(rows, index, came_from - number):
        return Fault(came_from, "added", f"entry {number} stood at {came_from} before")
    if came_from > number and _is_shift(rows, index, came_from - number):
        return Fault(number, "removed", f"the entry that stands here now stood at {came_from}")
    return Fault(number, "reordered", f"it stood at {came_from}")


def _is_shift(rows: Sequence[Row], index: int, by: int) -> bool:
    """Every row from `index` on was moved by so much: one was put in or taken out, and the rest renumbered."""
    return all(row.worked_out(row.sequence + by) == row.hash for row in rows[index:])


def _clip_fault(row: Row, clips: dict[bytes, str]) -> Fault | None:
    if not row.clip:
        return None
    if row.clip not in clips:
        return Fault(row.sequence, "clip missing", f"no clip {row.clip.decode()}")
    trouble = clips[row.clip]
    return Fault(row.sequence, "clip changed", trouble) if trouble else None


def _clip_trouble(sha256: bytes, kind: bytes, media_type: bytes, samples: int, data: bytes) -> str:
    """What is wrong with a clip, "" if nothing. What stands beside the bytes must be what the bytes say."""
    now = hashlib.sha256(data).hexdigest()
    if now.encode() != sha256:
        return f"clip {sha256.decode('ascii', 'replace')} has now the hash {now}"
    if (kind, media_type, samples) != _what(data):
        return f"clip {now} is not what stands beside it: {kind!r}, {media_type!r}, {samples} samples"
    return ""


def _what(data: bytes) -> tuple[bytes, bytes, int]:
    """Kind, media type and samples of a clip, from its first bytes."""
    if data.startswith(b"\x89PNG\r\n\x1a\n"):
        return b"picture", b"image/png", 0
    if data.startswith(b"\xff\xd8\xff"):
        return b"picture", b"image/jpeg", 0
    # RFC 9639, 8.2: after "fLaC" and a block header of 4 bytes, STREAMINFO has at its byte 10 twenty bits of rate,
    # three of channels, five of depth, then 36 of samples.
    numbers = int.from_bytes(data[18:26], "big")
    is_sound = data.startswith(b"fLaC\x00") or data.startswith(b"fLaC\x80")
    if is_sound and numbers >> 44 == FLAC_RATE_HZ:
        return b"sound", b"audio/flac", numbers & (1 << 36) - 1
    return b"", b"", -1


def _file_fault(connection: sqlite3.Connection) -> Fault | None:
    """The tables and triggers are those of the format, and SQLite finds no damage elsewhere."""
    try:
        has = set(connection.execute(RULES))
        [[found]] = connection.execute("PRAGMA integrity_check(1)").fetchall()
    except UNREADABLE as trouble:
        return Fault(0, "damaged", f"it cannot be read: {trouble}")
    should_have = _rules()
    for rule in sorted(has ^ should_have, key=repr):
        missing = "missing" if rule in should_have else "not of the format"
        return Fault(0, "rules changed", f"{missing}: {b' '.join(rule[:2]).decode('utf-8', 'replace')}")
    return None if found == b"ok" else Fault(0, "damaged", found.decode("utf-8", "replace"))


def _rules() -> set[tuple[bytes, ...]]:
    """The tables, triggers and index of a file as it is made."""
    with closing(sqlite3.connect(":memory:")) as fresh:
        fresh.text_factory = bytes
        for statement in SCHEMA:
            fresh.execute(statement)
        return set(fresh.execute(RULES))


def _is_canonical(body: bytes) -> bool:
    """The body is an object of texts, whole numbers, truths and lists, in the one form that RFC 8785 gives it."""
    try:
        value = json.loads(body.decode("utf-8"), parse_float=_refuse, parse_constant=_refuse)
        again = json.dumps(_sorted(value), ensure_ascii=False, separators=(",", ":")).encode("utf-8")
    except (ValueError, RecursionError):
        return False
    return isinstance(value, dict) and again == body


def _refuse(text: str) -> None:
    raise ValueError(f"{text} is no whole number")


def _sorted(value: object) -> object:
    """Keys in order of UTF-16 code units (RFC 8785, 3.2.3), all the way down."""
    if isinstance(value, dict):
        return {key: _sorted(value[key]) for key in sorted(value, key=lambda key: key.encode("utf-16-be"))}
    return [_sorted(item) for item in value] if isinstance(value, list) else value


def _clock_notes(rows: Sequence[Row]) -> tuple[str, ...]:
    notes = []
    for before, row in pairwise(rows):
        earlier, later = (datetime.fromisoformat(r.at.decode()) for r in (before, row))
        if later < earlier:
            by_s = (earlier - later).total_seconds()
            notes.append(f"entry {row.sequence}: the clock went back by {by_s:.3f} s")
    return tuple(notes)


def _both(stored: bytes, worked_out: bytes) -> str:
    return f"its hash is {stored.decode('ascii', 'replace')}, it should be {worked_out.decode()}"

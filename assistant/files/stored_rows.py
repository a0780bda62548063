"""A job file's rows as `verify` reads them: bytes as they stand, and the hashed text built by joining them.

See JOBFILE.md, "By hand". Nothing here is shared with the writer or the reader, so that the one checks the other.
"""

from __future__ import annotations

import hashlib
import json
import re
import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass

from assistant.files.opening import UNREADABLE

FIRST_PREVIOUS = b"0" * 64
HEX = re.compile(rb"[0-9a-f]{64}")
TIME = re.compile(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z")
KIND = re.compile(rb"[a-z]+( [a-z]+)*")
EVERY_ENTRY = "SELECT * FROM entry ORDER BY sequence"
AT_SIGNATURES = (
    "SELECT * FROM entry WHERE kind = 'job signed' OR sequence IN (SELECT value FROM json_each(?)) ORDER BY sequence"
)
ROW_TYPES = [int, bytes, bytes, int, bytes, bytes, bytes, bytes]
SIGNATURE_TYPES = [int, bytes, bytes, bytes]


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
            and is_canonical(self.body)
        )


@dataclass(frozen=True)
class SignatureRow:
    """A signature's row, every text as its bytes."""

    entry: int
    hash: bytes
    key: bytes
    signature: bytes


def entry_rows(
    connection: sqlite3.Connection, select: str = EVERY_ENTRY, given: tuple[str, ...] = ()
) -> tuple[list[Row], str]:
    """The entries as far as they can be read, and why no further ("" where all can). `connection` gives texts as bytes."""
    rows: list[Row] = []
    try:
        for fields in connection.execute(select, given):
            if [type(field) for field in fields] != ROW_TYPES:
                return rows, "its columns do not hold what they should"
            rows.append(Row(*fields))
    except UNREADABLE as trouble:
        return rows, f"it cannot be read: {trouble}"
    return rows, ""


def rows_signed(connection: sqlite3.Connection, signatures: Sequence[SignatureRow]) -> tuple[list[Row], str]:
    """Of `entry_rows` those that say that the job was signed, and those at which a signature stands."""
    return entry_rows(connection, AT_SIGNATURES, (json.dumps([signature.entry for signature in signatures]),))


def signature_rows(connection: sqlite3.Connection) -> tuple[list[SignatureRow], str]:
    """The signatures in the order of their entries, and why no further; none in a file of version 1."""
    rows: list[SignatureRow] = []
    try:
        [version] = connection.execute("PRAGMA user_version").fetchone()
        if version == 1:
            return [], ""
        for fields in connection.execute("SELECT * FROM signature ORDER BY entry"):
            if [type(field) for field in fields] != SIGNATURE_TYPES:
                return rows, "the columns of a signature do not hold what they should"
            rows.append(SignatureRow(*fields))
    except UNREADABLE as trouble:
        return rows, f"the signatures cannot be read: {trouble}"
    return rows, ""


def is_canonical(body: bytes) -> bool:
    """Is the body an object of texts, whole numbers, truths and lists, in the one form that RFC 8785 gives it?"""
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

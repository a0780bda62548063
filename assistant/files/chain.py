"""The hash chain: every entry's hash covers the entry and the hash of the one before it.

The text that is hashed is JSON in the canonical form of RFC 8785 (package `rfc8785`: keys sorted by UTF-16 code unit,
no spaces, one way to write every string and number), in UTF-8; the hash is SHA-256 (FIPS 180-4), written as 64 small
hex digits. `verify` builds the same text without this module, so that the one checks the other.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from typing import Any

import rfc8785

NOTHING_BEFORE = "0" * 64
"""What stands for the previous hash in the first entry."""

AT_FORM = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z", re.ASCII)
"""UTC, ISO 8601 extended format with milliseconds: 2026-10-14T09:12:03.250Z."""


def canonical(value: Any) -> bytes:
    """The RFC 8785 form of a JSON value, in UTF-8.

    Raises ValueError for what has none: a lone surrogate, a whole number of 2**53 or more, NaN, an infinity.

    >>> canonical({"b": 1, "a": "x"})
    b'{"a":"x","b":1}'
    """
    return rfc8785.dumps(value)


def sha256_hex(data: bytes) -> str:
    """SHA-256 as 64 small hex digits."""
    return hashlib.sha256(data).hexdigest()


@dataclass(frozen=True)
class Link:
    """What an entry's hash covers. `clip` is the SHA-256 of its clip's bytes, "" if it has none."""

    sequence: int
    at: str
    kind: str
    version: int
    body: dict[str, Any]
    clip: str
    previous: str

    def text(self) -> bytes:
        """The canonical text that is hashed."""
        return canonical(vars(self))

    def sha256(self) -> str:
        """The entry's hash."""
        return sha256_hex(self.text())


def row_sha256(*, sequence: int, at: str, kind: str, version: int, body: str, clip: str, previous: str) -> str:
    """The same hash from a row as it stands in the file, where `body` is canonical text already: much faster."""
    return sha256_hex(
        f'{{"at":"{at}","body":{body},"clip":"{clip}","kind":"{kind}","previous":"{previous}",'
        f'"sequence":{sequence},"version":{version}}}'.encode()
    )

"""Are the clips of a job file those that its entries name; what was forgotten is gone, and nothing else is.

Works as `verify` does: on the bytes as they stand, sharing nothing with the writer.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from assistant.files.opening import UNREADABLE
from assistant.files.stored_rows import Row
from assistant.files.verdict import Fault

CLIP_TYPES = [bytes, bytes, bytes, int, bytes]
FLAC_RATE_HZ = 16_000
FORGOTTEN = b"sound forgotten"


@dataclass(frozen=True)
class Clips:
    """What is wrong with each clip ("" if nothing) by its name, as far as they can be read, and why no further."""

    troubles: Mapping[bytes, str]
    cut: str = ""


def clips_in(connection: sqlite3.Connection) -> Clips:
    """Look at every clip."""
    found: dict[bytes, str] = {}
    try:
        for fields in connection.execute("SELECT * FROM clip NOT INDEXED"):
            if [type(field) for field in fields] != CLIP_TYPES:
                return Clips(found, "the columns of a clip do not hold what they should")
            found[fields[0]] = _clip_trouble(*fields)
    except UNREADABLE as trouble:
        return Clips(found, f"the clips cannot be read: {trouble}")
    return Clips(found)


def forgotten_by(rows: Sequence[Row]) -> dict[bytes, int]:
    """The clips that an entry says are forgotten, and the last entry that says so. Rows that do not fit say nothing."""
    found: dict[bytes, int] = {}
    for row in rows:
        if row.kind == FORGOTTEN and row.fits():
            named = json.loads(row.body).get("clips")
            for name in named if isinstance(named, list) else ():
                found[str(name).encode()] = row.sequence
    return found


def clip_fault(row: Row, clips: Clips, forgotten: Mapping[bytes, int]) -> Fault | None:
    """Is the clip that this entry names there and unchanged, or forgotten after the entry was made."""
    if not row.clip:
        return None
    if row.clip not in clips.troubles:
        if forgotten.get(row.clip, 0) > row.sequence:
            return None
        return Fault(row.sequence, "clip missing", f"no clip {row.clip.decode()}")
    trouble = clips.troubles[row.clip]
    return Fault(row.sequence, "clip changed", trouble) if trouble else None


def extra_clip(rows: Sequence[Row], clips: Clips, forgotten: Mapping[bytes, int]) -> Fault | None:
    """A clip that no entry names, or that was forgotten and is here again."""
    last_named = {row.clip: row.sequence for row in rows}
    for sha256, trouble in clips.troubles.items():
        name = sha256.decode("ascii", "replace")
        if sha256 not in last_named:
            says = f"no entry names clip {name}: the clip was added, or entries were cut from the end"
            return Fault(0, "clip added", says)
        if forgotten.get(sha256, 0) > last_named[sha256]:
            says = f"entry {forgotten[sha256]} says that clip {name} is forgotten, and it is here again"
            return Fault(forgotten[sha256], "clip added", says)
        if trouble:  # cannot be reached by an entry that named it, but says so rather than trusting that
            return Fault(0, "clip changed", trouble)
    return None


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

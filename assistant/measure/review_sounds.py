"""A short sound and a small picture for the job files by which the pages are measured."""

from __future__ import annotations

import struct
import zlib

from assistant.files.clips import sound_clip
from assistant.measure.fault_samples import tone

SAMPLES = 4000
FLAC = sound_clip(tone(SAMPLES)).data
"""A quarter of a second."""


def _chunk(name: bytes, data: bytes) -> bytes:
    """A chunk of a PNG with its check (ISO/IEC 15948, 5.3)."""
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))


PNG = (
    b"\x89PNG\r\n\x1a\n"
    + _chunk(b"IHDR", struct.pack(">IIBBBBB", 2, 2, 8, 0, 0, 0, 0))
    + _chunk(b"IDAT", zlib.compress(b"\x00\x20\xd0\x00\xd0\x20"))
    + _chunk(b"IEND", b"")
)
"""Four grey pixels."""

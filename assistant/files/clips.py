"""Clips: the sound that was heard and the pictures that were read, as bytes that keep every sample.

A sound is FLAC (RFC 9639; lossless), mono, 16 bit, 16 kHz: exactly the samples that the ears heard. A picture is kept
as it comes, PNG or JPEG. A clip's name is the SHA-256 of its bytes, so that `sha256sum` on the clip written to a file
gives it.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from assistant.files.chain import sha256_hex

RATE_HZ = 16_000
Samples = npt.NDArray[np.int16]
"""Mono sound of shape (samples,), 16 kHz, signed 16 bit."""

ClipKind = Literal["sound", "picture"]

PICTURE_BEGINS: dict[bytes, str] = {
    b"\x89PNG\r\n\x1a\n": "image/png",  # PNG specification (ISO/IEC 15948), section 5.2
    b"\xff\xd8\xff": "image/jpeg",  # ITU-T T.81, annex B: SOI, then the next marker
}
"""The first bytes of a picture, and its media type."""


@dataclass(frozen=True)
class Clip:
    """A clip as it stands in the file. `samples` is 0 for a picture."""

    sha256: str
    kind: ClipKind
    media_type: str
    samples: int
    data: bytes


def sound_clip(samples: Samples) -> Clip:
    """The clip of a sound. Raises ValueError unless it is int16 of shape (n,), n at least 1."""
    if samples.dtype != np.int16 or samples.ndim != 1 or not samples.size:
        raise ValueError(f"a clip is int16 of shape (samples,), not {samples.dtype} of shape {samples.shape}")
    data = _flac(samples)
    return Clip(sha256_hex(data), "sound", "audio/flac", samples.size, data)


def picture_clip(data: bytes) -> Clip:
    """The clip of a picture. Raises ValueError unless it is PNG or JPEG."""
    for begin, media_type in PICTURE_BEGINS.items():
        if data.startswith(begin):
            return Clip(sha256_hex(data), "picture", media_type, 0, data)
    raise ValueError("a kept picture is PNG or JPEG")


def samples_of(flac: bytes) -> Samples:
    """The samples that were made into this FLAC. Raises ValueError if it is no 16 kHz mono 16 bit FLAC."""
    import soundfile

    try:
        with soundfile.SoundFile(io.BytesIO(flac)) as sound:
            if (sound.samplerate, sound.channels, sound.subtype) != (RATE_HZ, 1, "PCM_16"):
                raise ValueError(f"a clip is 16 kHz mono 16 bit, not {sound.samplerate} Hz x {sound.channels}")
            samples: Samples = sound.read(dtype="int16")
    except soundfile.SoundFileError as fault:
        raise ValueError(f"a clip that cannot be decoded: {fault}") from fault
    return samples


def _flac(samples: Samples) -> bytes:
    import soundfile

    out = io.BytesIO()
    soundfile.write(out, samples, RATE_HZ, format="FLAC", subtype="PCM_16")
    return out.getvalue()

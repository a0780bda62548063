"""The clip of an entry as a part of the page: a report opens from a mail, so its sound must travel inside it."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Callable
from dataclasses import dataclass

from assistant.core.problems import JobFileBroken
from assistant.files.clips import PICTURE_BEGINS

ClipBytes = Callable[[str], bytes]
"""A kept clip's bytes by its SHA-256; raises as `JobFile.clip_bytes`."""

BEGINS: dict[bytes, str] = {b"fLaC": "audio/flac", **PICTURE_BEGINS}
"""The first bytes of a clip (FLAC: RFC 9639, section 6; pictures: `files.clips`), and its media type."""


@dataclass(frozen=True)
class Embedded:
    """A clip as a `data:` address (RFC 2397). `media_type` is "" where there is none to give, and `lacks` says why."""

    media_type: str = ""
    address: str = ""
    lacks: str = ""


def media_type_of(data: bytes) -> str:
    """What a clip is by its first bytes, whatever the file says of it; "" for neither sound nor picture."""
    return next((media_type for begin, media_type in BEGINS.items() if data.startswith(begin)), "")


def embedded(sha256: str, clip: ClipBytes | None) -> Embedded:
    """The clip of that name. A clip that cannot be had costs itself, not the report, and the page says so."""
    if clip is None or not sha256:
        return Embedded()
    try:
        data = clip(sha256)
    except KeyError:
        return Embedded(lacks="its clip is not in the job file (its sound may be forgotten)")
    except JobFileBroken:
        return Embedded(lacks="its clip was changed or is damaged: verify the job file")
    media_type = media_type_of(data)
    if not media_type:
        return Embedded(lacks="its clip is neither sound nor picture")
    return Embedded(media_type, f"data:{media_type};base64,{b64encode(data).decode('ascii')}")

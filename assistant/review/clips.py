"""A kept sound or picture, as a browser asks for it: whole or a range of bytes (RFC 9110, section 14), typed by what it is.

The name is the SHA-256 of the bytes, so that it serves as their entity tag, and what was fetched once need not be again.
"""

from __future__ import annotations

import re

from starlette.requests import Request
from starlette.responses import Response

from assistant.review.refusals import Refused
from assistant.review.untrusted import Clip

RANGE = re.compile(r"bytes=(\d{0,99})-(\d{0,99})", re.ASCII | re.IGNORECASE)
UNITS = re.compile(r"bytes=[\d, \t-]*", re.ASCII | re.IGNORECASE)
SHA256 = re.compile(r"[0-9a-f]{64}", re.ASCII)
FRESH_S = 3600


def clip_answer(request: Request, sha256: str, clip: Clip) -> Response:
    """200 with all of it, 206 with the range that was asked for, 304 where the browser has it, 416 for no such range."""
    tag = f'"{sha256}"'
    headers = {
        "accept-ranges": "bytes",
        "etag": tag,
        "cache-control": f"private, max-age={FRESH_S}",
        "content-disposition": f'inline; filename="{sha256[:16]}"',
    }
    if _has(request.headers.get("if-none-match", ""), tag):
        return Response(status_code=304, headers=headers)
    wanted = request.headers.get("range", "").strip() if request.method == "GET" else ""
    span = _span(wanted, len(clip.data)) if request.headers.get("if-range", tag) == tag else None
    if span is None:
        return Response(clip.data, media_type=clip.media_type, headers=headers)
    first, last = span
    headers["content-range"] = f"bytes {first}-{last}/{len(clip.data)}"
    return Response(clip.data[first : last + 1], 206, headers, clip.media_type)


def _has(if_none_match: str, tag: str) -> bool:
    """Is the tag among those of the header, weak or strong; `*` means any (RFC 9110, 13.1.2)."""
    tags = (one.strip().removeprefix("W/") for one in if_none_match.split(","))
    return any(one in ("*", tag) for one in tags)


def _span(wanted: str, size: int) -> tuple[int, int] | None:
    """First and last byte of one range. None, for all of it, where the header says nothing that counts here: another unit must
    be ignored, several ranges at once may be (RFC 9110, 14.2). Refused (416): what is no range, or lies beyond the end."""
    if "," in wanted or not UNITS.fullmatch(wanted):
        return None
    found = RANGE.fullmatch(wanted)
    if found and found[1]:
        first, last = int(found[1]), min(int(found[2] or size), size - 1)
    elif found and found[2]:
        first, last = max(size - int(found[2]), 0), size - 1
    else:
        first, last = size, size
    if first > last or first >= size or (found and found[1] and found[2] and int(found[2]) < first):
        raise Refused(416, headers={"content-range": f"bytes */{size}"})
    return first, last

"""A kept sound or picture, as a browser asks for it: whole or a range of bytes (RFC 9110, section 14), typed by what it is.

The name is the SHA-256 of the bytes, so that it serves as their entity tag, and what was fetched once need not be again.
"""

from __future__ import annotations

import re

from starlette.requests import Request
from starlette.responses import Response

from assistant.review.refusals import Refused
from assistant.review.untrusted import Clip

RANGE = re.compile(r"bytes=(\d{0,15})-(\d{0,15})")
SHA256 = re.compile(r"[0-9a-f]{64}")
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
    if request.headers.get("if-none-match") == tag:
        return Response(status_code=304, headers=headers)
    wanted = request.headers.get("range", "")
    if not wanted or request.headers.get("if-range", tag) != tag:
        return Response(clip.data, media_type=clip.media_type, headers=headers)
    first, last = _span(wanted, len(clip.data))
    headers["content-range"] = f"bytes {first}-{last}/{len(clip.data)}"
    return Response(clip.data[first : last + 1], 206, headers, clip.media_type)


def _span(wanted: str, size: int) -> tuple[int, int]:
    """First and last byte of one range. Several at once, and what lies beyond the end, are refused (416)."""
    found = RANGE.fullmatch(wanted.strip())
    if found is None or not (found[1] or found[2]):
        raise Refused(416, headers={"content-range": f"bytes */{size}"})
    if not found[1]:
        first, last = max(size - int(found[2]), 0), size - 1
    else:
        first, last = int(found[1]), min(int(found[2]) if found[2] else size - 1, size - 1)
    if first > last or first >= size:
        raise Refused(416, headers={"content-range": f"bytes */{size}"})
    return first, last

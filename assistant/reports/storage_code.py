"""The code on a storage tag: a QR code (ISO/IEC 18004), drawn as one path of an SVG."""

from __future__ import annotations

import re
from urllib.parse import unquote

import segno

from assistant.core.problems import CallProblem

QUIET = 4
"""Light modules around the symbol, as the standard wants."""
MOST_SIGNS = 600
"""Longer texts make modules that a telephone can no longer tell apart at the size of a tag (common practice, no source)."""
JOB_CODE = re.compile(r"layup:(?P<name>[^#\s]+)(?:#(?P<begins>[0-9a-f]{0,64}))?", re.IGNORECASE | re.ASCII)


def read_code(text: str) -> tuple[str, str] | None:
    """The job's name, and how a hash of its record begins, out of a code that is no address; None for any other text.

    >>> read_code(" layup:tern%207#0123456789ABCDEF"), read_code("tern 7")
    (('tern 7', '0123456789abcdef'), None)
    """
    found = JOB_CODE.fullmatch(text.strip())
    return (unquote(found["name"]), (found["begins"] or "").lower()) if found else None


def code_path(text: str) -> tuple[str, int]:
    """The dark modules as a path in units of a module, and how many modules the symbol is wide, its quiet zone included.

    Error correction of level M or better. Raises CallProblem for a text that is too long to be read again.
    """
    if len(text) > MOST_SIGNS:
        what = f"what the code should lead to has {len(text)} signs, and {MOST_SIGNS} are the most"
        raise CallProblem(what, where="storage tag", do="give the job file a shorter name, or a shorter --address")
    symbol = segno.make(text, error="m", micro=False)
    path = []
    for y, row in enumerate(symbol.matrix):
        x = 0
        while x < len(row):
            dark = next((n for n in range(x, len(row)) if row[n]), len(row))
            end = next((n for n in range(dark, len(row)) if not row[n]), len(row))
            if dark < end:
                path.append(f"M{dark + QUIET} {y + QUIET}h{end - dark}v1h-{end - dark}z")
            x = end
    return "".join(path), len(symbol.matrix) + 2 * QUIET

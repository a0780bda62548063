"""Texts from outside, for the log."""

from __future__ import annotations


def seen(text: str) -> str:
    r"""A text for the log, in one line: what cannot be seen stands as its code.

    >>> seen("a\nb\x1b[2J")
    'a\\nb\\x1b[2J'
    """
    return "".join(c if c.isprintable() and c != "\\" else repr(c)[1:-1] for c in text)

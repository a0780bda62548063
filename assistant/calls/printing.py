"""What all calls print with."""

from __future__ import annotations


def print_line(text: str) -> None:
    """One line on standard output, at once."""
    print(text, flush=True)

"""What all calls print with."""

from __future__ import annotations

import sys

CLEAR_LINE = "\r\x1b[K"
"""Back to the line's beginning, and empty to its end (ECMA-48: EL)."""


def print_line(text: str) -> None:
    """One line on standard output, at once."""
    print(text, flush=True)


def show_stage(text: str) -> None:
    """What is being done now, in place of the last such line; "" takes it away. Only where somebody sits at a terminal."""
    if sys.stderr.isatty():
        print(f"{CLEAR_LINE}{text}", end="", file=sys.stderr, flush=True)

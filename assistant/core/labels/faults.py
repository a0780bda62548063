"""What is wrong with a label, as a value: a label that can't be trusted is an expected outcome, never an exception."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class LabelFault:
    """One plain sentence, without a full stop at its end, that can be spoken or printed."""

    sentence: str

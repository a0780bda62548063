"""What every entry of a job file is: the parent class, and what its bodies are made of."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, ClassVar

Json = Any


@dataclass(frozen=True)
class Entry:
    """The parent of every kind. `kind` is the name in the file, `version` of its body.

    `added`: the version that a field first came with, where that is not 1. Bodies from before it have the field's default.
    """

    kind: ClassVar[str] = ""
    version: ClassVar[int] = 1
    added: ClassVar[Mapping[str, int]] = {}

    def body(self) -> dict[str, Json]:
        """The JSON body."""
        return {f.name: _plain(getattr(self, f.name)) for f in dataclasses.fields(self)}


def _plain(value: object) -> Json:
    if isinstance(value, tuple):
        return [_plain(v) for v in value]
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {f.name: _plain(getattr(value, f.name)) for f in dataclasses.fields(value)}
    return value


@dataclass(frozen=True)
class HeardAs:
    """One thing that may have been said: which ear, the words, how likely (0 to 1, decimal text)."""

    ear: str
    words: str
    share: str


@dataclass(frozen=True)
class Rival:
    """Another meaning that the words said may have had: words, meaning in print, how likely (0 to 1, decimal text)."""

    words: str
    means: str
    share: str

"""A conversation track that is on disk as it grows, so that a killed process leaves its sound behind."""

from __future__ import annotations

import base64
import json
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from assistant.devices.protocols import Samples
from assistant.devices.voice.conversation import ConversationTrack


class SpooledTrack(ConversationTrack):
    """Writes each part to a file of JSON lines at once."""

    def __init__(self, path: Path) -> None:
        super().__init__(0.0)
        self._file = path.open("w", encoding="utf-8")

    def add(self, start_s: float, samples: Samples, who: str) -> None:
        """One more part, on disk when this returns (to the operating system, which a killed process does not take along)."""
        row = {"start_s": start_s, "who": who, "samples": base64.b64encode(samples.tobytes()).decode()}
        self._file.write(json.dumps(row) + "\n")
        self._file.flush()

    def close(self) -> None:
        """No more parts."""
        self._file.close()


def read_spool(path: Path) -> Iterator[tuple[float, Samples, str]]:
    """Its parts (start in seconds, samples, who); a last line that was cut off is left out."""
    with path.open(encoding="utf-8") as file:
        for text in file:
            if not text.endswith("\n"):
                return
            row = json.loads(text)
            yield row["start_s"], np.frombuffer(base64.b64decode(row["samples"]), "<i2"), row["who"]

"""The demo's script: what our technician says at which step. Read from demo/script.yaml; the recordings are made from it."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

NOT_HEARD = "it does not understand me here"
ALWAYS = ("roger", "affirm", "negative", "done", "go ahead", "say again", "stop", "unable", NOT_HEARD)
"""Lines that any step may need."""


@dataclass(frozen=True)
class Line:
    """One recording: the words and what goes on in the bay meanwhile. `means`: what must be read back ("" unchecked).

    `digits`: how it is said when it is asked for again. `picture` and `remark`: what follows when the assistant asks for it.
    """

    say: str
    noise: str
    snr_db: float
    means: str = ""
    digits: str = ""
    picture: str = ""
    remark: str = ""

    @property
    def file(self) -> str:
        """The recording's name."""
        slug = "-".join(self.say.split())[:60]
        return f"{slug}.{self.noise}{self.snr_db:g}.flac"

    @property
    def seed(self) -> int:
        """The seed of its noise: follows from its name."""
        return int.from_bytes(hashlib.sha256(self.file.encode()).digest()[:4])

    def again(self) -> Line:
        """The same value said digit by digit."""
        return Line(self.digits or self.say, self.noise, self.snr_db, self.means, self.digits)

    def corrected(self) -> Line:
        """The same value as a correction."""
        plain = (self.digits or self.say).removeprefix("correction ")
        return Line(f"correction {plain}", self.noise, self.snr_db, self.means, self.digits)


@dataclass(frozen=True)
class Script:
    """All lines by step id, and the bay's usual noise."""

    voice: str
    noise: str
    snr_db: float
    steps: Mapping[str, tuple[Line, ...]]

    def plain(self, say: str) -> Line:
        """A line in the usual noise."""
        return Line(say, self.noise, self.snr_db)


def load_script(path: Path) -> Script:
    """The script in a file of our own; a broken one is a programming error, not a person's."""
    table = yaml.safe_load(path.read_text(encoding="utf-8"))
    noise, snr_db = table["noise"], float(table["snr_db"])
    steps = {step: tuple(_line(row, noise, snr_db) for row in rows) for step, rows in table["steps"].items()}
    return Script(table["voice"], noise, snr_db, steps)


def _line(row: dict[str, Any], noise: str, snr_db: float) -> Line:
    return Line(**{"noise": noise, **row, "snr_db": float(row.get("snr_db", snr_db))})


def every_line(script: Script) -> Iterator[Line]:
    """Every recording that may be needed, answers to questions and corrections included."""
    for say in ALWAYS:
        yield script.plain(say)
    for lines in script.steps.values():
        for line in lines:
            yield line
            if line.remark:
                yield script.plain(line.remark)
            if line.means:
                yield line.again()
                yield line.corrected()

"""Trials kept in a file as they are done, so that a campaign of hours that was broken off goes on where it stopped.

One JSON object a line; the first says of which program's reading the trials are. Only trials of the same reader and the same
pictures may stand in one file: the digest of their source files tells.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from types import TracebackType
from typing import Any, Self

import assistant
from assistant.core.problems import CallProblem
from assistant.measure.label_pictures import Shot
from assistant.measure.label_readings import Reading
from assistant.measure.label_scores import Trial

DECIDING = (
    "core/labels/check_digit.py", "core/labels/meaning.py", "devices/decoders.py", "devices/eyes.py",
    "devices/frame_reading.py", "devices/label_reader.py", "devices/linear_codes/*.py", "devices/plain_decoders.py",
    "devices/preparation.py", "devices/symbol_places.py",
    "measure/label_damage.py", "measure/label_pictures.py", "measure/label_readings.py", "measure/label_symbols.py",
)  # fmt: skip
"""The source files on which it hangs what a trial gives."""
FORMAT = "trials of layup measure labels, 1"


def digest_of_sources() -> str:
    """SHA-256 over the files of `DECIDING`, in hexadecimal."""
    top = Path(assistant.__file__).parent
    paths = sorted(path for pattern in DECIDING for path in top.glob(pattern))
    return hashlib.sha256(b"\0".join(path.read_bytes() for path in paths)).hexdigest()


class Keeping:
    """The trials done, by which picture they are of; in a file too where one is named. Use it in a `with`.

    CallProblem where the file cannot be written, is no such file, or is of another state of the program.
    """

    def __init__(self, path: Path | None) -> None:
        self.done: dict[Shot, Trial] = {}
        self._path = path
        try:
            self._file = None if path is None else path.open("a+", encoding="utf-8")
        except OSError as e:
            raise CallProblem(f"it can't be written: {e.strerror}", where=str(path), do="name a file elsewhere") from e

    def __enter__(self) -> Self:
        try:
            self._begin()
        except BaseException:
            self._close()
            raise
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self._close()

    def _close(self) -> None:
        if self._file is not None:
            self._file.close()

    def _begin(self) -> None:
        head = {"format": FORMAT, "sources": digest_of_sources()}
        lines = self._lines()
        if not lines:
            self._write(head)
        for number, line in enumerate(lines, start=1):
            try:
                row = json.loads(line)
                if number > 1:
                    self._take(row)
            except (ValueError, KeyError, TypeError) as e:
                raise self._refused("that is no kept trial", number) from e
            if number == 1 and row != head:
                ours = isinstance(row, dict) and row.get("format") == FORMAT
                what = "these trials are of other pictures or another reader" if ours else "that is no kept trial"
                raise self._refused(what, number)

    def _lines(self) -> list[str]:
        """All that is there, less a last line that broke off while it was written: that is cut off."""
        if self._file is None:
            return []
        self._file.seek(0)
        try:
            whole = self._file.read()
        except UnicodeDecodeError as e:
            raise self._refused("that is no text", 1) from e
        *lines, broken = whole.split("\n")
        if broken and lines:
            self._file.truncate(len(whole.encode()) - len(broken.encode()))
            return lines
        return [*lines, broken] if broken else lines

    def _refused(self, what: str, line: int) -> CallProblem:
        return CallProblem(what, where=f"{self._path}:{line}", do="name another file with --keep")

    def _take(self, row: dict[str, Any]) -> None:
        shot, readings = Shot(*row["shot"]), tuple(map(_reading, row["readings"]))
        if shot in self.done:
            self._join(shot, readings)
        else:
            wanted = frozenset(row["wanted"])
            self.done[shot] = Trial(shot.symbology, shot.damage, wanted, row["linear"], row["checked"], readings)

    def _join(self, shot: Shot, readings: tuple[Reading, ...]) -> None:
        self.done[shot] = replace(self.done[shot], readings=(*self.done[shot].readings, *readings))

    def add(self, shot: Shot, trial: Trial) -> None:
        """A picture is done."""
        self.done[shot] = trial
        more = {"wanted": sorted(trial.wanted), "linear": trial.linear, "checked": trial.checked}
        self._write({"shot": _listed(shot), **more, "readings": list(map(_row, trial.readings))})

    def add_reading(self, shot: Shot, reading: Reading) -> None:
        """One more decoder has looked at a picture that is done."""
        self._join(shot, (reading,))
        self._write({"shot": _listed(shot), "readings": [_row(reading)]})

    def _write(self, row: Mapping[str, object]) -> None:
        if self._file is not None:
            self._file.write(json.dumps(row) + "\n")
            self._file.flush()


def _listed(shot: Shot) -> list[object]:
    return [shot.symbology, shot.damage, shot.number]


def _row(reading: Reading) -> list[object]:
    return [reading.decoder, sorted(reading.texts), round(reading.ms, 3)]


def _reading(row: list[Any]) -> Reading:
    decoder, texts, ms = row
    return Reading(decoder, frozenset(texts), ms)

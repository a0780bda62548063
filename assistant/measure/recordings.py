"""Folders of recordings with a manifest: `manifest.csv` with a column `path` (from the folder) and a column `words`.

A column `speaker` may say who speaks. Words that begin with `SLOTS:` say what is meant and not what is said: such a recording
can only be talk, never a reading.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path

from assistant.core.problems import CallProblem

MEANT_NOT_SAID = "slots:"


@dataclass(frozen=True)
class Recording:
    """One sound file and what is said in it, lower case, words apart by single spaces."""

    path: Path
    words: str
    speaker: str = ""

    @property
    def words_known(self) -> bool:
        """Does the manifest say what is said, word for word."""
        return bool(self.words) and not self.words.startswith(MEANT_NOT_SAID)


def read_manifest(folder: Path) -> tuple[Recording, ...]:
    """Every row. CallProblem where the manifest or a column is missing, with the line of a bad row."""
    manifest = folder / "manifest.csv"
    if not manifest.is_file():
        raise CallProblem("there is no manifest.csv in this folder", where=str(folder), do="give it columns path,words")
    with manifest.open(encoding="utf-8", newline="") as file:
        reader = csv.DictReader(file)
        missing = {"path", "words"} - set(reader.fieldnames or ())
        if missing:
            what = f"the manifest has no column {' and no column '.join(sorted(missing))}"
            raise CallProblem(what, where=f"{manifest}:1", do="its first line must name path and words")
        return tuple(
            Recording(
                _there(folder / row["path"], manifest, n),
                " ".join(row["words"].lower().split()),
                row.get("speaker") or "",
            )
            for n, row in enumerate(reader, 2)
        )


def _there(path: Path, manifest: Path, line: int) -> Path:
    if not path.is_file():
        raise CallProblem(f"there is no {path.name}", where=f"{manifest}:{line}", do="mend the path in that line")
    return path

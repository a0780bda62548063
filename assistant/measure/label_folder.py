"""Anyone's photographs of labels: a folder with `manifest.csv`, a column `path` (from the folder) and a column `text`.

Empty text means that there is no label. Several labels in one picture have a row each. Everything else that is read in a
picture counts as wrong.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path

from assistant.core.problems import CallProblem
from assistant.devices.camera import check_pictures
from assistant.measure.label_readings import comparable


@dataclass(frozen=True)
class Photograph:
    """One picture file and all texts in it."""

    path: Path
    wanted: frozenset[str]


def read_photographs(folder: Path) -> tuple[Photograph, ...]:
    """All pictures of the manifest, in its order. CallProblem, with the line, where something is missing."""
    manifest = folder / "manifest.csv"
    if not manifest.is_file():
        raise CallProblem("there is no manifest.csv in this folder", where=str(folder), do="give it columns path,text")
    found: dict[Path, set[str]] = {}
    with manifest.open(encoding="utf-8-sig", newline="") as file:
        reader = csv.DictReader(file)
        missing = {"path", "text"} - set(reader.fieldnames or ())
        if missing:
            what = f"the manifest has no column {' and no column '.join(sorted(missing))}"
            raise CallProblem(what, where=f"{manifest}:1", do="its first line must name path and text")
        for row in reader:
            path = folder / (row["path"] or "")
            if not path.is_file():
                raise CallProblem(
                    f"there is no {row['path']}", where=f"{manifest}:{reader.line_num}", do="mend the path in that line"
                )
            found.setdefault(path, set()).update({comparable(row["text"].strip())} if row["text"] else ())
    check_pictures(tuple(found))
    return tuple(Photograph(path, frozenset(wanted - {""})) for path, wanted in found.items())

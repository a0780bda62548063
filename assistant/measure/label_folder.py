"""Anyone's photographs of labels: a folder with `manifest.csv`, a column `path` (from the folder) and a column `text`.

Empty text means that there is no label. Several labels in one picture have a row each. Everything else that is read in a
picture counts as wrong.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from io import StringIO
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
    for path, text in _rows(manifest):
        found.setdefault(path, set()).add(comparable(text.strip()))
    check_pictures(tuple(found))
    return tuple(Photograph(path, frozenset(wanted - {""})) for path, wanted in found.items())


def _rows(manifest: Path) -> Iterator[tuple[Path, str]]:
    reader = csv.DictReader(StringIO(_text(manifest), newline=""))
    try:
        missing = {"path", "text"} - set(reader.fieldnames or ())
        if missing:
            what = f"the manifest has no column {' and no column '.join(sorted(missing))}"
            raise CallProblem(what, where=f"{manifest}:1", do="its first line must name path and text")
        for row in reader:
            yield _row(row, manifest, reader.line_num)
    except csv.Error as e:
        where = f"{manifest}:{reader.reader.line_num}"  # DictReader's own count stops at the last good line
        raise CallProblem(f"that is no line of a table: {e}", where=where, do="write path,text in it") from e


def _text(manifest: Path) -> str:
    data = manifest.read_bytes()
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as e:
        line = data.count(b"\n", 0, e.start) + 1
        raise CallProblem(
            "this is not text in UTF-8", where=f"{manifest}:{line}", do="save the manifest as UTF-8"
        ) from e


def _row(row: Mapping[str | None, str | list[str] | None], manifest: Path, line: int) -> tuple[Path, str]:
    name, text = row["path"], row["text"]
    if not isinstance(text, str) or not isinstance(name, str) or None in row:
        what = "this line has fewer or more columns than the first"
        do = "write path,text; no text where there is no label, and one with a comma in quotes"
        raise CallProblem(what, where=f"{manifest}:{line}", do=do)
    path = manifest.parent / name
    if not path.is_file():
        what = f"there is no {name}" if name else "this line names no picture"
        raise CallProblem(what, where=f"{manifest}:{line}", do="mend the path in that line")
    return path, text

"""What the labels in picture files say: one row a label, as `layup scan` prints them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from assistant.core.events import Label
from assistant.core.labels.meaning import read_label
from assistant.devices.camera import check_pictures, read_picture
from assistant.devices.eyes import is_sure
from assistant.devices.frame_quality import measure_frame
from assistant.devices.protocols import LabelReader, Picture


@dataclass(frozen=True)
class ScanRow:
    """One label of one picture; `problem` is None where all is well. A picture without a label has a row saying so."""

    image: str
    symbology: str
    text: str
    fields: Mapping[str, str]
    problem: str | None

    def as_json(self) -> dict[str, object]:
        """The object that `layup scan --json` prints."""
        return {
            "image": self.image,
            "symbology": self.symbology,
            "text": self.text,
            "fields": dict(self.fields),
            "problem": self.problem,
        }


def scan_pictures(paths: Sequence[Path], reader: LabelReader, today: date) -> tuple[ScanRow, ...]:
    """All rows, in the order of the pictures. Raises CallProblem for a missing or broken picture."""
    check_pictures(paths)
    return tuple(row for path in paths for row in _rows(path, reader, today))


def _rows(path: Path, reader: LabelReader, today: date) -> Iterator[ScanRow]:
    picture = read_picture(path)
    labels = reader.read(picture)
    if not labels:
        yield ScanRow(str(path), "", "", {}, measure_frame(picture).trouble())
    for label in labels:
        yield _row(path, reader, picture, label, today)


def _row(path: Path, reader: LabelReader, picture: Picture, label: Label, today: date) -> ScanRow:
    meaning = read_label(label, today)
    problem = meaning.problem
    if problem is None and not is_sure(reader, picture, label):
        problem = "only one decoder read it, and the symbol carries nothing to tell a misreading by"
    return ScanRow(str(path), label.symbology, label.text, meaning.fields, problem)

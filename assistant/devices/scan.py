"""What the labels in picture files say: one row a label, as `layup scan` prints them.

The labels of one picture are one packet, as in a job (`core.labels.packet`): one that holds a lot alone is in order beside
one that names the product.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from assistant.core.events import Label
from assistant.core.labels.meaning import LabelMeaning, read_label
from assistant.core.labels.packet import packets_in
from assistant.core.problems import CallProblem
from assistant.devices.camera import check_pictures, read_picture
from assistant.devices.eyes import is_sure
from assistant.devices.frame_quality import measure_frame
from assistant.devices.protocols import LabelReader, Picture


@dataclass(frozen=True)
class ScanRow:
    """One label of one picture; `problem` is None where all is well. A picture without a label has a row saying so.

    `fields` are those of the packet where the label names its product, else the label's own.
    """

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
    """All rows, in the order of the pictures. Raises CallProblem for a missing or broken picture, and for a folder."""
    for path in paths:
        if path.is_dir():
            what = "that is a folder, and no picture"
            raise CallProblem(what, where=str(path), do=f"name the pictures in it, such as {path}/*.png")
    check_pictures(paths)
    return tuple(row for path in paths for row in _rows(path, reader, today))


def _rows(path: Path, reader: LabelReader, today: date) -> Iterator[ScanRow]:
    picture = read_picture(path)
    labels = reader.read(picture)
    if not labels:
        yield ScanRow(str(path), "", "", {}, measure_frame(picture).trouble())
    doubts = {label: _doubt(reader, picture, label) for label in labels}
    sure = tuple(label for label in labels if doubts[label] is None)
    meanings = _meanings(sure, today)
    for label in labels:
        meaning = meanings.get(label) or read_label(label, today)
        yield ScanRow(str(path), label.symbology, label.text, meaning.fields, meaning.problem or doubts[label])


def _doubt(reader: LabelReader, picture: Picture, label: Label) -> str | None:
    if is_sure(reader, picture, label):
        return None
    return "only one decoder read it, and the symbol carries nothing to tell a misreading by"


def _meanings(labels: Sequence[Label], today: date) -> dict[Label, LabelMeaning]:
    """Of each label: the packet's where it names the product; its own, without the problem that it names none, beside one."""
    found: dict[Label, LabelMeaning] = {}
    for packet in packets_in(labels, today):
        found[packet.label] = packet.meaning
        found |= {label: replace(read_label(label, today), problem=None) for label in packet.beside}
    return found

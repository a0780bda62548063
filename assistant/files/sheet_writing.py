"""Writes machine sheets: a new one, and one more line in one that is there. What a person wrote stays as it is.

A line is put behind the last of its section (`counts`, `values`, `parts`), with a comment above it. The new text is read back
before it goes to disk, and must be the old sheet and the new entry, nothing else; the file is replaced in one step, so that it
is whole whenever the program is stopped.
"""

from __future__ import annotations

import json
import os
import re
import shutil
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Literal

import yaml

from assistant.core.machine import MachineSheet
from assistant.core.problems import CallProblem, FileProblems
from assistant.files.sheet_file import read_sheet
from assistant.files.yaml_source import read_text

Section = Literal["counts", "values", "parts"]
PLAIN = re.compile(r"[A-Za-z0-9]([A-Za-z0-9 ._/-]*[A-Za-z0-9.])?")
"""Texts that need no quotes in this YAML, which takes every scalar as text."""
HEAD = """\
# The numbers of one machine. Each says on which page it stands; the machine's own service manual comes first.
model: {model}
for: {machine_class}
manual: {manual}
entered: {{by: {by}, on: {on}}}
look_up: yes  # what is missing here the assistant has the technician look up
counts: {{}}
values: {{}}
parts: {{}}
"""


TRIAL = "trial"
TRIALS: dict[Section, str] = {
    "counts": "1",
    "values": "{is: 1 count, from: trial, by: trial, on: 2026-01-01}",
    "parts": "{say: trial, numbers: [trial]}",
}
"""A line of each section, to try whether one can be put in."""


@dataclass(frozen=True)
class Sheet:
    """The text of a machine sheet, where it is, and what it says."""

    path: Path
    text: str
    says: MachineSheet

    @staticmethod
    def of(path: Path, text: str) -> Sheet:
        """Of a text. Raises FileProblems."""
        return Sheet(path, text, read_sheet(text, str(path)))

    @staticmethod
    def read(path: Path) -> Sheet:
        """Of a file. Raises CallProblem where it cannot be read, FileProblems where it is at fault."""
        return Sheet.of(path, read_text(path))

    def with_line(self, section: Section, name: str, written: str, comment: str) -> Sheet:
        """With one more line, not on disk yet. Raises FileProblems where the line is at fault, CallProblem where it changes
        something else."""
        after = Sheet.of(self.path, with_line(self.text, section, name, written, comment))
        if not _only_added(self.says, after.says, section, name):
            raise self._by_hand(section)
        return after

    def check_place(self) -> None:
        """Can lines be put into each section of what a hand has written. Raises CallProblem."""
        for section, written in TRIALS.items():
            try:
                self.with_line(section, TRIAL, written, "")
            except FileProblems as found:
                raise self._by_hand(section) from found

    def write(self) -> None:
        """Put it on disk. Raises CallProblem."""
        write_sheet(self.path, self.text)

    def _by_hand(self, section: Section) -> CallProblem:
        return CallProblem(
            f"no line can be put into '{section}' without changing what stands there",
            where=str(self.path),
            do="write each section as 'name: ...' lines under its key, or add the rest by hand",
        )


def _only_added(before: MachineSheet, after: MachineSheet, section: Section, name: str) -> bool:
    """Is everything as it was, but for the one entry."""

    def without(entries: Mapping[str, object]) -> dict[str, object]:
        return {key: value for key, value in entries.items() if key != name}

    mine = replace(after, **{section: getattr(before, section)}, counted=before.counted)
    same = name in getattr(after, section) and without(getattr(after, section)) == dict(getattr(before, section))
    return mine == before and same and without(after.counted) == dict(before.counted)


def new_sheet(model: str, machine_class: str, manual: str, by: str, on: date) -> str:
    """The text of a sheet that has no numbers yet."""
    given = {"model": model, "machine_class": machine_class, "manual": manual, "by": by}
    return HEAD.format(on=on.isoformat(), **{key: scalar(text) for key, text in given.items()})


def scalar(text: str) -> str:
    """A text as this YAML writes it on one line.

    >>> scalar("6-4"), scalar("label: 1 oz")
    ('6-4', '"label: 1 oz"')
    """
    text = " ".join(text.split())
    return text if PLAIN.fullmatch(text) else json.dumps(text, ensure_ascii=False)


def table(entries: Mapping[str, str | list[str]]) -> str:
    """A table on one line; what is empty is left out.

    >>> table({"say": "oil filter", "gtins": [], "numbers": ["T3-2040", "T3-2041"], "seal": ""})
    '{say: oil filter, numbers: [T3-2040, T3-2041]}'
    """
    return f"{{{', '.join(f'{key}: {_written(given)}' for key, given in entries.items() if given)}}}"


def _written(given: str | list[str]) -> str:
    return scalar(given) if isinstance(given, str) else f"[{', '.join(scalar(text) for text in given)}]"


def with_line(text: str, section: str, name: str, written: str, comment: str) -> str:
    """The sheet's text with `name: written` at the end of a section, and the comment above it where the section has lines.

    The text must be one that `read_sheet` takes. Where a hand has written it in an unusual way the result may be wrong:
    read it back.
    """
    root = yaml.compose(text, Loader=yaml.SafeLoader)
    pairs = root.value if isinstance(root, yaml.MappingNode) else []
    node = next((value for key, value in pairs if key.value == section), None)
    if not isinstance(node, yaml.MappingNode):
        return f"{text.rstrip()}\n{section}:\n{_lines('  ', name, written, comment)}"
    if not node.flow_style:
        indent = " " * node.value[0][0].start_mark.column
        at = _end_of_line(text, _last(node).end_mark.index)
        before = text[:at] if text[:at].endswith("\n") else f"{text[:at]}\n"
        return f"{before}{_lines(indent, name, written, comment)}{text[at:]}"
    start, end = node.start_mark.index, node.end_mark.index
    if not node.value:
        return f"{text[:start].rstrip()}\n{_lines('  ', name, written, comment).rstrip()}{text[end:]}"
    at = node.value[-1][1].end_mark.index
    return f"{text[:at]}, {name}: {written}{text[at:]}"


def _lines(indent: str, name: str, written: str, comment: str) -> str:
    return f"{indent}# {comment}\n{indent}{name}: {written}\n" if comment else f"{indent}{name}: {written}\n"


def _last(node: yaml.Node) -> yaml.Node:
    """The last node in a table that stands on lines of its own: the table's own end is where the next key begins."""
    while isinstance(node, yaml.CollectionNode) and not node.flow_style and node.value:
        last = node.value[-1]
        node = last[1] if isinstance(last, tuple) else last
    return node


def _end_of_line(text: str, at: int) -> int:
    """The beginning of the next line; a text of several lines ends there already."""
    if text[at - 1] == "\n":
        return at
    found = text.find("\n", at)
    return len(text) if found < 0 else found + 1


def write_sheet(path: Path, text: str) -> None:
    """Put the text on disk in one step. Raises CallProblem where that cannot be done; the old file then stands."""
    place = path.resolve()
    beside = place.with_name(f".{place.name}.new")
    try:
        with beside.open("w", encoding="utf-8", newline="") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        if place.exists():
            shutil.copymode(place, beside)
        beside.replace(place)
    except OSError as error:
        beside.unlink(missing_ok=True)
        why = error.strerror or str(error)
        raise CallProblem(f"cannot be written: {why}", where=str(path), do="make room, or name another file") from error

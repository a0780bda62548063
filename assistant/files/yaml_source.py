"""YAML text -> texts, lists and tables that know where they stand. Nothing is interpreted.

A scalar stays the text that was written: `12.60` is "12.60" and `off` is "off" (never a float, never a bool), so that
decimals keep every digit and a condition may be called on or off. Only the plain part of YAML 1.1 is taken: aliases,
tags, merge keys and several documents in one file are refused, and so is a key given twice.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from pathlib import Path
from typing import Protocol, TypeVar

import yaml

from assistant.core.problems import CallProblem, FileProblem, FileProblems, Place

MOST_NESTED = 20
"""How deep tables and lists may stand in one another; a procedure needs six. Guards the parser's own recursion."""

MOST_EVENTS = 40_000
"""How much may stand in one file: words, tables and lists, and their ends; the longest procedure here has 5,000."""
MOST_FOUND = 200
"""So many problems of one file are told; who has mended them is told the next. Guards the time that it takes to find them."""
LONGEST_EXPLAINED = 64 * 1024
"""Characters of a file whose errors PyYAML's own parser is asked about: it takes a second for these."""

QUICK: type[yaml.SafeLoader] = getattr(yaml, "CSafeLoader", yaml.SafeLoader)

T = TypeVar("T")


class _Mark(Protocol):
    """What the two parsers of PyYAML (Python and C) both mark a spot with: 0-based line and column."""

    @property
    def line(self) -> int: ...
    @property
    def column(self) -> int: ...


@dataclass(frozen=True)
class Text:
    """A scalar as written, without its quotes."""

    value: str
    place: Place


@dataclass(frozen=True)
class Items:
    """A list."""

    items: tuple[Node, ...]
    place: Place


@dataclass(frozen=True)
class Table:
    """A mapping; `keys` says where each key stands."""

    entries: Mapping[str, Node]
    keys: Mapping[str, Place]
    place: Place


Node = Text | Items | Table


@dataclass
class Complaints:
    """Everything found wrong with one file, in the order of its lines."""

    file: str
    found: list[tuple[Place, FileProblem]] = field(default_factory=list)

    def add(self, place: Place, what: str, do: str) -> None:
        """One more problem; the same one again is not said twice. Raises FileProblems once there are enough of them."""
        if any(what == problem.what and place == at for at, problem in self.found):
            return
        self.found.append((place, FileProblem(what, where=place, do=do)))
        if len(self.found) >= MOST_FOUND:
            self.checked(None)

    def checked(self, result: T | None) -> T:
        """The result, when nothing was found wrong. Raises FileProblems with all that was, line by line."""
        if self.found or result is None:
            in_order = sorted(self.found, key=lambda pair: (pair[0].line, pair[0].column))
            raise FileProblems(tuple(problem for _, problem in in_order))
        return result


def did_you_mean(word: str, known: tuple[str, ...] | list[str]) -> str:
    """Advice for a misspelt word: the nearest known one, or all of them."""
    near = get_close_matches(word, known, n=1, cutoff=0.6)
    return f"did you mean '{near[0]}'?" if near else f"known are: {', '.join(known) or 'none'}"


def read_text(path: Path) -> str:
    """The text of a file. Raises CallProblem where it cannot be opened, FileProblems where it is not UTF-8."""
    try:
        raw = path.read_bytes()
    except OSError as error:
        why = error.strerror or str(error)
        raise CallProblem(f"cannot read the file: {why}", where=str(path), do="check the path") from error
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = raw[: error.start].decode("utf-8", "replace")
        place = Place(str(path), before.count("\n") + 1, len(before) - before.rfind("\n"))
        problem = FileProblem(
            f"the byte 0x{raw[error.start]:02x} is not UTF-8 text", where=place, do="save the file as UTF-8"
        )
        raise FileProblems((problem,)) from error


def parse_yaml(text: str, complaints: Complaints) -> Table | None:
    """The table that the text holds; None where it has none. What is wrong goes to `complaints`."""
    try:
        root = _composed(text, complaints)
    except yaml.YAMLError as error:
        complaints.add(*_explained(error, text, complaints.file))
        return None
    if complaints.found:
        return None
    if root is None:
        complaints.add(Place(complaints.file, 1, 1), "the file is empty", "write the keys that it needs")
        return None
    if isinstance(root, Table):
        return root
    complaints.add(root.place, "this is not a table of keys", "begin with 'key: value' lines")
    return None


def _composed(text: str, complaints: Complaints) -> Node | None:
    """The tree of the text. libyaml is ten times as quick; where it refuses, PyYAML's own parser says why, which is what
    errors are worded by."""
    before = len(complaints.found)
    for loader in (QUICK, yaml.SafeLoader):
        try:
            return _built(text, complaints, loader)
        except yaml.YAMLError:
            if loader is yaml.SafeLoader or len(text) > LONGEST_EXPLAINED:
                raise
            del complaints.found[before:]
    return None


@dataclass
class _Begun:
    """A list, or a table as its keys and values by turns, whose end is not read yet."""

    place: Place
    is_table: bool
    parts: list[Node] = field(default_factory=list)


def _built(text: str, complaints: Complaints, loader: type[yaml.SafeLoader]) -> Node | None:
    """The tree, made while the text is read; None where there is none, or where something is in it that is not taken."""
    around = _Begun(Place(complaints.file), False)
    begun = [around]
    misfits: list[tuple[Place, str, str]] = []
    for number, event in enumerate(yaml.parse(text, Loader=loader)):
        plain = type(event) is yaml.ScalarEvent and not event.tag and number <= MOST_EVENTS  # most are: spared the call
        if not plain and isinstance(event, yaml.NodeEvent) and not _taken(event, number, len(begun), complaints):
            return None
        if isinstance(event, yaml.ScalarEvent):
            begun[-1].parts.append(Text(str(event.value), _place(event.start_mark, complaints.file)))
        elif isinstance(event, yaml.CollectionStartEvent):
            place = _place(event.start_mark, complaints.file)
            begun.append(_Begun(place, isinstance(event, yaml.MappingStartEvent)))
        elif isinstance(event, yaml.CollectionEndEvent):
            ended = begun.pop()
            begun[-1].parts.append(_table(ended, misfits) if ended.is_table else Items(tuple(ended.parts), ended.place))
        elif isinstance(event, yaml.DocumentStartEvent) and around.parts:
            place = _place(event.start_mark, complaints.file)
            complaints.add(place, "this is not YAML: another document begins here", "make a file of each")
    if complaints.found:
        return None
    for misfit in misfits:
        complaints.add(*misfit)
    return around.parts[0] if around.parts else None


def _taken(event: yaml.NodeEvent, number: int, depth: int, complaints: Complaints) -> bool:
    """Complain of what this format leaves out of YAML; False where it is not read further."""
    if isinstance(event, yaml.AliasEvent):
        complaints.add(_place(event.start_mark, complaints.file), "a reference (*name) is not taken", "write it out")
    elif tag := getattr(event, "tag", None):
        complaints.add(_place(event.start_mark, complaints.file), f"the tag {tag} is not taken", "leave it out")
    if isinstance(event, yaml.CollectionStartEvent) and depth > MOST_NESTED:
        place = _place(event.start_mark, complaints.file)
        complaints.add(place, f"more than {MOST_NESTED} tables or lists in one another", "check the brackets")
        return False
    if number > MOST_EVENTS:
        complaints.add(Place(complaints.file), "too much stands in this file", "make two of it")
        return False
    return True


def _explained(error: yaml.YAMLError, text: str, file: str) -> tuple[Place, str, str]:
    """Place, what and what to do of PyYAML's own error."""
    if isinstance(error, yaml.reader.ReaderError):
        before = text[: int(error.position)]
        place = Place(file, before.count("\n") + 1, len(before) - before.rfind("\n"))
        return place, f"the character U+{ord(text[int(error.position)]):04X} may not stand in YAML", "delete it"
    if not isinstance(error, yaml.MarkedYAMLError):
        return Place(file), str(error), "mend the YAML"
    place = _place(error.problem_mark, file)
    line = text.splitlines()[place.line - 1 : place.line] or [""]
    if "'\\t'" in (error.problem or "") or "\t" in line[0][: place.column]:
        return place, "a tab where spaces are wanted", "indent with spaces only"
    what = " ".join(part for part in (error.context, error.problem) if part)
    return place, f"this is not YAML: {what}", "check indentation, colons, quotes and brackets around here"


def _place(mark: _Mark | None, file: str) -> Place:
    return Place(file, mark.line + 1, mark.column + 1) if mark else Place(file)


def _table(ended: _Begun, misfits: list[tuple[Place, str, str]]) -> Table:
    entries: dict[str, Node] = {}
    keys: dict[str, Place] = {}
    for key, value in zip(ended.parts[::2], ended.parts[1::2], strict=False):
        if not isinstance(key, Text):
            misfits.append(
                (key.place, "a key must be a word", "write 'word: value'; put texts that begin with { in quotes")
            )
        elif key.value in keys:
            first = keys[key.value].line
            misfits.append(
                (key.place, f"the key '{key.value}' is given twice", f"keep one; the first is in line {first}")
            )
        else:
            keys[key.value] = key.place
            entries[key.value] = value
    return Table(entries, keys, ended.place)

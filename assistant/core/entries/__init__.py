"""What is kept in the job file: one frozen dataclass an entry kind, JSON bodies of text, whole numbers and lists only.

Numbers that were read are decimal text ("12.60" stays "12.60"); scores are decimal text too, so that hashing never
depends on how a float is printed. An entry is never changed: a correction is a new entry that names the old one.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from assistant.core.entries import afterwards, work
from assistant.core.entries.afterwards import (
    AMENDED,
    DECISIONS,
    MISHEARD,
    REASONS,
    Amended,
    EntryUpheld,
    FindingDecided,
    JobSigned,
    QuestionAsked,
    SoundForgotten,
)
from assistant.core.entries.parent import Entry, HeardAs, Json, Rival
from assistant.core.entries.shape import entry_of
from assistant.core.entries.work import (
    CautionAnswered,
    CommandHeard,
    ConditionAffirmed,
    Counted,
    DeviceChanged,
    HeardUnclear,
    JobFinished,
    JobOpened,
    JobResumed,
    PartScanned,
    PhotographKept,
    QuestionAnswered,
    ReadingKept,
    RemarkKept,
    StepDone,
    StepOpened,
    StepPassed,
    StepUnable,
)

__all__ = [
    "AFTERWARDS",
    "AMENDED",
    "DECISIONS",
    "KINDS",
    "MISHEARD",
    "REASONS",
    "Amended",
    "CautionAnswered",
    "CommandHeard",
    "ConditionAffirmed",
    "Counted",
    "DeviceChanged",
    "Entry",
    "EntryUpheld",
    "FindingDecided",
    "HeardAs",
    "HeardUnclear",
    "JobFinished",
    "JobOpened",
    "JobResumed",
    "JobSigned",
    "Json",
    "Kept",
    "PartScanned",
    "PhotographKept",
    "QuestionAnswered",
    "QuestionAsked",
    "ReadingKept",
    "RemarkKept",
    "Rival",
    "SoundForgotten",
    "StepDone",
    "StepOpened",
    "StepPassed",
    "StepUnable",
    "entry_from",
    "opened_in",
]

AFTERWARDS: tuple[type[Entry], ...] = (
    Amended,
    QuestionAsked,
    QuestionAnswered,
    FindingDecided,
    EntryUpheld,
    JobSigned,
    SoundForgotten,
)
"""Kinds that are no work on the machine: most are kept when it is over."""

KINDS: dict[str, type[Entry]] = {
    cls.kind: cls
    for module in (work, afterwards)
    for cls in tuple(vars(module).values())
    if isinstance(cls, type) and issubclass(cls, Entry) and cls.kind
}
"""Every kind of the two modules by the name it has in the file."""


@dataclass(frozen=True)
class Kept:
    """An entry as it stands in the file. `at` is UTC, ISO 8601 with milliseconds; `clip` its sound, "" if none."""

    sequence: int
    at: str
    entry: Entry
    clip: str = ""


def opened_in(kept: Iterable[Kept]) -> JobOpened | None:
    """What the job was begun with: its first entry of that kind; None where there is none."""
    return next((k.entry for k in kept if isinstance(k.entry, JobOpened)), None)


def entry_from(kind: str, version: int, body: dict[str, Json]) -> Entry:
    """The entry of a file row. Raises ValueError naming the kind, version or field that does not fit."""
    cls = KINDS.get(kind)
    if cls is None or version > cls.version:
        raise ValueError(f"an entry of kind {kind!r} version {version} is newer than this program")
    return entry_of(cls, version, body)

"""What is kept in the job file: one frozen dataclass an entry kind, JSON bodies of text, whole numbers and lists only.

Numbers that were read are decimal text ("12.60" stays "12.60"); scores are decimal text too, so that hashing never
depends on how a float is printed. An entry is never changed: a correction is a new entry that names the old one.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, ClassVar

Json = Any


@dataclass(frozen=True)
class Entry:
    """The parent of every kind. `kind` is the name in the file, `version` of its body.

    `added`: the version that a field first came with, where that is not 1. Bodies from before it have the field's default.
    """

    kind: ClassVar[str] = ""
    version: ClassVar[int] = 1
    added: ClassVar[Mapping[str, int]] = {}

    def body(self) -> dict[str, Json]:
        """The JSON body."""
        return {f.name: _plain(getattr(self, f.name)) for f in dataclasses.fields(self)}


def _plain(value: object) -> Json:
    if isinstance(value, tuple):
        return [_plain(v) for v in value]
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {f.name: _plain(getattr(value, f.name)) for f in dataclasses.fields(value)}
    return value


@dataclass(frozen=True)
class HeardAs:
    """One thing that may have been said: which ear, the words, how likely (0 to 1, decimal text)."""

    ear: str
    words: str
    share: str


@dataclass(frozen=True)
class JobOpened(Entry):
    """The job begins. The texts make the file stand alone: resume reads them, not the disk.

    `conditions` are the (condition, value) pairs that hold at the start; `job` is the shop's own name for it;
    `technician` is who does it, "" where nobody was named; `earlier` are last season's readings of the same machine, each as
    (step, name, place, value, unit) (both from version 2); `keeps_sound`: what is heard is kept as sound (version 3).
    """

    kind = "job opened"
    version = 3
    added: ClassVar[Mapping[str, int]] = {"technician": 2, "earlier": 2, "keeps_sound": 3}
    procedure: str
    procedure_text: str
    sheet_text: str
    site_text: str
    job: str
    conditions: tuple[tuple[str, str], ...]
    program: str
    ears: str
    technician: str = ""
    earlier: tuple[tuple[str, str, str, str, str], ...] = ()
    keeps_sound: bool = True


@dataclass(frozen=True)
class JobResumed(Entry):
    """The program was started again on this file. `technician` is who goes on, "" where nobody was named (version 2)."""

    kind = "job resumed"
    version = 2
    added: ClassVar[Mapping[str, int]] = {"technician": 2}
    program: str
    ears: str
    technician: str = ""


@dataclass(frozen=True)
class StepOpened(Entry):
    """A step is asked: forwards, or by *go back*. `unsure`: conditions that leaving the step before left in doubt."""

    kind = "step opened"
    step: str
    unsure: tuple[str, ...] = ()


@dataclass(frozen=True)
class CautionAnswered(Entry):
    """A caution was said and answered *roger*."""

    kind = "caution answered"
    step: str
    caution: str


@dataclass(frozen=True)
class ConditionAffirmed(Entry):
    """The technician affirmed a machine condition that the step needs."""

    kind = "condition affirmed"
    step: str
    condition: str
    is_now: str


@dataclass(frozen=True)
class ReadingKept(Entry):
    """A value. `replaces` is the sequence of the entry it corrects, 0 if none; `at` such as "cylinder 2" or "".

    words: as said; value and unit: as read (unit as in the step, `said_unit` as spoken); verdict and limit: as judged;
    weighed: what else it may have been; asked: which question was answered before it was kept.
    """

    kind = "reading kept"
    step: str
    name: str
    at: str
    words: str
    value: str
    unit: str
    said_unit: str
    said_value: str
    verdict: str
    limit: str
    weighed: tuple[HeardAs, ...]
    asked: str
    replaces: int
    why: str


AMENDED = "amended"
"""`why` of an entry that the foreman put in the place of another."""
MISHEARD = "misheard"
"""The reason that says: the technician said the new value, and the ears took it for the old one."""
REASONS = (MISHEARD, "misspoken", "measured again")
"""Reasons for an amendment that have a name; any other words will do."""


@dataclass(frozen=True)
class Amended(ReadingKept):
    """The foreman's amendment of the reading that `replaces` names: all of a reading, with no sound of its own.

    `words` is "" (nothing was heard), `why` is `AMENDED` or says that it was judged again; `reason` is one of `REASONS` or
    free words; `who` amended it.
    """

    kind = "reading amended"
    reason: str
    who: str


@dataclass(frozen=True)
class HeardUnclear(Entry):
    """Something was heard that is no word of this step; the sound is kept."""

    kind = "heard unclear"
    step: str
    reason: str
    weighed: tuple[HeardAs, ...]


@dataclass(frozen=True)
class CommandHeard(Entry):
    """A command word that changes nothing by itself but belongs to the record (*stand by*, *disregard* ...)."""

    kind = "command heard"
    step: str
    command: str
    words: str


@dataclass(frozen=True)
class PartScanned(Entry):
    """A label was read, or said where it could not be. `kept`: taken for this job; `count`: how many pieces.

    `answer`: right, learnt (affirmed before in this job), shown before, superseded, age in doubt, already used, past its date,
    wrong, not known. `symbology` is SPOKEN where the number was said. `beside`: the packet's other labels, each (symbology,
    text); `count`, `made`, `best_before` and `beside` from version 2.
    """

    kind = "part scanned"
    version = 2
    added: ClassVar[Mapping[str, int]] = {"count": 2, "made": 2, "best_before": 2, "beside": 2}
    step: str
    role: str
    answer: str
    kept: bool
    symbology: str
    text: str
    gtin: str
    number: str
    lot: str
    serial: str
    expiry: str
    why: str
    count: int = 1
    made: str = ""
    best_before: str = ""
    beside: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class PhotographKept(Entry):
    """A picture that the step wanted, kept as this entry's clip. `trouble`: what was wrong with it, "" nothing."""

    kind = "photograph kept"
    step: str
    name: str
    trouble: str


@dataclass(frozen=True)
class RemarkKept(Entry):
    """A *note* or a *finding*: the sound, and words where an ear could make them out (unchecked)."""

    kind = "remark kept"
    step: str
    about: str
    words: str


@dataclass(frozen=True)
class Counted(Entry):
    """The assistant counted seconds aloud to the end."""

    kind = "counted"
    step: str
    seconds: int


@dataclass(frozen=True)
class StepDone(Entry):
    """The step is finished; `makes` are the (condition, value) pairs that hold from here."""

    kind = "step done"
    step: str
    makes: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class StepUnable(Entry):
    """The step was skipped with a reason (kept as sound, and as words where possible); `unsure` as in StepOpened."""

    kind = "step unable"
    step: str
    reason: str
    unsure: tuple[str, ...] = ()


@dataclass(frozen=True)
class StepPassed(Entry):
    """The step is for other machines and was not opened: `condition` is `is_now`, and not what the step is only for."""

    kind = "step passed"
    step: str
    condition: str
    is_now: str


@dataclass(frozen=True)
class DeviceChanged(Entry):
    """A device was lost or came back."""

    kind = "device changed"
    device: str
    state: str
    why: str


@dataclass(frozen=True)
class JobFinished(Entry):
    """The last step was passed: done, and not done."""

    kind = "job finished"
    done: int
    unable: int


@dataclass(frozen=True)
class JobSigned(Entry):
    """The foreman answers for all entries before this one. `key` is the public Ed25519 key (RFC 8032), 64 small hex digits.

    The signature itself is over this entry's hash, and so stands beside the entries: see assistant/files/JOBFILE.md.
    """

    kind = "job signed"
    who: str
    key: str


@dataclass(frozen=True)
class SoundForgotten(Entry):
    """Sounds were removed from the file, `clips` by their SHA-256; the entries that name them stay, words and hashes too.

    `why`: that somebody asked, or that the days of `keep_clips_days` were over. `who` may be "" where no person did it.
    """

    kind = "sound forgotten"
    clips: tuple[str, ...]
    who: str
    why: str


AFTERWARDS: tuple[type[Entry], ...] = (Amended, JobSigned, SoundForgotten)
"""Kinds that are kept when the work is over: they are no work on the machine."""

KINDS: dict[str, type[Entry]] = {
    cls.kind: cls for cls in tuple(globals().values()) if isinstance(cls, type) and issubclass(cls, Entry) and cls.kind
}
"""Every kind of this module by the name it has in the file."""


@dataclass(frozen=True)
class Kept:
    """An entry as it stands in the file. `at` is UTC, ISO 8601 with milliseconds; `clip` its sound, "" if none."""

    sequence: int
    at: str
    entry: Entry
    clip: str = ""


def entry_from(kind: str, version: int, body: dict[str, Json]) -> Entry:
    """The entry of a file row. Raises ValueError naming the kind, version or field that does not fit."""
    cls = KINDS.get(kind)
    if cls is None or version > cls.version:
        raise ValueError(f"an entry of kind {kind!r} version {version} is newer than this program")
    names = {f.name for f in dataclasses.fields(cls) if cls.added.get(f.name, 1) <= version}
    if set(body) != names:
        odd = sorted(set(body) ^ names)
        raise ValueError(f"an entry of kind {kind!r} has other fields than version {version}: {', '.join(odd)}")
    args = {k: tuple(HeardAs(**h) for h in v) if k == "weighed" else _frozen(v) for k, v in body.items()}
    return cls(**args)


def _frozen(value: Json) -> Json:
    return tuple(_frozen(v) for v in value) if isinstance(value, list) else value

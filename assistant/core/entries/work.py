"""Entries that are kept while the work is done, one frozen dataclass a kind."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import ClassVar

from assistant.core.entries.parent import Entry, HeardAs, Rival


@dataclass(frozen=True)
class JobOpened(Entry):
    """The job begins. The texts make the file stand alone: resume reads them, not the disk.

    `conditions` are the (condition, value) pairs that hold at the start; `job` is the shop's own name for it;
    `technician` is who does it, "" where nobody was named; `earlier` are last season's readings of the same machine, each as
    (step, name, place, value, unit) (both from version 2); `keeps_sound`: what is heard is kept as sound (version 3);
    `customer` is whose machine it is, `number` the machine's own (hull, frame or serial number), "" where not told (both from
    version 4).
    """

    kind = "job opened"
    version = 4
    added: ClassVar[Mapping[str, int]] = {"technician": 2, "earlier": 2, "keeps_sound": 3, "customer": 4, "number": 4}
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
    customer: str = ""
    number: str = ""


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
    weighed: what else it may have been; asked: which question was answered before it was kept. From version 2, of the asking
    rule: `sureness` is the probability that it gave to this value (0 to 1, decimal text), `rule` its reason to keep or to ask,
    `rivals` the other values that it weighed, likeliest first. All three are empty where nothing was heard.
    """

    kind = "reading kept"
    version = 2
    added: ClassVar[Mapping[str, int]] = {"sureness": 2, "rule": 2, "rivals": 2}
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
    sureness: str = field(default="", kw_only=True)
    rule: str = field(default="", kw_only=True)
    rivals: tuple[Rival, ...] = field(default=(), kw_only=True)


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
class QuestionAnswered(Entry):
    """What the technician answered to the entry `question`, which asked back: the sound, and words where an ear could make
    them out (unchecked); written down where `who` typed it on the pages, else "" and as said in the bay."""

    kind = "question answered"
    question: int
    words: str
    who: str

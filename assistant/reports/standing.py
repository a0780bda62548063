"""How far a job's record stands: signed and settled, or a draft and why; who signed; and how anyone can check it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from assistant.core.entries import JobResumed, JobSigned, Kept, SoundForgotten
from assistant.files.verdict import Signed, Verdict
from assistant.reports.job_report import JobReport
from assistant.reports.open_items import open_items

KEEPS_SIGNED = (JobSigned, SoundForgotten, JobResumed)
"""Entries after a signature that change nothing of what was signed: the program was started again, sound was removed."""

DRAFT = "DRAFT, not to be relied on"


@dataclass(frozen=True)
class Signature:
    """One that fits: who, when (UTC, "" where the entry has none), in which entry, with which public key, known here as."""

    who: str
    at: str
    entry: int
    key: str
    known: str


@dataclass(frozen=True)
class Standing:
    """`draft`: why the sheet is none to rely on, in sentences, none where it is; `unsettled`: entries that hold it up;
    `unproved`: entries that name a signature which does not count.

    `entries` and `head` are of the verdict: how many, and the last one's hash; `file` is the job file's bare name.
    """

    draft: tuple[str, ...]
    unsettled: frozenset[int]
    unproved: frozenset[int]
    signatures: tuple[Signature, ...]
    entries: int
    head: str
    file: str

    @property
    def mark(self) -> str:
        """What every page of every sheet says of it: "" where it is none of a draft."""
        return DRAFT if self.draft else ""

    @property
    def check(self) -> str:
        """The command that checks the record."""
        return f"layup verify {self.file}"


def standing_of(report: JobReport, kept: tuple[Kept, ...], verdict: Verdict) -> Standing:
    """What stands, by the verdict on the file that these entries come from."""
    opened = open_items(report)
    times = {k.sequence: k.at for k in kept}
    return Standing(
        draft=tuple(_drafts(len(opened), kept, verdict)),
        unsettled=frozenset(item.sequence for item in opened),
        unproved=frozenset(k.sequence for k in kept if isinstance(k.entry, JobSigned))
        - {s.entry for s in verdict.signed},
        signatures=tuple(_signature(one, times) for one in verdict.signed),
        entries=verdict.entries,
        head=verdict.head,
        file=Path(verdict.file).name,
    )


def is_signed(kept: tuple[Kept, ...]) -> bool:
    """Do the entries say so: a signature is among them, and nothing came after it that changes what was signed. Whether it fits
    is `verify`'s to say."""
    return added_since_signed(kept) == 0


def added_since_signed(kept: tuple[Kept, ...]) -> int | None:
    """How many entries came after the last signature that it would have to cover; None where there is no signature."""
    last = max((k.sequence for k in kept if isinstance(k.entry, JobSigned)), default=0)
    return _added_after(last, kept) if last else None


def _added_after(signature: int, kept: tuple[Kept, ...]) -> int:
    """How many entries came after that one which it would have to cover."""
    return sum(k.sequence > signature and not isinstance(k.entry, KEEPS_SIGNED) for k in kept)


def _drafts(opened: int, kept: tuple[Kept, ...], verdict: Verdict) -> list[str]:
    found = []
    if verdict.fault is not None:
        found.append(f"The record is not whole: {verdict.fault.how}. Do not rely on this sheet.")
    elif not verdict.signed:
        found.append("Nobody has signed for it yet.")
    else:
        after = _added_after(verdict.signed[-1].entry, kept)
        found += [f"{counted(after, 'entry', 'entries')} came after the signature: sign again."] if after else []
    if opened:
        found.append(f"{counted(opened, 'thing is', 'things are')} not settled yet.")
    return found


def _signature(signed: Signed, times: dict[int, str]) -> Signature:
    return Signature(signed.who, times.get(signed.entry, ""), signed.entry, signed.key, signed.known)


def counted(number: int, one: str, many: str) -> str:
    """
    >>> counted(1, "thing is", "things are"), counted(3, "thing is", "things are")
    ('1 thing is', '3 things are')
    """
    return f"{number} {one if number == 1 else many}"

"""What is found of a job file that was checked: whole, or the first thing that does not fit, and how."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

How = Literal[
    "changed",
    "removed",
    "added",
    "reordered",
    "clip changed",
    "clip missing",
    "clip added",
    "cut short after signing",
    "signature changed",
    "signature missing",
    "signature of another key",
    "not signed",
    "rules changed",
    "damaged",
]


@dataclass(frozen=True)
class Fault:
    """The first thing that does not fit. `sequence` is the entry, 0 where it is the file as a whole."""

    sequence: int
    how: How
    says: str


@dataclass(frozen=True)
class Signed:
    """A signature that fits: at which entry, who (by the entry's word), with which key, and the key's name here if `known`."""

    entry: int
    who: str
    key: str
    known: str = ""

    def __str__(self) -> str:
        known = f"known here as {self.known}" if self.known else "not known here: compare it with the signer's own"
        return f"signed by {self.who} in entry {self.entry}, key {self.key} ({known})"


@dataclass(frozen=True)
class Verdict:
    """What `verify` found. `head` is the hash of the last entry that fits, "" for none; `notes` are no faults."""

    file: str
    entries: int
    clips: int
    head: str
    fault: Fault | None
    notes: tuple[str, ...] = ()
    signed: tuple[Signed, ...] = ()

    @property
    def whole(self) -> bool:
        """True if everything fits."""
        return self.fault is None

    def __str__(self) -> str:
        if self.fault is None:
            by = str(self.signed[-1]) if self.signed else "unsigned: entries cut from the end would not show"
            counts = f"{self.entries} entries, {self.clips} clips"
            head = f"{self.file}: whole: {counts}, last hash {self.head or 'none'} ({by})"
        else:
            place = f"entry {self.fault.sequence}" if self.fault.sequence else "the file"
            head = f"{self.file}: not whole: {place}: {self.fault.how}: {self.fault.says}"
        return "\n".join((head, *(f"  note: {note}" for note in self.notes)))

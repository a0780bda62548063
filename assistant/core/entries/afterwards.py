"""Entries that are kept when the work is over: the foreman's, and what becomes of the record."""

from __future__ import annotations

from dataclasses import dataclass

from assistant.core.entries.parent import Entry
from assistant.core.entries.work import ReadingKept

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


@dataclass(frozen=True)
class QuestionAsked(Entry):
    """The foreman asks the technician back, about the entry `about` (0: the job). It is read out when the job is taken up."""

    kind = "question asked"
    about: int
    text: str
    who: str


DECISIONS = ("approved", "declined", "later")
"""What a customer may say of a finding: have it done, leave it, ask again (next season, or with a price)."""


@dataclass(frozen=True)
class FindingDecided(Entry):
    """The customer's answer to the finding that stands in the entry `finding`: one of DECISIONS, in his own `words` where they
    were taken down, given by `by` on the day `on` (ISO 8601), written down by `who`. The last one for a finding counts."""

    kind = "finding decided"
    finding: int
    decision: str
    words: str
    by: str
    on: str
    who: str


@dataclass(frozen=True)
class EntryUpheld(Entry):
    """The foreman looked at the entry `entry` and lets it stand as it is; `why` in his words, "" where he gave none."""

    kind = "entry upheld"
    entry: int
    why: str
    who: str

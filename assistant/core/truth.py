"""What was said on each kept sound of a job, as far as the job's own entries tell, and how that is known.

Rules for maintainers: an ear is measured against this, so nothing is taken for known because an ear heard it.

    amended      the foreman listened and says that it was misheard: his value is what was said
    affirmed     the value was read to the technician as a question, and the answer was *affirm*
    denied       the value was read out and denied: what was said is the value that settled the question, digit by digit
    corrected    the technician put another value in its place: misheard, or a slip of the tongue, or measured again.
                 The later value may be what was said: doubtful
    unconfirmed  kept and never changed: nothing but the hearing vouches for it. An answer to "which of two" or said digit
                 by digit is such a one too: its sound is the answer's own, and it was not asked about again
    unknown      it could not be made out
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from assistant.core.entries import MISHEARD, Amended, HeardUnclear, JobOpened, JobResumed, Kept, ReadingKept
from assistant.core.judging import JUDGED_AGAIN
from assistant.core.turns.readings import ASKED_TOO_OFTEN, DENIED

HowKnown = Literal["amended", "affirmed", "denied", "corrected", "unconfirmed", "unknown"]
OF_THE_WHOLE: tuple[HowKnown, ...] = ("corrected", "amended", "affirmed", "unconfirmed")
"""Of several values in one breath: how the whole is known is the first of these that any of them is."""


@dataclass(frozen=True)
class Said:
    """One value that was said: the reading's name and place ("cylinder 2" or ""), decimal text or a choice, its unit."""

    name: str
    at: str
    value: str
    unit: str


@dataclass(frozen=True)
class ClipTruth:
    """One utterance: the entries that it led to, its sound, who spoke ("" not named), what was kept of it as words.

    `said` is empty where what was said is not known.
    """

    sequences: tuple[int, ...]
    clip: str
    technician: str
    step: str
    words: str
    said: tuple[Said, ...]
    how: HowKnown


def truth_of(entries: Iterable[Kept]) -> tuple[ClipTruth, ...]:
    """What was said, for every sound that led to a reading or was unclear, in order."""
    kept = tuple(entries)
    by = _replaced_by(kept)
    technician = ""
    found: list[ClipTruth] = []
    for one in kept:
        if isinstance(one.entry, JobOpened | JobResumed):
            technician = one.entry.technician
        elif isinstance(one.entry, HeardUnclear) and one.clip:
            found.append(_of_unclear(one, one.entry, technician, kept))
        elif isinstance(one.entry, ReadingKept) and one.clip:
            truth = _of_reading(one, one.entry, technician, by)
            if found and _one_breath(found[-1], truth):
                truth = _joined(found.pop(), truth)
            found.append(truth)
    return tuple(found)


Replacing = Mapping[int, tuple[Kept, ReadingKept]]


def _replaced_by(kept: Iterable[Kept]) -> Replacing:
    """Each replaced entry, and the one that first took its place."""
    by: dict[int, tuple[Kept, ReadingKept]] = {}
    for one in kept:
        if isinstance(one.entry, ReadingKept) and 0 < one.entry.replaces < one.sequence:
            by.setdefault(one.entry.replaces, (one, one.entry))
    return by


def _of_unclear(one: Kept, unclear: HeardUnclear, technician: str, kept: tuple[Kept, ...]) -> ClipTruth:
    """Of a denied sound: the value that its question was settled with. Of any other nothing is known."""
    plain = ClipTruth((one.sequence,), one.clip, technician, unclear.step, "", (), "unknown")
    if unclear.reason != DENIED:
        return plain
    for later in kept[one.sequence :]:
        r = later.entry
        if isinstance(r, HeardUnclear) and r.reason != ASKED_TOO_OFTEN:
            continue  # the question is still open
        if isinstance(r, ReadingKept) and r.asked and r.step == unclear.step:
            return replace(plain, said=(Said(r.name, r.at, r.value, r.unit),), how="denied")
        return plain
    return plain


def _of_reading(kept: Kept, r: ReadingKept, technician: str, by: Replacing) -> ClipTruth:
    said, how = _what_was_said(kept.sequence, r, by)
    return ClipTruth((kept.sequence,), kept.clip, technician, r.step, r.words, (said,), how)


def _what_was_said(sequence: int, r: ReadingKept, by: Replacing) -> tuple[Said, HowKnown]:
    """Follow what took the place of it. Only the first who really said another value, or heard this one, counts."""
    said = Said(r.name, r.at, r.value, r.unit)
    how: HowKnown = "affirmed" if r.asked == "affirm" else "unconfirmed"
    while sequence in by:
        kept, later = by[sequence]
        if isinstance(later, Amended):
            if later.reason == MISHEARD:
                said, how = Said(later.name, later.at, later.value, later.unit), "amended"
        elif later.why != JUDGED_AGAIN:
            return (said, how) if how == "amended" else (_what_was_said(kept.sequence, later, by)[0], "corrected")
        sequence = kept.sequence
    return said, how


def _one_breath(first: ClipTruth, second: ClipTruth) -> bool:
    """One sound with several values ("one ninety, one eighty eight"): entries in a row, of one reading, each elsewhere."""
    return (
        (first.clip, first.words, first.said[:1] and first.said[0].name)
        == (second.clip, second.words, second.said[0].name)
        and first.sequences[-1] + 1 == second.sequences[0]
        and second.said[0].at not in {"", *(s.at for s in first.said)}
    )


def _joined(first: ClipTruth, second: ClipTruth) -> ClipTruth:
    how = min(first.how, second.how, key=OF_THE_WHOLE.index)
    both = (*first.sequences, *second.sequences)
    return ClipTruth(both, first.clip, first.technician, first.step, first.words, (*first.said, *second.said), how)

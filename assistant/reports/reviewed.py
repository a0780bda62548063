"""What the foreman did with a job: the entries that he let stand, the customer's decisions, the questions and their answers."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from assistant.core import entries as e
from assistant.core.entries import Kept
from assistant.reports.sections import AskedBack, Decision, Upheld


def decisions_of(kept: Iterable[Kept]) -> Mapping[int, Decision]:
    """The decision that counts for each finding, by the entry that the finding stands in."""
    found: dict[int, Decision] = {}
    for k in kept:
        if isinstance(k.entry, e.FindingDecided):
            d = k.entry
            found[d.finding] = Decision(k.sequence, k.at, d.decision, d.words, d.by, d.on, d.who)
    return found


def questions_of(kept: Iterable[Kept]) -> tuple[AskedBack, ...]:
    """The questions in order, each with its first answer."""
    found: dict[int, AskedBack] = {}
    for k in kept:
        if isinstance(k.entry, e.QuestionAsked):
            found[k.sequence] = AskedBack(k.sequence, k.at, k.entry.about, k.entry.text, k.entry.who)
        elif isinstance(k.entry, e.QuestionAnswered):
            asked = found.get(k.entry.question)
            if asked is not None and not asked.answered:
                answer = replace(asked, answered=k.sequence, answer=k.entry.words, answer_clip=k.clip)
                found[k.entry.question] = replace(answer, answer_who=k.entry.who)
    return tuple(found.values())


def upheld_of(kept: Iterable[Kept]) -> Mapping[int, Upheld]:
    """The entries that were upheld, each with the last who did so."""
    return {
        k.entry.entry: Upheld(k.sequence, k.at, k.entry.why, k.entry.who)
        for k in kept
        if isinstance(k.entry, e.EntryUpheld)
    }

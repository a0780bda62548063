"""The asking rule: one pure function of the evidence and of what is at stake. Keep, ask for a yes, ask which, ask for digits.

The target is stated: of 1000 readings at most one is kept wrong unasked, at the fewest turns. So a reading is kept at once
only where all of this holds, and each has its number:

    it is likely enough             KEEP, found on the tuning speakers: the least that meets the target
    every ear and saying agrees     of the tuning voices' 483 readings that the ears differ about 67 are wrong
    noise drowns little of it       AUDIBLE: of a number; an answer by a word may be drowned in part
    no rival would turn the verdict, or is meant by the same words, at TURNS or more
    nothing sounds like it          ALIKE: to one ear alone, each time that it is said
    it lies in the plausible range  a value outside it is always asked about
    it was not denied just now      heard again all the same, it may be misheard each time
    it is no surprise               far from last season's value while a rival lies near it: asked

Else the cheapest question that is likely to settle it: *which of two* where two hold nearly all of it, *affirm?* where one
does, *digit by digit* where none does. Where other words are likelier than any meaning nothing is asked: it is unclear.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from assistant.core.labels.check_digit import gtin14
from assistant.core.speech.evidence import Evidence, Likely, M
from assistant.core.speech.step_grammar import Meaning

Ask = Literal["none", "affirm", "choose", "digits"]

KEEP = 0.995
"""Probability from which a reading that every hearing agrees on may be kept with a read-back alone. Of the tuning speakers'
5,019 readings, clean to 0 dB, 4,148 are kept by this and what else follows, noise left aside, and none of them wrong, which
shows no more than one wrong in 1,380; at 0.99 4,287 and none, at 0.98 4,330 and one. It is the highest at which fewer than one
reading in ten of their voices is asked about in quiet. With `AUDIBLE` 3,174 are kept. Of 262 pieces of talk none is."""
KEEP_ALONE = 0.981
"""The same where only one ear heard it once; a value of one short word, or in another unit than its reading's, is always asked
about there. Vosk alone: 1,351 kept; beside blows as loud as the speech one value of them is wrong (*thirty* for *forty*), and
in such noise one was taken for a value that is taken back."""
AUDIBLE = 0.75
"""How much of a number must stand above the noise (speech intelligibility index) for it to be kept unasked: what the standard
calls a good channel (ANSI S3.5-1997, from memory; a poor one is below 0.45). `devices.audibility`, which measures it, reads
some 0.05 above the standard's index there. What is drowned, most often a softer end, neither ear hears, and both are as sure of
the rest: *eight fourteen* for *eight fourteen sixty four*. Of 10,862 hearings of 193 numbers of 56 people (49 of them known to
the ears) from 10 to -6 dB 6,686 would be kept without it, 11 of them wrong, all below 0.5; from 0.75 on the best was right in
all 3,367, asked about or not. Of the tuning speakers' 5,019 readings 970 are asked about for this alone, none of them in quiet.
Answers by a word, of a short list, are kept all the same, and commands obeyed: few are a part of another (no figure)."""
KEEP_COMMAND, KEEP_COMMAND_ALONE = 0.9, 0.97
"""Probability from which a command is obeyed, by both ears and by one alone. Commands are not asked about; *disregard* or
*go back* mends most. On the tuning speakers, both ears: 1,678 of 1,703 obeyed, none wrong, and none of 262 pieces of talk taken
for one; at 0.85 1,681, one wrong. Vosk alone: 1,630, none wrong, 6 of the talk; at 0.95 1,645, two wrong, at 0.9 1,666, six
(*note* for *stop*; but that acts at once, before it is weighed). In quiet and at 20 dB all are obeyed either way."""
TAKE_LABEL, TWICE_THE_NEXT = 0.1, 2
"""Probability from which a label that was spelled is listened to, and how many times likelier than the next it must be. It is
no command: nothing is taken by it before its check digit was tried, or a yes heard; and signs of other words add up over its
many words. Set on four recordings of 13 figures by espeak-ng in quiet; twelve pieces of talk reached 0.051 at most. Of 24
other such numbers by twelve synthetic voices, in quiet and beside an engine at 10 dB, both had all 48 right (0.9 and up),
with the models before these."""
KEEP_YES = 0.9
"""The same for *affirm*: with it stands what was in doubt."""
TURNS = 0.005
"""Probability at which a rival that would turn the verdict round is always asked about. On the tuning speakers 78 of the step's
4,720 readings are asked about for this first. What two ears agree on would be asked about anyhow, with `KEEP` where it is; for
one ear, and in what the record says, this decides."""
ALIKE = 0.01
"""Probability at which what one ear alone heard is asked about, since it may be deaf to a value that sounds like it and that it
did not think of (*seventeen* for *seventy*). Vosk alone keeps 213 readings of the tuning speakers fewer by it, three of them
wrong."""
ONE_OF_TWO, NEARLY_ALL = 0.1, 0.8
"""Probability of the second, and of the first two together, from which the question is "this, or that?"."""
SETTLES = 0.8
"""Probability, with what was heard before, from which naming one of the two settles "this, or that?", where nothing
else is as likely as would be asked about."""
WORTH_A_QUESTION = 0.25
"""Probability below which the best is not worth a yes-or-no; then it is said again, or digit by digit."""
NEAR, FAR = Decimal("0.1"), Decimal("0.25")
"""Shares of last season's value within which a reading repeats it, and beyond which it surprises (common practice, no source:
compression of a sound engine repeats within a tenth)."""

Judge = Callable[[Meaning], str]
"""What would follow from a meaning: its verdict."""
Earlier = Callable[[Meaning], tuple[Decimal | None, ...]]
"""Last season's value of each reading that a meaning gives; None where it is not known."""


@dataclass(frozen=True)
class Stakes:
    """What follows from each meaning, what was measured there last season, and what was asked about and denied."""

    judge: Judge
    earlier: Earlier = lambda _meaning: ()
    unheard: tuple[Likely[Meaning], ...] = ()
    denied: frozenset[Meaning] = frozenset()


@dataclass(frozen=True)
class Answer:
    """What to do with the likeliest meaning, and why in words. `understood` False: nothing may be kept or asked."""

    understood: bool
    ask: Ask
    options: tuple[Likely[Meaning], ...]
    reason: str


def ask_about(evidence: Evidence[Meaning], stakes: Stakes) -> Answer:
    """The rule. Evidence without any meaning is unclear."""
    ranked = evidence.ranked
    if not ranked:
        return Answer(False, "none", (), "no words of this step")
    best = ranked[0]
    if best.meaning.everyday:
        return Answer(False, "none", ranked, f"{best.meaning.everyday!r} means nothing here")
    if best.meaning.label:
        return _label(evidence)
    if evidence.other > best.share:
        return Answer(False, "none", ranked, "other words are likelier than any of this step")
    if not best.meaning.readings:
        return _command(evidence)
    doubt = _doubt(evidence, stakes)
    if not doubt:
        return Answer(True, "none", ranked, _why_sure(evidence))
    askable = _askable(ranked, stakes)
    return Answer(True, question_of(askable), askable, doubt)


def ask_by_itself(alone: Iterable[Evidence[Meaning]], stakes: Stakes, bound: float) -> Answer | None:
    """What to ask where the ears together refuse, and one of them is sure by itself: it is asked, never kept. None: nothing."""
    sure = [e for e in alone if e.ranked and e.ranked[0].meaning.readings and e.ranked[0].share >= bound]
    if not sure:
        return None
    best = max(sure, key=lambda e: e.ranked[0].share)
    askable = _askable(best.ranked, stakes)
    return Answer(True, question_of(askable), askable, "only one ear heard words of this step")


def settles(heard: tuple[Likely[Meaning], ...], offered: tuple[Meaning, ...]) -> bool:
    """Does the answer to "this, or that?" settle it: one of the two, likely, and nothing beside it worth a question."""
    alone = len(heard) < 2 or heard[1].share < ONE_OF_TWO
    return heard[0].meaning in offered and heard[0].share >= SETTLES and alone


def _typed(evidence: Evidence[Meaning]) -> bool:
    """Words that are known, not heard, leave nothing to other words."""
    return evidence.other == 0.0


def _why_sure(evidence: Evidence[Meaning]) -> str:
    if evidence.hearings > 1:
        return "all agree"
    return "the words are known" if _typed(evidence) else "it is likely enough"


def enough(evidence: Evidence[M]) -> bool:
    """Is the likeliest likely enough to be kept, as far as that goes."""
    return evidence.ranked[0].share >= (KEEP if evidence.hearings > 1 else KEEP_ALONE)


def drowned(evidence: Evidence[M]) -> bool:
    """Does noise drown so much of it that more may have been said."""
    return evidence.audible < AUDIBLE


def _doubt(evidence: Evidence[Meaning], stakes: Stakes) -> str:
    """Why the likeliest is not kept at once; "" where it is."""
    best, others = evidence.ranked[0], evidence.ranked[1:]
    rivals = [w for w in others if w.share >= TURNS and not w.meaning.everyday]
    if any(w.words == best.words for w in rivals):
        return "the words can mean two values"
    if evidence.differ:
        return "the ears differ"
    alike = [w for w in stakes.unheard if w.share >= ALIKE and w.meaning not in stakes.denied]
    if any(stakes.judge(w.meaning) != stakes.judge(best.meaning) for w in (*rivals, *alike)):
        return "another likely value would turn the verdict round"
    if not enough(evidence):
        return "it is not likely enough"
    if alike:
        return "only one ear heard it, and another value sounds like it"
    if drowned(evidence) and not best.meaning.by_word:
        return "noise drowns too much of what was said"
    if evidence.hearings == 1 and not _typed(evidence) and len(best.words.split()) == 1 and not best.meaning.by_word:
        return "only one ear heard it, and one short word is soon misheard"
    if evidence.hearings == 1 and not _typed(evidence) and any(r.said_unit != r.unit for r in best.meaning.readings):
        return "only one ear heard it, and in another unit"
    if best.meaning.implausible:
        return "no such value is plausible here"
    if best.meaning in stakes.denied:
        return "it was denied a moment ago"
    if any(_was_so_before(best.meaning, w.meaning, stakes) for w in others):
        return "last season's value was another, and that may have been said"
    return ""


def _askable(ranked: tuple[Likely[Meaning], ...], stakes: Stakes) -> tuple[Likely[Meaning], ...]:
    """What may stand in a question about a value: values only; one that was denied only where it is heard as the best."""
    return (ranked[0], *(w for w in ranked[1:] if w.meaning.readings and w.meaning not in stakes.denied))


def question_of(ranked: tuple[Likely[Meaning], ...]) -> Ask:
    """The cheapest question: which of two where they hold nearly all, a yes where the best is likely, else digit by digit."""
    two = [each.share for each in ranked[:2]]
    if min(two) >= ONE_OF_TWO and len(two) > 1 and sum(two) >= NEARLY_ALL:
        return "choose"
    return "affirm" if ranked[0].share >= WORTH_A_QUESTION else "digits"


def _command(evidence: Evidence[Meaning]) -> Answer:
    """A command is never asked about ("affirm that you said affirm?"): a likely one is taken, another said again.

    A yes needs every ear, and no likely no: one that took *negative* for *affirm* would keep what was in doubt.
    """
    best = evidence.ranked[0]
    contradicted = any(w.share >= TURNS and w.meaning.command == "negative" for w in evidence.ranked)
    if best.meaning.command == "affirm" and (evidence.differ or contradicted):
        return Answer(False, "none", evidence.ranked, "a yes, but it may have been a no")
    bound = KEEP_COMMAND if evidence.hearings > 1 else KEEP_COMMAND_ALONE
    if best.share >= max(bound, KEEP_YES if best.meaning.command == "affirm" else 0.0):
        return Answer(True, "none", evidence.ranked, "a likely command")
    return Answer(False, "none", evidence.ranked, "a command, but not likely enough")


def _label(evidence: Evidence[Meaning]) -> Answer:
    """A number that was spelled: heard well enough to be tried, or said again. Of several that are about as likely the only
    one with a right check digit was said: one in ten has it by chance."""
    ranked = evidence.ranked
    close = [w for w in ranked if w.share * TWICE_THE_NEXT > ranked[0].share]
    checked = [w for w in close if isinstance(gtin14(w.meaning.label), str)]
    meant = close if len(close) == 1 else checked
    if ranked[0].share < TAKE_LABEL or len(meant) != 1:
        return Answer(False, "none", ranked, "a label, but not likely enough")
    options = (*meant, *(w for w in ranked if w is not meant[0]))
    return Answer(True, "none", options, "a label; it is checked, or read back")


def _was_so_before(best: Meaning, rival: Meaning, stakes: Stakes) -> bool:
    """Is one of the readings far from last season's value, which it repeats if the rival was said."""
    pairs = zip(_departures(best, stakes), _departures(rival, stakes), strict=False)
    return any(is_off is not None and is_off > FAR and rival_off is not None and rival_off <= NEAR
               for is_off, rival_off in pairs)  # fmt: skip


def _departures(meaning: Meaning, stakes: Stakes) -> list[Decimal | None]:
    """By what share of last season's value each reading differs from it; None where that is not known."""
    return [
        abs(r.value - was) / abs(was) if was and isinstance(r.value, Decimal) else None
        for r, was in zip(meaning.readings, stakes.earlier(meaning), strict=False)
    ]

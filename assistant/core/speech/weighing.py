"""How sure is sure enough: the one rule that keeps, asks, or refuses, and its numbers.

What each ear thinks possible is summed over the forms of one meaning ("one ninety" and "one nine zero" are both 190).
Two ears that agree are worth far more than one that is certain (measured beforehand on spoken numbers of people that
neither ear knew: where the two agreed none was wrong), so:

    both agree                          keep it, unless a likely enough other would turn the verdict round
    they differ                         ask which of the two
    one refuses (other words, noise)    ask for a yes if the other is sure, else it is unclear
    only one ear is there               keep it when it is sure; ask more
    none                                unclear

A wrong value kept in silence is the worst outcome, so every doubt asks. Thresholds are those of the experiments on the
Whisper ear (log-probability a word, and the gap to a loose loop of words); they were picked there on other people's clips.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from assistant.core.entries import HeardAs
from assistant.core.events import Take
from assistant.core.speech.commands import BY_NAME
from assistant.core.speech.expectation import Expectation
from assistant.core.speech.sound_alikes import might_be
from assistant.core.speech.step_grammar import Meaning, meanings_of

Ask = Literal["none", "affirm", "choose", "digits"]


@dataclass(frozen=True)
class Bounds:
    """`fit`: log-probability a word below which the sound does not fit the step's grammar. `loose_gap`: how far the
    step's best may lie below a loose loop's best before something else was said."""

    fit: float
    loose_gap: float


ALONE = Bounds(fit=-1.5, loose_gap=-0.8)
"""Where a number was heard, or the ears differ: 142 of 145 readings passed and none of 236 pieces of talk."""
AGREED_WORD = Bounds(fit=-3.5, loose_gap=-2.0)
"""Where two ears agree on a lone command or answer: Whisper finds a single word less likely in itself. Of 476 commands in
five synthetic voices that neither ear knew (clean, engine at 10 dB) 424 passed, none of them wrong; of 401 pieces of talk and
single words none (part of that talk was in the Vosk model's training, which flatters it). The bound was picked on these
very clips, and between -3.0 and -3.5, which did alike on them, by a recording of the demo. Vosk's finding that other words
fit a little better counts here by its gap alone."""
WORTH_A_QUESTION = -2.5
"""Vosk's gap to a string outside the grammar down to which its best inside is asked about: all 12 commands of the synthetic
voices above that it heard outside the grammar lay within it, one wrong."""
EVEN = -0.5
"""Vosk's gap down to which a lone command is taken for what it is: its weight for "other words" moves by that much with the
number of phrases in a grammar. Of 135 pieces of talk none more was taken by it, of 290 single everyday words one more (28)."""
SURE_ALONE = 0.8
"""Share that one ear alone must give a meaning to be believed (0.9 and more was never wrong in clean sound)."""
SURE_TOGETHER = 0.4
"""Share that the surer of two agreeing ears must give."""
LIKELY_ENOUGH = 0.05
"""Share at which another meaning counts as something that may have been said."""
ALIKE_SHARE = 0.05
"""Share given to a sound-alike that no ear proposed, where one ear is alone."""

Judge = Callable[[Meaning], str]
"""What would follow from a meaning: its verdict, "" for none."""


@dataclass(frozen=True)
class Weighed:
    """A meaning with the words that carried most of it and its share in the ear that believes it most."""

    meaning: Meaning
    words: str
    share: float


@dataclass(frozen=True)
class Decision:
    """What follows. `kind` unclear: nothing may be kept. `options` best first (two for choose); `reason` in words."""

    kind: Literal["understood", "unclear"]
    ask: Ask
    options: tuple[Weighed, ...]
    reason: str
    weighed: tuple[HeardAs, ...]

    @property
    def best(self) -> Weighed:
        """The likeliest; IndexError when unclear without any candidate."""
        return self.options[0]


def weigh(expectation: Expectation, takes: tuple[Take, ...], judge: Judge) -> Decision:
    """Weigh what the ears heard at this moment. Pure; `judge` says what verdict each meaning would get."""
    heard = tuple(
        HeardAs(t.ear, " ".join(c.words), f"{c.share:.3f}") for t in takes for c in t.candidates[:4] if c.words
    )
    believed = [(take, _by_meaning(expectation, take)) for take in takes]
    bounds = AGREED_WORD if _agree_on_a_word(believed) else ALONE
    refused = [not ranked or _refuses(take, bounds) for take, ranked in believed]
    speaking = [one for one, refuses in zip(believed, refused, strict=True) if not refuses]
    silent = [one for one, refuses in zip(believed, refused, strict=True) if refuses]
    if not speaking and len(takes) == 1 and _nearly(takes[0]) and believed[0][1]:
        speaking, silent = believed, []
    if not speaking:
        return Decision("unclear", "none", _all(believed), "no words of this step", heard)
    if silent:
        decided = _one_refuses(speaking, silent)
    elif len(speaking) == 1:
        decided = _alone(expectation, *speaking[0], judge)
    else:
        decided = _together(speaking, judge)
    ask, options, reason = decided
    if options and options[0].meaning.everyday:
        return Decision("unclear", "none", options, f"{options[0].meaning.everyday!r} means nothing here", heard)
    kind: Literal["understood", "unclear"] = "understood" if options else "unclear"
    if options and not options[0].meaning.readings and ask != "none":
        return _doubtful_command(options, reason, heard)
    return Decision(kind, ask, options, reason, heard)


def _refuses(take: Take, bounds: Bounds) -> bool:
    misfit = take.fits is not None and take.fits < bounds.fit
    elsewhere = take.loose_gap is not None and take.loose_gap < bounds.loose_gap
    unknown = take.unknown and (bounds is ALONE or take.loose_gap is None)
    return unknown or misfit or elsewhere


def _nearly(take: Take) -> bool:
    """Other words fitted best, but the best of this step lay close behind: worth a question where no other ear helps."""
    return take.unknown and take.loose_gap is not None and take.loose_gap >= WORTH_A_QUESTION


def _even_command(take: Take, meaning: Meaning) -> bool:
    """A command that other words fit hardly better than: no finding against it."""
    return bool(meaning.command) and take.loose_gap is not None and take.loose_gap >= EVEN


def _agree_on_a_word(believed: list[tuple[Take, list[Weighed]]]) -> bool:
    """Do two ears have the same command, or the same answer that is no number, as their best."""
    best = {ranked[0].meaning if ranked else None for _, ranked in believed}
    if len(believed) < 2 or len(best) > 1:
        return False
    meaning = best.pop()
    return meaning is not None and _is_word(meaning)


def _is_word(meaning: Meaning) -> bool:
    """A command, or an answer that is no number."""
    return all(not isinstance(r.value, Decimal) for r in meaning.readings)


def _share_of(meaning: Meaning, ranked: list[Weighed]) -> float:
    return next((w.share for w in ranked if w.meaning == meaning), 0.0)


def _by_meaning(expectation: Expectation, take: Take) -> list[Weighed]:
    """The take's meanings, likeliest first; a string with two meanings gives each its whole share."""
    shares: dict[Meaning, float] = {}
    words: dict[Meaning, tuple[float, str]] = {}
    for c in take.candidates:
        for meaning in meanings_of(expectation, c.words):
            shares[meaning] = shares.get(meaning, 0.0) + c.share
            words[meaning] = max(words.get(meaning, (-1.0, "")), (c.share, " ".join(c.words)))
    return sorted((Weighed(m, words[m][1], s) for m, s in shares.items()), key=lambda w: -w.share)


def _all(believed: list[tuple[Take, list[Weighed]]]) -> tuple[Weighed, ...]:
    best: dict[Meaning, Weighed] = {}
    for _, ranked in believed:
        for w in ranked:
            if w.meaning not in best or best[w.meaning].share < w.share:
                best[w.meaning] = w
    return tuple(sorted(best.values(), key=lambda w: -w.share))


def _rivals(best: Meaning, ranked: tuple[Weighed, ...] | list[Weighed], judge: Judge) -> list[Weighed]:
    """Likely enough others that would lead to another verdict, or that the same words mean as well."""
    own = judge(best)
    words = {w.words for w in ranked if w.meaning == best}
    return [
        w
        for w in ranked
        if w.meaning != best
        and not w.meaning.everyday
        and w.share >= LIKELY_ENOUGH
        and (judge(w.meaning) != own or w.words in words)
    ]


Decided = tuple[Ask, tuple[Weighed, ...], str]


def _together(speaking: list[tuple[Take, list[Weighed]]], judge: Judge) -> Decided:
    tops = [ranked[0] for _, ranked in speaking]
    merged = _all(speaking)
    if len({w.meaning for w in tops}) > 1:
        by_share = sorted(tops, key=lambda w: -w.share)
        return "choose", (by_share[0], by_share[1]), "the ears differ"
    best = max(tops, key=lambda w: w.share)
    others = tuple(w for w in merged if w.meaning != best.meaning)
    same_words = [w for w in others if w.words == best.words]
    if same_words:
        return "choose", (best, same_words[0]), "the words can mean two values"
    rivals = _rivals(best.meaning, merged, judge)
    if _is_word(best.meaning):
        rivals = [r for r in rivals if all(_share_of(r.meaning, ranked) >= LIKELY_ENOUGH for _, ranked in speaking)]
    if rivals:
        return "affirm", (best, *rivals), "another likely value would turn the verdict round"
    if best.share < SURE_TOGETHER:
        return "affirm", (best, *others), "both ears agree but neither is sure"
    return "none", (best, *others), "both ears agree"


def _alone(expectation: Expectation, take: Take, ranked: list[Weighed], judge: Judge) -> Decided:
    best, others = ranked[0], tuple(ranked[1:])
    if others and others[0].words == best.words:
        return "choose", (best, others[0]), "the words can mean two values"
    if _nearly(take) and not _even_command(take, best.meaning):
        return "affirm", (best, *others), f"only {take.ear} hears, and other words fit it a little better"
    if best.share < SURE_ALONE:
        ask: Ask = "choose" if others else "affirm"
        return ask, (best, *others), f"only {take.ear} hears, and it is not sure"
    if take.certain:
        return "none", (best, *others), "the words are known"
    if len(best.words.split()) == 1 and not _is_word(best.meaning):
        return "affirm", (best, *others), f"only {take.ear} hears, and one short word is soon misheard"
    alike = [
        Weighed(m, " ".join(other), ALIKE_SHARE)
        for other in might_be(tuple(best.words.split()))
        for m in meanings_of(expectation, other)
    ]
    if _rivals(best.meaning, [best, *others, *alike], judge):
        return "affirm", (best, *others), f"only {take.ear} hears, and a sound-alike would turn the verdict round"
    return "none", (best, *others), f"{take.ear} is sure"


def _one_refuses(speaking: list[tuple[Take, list[Weighed]]], silent: list[tuple[Take, list[Weighed]]]) -> Decided:
    """One ear hears other words or nothing: the rest must be sure, and are asked all the same."""
    ranked = _all(speaking)
    best = ranked[0]
    seconded = any(other and other[0].meaning == best.meaning for _, other in silent)
    if best.share >= SURE_ALONE or seconded:
        return "affirm", ranked, f"{silent[0][0].ear} is not sure that these were words of this step"
    return "none", (), f"{silent[0][0].ear} heard no words of this step"


def _doubtful_command(options: tuple[Weighed, ...], reason: str, heard: tuple[HeardAs, ...]) -> Decision:
    """A command is never asked about ("affirm that you said affirm?"): harmless ones are taken, others said again."""
    command = BY_NAME.get(options[0].meaning.command)
    if command is not None and command.harmless and options[0].share >= SURE_ALONE:
        return Decision("understood", "none", options, f"{reason}; harmless", heard)
    return Decision("unclear", "none", options, reason, heard)

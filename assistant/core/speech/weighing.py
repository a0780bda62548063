"""How sure is sure enough: from what the ears heard to what is done about it.

`evidence` adds the ears up to one probability a meaning; `asking` is the rule that keeps, asks or refuses by it and by what
is at stake. Here the two are put together, and what was weighed is written down for the record.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass, replace
from typing import Literal

from assistant.core.entries import HeardAs, Rival
from assistant.core.events import Take
from assistant.core.speech.asking import (
    ALIKE,
    Answer,
    Ask,
    Judge,
    Stakes,
    ask_about,
    ask_by_itself,
    drowned,
    enough,
    question_of,
)
from assistant.core.speech.calibration import calibration_of
from assistant.core.speech.evidence import Evidence, Likely, Sense, Words, add_up, said_twice
from assistant.core.speech.expectation import Expectation
from assistant.core.speech.sound_alikes import might_be
from assistant.core.speech.step_grammar import Meaning, SpokenReading, grammar_of, meanings_of, value_text
from assistant.core.units import WRITTEN

__all__ = ["Ask", "Decision", "Judge", "Stakes", "Weighed", "weigh", "weigh_strings"]

Weighed = Likely[Meaning]
"""A meaning with the words that carried most of it and its probability, all ears taken together."""
TOGETHER = "together"
"""How the record names the probabilities of all ears added up."""
NOTHING_HEARD: Evidence[Meaning] = Evidence((), 1.0)
CANDIDATES_KEPT = 4
"""How many candidates of each ear, and of all together, the record keeps."""


@dataclass(frozen=True)
class Grounds:
    """Why a value is kept, for the record: what was heard, how likely it is (decimal text), the rule's reason, its rivals."""

    weighed: tuple[HeardAs, ...] = ()
    sureness: str = ""
    rule: str = ""
    rivals: tuple[Rival, ...] = ()


NO_GROUNDS = Grounds()


@dataclass(frozen=True)
class Decision:
    """What follows. `kind` unclear: nothing may be kept. `options` best first (two for choose); `reason` in words.

    `evidence` is what it was decided on; what is said again is added to it.
    """

    kind: Literal["understood", "unclear"]
    ask: Ask
    options: tuple[Weighed, ...]
    reason: str
    weighed: tuple[HeardAs, ...]
    evidence: Evidence[Meaning] = NOTHING_HEARD

    @property
    def best(self) -> Weighed:
        """The likeliest; IndexError when unclear without any candidate."""
        return self.options[0]

    def grounds_for(self, meaning: Meaning) -> Grounds:
        """What this was decided on, seen from one meaning: how likely that is, and which other values were weighed."""
        share = next((each.share for each in self.evidence.ranked if each.meaning == meaning), 0.0)
        others = [each for each in self.evidence.ranked if each.meaning != meaning and each.meaning.readings]
        rivals = tuple(Rival(each.words, _in_print(each.meaning), f"{each.share:.3f}") for each in others)
        return Grounds(self.weighed, f"{share:.3f}", self.reason, rivals[:CANDIDATES_KEPT])


def weigh(
    expectation: Expectation, takes: tuple[Take, ...], stakes: Stakes, before: Evidence[Meaning] | None = None
) -> Decision:
    """Weigh what the ears heard at this moment. Pure.

    `before` is what was heard of the same value before: the first saying under *words twice*, or what led to the question
    that a value now answers. A command is no second saying.
    """
    sense = sense_of(lambda said: meanings_of(expectation, said))
    evidence = add_up(takes, sense)
    if before is not None and evidence.ranked and evidence.ranked[0].meaning.readings:
        evidence = said_twice(before, evidence)
    stakes = replace(stakes, unheard=_unheard(expectation, takes, evidence))
    answer = ask_about(evidence, stakes)
    bound = calibration_of(frozenset(take.ear for take in takes)).by_itself
    if not answer.understood and bound is not None:
        answer = ask_by_itself((add_up((take,), sense) for take in takes), stakes, bound) or answer
    return _decided(answer, takes, evidence)


def _unheard(expectation: Expectation, takes: tuple[Take, ...], evidence: Evidence[Meaning]) -> tuple[Weighed, ...]:
    """What sounds like the likeliest and was not thought of: a lone ear may be deaf to it, and each time that it is said; two
    ears that agree are not."""
    if len(takes) != 1 or not evidence.ranked or takes[0].certain:
        return ()
    best = evidence.ranked[0]
    heard = {each.meaning for each in evidence.ranked}
    near = might_be(tuple(best.words.split()), -math.log(ALIKE), grammar_of(expectation).vocabulary)
    return tuple(
        Likely(meaning, " ".join(said), best.share * math.exp(-nats))
        for said, nats in near
        for meaning in meanings_of(expectation, said) - heard
        if not meaning.implausible
    )


def weigh_strings(takes: tuple[Take, ...], same: Callable[[Words], Hashable]) -> Decision:
    """The same for bare strings of words outside any step, as `layup measure speech` hears them: nothing is at stake but
    the words. `same` gives what makes two strings the same ("niner" and "nine")."""
    evidence = add_up(takes, Sense(lambda said: (same(said),)))
    options = tuple(Likely(Meaning(), each.words, each.share) for each in evidence.ranked)
    if not options or evidence.other > options[0].share:
        return Decision("unclear", "none", options, "other words are likelier", _record(takes, options))
    sure = enough(evidence) and not evidence.differ and not drowned(evidence)
    ask = "none" if sure else question_of(options)
    return Decision("understood", ask, options, "", _record(takes, options))


def sense_of(means: Callable[[Words], Iterable[Meaning]]) -> Sense[Meaning]:
    """What strings mean: commands and answers by a word are bare words; values outside of their range, and everyday words that
    mean nothing here, are seldom said."""
    return Sense(means, lambda m: m.by_word, lambda m: m.implausible or bool(m.everyday))


def _decided(answer: Answer, takes: tuple[Take, ...], evidence: Evidence[Meaning]) -> Decision:
    kind: Literal["understood", "unclear"] = "understood" if answer.understood else "unclear"
    return Decision(kind, answer.ask, answer.options, answer.reason, _record(takes, evidence.ranked), evidence)


def _in_print(meaning: Meaning) -> str:
    """ "cylinder 2, 190 psi"; several values of one breath with "and" between."""
    return " and ".join(_printed(r) for r in meaning.readings)


def _printed(r: SpokenReading) -> str:
    value = f"{value_text(r.value)} {WRITTEN.get(r.unit, r.unit)}".strip()
    return f"{r.place}, {value}" if r.place else value


def _record(takes: tuple[Take, ...], options: tuple[Weighed, ...]) -> tuple[HeardAs, ...]:
    """What each ear thought possible, and where there is more than one, what they made together."""
    each = [HeardAs(t.ear, " ".join(c.words), f"{c.share:.3f}") for t in takes for c in t.candidates[:CANDIDATES_KEPT]]
    both = [HeardAs(TOGETHER, o.words, f"{o.share:.3f}") for o in options[:CANDIDATES_KEPT]] if len(takes) > 1 else []
    return tuple(heard for heard in (*each, *both) if heard.words)

"""How sure is sure enough: a table of takes and what is decided, and that no doubt is ever kept in silence."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from assistant.core.events import Candidate, Take
from assistant.core.procedure import Choice, Reading
from assistant.core.speech import commands
from assistant.core.speech.expectation import Asked, Expectation
from assistant.core.speech.step_grammar import Meaning, grammar_of, meanings_of
from assistant.core.speech.weighing import AGREED_WORD, ALONE, Decision, weigh
from tests.conversation import take
from tests.strategies import sentences

COMPRESSION = Reading(
    "compression", "Compression", unit="psi", plausible=(Decimal(0), Decimal(400)), each="cylinder", positions=(1, 2, 3)
)
HOURS = Reading("hours", "Hours", unit="h", plausible=(Decimal(0), Decimal(999)), places=1)
PLUG = Reading(
    "plug", "Plug", kind="choice", choices=(Choice("good", ("good", "brown")), Choice("black", ("black",), False))
)
STEP = Expectation(commands.IN_STEP, (Asked(COMPRESSION, 1),))
AT_HOURS = Expectation(commands.IN_STEP, (Asked(HOURS, None),))
AT_PLUG = Expectation(commands.IN_STEP, (Asked(PLUG, None),))


def judge(meaning: Meaning) -> str:
    """Within from 175 to 215; a black plug is outside; commands each lead elsewhere."""
    if not meaning.readings:
        return f"command {meaning.command}"
    value = meaning.readings[0].value
    if isinstance(value, str):
        return "within" if value == "good" else "outside"
    return "low" if value < 175 else "high" if value > 215 else "within"


def outcome(decision: Decision) -> str:
    """What is done: keep, affirm, choose, command, unclear."""
    if decision.kind == "unclear":
        return "unclear"
    if decision.best.meaning.command:
        return f"command {decision.best.meaning.command}"
    return "keep" if decision.ask == "none" else decision.ask


def vosk(*said: tuple[str, float], gap: float | None = None) -> Take:
    return take("vosk", *said, gap=gap)


def whisper(*said: tuple[str, float], fits: float = -0.2, gap: float = 0.0) -> Take:
    return take("whisper", *said, fits=fits, gap=gap)


def outside(*said: tuple[str, float], gap: float | None) -> Take:
    """Vosk found words that the step does not have; `gap` to its best inside."""
    plain = vosk(*said, gap=gap)
    return Take(plain.ear, plain.candidates, None, gap, unknown=True)


NOTHING = Take("vosk", ())
TYPED = Take("text", (Candidate(("one", "eighteen"), 0.0, 1.0),), certain=True)
SURE, SAME = ("one niner zero", 0.95), ("one ninety", 0.9)
LOW, TWO, PREFIX = ("one eighteen", 1.0), ("twelve six", 1.0), ("one nine", 0.9)
DONE, BACK, AGAIN = ("done", 0.9), ("go back", 0.1), ("say again", 0.9)

TABLE: list[tuple[str, Expectation, tuple[Take, ...], str, str]] = [
    # Everyday words mean nothing here, and are known for that
    ("no is no note", STEP, (vosk(("no", 0.9), ("note", 0.1)), whisper(("no", 0.9))), "unclear", "'no' means nothing here"),
    ("yes is not affirm", STEP, (vosk(("yes", 1.0)), whisper(("yes", 1.0))), "unclear", "'yes' means nothing here"),
    # One ear only
    ("sure, nothing sounds like it", STEP, (vosk(SURE),), "keep", "vosk is sure"),
    ("its forms of one value add up", STEP, (vosk(("one niner zero", 0.5), ("one ninety", 0.4)),), "keep", "vosk is sure"),
    ("a sound-alike would be within", STEP, (vosk(("one eighteen", 1.0)),), "affirm", "sound-alike"),
    ("a sound-alike leads to the same", STEP, (vosk(("one sixteen", 1.0)),), "keep", "vosk is sure"),
    ("not sure, two values", STEP, (vosk(("one ninety", 0.7), ("one eighty", 0.3)),), "choose", "not sure"),
    ("not sure, no other", STEP, (vosk(("one ninety", 0.7)),), "affirm", "not sure"),
    ("sure, another likely turns it", STEP, (vosk(("one niner zero", 0.9), ("one four zero", 0.1)),), "affirm", "verdict"),
    ("sure, another likely does not", STEP, (vosk(("one niner zero", 0.9), ("one eight zero", 0.1)),), "keep", "is sure"),
    ("sure, another hardly likely", STEP, (vosk(("one niner zero", 0.96), ("one four zero", 0.04)),), "keep", "is sure"),
    ("words of two values", AT_HOURS, (vosk(("twelve six", 1.0)),), "choose", "two values"),
    ("nothing heard", STEP, (NOTHING,), "unclear", "no words of this step"),
    ("no ear at all", STEP, (), "unclear", "no words of this step"),
    ("words that may not be said", STEP, (vosk(("twelve point six", 1.0)),), "unclear", "no words of this step"),
    ("a value that cannot be", STEP, (vosk(("nine hundred", 1.0)),), "unclear", "no words of this step"),
    ("other words fit a little better", STEP, (outside(SURE, gap=-2.0),), "affirm", "other words fit it a little better"),
    ("other words fit much better", STEP, (outside(SURE, gap=-3.0),), "unclear", "no words of this step"),
    ("other words, by an unknown gap", STEP, (outside(SURE, gap=None),), "unclear", "no words of this step"),
    ("Whisper alone, sound does not fit", STEP, (whisper(SURE, fits=-1.6),), "unclear", "no words of this step"),
    ("Whisper alone, more was said", STEP, (whisper(SURE, gap=-0.9),), "unclear", "no words of this step"),
    ("Whisper alone, at both bounds", STEP, (whisper(SURE, fits=-1.5, gap=-0.8),), "keep", "whisper is sure"),
    ("typed: it cannot be another", STEP, (TYPED,), "keep", "the words are known"),
    # Two ears
    ("agree", STEP, (vosk(SURE), whisper(SURE)), "keep", "both ears agree"),
    ("agree in other words", STEP, (vosk(SURE), whisper(SAME)), "keep", "both ears agree"),
    ("agree, one is unsure", STEP, (vosk(("one ninety", 0.3)), whisper(SAME)), "keep", "both ears agree"),
    ("agree, neither is sure", STEP, (vosk(("one ninety", 0.3)), whisper(("one ninety", 0.35))), "affirm", "neither"),
    ("differ", STEP, (vosk(SURE), whisper(("one eighty", 0.9))), "choose", "the ears differ"),
    ("differ in the cylinder", STEP, (vosk(SURE), whisper(("cylinder two one ninety", 0.9))), "choose", "differ"),
    ("agree, a rival turns the verdict", STEP, (vosk(SURE), whisper(SAME, ("one forty", 0.06))), "affirm", "verdict"),
    ("agree, a rival leads to the same", STEP, (vosk(SURE), whisper(SAME, ("one eighty", 0.1))), "keep", "agree"),
    ("agree, a sound-alike is not asked", STEP, (vosk(LOW), whisper(LOW)), "keep", "agree"),
    ("agree on words of two values", AT_HOURS, (vosk(TWO), whisper(TWO)), "choose", "two values"),
    ("agree on a number that does not fit", STEP, (vosk(SURE), whisper(SURE, fits=-3.2)), "affirm", "whisper is not sure"),
    # One of two refuses
    ("nothing, but the other is sure", STEP, (NOTHING, whisper(SURE)), "affirm", "vosk is not sure"),
    ("nothing, the other is not sure", STEP, (NOTHING, whisper(("one ninety", 0.6))), "unclear", "vosk heard no words"),
    ("prefix trap: more was said", STEP, (vosk(PREFIX), whisper(PREFIX, gap=-5.0)), "affirm", "whisper is not sure"),
    ("prefix trap, unsure", STEP, (vosk(("one nine", 0.7)), whisper(("one four", 0.9), gap=-5.0)), "unclear", "heard no"),
    ("refused, yet seconded", STEP, (vosk(("one ninety", 0.6)), whisper(SAME, fits=-2.0)), "affirm", "whisper is not sure"),
    ("refused, another value", STEP, (vosk(SURE), whisper(("one eighty", 0.9), fits=-2.0)), "affirm", "whisper is not sure"),
    ("other words, Whisper is sure", STEP, (outside(SURE, gap=-2.0), whisper(SURE)), "affirm", "vosk is not sure"),
    ("both refuse", STEP, (outside(SURE, gap=-3.0), whisper(SURE, fits=-2.0)), "unclear", "no words of this step"),
    ("both nearly: no question", STEP, (outside(SURE, gap=-1.0), whisper(SURE, fits=-2.0)), "unclear", "no words"),
    # Lone words: commands and answers
    ("a lone command, one ear", STEP, (vosk(("done", 0.9)),), "command done", "vosk is sure"),
    ("a lone command, other words even", STEP, (outside(DONE, gap=-0.4),), "command done", "vosk is sure"),
    ("a lone command, other words better", STEP, (outside(DONE, gap=-0.6),), "unclear", "other words fit it a little"),
    ("a number, other words even", STEP, (outside(SURE, gap=-0.4),), "affirm", "other words fit it a little better"),
    ("a lone command, unsure", STEP, (vosk(("done", 0.6)),), "unclear", "not sure"),
    ("a harmless one, unsure", STEP, (vosk(("say again", 0.6)),), "unclear", "not sure"),
    ("two ears on a bare word", STEP, (vosk(DONE), whisper(DONE, fits=-3.2, gap=-1.9)), "command done", "agree"),
    ("on a bare word, far out", STEP, (vosk(DONE), whisper(DONE, fits=-4.3)), "unclear", "not sure"),
    ("other words tie, both agree", STEP, (outside(DONE, gap=-1.9), whisper(DONE)), "command done", "agree"),
    ("other words win, both agree", STEP, (outside(DONE, gap=-2.1), whisper(DONE)), "unclear", "not sure"),
    ("by how much is not known", STEP, (outside(DONE, gap=None), whisper(DONE)), "unclear", "not sure"),
    ("harmless, refused by one", STEP, (vosk(AGAIN), whisper(AGAIN, fits=-4.3)), "command say again", "harmless"),
    ("commands differ", STEP, (vosk(("done", 0.9)), whisper(("go back", 0.9))), "unclear", "the ears differ"),
    ("a command or a number", STEP, (vosk(("done", 0.9)), whisper(("one", 0.95))), "choose", "the ears differ"),
    ("harmless or not", STEP, (vosk(("done", 0.8)), whisper(("limits", 0.9))), "command limits", "harmless"),
    ("one ear has a rival command", STEP, (vosk(DONE, BACK), whisper(DONE)), "command done", "agree"),
    ("both have the rival command", STEP, (vosk(DONE, BACK), whisper(DONE, BACK)), "unclear", "verdict"),
    ("a word as an answer", AT_PLUG, (vosk(("brown", 0.9)), whisper(("brown", 0.9), fits=-3.2)), "keep", "both ears agree"),
    ("two words of one answer", AT_PLUG, (vosk(("brown", 0.9)), whisper(("good", 0.9))), "keep", "both ears agree"),
    ("answers differ", AT_PLUG, (vosk(("brown", 0.9)), whisper(("black", 0.9))), "choose", "the ears differ"),
]  # fmt: skip


@pytest.mark.parametrize(("_case", "at", "takes", "done", "because"), TABLE, ids=[row[0] for row in TABLE])
def test_what_is_decided(_case: str, at: Expectation, takes: tuple[Take, ...], done: str, because: str) -> None:
    """The takes lead to this, for this reason."""
    decision = weigh(at, takes, judge)
    assert outcome(decision) == done, decision
    assert because in decision.reason


def test_a_choice_is_between_what_each_ear_heard() -> None:
    """Where the ears differ the two options are their best, the surer first."""
    decision = weigh(STEP, (vosk(("one ninety", 0.8)), whisper(("one eighty", 0.9))), judge)
    assert [w.meaning.readings[0].value for w in decision.options] == [180, 190]


def test_what_was_weighed_is_kept() -> None:
    """Every candidate of every ear is told with its share, up to four an ear, for the record."""
    many = vosk(*[(w, 0.2) for w in ("one", "two", "three", "four", "six")])
    decision = weigh(STEP, (many, whisper(SURE)), judge)
    assert [(h.ear, h.words) for h in decision.weighed] == [
        ("vosk", "one"), ("vosk", "two"), ("vosk", "three"), ("vosk", "four"), ("whisper", "one niner zero"),
    ]  # fmt: skip
    assert decision.weighed[-1].share == "0.950"


# Properties

HERE = grammar_of(STEP)
SAID = st.one_of(
    sentences(HERE), st.sampled_from(["one ninety", "one niner zero", "one eighty", "done", "twelve point six"])
)


@st.composite
def takes_of(draw: st.DrawFn, ear: str) -> Take:
    """What an ear may give: up to three strings with shares of at most 1 together, in doubt or not."""
    said = draw(st.lists(SAID, max_size=3, unique=True))
    shares = draw(st.lists(st.floats(0.01, 1.0), min_size=len(said), max_size=len(said)))
    total = max(1.0, sum(shares))
    ranked = sorted(zip(said, (s / total for s in shares), strict=True), key=lambda pair: -pair[1])
    fits = draw(st.one_of(st.none(), st.floats(-5.0, 0.0)))
    gap = draw(st.one_of(st.none(), st.floats(-5.0, 0.0)))
    plain = take(ear, *ranked, fits=fits, gap=gap)
    return Take(ear, plain.candidates, fits, gap, unknown=draw(st.booleans()) and draw(st.booleans()))


def best_of(one: Take) -> Meaning | None:
    """An ear's best meaning; None for none. A tie is no case to judge."""
    shares: dict[Meaning, float] = {}
    for c in one.candidates:
        for meaning in meanings_of(STEP, c.words):
            shares[meaning] = shares.get(meaning, 0.0) + c.share
    ranked = sorted(shares.items(), key=lambda pair: -pair[1])
    assume(len(ranked) < 2 or ranked[0][1] > ranked[1][1])
    return ranked[0][0] if ranked else None


def refuses(one: Take, number: bool) -> bool:
    bounds = ALONE if number else AGREED_WORD
    misfit = one.fits is not None and one.fits < bounds.fit
    return one.unknown or misfit or (one.loose_gap is not None and one.loose_gap < bounds.loose_gap)


def kept_unasked(decision: Decision) -> bool:
    return decision.kind == "understood" and decision.ask == "none" and bool(decision.best.meaning.readings)


def both(of: Callable[[str], st.SearchStrategy[Take]]) -> st.SearchStrategy[tuple[Take, Take]]:
    return st.tuples(of("vosk"), of("whisper"))


@given(both(takes_of))
@settings(max_examples=300, deadline=None)
def test_ears_that_differ_keep_nothing(pair: tuple[Take, Take]) -> None:
    """A reading is never kept unasked when the two ears' best meanings differ."""
    assume(best_of(pair[0]) != best_of(pair[1]))
    assert not kept_unasked(weigh(STEP, pair, judge))


@given(both(takes_of))
@settings(max_examples=300, deadline=None)
def test_an_ear_that_refuses_keeps_nothing(pair: tuple[Take, Take]) -> None:
    """A number is never kept unasked when one of the ears heard other words, or nothing."""
    assume(any(refuses(one, number=True) or best_of(one) is None for one in pair))
    assert not kept_unasked(weigh(STEP, pair, judge))


@given(st.lists(takes_of("one"), max_size=3))
@settings(max_examples=300, deadline=None)
def test_every_answer_is_one_that_may_be_said(takes: list[Take]) -> None:
    """What is understood has an option that the step allows, a choice has two, and a command is never asked about."""
    decision = weigh(STEP, tuple(takes), judge)
    possible = {m for one in takes for c in one.candidates for m in meanings_of(STEP, c.words)}
    assert {w.meaning for w in decision.options} <= possible
    if decision.kind == "understood":
        assert decision.options
        assert decision.ask == "none" or decision.best.meaning.readings
        assert decision.ask != "choose" or len(decision.options) >= 2
    else:
        assert decision.ask == "none"


@given(takes_of("one"))
@settings(max_examples=200, deadline=None)
def test_one_ear_that_refuses_keeps_nothing(one: Take) -> None:
    """Alone, an ear that heard other words keeps nothing unasked."""
    assume(refuses(one, number=True))
    assert not kept_unasked(weigh(STEP, (one,), judge))

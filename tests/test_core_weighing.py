"""From takes to a decision: grammar, evidence and asking rule put together, what is written down of it, and bare strings."""

from __future__ import annotations

import math
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.core.events import Candidate, Take
from assistant.core.procedure import Choice, Reading
from assistant.core.speech import commands
from assistant.core.speech.asking import AUDIBLE, KEEP, TURNS
from assistant.core.speech.calibration import BOTH
from assistant.core.speech.evidence import Evidence, Likely, Words
from assistant.core.speech.expectation import Asked, Expectation
from assistant.core.speech.step_grammar import Meaning, grammar_of, meanings_of
from assistant.core.speech.weighing import CANDIDATES_KEPT, TOGETHER, Decision, Stakes, weigh, weigh_strings
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


STAKES = Stakes(judge)


def outcome(decision: Decision) -> str:
    """What is done: keep, ask, command, unclear."""
    if decision.kind == "unclear":
        return "unclear"
    if decision.best.meaning.command:
        return f"command {decision.best.meaning.command}"
    return "keep" if decision.ask == "none" else "ask"


def vosk(*said: tuple[str, float], gap: float | None = 0.0) -> Take:
    return take("vosk", *said, gap=gap)


def whisper(*said: tuple[str, float], fits: float = -0.1, gap: float = 0.0) -> Take:
    return take("whisper", *said, fits=fits, gap=gap)


def untaught(*said: tuple[str, float], fits: float = -0.1) -> Take:
    return take("whisper untaught", *said, fits=fits, gap=0.0)


def in_noise(heard: Take) -> Take:
    return replace(heard, audible=AUDIBLE - 0.01)


def typed(words: str) -> Take:
    return Take("text", (Candidate(tuple(words.split()), 0.0, 1.0),), certain=True)


SURE, SAME, OTHER = ("one niner zero", 0.95), ("one ninety", 0.9), ("one eighty", 0.9)
LOW = ("one eighteen", 0.9)
NOT_HERE = ("twelve point six", 1.0)

TABLE: list[tuple[str, Expectation, tuple[Take, ...], str, str]] = [
    ("both ears are sure", STEP, (vosk(SURE), whisper(SURE)), "keep", "all agree"),
    ("in other words", STEP, (vosk(SURE), whisper(SAME)), "keep", "all agree"),
    ("they differ", STEP, (vosk(SURE), whisper(OTHER)), "ask", "the ears differ"),
    ("they differ in the cylinder", STEP, (vosk(SURE), whisper(("cylinder two one ninety", 0.9))), "ask", "ears differ"),
    ("both have a rival that turns it", STEP,
     (vosk(("one eighteen", 0.6), ("one eighty", 0.4)), whisper(("one eighteen", 0.6), ("one eighty", 0.4))),
     "ask", "turn the verdict"),
    ("one ear in doubt between two", STEP, (vosk(("one ninety", 0.55), ("one eighty", 0.45)),), "ask", ""),
    ("a lone ear may be deaf to eighty", STEP, (vosk(("one eighteen", 1.0)),), "ask", ""),
    ("two that agree are not", STEP, (vosk(("one eighteen", 1.0)), whisper(("one eighteen", 1.0))), "keep", "all agree"),
    ("words of two values", AT_HOURS, (vosk(("twelve six", 1.0)), whisper(("twelve six", 1.0))), "ask", "two values"),
    ("nothing heard", STEP, (Take("vosk", ()), Take("whisper", ())), "unclear", "no words of this step"),
    ("no ear at all", STEP, (), "unclear", "no words of this step"),
    ("words that may not be said", STEP, (vosk(NOT_HERE), whisper(NOT_HERE)), "unclear", "no words of this step"),
    ("every sign of other words", STEP, (vosk(SURE, gap=-50.0), whisper(SURE, fits=-50.0)), "unclear", "other words"),
    ("yes is not affirm", STEP, (vosk(("yes", 1.0)), whisper(("yes", 1.0))), "unclear", "'yes' means nothing here"),
    ("sure, beside loud noise", STEP, (in_noise(vosk(SURE)), in_noise(whisper(SURE))), "ask", "noise drowns too much"),
    ("typed: it cannot be another", STEP, (typed("one eighteen"),), "keep", "the words are known"),
    ("typed, and it cannot be", STEP, (typed("niner niner niner"),), "ask", "no such value is plausible"),
    ("a typed command", STEP, (typed("done"),), "command done", "a likely command"),
    ("typed, an answer by a word", AT_PLUG, (typed("brown"),), "keep", "the words are known"),
    ("two words of one answer", AT_PLUG, (typed("brown"), typed("good")), "keep", "all agree"),
    ("answers differ", AT_PLUG, (typed("brown"), typed("black")), "ask", "the ears differ"),
    ("one finds nothing, the other is sure", STEP, (Take("vosk", ()), whisper(("one ninety", 1.0))), "ask", "the ears differ"),
    ("untaught, one is sure", STEP, (Take("vosk", ()), untaught(("one ninety", 1.0))), "ask", "only one ear"),
    ("untaught, one is not", STEP, (Take("vosk", ()), untaught(("one ninety", 1.0), fits=-5.0)), "unclear", "other words"),
    ("nothing, and hardly", STEP, (Take("vosk", ()), whisper(("one ninety", 1.0), fits=-5.0)), "unclear", "other words"),
]  # fmt: skip


@pytest.mark.parametrize(("_case", "at", "takes", "done", "because"), TABLE, ids=[row[0] for row in TABLE])
def test_what_is_decided(_case: str, at: Expectation, takes: tuple[Take, ...], done: str, because: str) -> None:
    """The takes lead to this, for this reason."""
    decision = weigh(at, takes, STAKES)
    assert outcome(decision) == done, decision
    assert because in decision.reason


def test_a_question_is_between_what_each_ear_heard() -> None:
    """Where the ears differ the two likeliest are their bests."""
    decision = weigh(STEP, (vosk(("one ninety", 0.8)), whisper(("one eighty", 0.9))), STAKES)
    assert {w.meaning.readings[0].value for w in decision.options[:2]} == {180, 190}


# What was heard before


def value(words: str) -> Meaning:
    [meaning] = meanings_of(STEP, tuple(words.split()))
    return meaning


def before(words: str, share: float) -> Evidence[Meaning]:
    return Evidence((Likely(value(words), words, share),), 1.0 - share)


@pytest.mark.parametrize(("done", "down", "follows"), [(0.8, 0.2, "command done"), (0.02, 0.9, "unclear")])
def test_an_everyday_word_beside_a_command_counts_as_seldom_said(done: float, down: float, follows: str) -> None:
    """What a lone ear gives "down", which means nothing, does not keep *done* from being obeyed, unless it gives it most."""
    at = Expectation(commands.IN_STEP)
    assert outcome(weigh(at, (vosk(("done", done), ("down", down)),), STAKES)) == follows


def test_what_was_heard_before_counts() -> None:
    """The same again makes it likelier, another value less; both are on record as what they made together."""
    alone = weigh(STEP, (vosk(SURE),), STAKES)
    same = weigh(STEP, (vosk(SURE),), STAKES, before("one ninety", 0.95))
    other = weigh(STEP, (vosk(SURE),), STAKES, before("one eighty", 0.8))
    assert same.best.share > alone.best.share > other.evidence.share_of(value("one ninety"))
    assert {w.meaning for w in other.options} == {value("one ninety"), value("one eighty")}
    assert outcome(other) == "ask"


def test_a_command_is_no_second_saying() -> None:
    """It is weighed by itself, whatever was heard before."""
    assert weigh(STEP, (typed("done"),), STAKES, before("one ninety", 0.9)) == weigh(STEP, (typed("done"),), STAKES)


# What is written down


def test_what_was_weighed_is_kept() -> None:
    """The first candidates of every ear with their own shares, then what all of them made together."""
    many = vosk(*[(w, 0.2) for w in ("one", "two", "three", "four", "six")])
    decision = weigh(STEP, (many, whisper(SURE)), STAKES)
    by_ear = [h.ear for h in decision.weighed]
    assert by_ear == ["vosk"] * CANDIDATES_KEPT + ["whisper"] + [TOGETHER] * CANDIDATES_KEPT
    assert [(h.words, h.share) for h in decision.weighed[:5]] == [
        ("one", "0.200"), ("two", "0.200"), ("three", "0.200"), ("four", "0.200"), ("one niner zero", "0.950"),
    ]  # fmt: skip
    together = [(w.words, f"{w.share:.3f}") for w in decision.evidence.ranked[:CANDIDATES_KEPT]]
    assert [(h.words, h.share) for h in decision.weighed[5:]] == together


def test_of_one_ear_nothing_is_put_together() -> None:
    """Its candidates are all there is; one that is empty leaves nothing."""
    assert [h.ear for h in weigh(STEP, (vosk(SURE),), STAKES).weighed] == ["vosk"]
    assert weigh(STEP, (Take("vosk", ()),), STAKES).weighed == ()


# Properties


SAID = st.one_of(
    sentences(grammar_of(STEP)), st.sampled_from(["one ninety", "one niner zero", "one eighty", "done", "what is it"])
)


@st.composite
def takes_of(draw: st.DrawFn, ear: str) -> Take:
    """What an ear may give: up to three strings with shares of at most 1 together, with signs of other words or none."""
    said = draw(st.lists(SAID, max_size=3, unique=True))
    shares = draw(st.lists(st.floats(0.001, 1.0), min_size=len(said), max_size=len(said)))
    total = max(1.0, sum(shares))
    ranked = sorted(zip(said, (s / total for s in shares), strict=True), key=lambda pair: -pair[1])
    sign = st.one_of(st.none(), st.floats(-5.0, 0.0))
    return take(ear, *ranked, fits=draw(sign), gap=draw(sign))


def best_of(one: Take) -> frozenset[Meaning]:
    """An ear's likeliest meanings, each word given back what the ear charges for it beside another; none for nothing."""
    shares: dict[Meaning, float] = {}
    for c in one.candidates:
        for meaning in meanings_of(STEP, c.words):
            given = math.exp(BOTH.of(one.ear).word * len(c.words))
            shares[meaning] = shares.get(meaning, 0.0) + c.share * given
    top = max(shares.values(), default=0.0)
    return frozenset(m for m, share in shares.items() if share > top * (1 - 1e-9))


@given(takes_of("vosk"), takes_of("whisper"))
@settings(max_examples=200, deadline=None)
def test_what_is_kept_in_silence_was_heard_by_both(one: Take, two: Take) -> None:
    """A reading that is kept unasked is the best of either ear, likely enough, plausible, with no rival that turns it."""
    decision = weigh(STEP, (one, two), STAKES)
    if outcome(decision) != "keep":
        return
    best, *others = decision.evidence.ranked
    assert best.meaning in best_of(one) & best_of(two)
    assert best.share >= KEEP
    assert not best.meaning.implausible
    assert all(judge(w.meaning) == judge(best.meaning) for w in others if w.share >= TURNS and not w.meaning.everyday)


@given(st.lists(takes_of("vosk"), max_size=3))
@settings(max_examples=200, deadline=None)
def test_every_answer_is_one_that_may_be_said(takes: list[Take]) -> None:
    """What is understood has an option that the step allows, a choice has two, and a command is never asked about."""
    decision = weigh(STEP, tuple(takes), STAKES)
    possible = {m for one in takes for c in one.candidates for m in meanings_of(STEP, c.words)}
    assert {w.meaning for w in decision.options} <= possible
    if decision.kind == "understood":
        assert decision.ask == "none" or decision.best.meaning.readings
        assert decision.ask != "choose" or len(decision.options) >= 2
    else:
        assert decision.ask == "none"


# Bare strings


def as_said(words: Words) -> Words:
    """Niner is nine."""
    return tuple("nine" if w == "niner" else w for w in words)


def test_strings_are_weighed_by_their_words() -> None:
    """Ears that say the same their own way agree; those that differ are asked about, what nobody heard is unclear."""
    agreed = weigh_strings((vosk(("nine", 1.0)), whisper(("niner", 1.0))), as_said)
    assert (agreed.kind, len(agreed.options), agreed.evidence.differ) == ("understood", 1, False)
    differ = weigh_strings((vosk(("nine", 1.0)), whisper(("five", 1.0))), as_said)
    assert (differ.kind, differ.ask != "none") == ("understood", True)
    assert weigh_strings((Take("vosk", ()), Take("whisper", ())), as_said).kind == "unclear"
    assert weigh_strings((vosk(SURE, gap=-50.0), whisper(SURE, fits=-50.0)), as_said).kind == "unclear"
    assert weigh_strings((typed("nine"),), as_said).ask == "none"
    beside_noise = weigh_strings((in_noise(vosk(("nine", 1.0))), in_noise(whisper(("nine", 1.0)))), as_said)
    assert (beside_noise.kind, beside_noise.ask) == ("understood", "affirm")

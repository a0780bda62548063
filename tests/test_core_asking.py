"""The asking rule: a table of evidence and stakes, what is done and why, and that no doubt is ever kept in silence."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.speech import commands
from assistant.core.speech.asking import (
    ALIKE,
    AUDIBLE,
    FAR,
    KEEP,
    KEEP_COMMAND,
    KEEP_COMMAND_ALONE,
    NEAR,
    ONE_OF_TWO,
    TURNS,
    WORTH_A_QUESTION,
    Answer,
    Stakes,
    ask_about,
    question_of,
)
from assistant.core.speech.evidence import Evidence, Likely
from assistant.core.speech.step_grammar import Meaning, SpokenReading

LITTLE = TURNS / 2
"""Less than a rival needs to be asked about for what it would turn."""
SOME = (TURNS + (1 - KEEP)) / 2
"""What a rival may have beside a value that is likely enough, and more than it needs to be asked about for its verdict."""


def psi(value: int, *, implausible: bool = False, at: int = 1) -> Meaning:
    """A compression reading."""
    amount = Decimal(value)
    spoken = SpokenReading("compression", "cylinder", at, amount, "psi", amount, "psi", "measured", implausible)
    return Meaning(readings=(spoken,))


BAR = Meaning(
    readings=(SpokenReading("compression", "cylinder", 1, Decimal(203), "psi", Decimal(14), "bar", "measured"),)
)
"""A value in another unit than its reading's: one wrong word ("five", "bar") makes it of a number."""

BROWN = Meaning(readings=(SpokenReading("plug", "", None, "brown", "", "brown", "", "choice"),))
"""An answer by a word."""


def command(name: str) -> Meaning:
    """A command word."""
    return Meaning(command=name)


def heard(*shares: tuple[Meaning, float], other: float | None = None, differ: bool = False, hearings: int = 2,
          same_words: bool = False) -> Evidence[Meaning]:  # fmt: skip
    """Evidence of meanings with their shares, each in words of its own; what is left is other words."""
    ranked = tuple(Likely(m, "the same" if same_words else f"words {n}", share) for n, (m, share) in enumerate(shares))
    left = 1.0 - sum(share for _, share in shares)
    return Evidence(ranked, left if other is None else other, hearings, differ)


def in_noise(evidence: Evidence[Meaning], audible: float = AUDIBLE - 0.01) -> Evidence[Meaning]:
    """The same, of which noise leaves so much audible."""
    return replace(evidence, audible=audible)


def judge(meaning: Meaning) -> str:
    """Within from 175 to 215; commands each lead elsewhere."""
    if not meaning.readings:
        return f"command {meaning.command}"
    value = meaning.readings[0].value
    assert isinstance(value, Decimal)
    return "low" if value < 175 else "high" if value > 215 else "within"


NOTHING_KNOWN = Stakes(judge)


def last_season(value: int) -> Stakes:
    """The machine was measured, and this was it."""
    return Stakes(judge, lambda meaning: (Decimal(value),) * len(meaning.readings))


def denied(value: int) -> Stakes:
    """This was asked about and denied."""
    return Stakes(judge, denied=frozenset({psi(value)}))


def sounds_like(value: int, share: float) -> Stakes:
    """No ear thought of this, but it sounds like what was heard."""
    return Stakes(judge, unheard=(Likely(psi(value), "sounds like it", share),))


def outcome(answer: Answer) -> str:
    """What is done: keep, affirm, choose, digits, the command, unclear."""
    if not answer.understood:
        return "unclear"
    best = answer.options[0].meaning
    return f"command {best.command}" if best.command else "keep" if answer.ask == "none" else answer.ask


SURE = (1 + KEEP) / 2
TABLE: list[tuple[str, Evidence[Meaning], Stakes, str, str]] = [
    # Nothing to keep or ask about
    ("nothing", heard(), NOTHING_KNOWN, "unclear", "no words of this step"),
    ("other words are likelier", heard((psi(190), 0.4)), NOTHING_KNOWN, "unclear", "other words are likelier"),
    ("an everyday word", heard((Meaning(everyday="yes"), SURE)), NOTHING_KNOWN, "unclear", "'yes' means nothing here"),
    # Kept
    ("sure, all agree", heard((psi(190), SURE)), NOTHING_KNOWN, "keep", "all agree"),
    ("sure, one ear alone", heard((psi(190), SURE), hearings=1), NOTHING_KNOWN, "keep", "likely enough"),
    ("one ear alone, in another unit", heard((BAR, 0.99), hearings=1), NOTHING_KNOWN, "affirm", "in another unit"),
    ("both ears, in another unit", heard((BAR, SURE)), NOTHING_KNOWN, "keep", "all agree"),
    ("likely enough to the dot", heard((psi(190), KEEP)), NOTHING_KNOWN, "keep", "all agree"),
    ("a rival with the same verdict", heard((psi(190), KEEP), (psi(180), SOME)), NOTHING_KNOWN, "keep", "all agree"),
    ("a hardly likely rival that turns it", heard((psi(190), SURE), (psi(150), LITTLE)), NOTHING_KNOWN, "keep", "agree"),
    ("an everyday word beside it", heard((psi(190), KEEP), (Meaning(everyday="no"), SOME)), NOTHING_KNOWN, "keep", "agree"),
    # Asked
    ("not likely enough", heard((psi(190), KEEP - 0.01)), NOTHING_KNOWN, "affirm", "not likely enough"),
    ("hearings differ", heard((psi(190), SURE), differ=True), NOTHING_KNOWN, "affirm", "the ears differ"),
    ("a rival turns the verdict", heard((psi(190), KEEP), (psi(150), SOME)), NOTHING_KNOWN, "affirm", "turn the verdict"),
    ("at the bound", heard((psi(190), SURE), (psi(150), TURNS)), NOTHING_KNOWN, "affirm", "turn the verdict"),
    ("a command is a rival", heard((psi(190), KEEP), (command("done"), SOME)), NOTHING_KNOWN, "affirm", "turn the verdict"),
    ("a sound-alike turns it", heard((psi(190), SURE)), sounds_like(150, ALIKE), "affirm", "turn the verdict"),
    ("one that hardly sounds like it", heard((psi(190), SURE)), sounds_like(150, LITTLE), "keep", "all agree"),
    ("a sound-alike with the same verdict", heard((psi(190), SURE)), sounds_like(180, ALIKE), "affirm", "sounds like it"),
    ("sure, in noise", in_noise(heard((psi(190), SURE))), NOTHING_KNOWN, "affirm", "noise drowns too much"),
    ("one ear, in noise", in_noise(heard((psi(190), SURE), hearings=1)), NOTHING_KNOWN, "affirm", "noise drowns too much"),
    ("an answer by a word, in noise", in_noise(heard((BROWN, SURE))), NOTHING_KNOWN, "keep", "all agree"),
    ("just audible enough", in_noise(heard((psi(190), SURE)), AUDIBLE), NOTHING_KNOWN, "keep", "all agree"),
    ("a choice in noise", in_noise(heard((psi(190), 0.6), (psi(180), 0.4))), NOTHING_KNOWN, "choose", "not likely enough"),
    ("not plausible", heard((psi(900, implausible=True), 1.0)), NOTHING_KNOWN, "affirm", "no such value is plausible"),
    ("denied", heard((psi(190), 1.0)), denied(190), "affirm", "denied"),
    ("another was denied", heard((psi(190), SURE)), denied(180), "keep", "all agree"),
    ("what sounds like it was denied", heard((psi(190), SURE)), replace(sounds_like(150, ALIKE), denied=frozenset({psi(150)})),
     "keep", "all agree"),
    ("two near each other", heard((psi(190), 0.6), (psi(180), 0.4)), NOTHING_KNOWN, "choose", "not likely enough"),
    ("one of two, to the dot", heard((psi(190), 0.8), (psi(180), ONE_OF_TWO)), NOTHING_KNOWN, "choose", "not likely"),
    ("words of two values", heard((psi(190), 0.5), (psi(180), 0.5), same_words=True), NOTHING_KNOWN, "choose", "two values"),
    ("no choice with a command", heard((psi(190), 0.6), (command("done"), 0.4)), NOTHING_KNOWN, "affirm", "verdict"),
    ("no choice with what was denied", heard((psi(190), 0.6), (psi(180), 0.4)), denied(180), "affirm", "not likely"),
    ("not worth a yes or no",
     heard((psi(190), WORTH_A_QUESTION * 0.9), *((psi(176 + n), ONE_OF_TWO * 0.9) for n in range(6)), other=0.1),
     NOTHING_KNOWN, "digits", "not likely enough"),
    # Last season
    ("a surprise, its rival too", heard((psi(118), SURE), (psi(110), LITTLE)), last_season(220), "keep", "all agree"),
    ("a surprise with a rival that repeats",
     heard((psi(170), SURE), (psi(60), LITTLE)), last_season(60), "affirm", "last season"),
    ("no surprise", heard((psi(170), SURE), (psi(60), LITTLE)), last_season(170), "keep", "all agree"),
    ("a surprise in the second of a breath",
     heard((Meaning(readings=(*psi(60).readings, *psi(170, at=2).readings)), SURE),
           (Meaning(readings=(*psi(60).readings, *psi(61, at=2).readings)), LITTLE)), last_season(60), "affirm", "last season"),
    ("a surprise that nothing rivals", heard((psi(170), SURE)), last_season(60), "keep", "all agree"),
    ("not known", heard((psi(170), SURE), (psi(60), LITTLE)), NOTHING_KNOWN, "keep", "all agree"),
    ("last season it was none", heard((psi(150), SURE), (psi(0), LITTLE)), last_season(0), "keep", "all agree"),
    # Commands
    ("a likely command", heard((command("done"), KEEP_COMMAND)), NOTHING_KNOWN, "command done", "a likely command"),
    ("a less likely one", heard((command("done"), KEEP_COMMAND - 0.01)), NOTHING_KNOWN, "unclear", "not likely enough"),
    ("a command to one ear", heard((command("limits"), KEEP_COMMAND_ALONE), hearings=1), NOTHING_KNOWN, "command limits", ""),
    ("a command in noise", in_noise(heard((command("done"), KEEP_COMMAND))), NOTHING_KNOWN, "command done", "likely command"),
    ("a yes that is in doubt", heard((command("affirm"), SURE), differ=True), NOTHING_KNOWN, "unclear", "may have been a no"),
    ("another on which they differ", heard((command("negative"), SURE), differ=True), NOTHING_KNOWN, "command negative", ""),
    ("a command or a number, even", heard((command("done"), 0.5), (psi(190), 0.5)), NOTHING_KNOWN, "unclear", "not likely"),
]  # fmt: skip


@pytest.mark.parametrize(("_case", "evidence", "stakes", "done", "because"), TABLE, ids=[row[0] for row in TABLE])
def test_what_is_done(_case: str, evidence: Evidence[Meaning], stakes: Stakes, done: str, because: str) -> None:
    """The evidence leads to this, for this reason."""
    answer = ask_about(evidence, stakes)
    assert outcome(answer) == done, answer
    assert because in answer.reason


def test_the_numbers_are_in_their_order() -> None:
    """What is kept unasked leaves room for no rival that is one of two."""
    assert 0.0 < TURNS <= round(1 - KEEP, 6) < ONE_OF_TWO < WORTH_A_QUESTION < 1.0
    assert ONE_OF_TWO < KEEP_COMMAND <= KEEP_COMMAND_ALONE < 1.0
    assert 0 < NEAR < FAR < 1


def test_the_cheapest_question() -> None:
    """Which of two, a yes, or digit by digit."""
    assert question_of((Likely(psi(1), "", 0.5), Likely(psi(2), "", 0.5))) == "choose"
    assert question_of((Likely(psi(1), "", 0.5),)) == "affirm"
    assert question_of((Likely(psi(1), "", WORTH_A_QUESTION / 2),)) == "digits"


# Properties


MEANINGS = st.one_of(
    st.builds(psi, st.integers(60, 300), implausible=st.booleans()),
    st.sampled_from([command(c.name) for c in commands.ALL]),
    st.sampled_from([Meaning(everyday=w) for w in commands.EVERYDAY]),
)


@st.composite
def evidences(draw: st.DrawFn) -> Evidence[Meaning]:
    """Any evidence: one likely meaning, rivals of every size, other words, that agree or not."""
    meanings = draw(st.lists(MEANINGS, min_size=1, max_size=5, unique=True))
    sizes = [draw(st.floats(0.2, 1.0)), *(draw(st.sampled_from([1e-6, 1e-3, 0.01, 0.1, 0.5])) for _ in meanings)]
    whole = sum(sizes)
    shares = sorted((size / whole for size in sizes[:-1]), reverse=True)
    pairs = list(zip(meanings, shares, strict=True))
    found = heard(*pairs, other=sizes[-1] / whole, differ=draw(st.booleans()), same_words=draw(st.booleans()))
    return in_noise(found, draw(st.floats(0.0, 1.0)))


STAKES = st.builds(
    lambda earlier, gone: Stakes(
        judge, lambda m: (Decimal(earlier),) * len(m.readings), denied=frozenset(map(psi, gone))
    ),
    st.integers(60, 300),
    st.lists(st.integers(60, 300), max_size=30),
)


@given(evidences(), STAKES)
def test_no_doubt_is_kept_in_silence(evidence: Evidence[Meaning], stakes: Stakes) -> None:
    """Kept unasked: likely enough, agreed on, audible, plausible, not denied, and no rival that counts turns the verdict."""
    answer = ask_about(evidence, stakes)
    if outcome(answer) != "keep":
        return
    best, *others = evidence.ranked
    assert best.share >= KEEP
    assert not evidence.differ
    assert evidence.audible >= AUDIBLE or best.meaning.by_word
    assert not best.meaning.implausible
    assert best.meaning not in stakes.denied
    values = [w.meaning for w in (*others, *stakes.unheard) if w.share >= TURNS and not w.meaning.everyday]
    assert {judge(m) for m in values} <= {judge(best.meaning)}
    assert all(w.share < ALIKE or w.meaning in stakes.denied for w in stakes.unheard)


@given(evidences(), STAKES)
def test_every_question_can_be_put(evidence: Evidence[Meaning], stakes: Stakes) -> None:
    """A question is about values alone, a choice has two of them; nothing is asked of what is unclear, nor of a command."""
    answer = ask_about(evidence, stakes)
    assert {w.meaning for w in answer.options} <= {w.meaning for w in evidence.ranked}
    assert answer.reason
    if answer.ask != "none":
        assert answer.understood
        assert all(w.meaning.readings for w in answer.options)
        assert answer.ask != "choose" or len(answer.options) >= 2


@given(evidences())
def test_stakes_never_make_a_doubt_smaller(evidence: Evidence[Meaning]) -> None:
    """Whatever was measured last season or denied: what is asked without knowing it is asked with it."""
    plain = ask_about(evidence, NOTHING_KNOWN)
    for stakes in (last_season(115), last_season(190), denied(190)):
        assert outcome(plain) == "keep" or outcome(ask_about(evidence, stakes)) != "keep"

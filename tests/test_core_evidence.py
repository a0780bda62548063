"""Adding up what the ears heard: probabilities that sum to 1, and how each sign moves them. No number of the fit is tested."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from assistant.core.events import Candidate, Take
from assistant.core.speech.calibration import CALIBRATIONS, Trust, calibration_of
from assistant.core.speech.evidence import (
    UNHEARD,
    Evidence,
    Likely,
    Sense,
    Words,
    add_up,
    distances,
    said_twice,
    without,
)

VOSK, WHISPER = "vosk", "whisper"
VALUES = {
    "one ninety": ("190",), "one niner zero": ("190",), "one eighty": ("180",), "one eighteen": ("118",),
    "twelve six": ("12.6", "126"), "done": ("done",),
}  # fmt: skip


def means(said: Words) -> Iterable[str]:
    """What the strings above mean; anything else means nothing."""
    return VALUES.get(" ".join(said), ())


SENSE = Sense(means, is_word=lambda meaning: meaning == "done", is_rare=lambda meaning: meaning == "118")


def heard(ear: str, *said: tuple[str, float], fits: float | None = -0.2, gap: float | None = 0.0) -> Take:
    """A take of (words, nats below the best); `fits` and `gap` as the ear tells them."""
    candidates = tuple(Candidate(tuple(words.split()), -nats, 0.5) for words, nats in said)
    return Take(ear, candidates, fits, gap)


def of(*takes: Take) -> Evidence[str]:
    return add_up(takes, SENSE)


STRINGS = st.sampled_from([*VALUES, "what about lunch"])
NATS = st.floats(0.0, 30.0)


@st.composite
def takes(draw: st.DrawFn, ear: str) -> Take:
    """What an ear may give: strings with distances, and signs of other words or none."""
    said = draw(st.lists(st.tuples(STRINGS, NATS), max_size=4, unique_by=lambda pair: pair[0]))
    sign = st.one_of(st.none(), st.floats(-20.0, 0.0))
    return heard(ear, *said, fits=draw(sign), gap=draw(sign))


PAIRS = st.tuples(takes(VOSK), takes(WHISPER))


# One utterance


@given(PAIRS)
def test_the_shares_and_the_rest_are_everything(pair: tuple[Take, Take]) -> None:
    """The probabilities of all meanings and of other words sum to 1, the likeliest first."""
    evidence = of(*pair)
    assert math.isclose(sum(each.share for each in evidence.ranked) + evidence.other, 1.0)
    shares = [each.share for each in evidence.ranked]
    assert shares == sorted(shares, reverse=True)
    assert evidence.hearings == 2


def test_forms_of_one_meaning_are_summed() -> None:
    """Two strings that mean 190 lie together nearer than one."""
    both = distances(heard(VOSK, ("one ninety", 1.0), ("one niner zero", 1.1), ("one eighty", 0.0)), means, 0.0)
    assert both == {"180": 0.0, "190": pytest.approx(math.log(math.exp(-1.0) + math.exp(-1.1)))}
    one = of(heard(VOSK, ("one eighty", 0.0), ("one ninety", 1.0)))
    two = of(heard(VOSK, ("one eighty", 0.0), ("one ninety", 1.0), ("one niner zero", 1.0)))
    assert two.share_of("190") > one.share_of("190")


def test_what_an_ear_is_given_back_a_word_lifts_the_longer_of_two_strings() -> None:
    """One word more is worth the nats of a word; where as many words were heard nothing changes."""
    take = heard(VOSK, ("one oh five", 0.0), ("one oh oh five", 2.0), ("one oh nine", 3.0))

    def as_said(said: Words) -> Iterable[str]:
        return (" ".join(said),)

    assert distances(take, as_said, 1.5) == {"one oh five": 0.0, "one oh oh five": -0.5, "one oh nine": -3.0}
    assert distances(take, as_said, 3.0) == {"one oh five": -1.0, "one oh oh five": 0.0, "one oh nine": -4.0}


def test_the_words_of_a_meaning_are_those_that_all_ears_make_likeliest() -> None:
    """Each ear's own best form of 190 loses to the one that both have next."""
    vosk = heard(VOSK, ("one ninety", 0.0), ("one niner zero", 0.1), ("one eighty", 9.0))
    whisper = heard(WHISPER, ("one hundred ninety", 0.0), ("one niner zero", 0.1), ("one eighty", 9.0))
    assert of(vosk, whisper).ranked[0].words == "one niner zero"


@given(takes(VOSK), st.floats(0.1, 20.0))
def test_an_ear_that_agrees_never_lowers_a_meaning(first: Take, apart: float) -> None:
    """Where the same set of ears hears the best of one with more distance to the rest, that best gets no less likely: unless
    a bare word becomes the likeliest of all, which makes other words likelier."""
    with_nothing_else = of(first, heard(WHISPER, ("one ninety", 0.0), ("one eighty", 0.0)))
    seconded = of(first, heard(WHISPER, ("one ninety", 0.0), ("one eighty", apart)))
    assume((with_nothing_else.ranked[0].meaning == "done") == (seconded.ranked[0].meaning == "done"))
    assert seconded.share_of("190") >= with_nothing_else.share_of("190") - 1e-9


@given(st.integers(1, 5), st.floats(0.1, 3.0))
def test_one_more_hearing_of_the_same_makes_it_likelier(times: int, nats: float) -> None:
    """The same take once more, of an ear that is known: the best gains on its rivals, never loses."""
    take = heard(VOSK, ("one ninety", 0.0), ("one eighty", nats))
    fewer, more = of(*[take] * times), of(*[take] * (times + 1))
    assert more.share_of("190") / more.share_of("180") > fewer.share_of("190") / fewer.share_of("180")


@given(st.floats(0.0, 30.0))
def test_what_an_ear_did_not_list_lies_at_its_floor(beyond: float) -> None:
    """A meaning it left out counts as one at the floor, and one listed below the floor counts no less than that."""
    trust = CALIBRATIONS[frozenset({VOSK, WHISPER})].of(WHISPER)
    vosk = heard(VOSK, ("one eighty", 0.0), ("one ninety", 0.5))
    left_out = of(vosk, heard(WHISPER, ("one ninety", 0.0)))
    listed = of(vosk, heard(WHISPER, ("one ninety", 0.0), ("one eighty", trust.floor + beyond)))
    assert listed.share_of("180") == pytest.approx(left_out.share_of("180"))


@given(PAIRS, st.floats(0.0, 10.0), st.sampled_from([0, 1]), st.booleans())
def test_signs_of_other_words_make_them_likelier(pair: tuple[Take, Take], worse: float, ear: int, fit: bool) -> None:
    """A worse fit, or a loose loop that fits better, never makes other words less likely."""
    one = pair[ear]
    sign = "fits" if fit else "loose_gap"
    changed = replace(one, **{sign: (getattr(one, sign) or 0.0) - worse})
    after = of(*(changed if n == ear else take for n, take in enumerate(pair)))
    assert after.other >= of(*pair).other - 1e-9


def test_an_ear_that_found_nothing_is_a_sign_of_other_words() -> None:
    """Beside one that agrees they are likelier, the ears differ; two that found nothing have no meaning at all."""
    sure = heard(WHISPER, ("one ninety", 0.0))
    silent = of(heard(VOSK), sure)
    assert silent.other > of(heard(VOSK, ("one ninety", 0.0)), sure).other
    assert silent.differ
    assert of(heard(VOSK), heard(WHISPER)) == Evidence((), 1.0, 2)
    assert of() == Evidence((), 1.0, 0)


def test_a_lone_word_and_a_rare_value_are_held_to_more() -> None:
    """As they are calibrated: other words never lose by a lone word, a rare value never gains."""
    for ears, calibration in CALIBRATIONS.items():
        word = of(*(heard(ear, ("done", 0.0)) for ear in sorted(ears)))
        value = of(*(heard(ear, ("one ninety", 0.0)) for ear in sorted(ears)))
        rare = of(*(heard(ear, ("one eighteen", 0.0)) for ear in sorted(ears)))
        assert (word.other > value.other) == (calibration.lone_word > 0.0)
        assert (rare.share_of("118") < value.share_of("190")) == (calibration.rare < 0.0)


def test_words_of_two_meanings_are_split_evenly() -> None:
    """Nobody can hear whether twelve six is 12.6 or 126; they have the same words, and the ears do not differ."""
    for order in ((VOSK, WHISPER), (WHISPER, VOSK)):
        evidence = of(*(heard(ear, ("twelve six", 0.0)) for ear in order))
        assert evidence.share_of("12.6") == evidence.share_of("126") > 0.0
        assert [(each.meaning, each.words) for each in evidence.ranked] == [
            ("12.6", "twelve six"),
            ("126", "twelve six"),
        ]
        assert not evidence.differ


def test_equals_stand_in_a_fixed_order() -> None:
    """Two that are as likely are ranked by their words, however the ear listed them."""
    one = of(heard(VOSK, ("one ninety", 0.0), ("one eighty", 0.0)))
    other = of(heard(VOSK, ("one eighty", 0.0), ("one ninety", 0.0)))
    assert one == other
    assert [each.words for each in one.ranked] == ["one eighty", "one ninety"]


def test_ears_differ_where_one_puts_another_first() -> None:
    """Or where one has none; not where both agree in other words."""
    niner = heard(VOSK, ("one niner zero", 0.0))
    assert not of(niner, heard(WHISPER, ("one ninety", 0.0), ("one eighty", 0.1))).differ
    assert of(niner, heard(WHISPER, ("one ninety", 0.1), ("one eighty", 0.0))).differ


def test_what_is_certain_leaves_nothing_to_other_words() -> None:
    """Typed words cannot be others; beside an ear that may mishear they are no longer the whole."""
    typed = replace(heard("text", ("one ninety", 0.0)), certain=True)
    assert of(typed) == Evidence((Likely("190", "one ninety", 1.0),), 0.0)
    assert of(typed, heard(VOSK, ("one ninety", 0.0))).other > 0.0


@given(takes("stranger"))
def test_an_ear_never_measured_is_trusted_as_vosk_alone(take: Take) -> None:
    """It counts as the careful calibration has it, whatever other ears are worth."""
    assert of(take) == of(replace(take, ear=VOSK))


def test_two_ears_never_measured_are_trusted_as_the_two_that_were() -> None:
    """Not as two lone ones, whose distances would add up to certainty against each other."""
    assert calibration_of(frozenset({"one", "other"})) == calibration_of(frozenset({VOSK, WHISPER}))
    assert isinstance(calibration_of(frozenset({"one"})).of("one"), Trust)


# Said twice, and denied


def made(other: float, **shares: float) -> Evidence[str]:
    """Evidence by hand: meanings by name, with their probabilities."""
    ranked = tuple(Likely(name, f"words of {name}", share) for name, share in shares.items())
    return Evidence(ranked, other)


def test_two_hearings_of_the_same_are_more_than_either() -> None:
    """More than one witness, less than two: 0.9 and 0.9 of the same against 0.1 and 0.1 are from 9 to 81 to 1."""
    both = said_twice(made(0.0, a=0.9, b=0.1), made(0.0, a=0.9, b=0.1))
    assert 9 / 10 < both.share_of("a") < 81 / 82
    assert (both.hearings, both.differ) == (2, False)


def test_two_sayings_are_as_audible_as_the_clearer_of_them() -> None:
    """The same noise drowns the same part of both. One that was denied tells nothing of what is said next."""
    half, most = replace(made(0.0, a=0.9, b=0.1), audible=0.5), replace(made(0.0, a=0.9, b=0.1), audible=0.8)
    assert said_twice(half, half).audible == 0.5
    assert said_twice(half, most).audible == said_twice(most, half).audible == 0.8
    rest = without(most, {"a"})
    assert rest is not None
    assert said_twice(rest, half).audible == 0.5


def test_two_hearings_that_differ_are_in_doubt() -> None:
    """Each as sure of its own: the two are even, and they differ."""
    both = said_twice(made(0.01, a=0.99), made(0.01, b=0.99))
    assert both.share_of("a") == pytest.approx(both.share_of("b"))
    assert both.differ


def test_a_first_that_may_have_been_other_words_tells_little() -> None:
    """It was half talk: a second that is sure of another value is believed more than it, and is not taken for talk."""
    both = said_twice(made(0.5, a=0.5), made(0.02, b=0.98))
    assert both.ranked[0].meaning == "b"
    assert both.other < both.share_of("b")


@st.composite
def evidences(draw: st.DrawFn) -> Evidence[str]:
    """Any evidence: some meanings, each with a share, and a rest."""
    parts = draw(st.lists(st.floats(1e-6, 1.0), min_size=2, max_size=5))
    whole = sum(parts)
    ranked = [
        Likely(name, name, part / whole) for name, part in zip("abcd", sorted(parts[1:], reverse=True), strict=False)
    ]
    return Evidence(tuple(ranked), parts[0] / whole)


@given(evidences(), evidences())
def test_said_twice_is_a_probability(first: Evidence[str], second: Evidence[str]) -> None:
    """It sums to 1, ranks the likeliest first, and the order of the two sayings makes no difference to a share."""
    both, turned = said_twice(first, second), said_twice(second, first)
    assert math.isclose(sum(each.share for each in both.ranked) + both.other, 1.0)
    assert [each.share for each in both.ranked] == sorted((each.share for each in both.ranked), reverse=True)
    for each in both.ranked:
        assert each.share == pytest.approx(turned.share_of(each.meaning))


@given(evidences(), evidences())
def test_hearings_agree_only_on_the_best_of_both(first: Evidence[str], second: Evidence[str]) -> None:
    """Where one of the two had another best than both together, they differ."""
    both = said_twice(first, second)
    top = both.ranked[0].meaning
    agree = all(each.share_of(top) == each.ranked[0].share for each in (first, second))
    assert both.differ != agree


@given(evidences(), st.sets(st.sampled_from("abcd"), min_size=1))
def test_what_was_denied_is_gone(evidence: Evidence[str], denied: set[str]) -> None:
    """The others keep their shares; nothing is left where all of it was denied."""
    rest = without(evidence, denied)
    kept = tuple(each for each in evidence.ranked if each.meaning not in denied)
    assert (rest.ranked if rest else ()) == kept
    assert rest is None or rest.other == evidence.other


def test_the_runner_up_of_a_denied_value_is_no_certainty() -> None:
    """Hardly thought of before, it is hardly likelier than what was not thought of: a hearing in doubt stays in doubt."""
    rest = without(made(UNHEARD, a=0.99, b=0.007), {"a"})
    assert rest is not None
    both = said_twice(rest, made(0.0, b=0.6, c=0.4))
    assert both.share_of("c") > 0.1
    assert not said_twice(rest, made(0.0, c=1.0)).differ, "one whose best was denied has no best to differ by"

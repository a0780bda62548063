"""Which words of a job a streaming ear lacks, and how that is told."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from assistant.bench.hearing import Ears
from assistant.bench.known_words import lacking, sample_work, tell_lacking, words_of
from assistant.cli import main
from assistant.core.speech.automaton import Automaton
from assistant.devices.recognisers.scripted import ScriptedEar
from assistant.devices.recognisers.vosk_ear import VoskEar
from assistant.files.model_store import shipped_models


class KnowsFew(ScriptedEar):
    """An ear that knows "one" and "done" alone."""

    name = "vosk"

    def __init__(self) -> None:
        super().__init__(())
        self.unknown_words: tuple[str, ...] = ()

    def listen_for(self, grammar: Automaton) -> None:
        self.unknown_words = tuple(sorted(grammar.vocabulary - {"one", "done"}))


def test_the_words_that_are_lacking_are_named() -> None:
    """In order, with who hears them instead."""
    assert lacking(KnowsFew(), ("torque", "done", "bilge")) == ("bilge", "torque")
    [alone] = tell_lacking(Ears(KnowsFew()), ("torque", "bilge"))
    assert "bilge, torque" in alone
    assert "not heard at all" in alone
    [both] = tell_lacking(Ears(KnowsFew(), ScriptedEar(())), ("torque",))
    assert "scripted alone hears them" in both


def test_nothing_is_said_where_none_is_lacking() -> None:
    """Nor of an ear that can hear any word."""
    assert list(tell_lacking(Ears(KnowsFew()), ("one",))) == []
    assert list(tell_lacking(Ears(ScriptedEar(())), ("torque",))) == []


@pytest.fixture(scope="module")
def job_words() -> Iterator[frozenset[str]]:
    yield words_of(sample_work(), date(2026, 11, 25))


def test_a_jobs_words_are_commands_and_readings(job_words: frozenset[str]) -> None:
    """Commands of every phase, numbers and units, answers of the steps; not the whole text of a step."""
    assert {"affirm", "roger", "ahead", "disregard", "ninety", "niner", "psi", "yes"} <= job_words
    assert "the" not in job_words


def test_the_model_itself_is_asked(job_words: frozenset[str]) -> None:
    """Our own, by its folder: it lacks a made-up word, and of a job exactly what its list of words lacks."""
    ear = VoskEar(shipped_models() / "bench-en")
    listed = {
        line.split()[0] for line in (shipped_models() / "bench-en" / "graph" / "words.txt").read_text().splitlines()
    }
    assert lacking(ear, job_words | {"zorbical"}) == tuple(sorted((job_words | {"zorbical"}) - listed))


def test_a_model_that_is_not_there_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`layup models` names the folder that the settings name, and what to do."""
    settings = tmp_path / "layup.toml"
    settings.write_text(f'vosk_model = "{(tmp_path / "none").as_posix()}"\n')
    assert main(["--settings", str(settings), "models"]) == 1
    said = capsys.readouterr().out
    assert "no such model folder" in said
    assert "fitted for bench-en" in said

"""Forgotten sound is gone from the disk; what was said of it stays, whole and checked."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from job_samples import PNG, at, reading, small_job, tone

from assistant.core.entries import SoundForgotten
from assistant.core.problems import CallProblem, JobFileBroken
from assistant.files.answering import forget_due, forget_sound, sign_job
from assistant.files.job_file import JobFile
from assistant.files.keys import SigningKey
from assistant.files.verify import verify
from assistant.measure.job_damage import compared, make_chain_anew, tamper


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return small_job(tmp_path / "season.job")


def sounds(path: Path) -> dict[str, bytes]:
    """The sounds that are in the file."""
    with closing(sqlite3.connect(path)) as connection:
        return dict(connection.execute("SELECT sha256, data FROM clip WHERE kind = 'sound'"))


def test_the_sound_goes_and_the_rest_stays(path: Path) -> None:
    """Entries, words, hashes and the picture stay; the sounds are gone; an entry names them, who asked and why; all fits."""
    with JobFile.open(path, read_only=True) as job_file:
        before = job_file.entries()
    gone = sounds(path)
    kept = forget_sound(path, at(6), "Ada Lind", "asked for")
    assert kept is not None
    assert kept.entry == SoundForgotten(tuple(sorted(gone)), "Ada Lind", "asked for")
    assert sounds(path) == {}
    with JobFile.open(path, read_only=True) as job_file:
        assert job_file.entries() == (*before, kept)
        assert job_file.clip_bytes(before[4].clip) == PNG
        with pytest.raises(KeyError):
            job_file.clip_bytes(before[1].clip)
    assert verify(path).whole
    assert "the sound of 2 clips was forgotten" in str(verify(path))
    assert compared(path).plain == "whole"


def test_nothing_of_the_sound_is_left_in_the_file(tmp_path: Path) -> None:
    """No piece of a forgotten sound stands in the file or beside it, and the file is small again."""
    path = tmp_path / "season.job"
    noise = np.random.default_rng(6).integers(-9000, 9000, 40_000).astype(np.int16)
    with JobFile.create(path) as job_file:
        job_file.append(reading("compression", "cylinder 1", "190"), at(1), noise)
    [data] = sounds(path).values()
    pieces = [data[start : start + 32] for start in range(0, len(data) - 32, 500)]
    before = path.read_bytes()
    assert sum(piece in before for piece in pieces) > len(pieces) * 0.9  # all but those that a page's end cuts
    forget_sound(path, at(6), "", "asked for")
    after = b"".join(file.read_bytes() for file in tmp_path.iterdir())
    assert not any(piece in after for piece in pieces)
    assert len(after) < len(before) - len(data) * 0.9


def test_a_signed_job_stays_signed(path: Path) -> None:
    """To forget sound does not break a signature: it covers the hash of the sound, not the sound."""
    sign_job(path, at(6), "Ada", SigningKey(bytes(32)))
    forget_sound(path, at(7), "Ada", "asked for")
    assert [one.entry for one in verify(path).signed] == [7]
    assert verify(path).whole


def test_the_job_goes_on(path: Path) -> None:
    """After forgetting, sound is kept as before, and can be forgotten again."""
    forget_sound(path, at(6), "", "asked for")
    assert forget_sound(path, at(7), "", "asked for") is None
    with JobFile.open(path) as job_file:
        job_file.append(reading("compression", "cylinder 2", "189"), at(8), tone(500))
    assert len(sounds(path)) == 1
    assert verify(path).whole
    assert forget_sound(path, at(9), "", "asked for") is not None
    assert verify(path).whole


def test_the_same_sound_again_is_kept_again(path: Path) -> None:
    """A sound like a forgotten one, heard later, is there for the later entry."""
    forget_sound(path, at(6), "", "asked for")
    with JobFile.open(path) as job_file:
        job_file.append(reading("compression", "cylinder 1", "190"), at(7), tone(400))
    assert verify(path).whole
    assert compared(path).plain == "whole"


GONE = "DELETE FROM clip WHERE samples = 400;"
PUT_BACK = "INSERT INTO clip SELECT '{name}', 'sound', 'audio/flac', {samples}, x'{data}';"


def test_sound_that_goes_without_a_word_is_missed(path: Path) -> None:
    """A sound taken out behind the file's back is missing, whatever is forgotten later of others."""
    tamper(path, GONE)
    assert "entry 2: clip missing" in str(verify(path))
    with pytest.raises(JobFileBroken, match="nothing was removed"):
        forget_sound(path, at(6), "", "asked for")


def test_a_sound_put_back_is_found(path: Path) -> None:
    """Sound that an entry says is forgotten may not be there again."""
    name, data = next((name, data) for name, data in sounds(path).items())
    with closing(sqlite3.connect(path)) as connection:
        [samples] = connection.execute("SELECT samples FROM clip WHERE sha256 = ?", (name,)).fetchone()
    forget_sound(path, at(6), "", "asked for")
    tamper(path, PUT_BACK.format(name=name, samples=samples, data=data.hex()))
    assert "entry 7: clip added" in str(verify(path))
    assert compared(path).agree


def test_forgetting_covers_only_what_it_names(path: Path) -> None:
    """An entry that claims another sound forgotten does not excuse one that is missing."""
    kept = forget_sound(path, at(6), "", "asked for")
    assert kept is not None
    assert isinstance(kept.entry, SoundForgotten)
    body = replace(kept.entry, clips=kept.entry.clips[:1]).body()
    make_chain_anew(path, 7, body=json.dumps(body))
    fault = verify(path).fault
    assert fault is not None
    assert fault.how == "clip missing"
    assert compared(path).agree


@pytest.mark.parametrize("statement", ["DELETE FROM clip", "DELETE FROM clip WHERE kind = 'picture'"])
def test_the_file_itself_guards_its_clips(path: Path, statement: str) -> None:
    """Without an entry that says so no clip goes, and a picture never does."""
    with closing(sqlite3.connect(path)) as connection, pytest.raises(sqlite3.IntegrityError, match="unless an entry"):
        connection.execute(statement)
    forget_sound(path, at(6), "", "asked for")
    with closing(sqlite3.connect(path)) as connection, pytest.raises(sqlite3.IntegrityError, match="unless an entry"):
        connection.execute(statement)


@pytest.mark.parametrize(("now", "due"), [("2026-10-24T09:00:05.250Z", False), ("2026-10-24T09:00:05.251Z", True)])
def test_due_after_so_many_days(path: Path, now: str, due: bool) -> None:
    """With ten days to keep it, sound is due when the job's last work is more than ten days back, not before."""
    kept = forget_due(path, now, 10)
    assert (kept is not None) == due
    assert bool(sounds(path)) != due
    if kept is not None:
        assert "10 days" in kept.entry.body()["why"]


def test_signing_does_not_put_off_what_is_due(path: Path) -> None:
    """What the foreman does afterwards is no work on the machine: the days count from the last of that."""
    sign_job(path, "2026-10-24T08:00:00.000Z", "Ada", SigningKey(bytes(32)))
    assert forget_due(path, "2026-10-24T09:00:06.000Z", 10) is not None


def test_an_open_job_is_left_alone(path: Path) -> None:
    """A job that is being worked on keeps its sound."""
    with JobFile.open(path), pytest.raises(CallProblem, match="another program is writing"):
        forget_sound(path, at(6), "", "asked for")
    assert len(sounds(path)) == 2

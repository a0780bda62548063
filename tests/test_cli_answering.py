"""The commands for a job whose work is over: keys, sign, verify, forget, bundle, export."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from job_samples import at, reading, small_job

from assistant.cli import main
from assistant.core.entries import EntryUpheld, JobFinished
from assistant.files.job_file import JobFile
from assistant.files.keys import Locking, make_key
from assistant.files.verify import verify

WORDS = "wrench and socket"


@pytest.fixture
def bay(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a job, two keys, and `words` with their passphrase."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.delenv("LAYUP_PASSPHRASE", raising=False)
    (tmp_path / "words").write_text(WORDS + "\n")
    for name in ("Ada Lind", "Bea"):
        make_key(name, WORDS, tmp_path / "data" / "layup" / "keys", Locking(1, 8192))
    with JobFile.open(small_job(tmp_path / "1234.job")) as job_file:
        job_file.append(JobFinished(1, 0), at(6))
    return tmp_path


def layup(*arguments: str) -> int:
    """One call."""
    return main(arguments)


def test_from_key_to_bundle(bay: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A key is made and listed, a job signed, verified against the key, bundled and exported."""
    assert layup("keys", "make", "Cy Dorn", "--passphrase-file", "words") == 0
    assert layup("keys") == 0
    assert "Cy Dorn: signs here, public key" in capsys.readouterr().out
    assert layup("sign", "1234.job", "--who", "Cy Dorn", "--passphrase-file", "words") == 0
    assert "signed by Cy Dorn in entry 8" in capsys.readouterr().out
    assert layup("verify", "1234.job", "--key", "data/layup/keys/Cy Dorn.pem", "--json") == 0
    row = json.loads(capsys.readouterr().out)
    assert (row["whole"], row["signed"][0]["who"], row["signed"][0]["known"]) == (True, "Cy Dorn", "Cy Dorn")
    assert layup("bundle", "1234.job") == 0
    assert (bay / "1234.zip").is_file()
    capsys.readouterr()
    assert layup("export", "1234.job", "--jsonl") == 0
    lines = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [line.get("sequence") for line in lines] == [1, 2, 3, 4, 5, 6, 7, 8, None]


def test_an_open_job_is_not_signed(bay: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A value that was asked about and looked at by nobody holds the signature up, and is named with its entry."""
    with JobFile.open(bay / "1234.job") as job_file:
        doubted = reading("compression", "cylinder 3", "180", asked="affirm", sureness="0.871", rule="the ears differ")
        job_file.append(doubted, at(7))
    assert layup("sign", "1234.job", "--who", "Ada Lind", "--passphrase-file", "words") == 2
    said = capsys.readouterr().err
    assert "not signed: 1 thing is open: entry 8, doubtful" in said
    assert "layup review" in said
    with JobFile.open(bay / "1234.job") as job_file:
        job_file.append(EntryUpheld(8, "listened to it", "Ada Lind"), at(8))
    assert layup("sign", "1234.job", "--who", "Ada Lind", "--passphrase-file", "words") == 0


def test_the_passphrase_from_the_environment(bay: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A script may give the passphrase in the environment, and sign under another name than the key's."""
    monkeypatch.setenv("LAYUP_PASSPHRASE", WORDS)
    assert layup("sign", "1234.job", "--who", "Ada, foreman", "--key", "Ada Lind") == 0
    assert verify(bay / "1234.job").signed[0].who == "Ada, foreman"


def test_another_key_is_not_enough(bay: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With --key a job signed by somebody else, or by nobody, is not accepted."""
    assert layup("verify", "1234.job", "--key", "data/layup/keys/Bea.pem") == 1
    assert "not signed" in capsys.readouterr().out
    assert layup("sign", "1234.job", "--who", "Ada Lind", "--passphrase-file", "words") == 0
    assert layup("verify", "1234.job", "--key", "data/layup/keys/Bea.pem") == 1
    assert "signature of another key" in capsys.readouterr().out


def test_sound_is_forgotten(bay: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Sound is removed from each job named; one that has none, and one that cannot be read, cost only themselves."""
    shutil.copyfile("1234.job", "5678.job")
    (bay / "text.job").write_text("hello")
    assert layup("forget", "1234.job", "text.job", "5678.job", "--clips", "--who", "Ada") == 2
    out, err = capsys.readouterr()
    assert out == "1234.job: 2 sounds forgotten, entry 8\n5678.job: 2 sounds forgotten, entry 8\n"
    assert "no job file" in err
    assert layup("forget", "1234.job", "--clips") == 0
    assert "nothing to forget" in capsys.readouterr().out
    assert verify(bay / "1234.job").whole


def test_sound_is_forgotten_when_due(bay: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The settings say how long sound is kept; with no time set, nothing is ever due, and the call says so."""
    assert layup("forget", "1234.job", "--due") == 2
    assert "keep_clips_days" in capsys.readouterr().err
    (bay / "layup.toml").write_text("keep_clips_days = 30000\n")
    assert layup("forget", "1234.job", "--due") == 0
    assert "nothing to forget" in capsys.readouterr().out
    (bay / "layup.toml").write_text("keep_clips_days = 10\n")
    assert layup("forget", "1234.job", "--due") == 0
    assert "2 sounds forgotten" in capsys.readouterr().out


WRONG = [
    (("keys", "make"), 2, "layup keys make NAME"),
    (("keys", "make", "Bea", "--passphrase-file", "words"), 2, "already"),
    (("keys", "lend", "Ada"), 2, "layup keys make NAME"),
    (("keys", "make", "Cy"), 2, "nobody is there to type"),
    (("keys", "make", "a/b", "--passphrase-file", "words"), 2, "cannot be the name"),
    (("keys", "make", "Cy", "--passphrase-file", "no"), 2, "cannot be read"),
    (("sign", "1234.job", "--who", "Nobody", "--passphrase-file", "words"), 2, "no such key"),
    (("sign", "no.job", "--who", "Ada Lind", "--passphrase-file", "words"), 2, "no such job file"),
    (("sign", "1234.job", "--who", "Ada Lind", "--passphrase-file", "1234.job"), 2, "cannot be read"),
    (("verify", "1234.job", "--key", "words"), 2, "no public key"),
    (("bundle", "no.job"), 2, "no such job file"),
    (("bundle", "1234.job", "-o", "1234.job"), 2, "already"),
    (("export", "no.job", "--jsonl"), 2, "no such job file"),
    (("forget", "no.job", "--clips"), 2, "no such job file"),
]


@pytest.mark.parametrize(("arguments", "status", "says"), WRONG)
def test_wrong_calls(
    bay: Path, capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...], status: int, says: str
) -> None:
    """Each wrong call ends with its status and one or two lines that say what and what to do; the job is as it was."""
    before = (bay / "1234.job").read_bytes()
    capsys.readouterr()
    assert layup(*arguments) == status
    out, err = capsys.readouterr()
    assert (out, 1 <= len(err.splitlines()) <= 2) == ("", True)
    assert says in err
    assert (bay / "1234.job").read_bytes() == before

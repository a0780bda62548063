"""A bundle has all that somebody needs to read a job and check it without the program."""

from __future__ import annotations

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
from job_samples import at, small_job

from assistant.core.entries import StepOpened
from assistant.core.problems import CallProblem, JobFileBroken
from assistant.files.job_file import JobFile
from assistant.files.keys import SigningKey, public_in
from assistant.measure.job_damage import content, tamper
from assistant.reports.bundle import write_bundle

KEY = SigningKey(bytes(32))


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return small_job(tmp_path / "season.job")


def unpacked(zipped: Path) -> Path:
    """The bundle, unpacked in a folder of its own."""
    folder = zipped.with_suffix("")
    with zipfile.ZipFile(zipped) as bundle:
        bundle.extractall(folder)
    return folder


def test_a_stranger_can_check_it(path: Path) -> None:
    """The README's own line, run on the unpacked bundle by a bare Python, says whole and who signed."""
    with JobFile.open(path) as job_file:
        job_file.sign(at(6), "Ada Lind", KEY)
    assert write_bundle(path, path.with_name("out.zip")).whole
    folder = unpacked(path.with_name("out.zip"))
    names = ["README.txt", "check_job.py", "season.html", "season.job", "signed-by-1.pem"]
    assert sorted(file.name for file in folder.iterdir()) == names
    readme = (folder / "README.txt").read_text()
    [line] = [line.strip() for line in readme.splitlines() if line.startswith("    python3")]
    command = line.replace("python3", f"{sys.executable} -I -S")
    done = subprocess.run(["bash", "-c", command], cwd=folder, env={}, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")
    assert "season.job: whole" in done.stdout
    assert "signed by Ada Lind" in done.stdout
    assert "Ada Lind in entry 7" in readme
    assert public_in(folder / "signed-by-1.pem") == KEY.public
    assert content(folder / "season.job") == content(path)
    assert "<html" in (folder / "season.html").read_text(encoding="utf-8")


def test_an_unsigned_bundle_says_so(path: Path) -> None:
    """Without a signature the bundle says what it cannot show."""
    write_bundle(path, path.with_name("out.zip"))
    folder = unpacked(path.with_name("out.zip"))
    assert "not signed" in (folder / "README.txt").read_text()
    assert "--key" not in (folder / "README.txt").read_text()


def test_an_open_job_is_bundled_as_it_stands(path: Path) -> None:
    """What is kept of a job that is still open is all in the bundle's one file."""
    with JobFile.open(path) as job_file:
        job_file.append(StepOpened("fog"), at(6))
        write_bundle(path, path.with_name("out.zip"))
        folder = unpacked(path.with_name("out.zip"))
        assert content(folder / "season.job") == content(path)


def test_what_is_not_bundled(path: Path) -> None:
    """No file is overwritten, and a job that is not whole is not handed on as if it were."""
    out = path.with_name("out.zip")
    out.write_text("the foreman's notes")
    with pytest.raises(CallProblem, match="already"):
        write_bundle(path, out)
    assert out.read_text() == "the foreman's notes"
    with pytest.raises(CallProblem, match="cannot be written"):
        write_bundle(path, path.parent / "no" / "folder.zip")
    tamper(path, "UPDATE clip SET samples = 1 WHERE samples = 400;")
    with pytest.raises(JobFileBroken, match="clip changed"):
        write_bundle(path, path.with_name("other.zip"))
    assert not path.with_name("other.zip").exists()

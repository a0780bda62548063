"""A full or failing disk is told as that, and never as damage; damage is what SQLite says of the content."""

from __future__ import annotations

import errno
import os
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict
from pathlib import Path

import pytest
from job_samples import PNG, at, reading, small_job, tone

from assistant.bench.starting import resume_job
from assistant.cli import main
from assistant.core.entries import Amended, Entry, JobOpened, JobResumed, StepOpened
from assistant.core.problems import CallProblem, JobFileBroken
from assistant.files.disk_trouble import trouble_of
from assistant.files.job_file import JobFile, NotKept
from assistant.files.opening import connect_to_read, lacks, unusable
from assistant.files.verify import verify
from assistant.files.writing import Doubtful
from assistant.measure.fault_job import SCRIPTS, ScriptedClock, talk

WORDS = [
    ("SQLITE_FULL", "the disk is full", "make room"),
    ("SQLITE_IOERR_SHMSIZE", "the disk is full", "make room"),
    ("SQLITE_IOERR_WRITE", "the disk cannot be written", "check its room"),
    ("SQLITE_IOERR_FSYNC", "the disk does not work", "check the disk"),
    ("SQLITE_IOERR_DIR_FSYNC", "the disk does not work", "check the disk"),
    ("SQLITE_IOERR_READ", "the disk does not work", "check the disk"),
    ("SQLITE_IOERR_TRUNCATE", "the disk does not work", "check the disk"),
    ("SQLITE_IOERR", "the disk does not work", "check the disk"),
    ("SQLITE_READONLY", "may only be read", "who may write"),
    ("SQLITE_READONLY_DIRECTORY", "may only be read", "who may write"),
    ("SQLITE_CANTOPEN", "cannot be opened", "check the folder"),
    ("SQLITE_BUSY", "another program holds", "end that program"),
    ("SQLITE_BUSY_RECOVERY", "another program holds", "end that program"),
    ("SQLITE_CORRUPT", "damaged", "layup verify"),
    ("SQLITE_CORRUPT_INDEX", "damaged", "layup verify"),
    ("SQLITE_NOTADB", "damaged", "layup verify"),
    ("SQLITE_ERROR", "damaged", "layup verify"),
]
"""SQLite's result code -> what is said, and what to do. The codes' meanings: https://sqlite.org/rescode.html, which says of
IOERR_SHMSIZE that "the underlying filesystem volume" may be "out of space" (looked at in a library's copy of that page)."""

ERRNOS = [
    (errno.ENOSPC, "the disk is full"),
    (errno.EDQUOT, "the disk cannot be written"),
    (errno.EFBIG, "the disk cannot be written"),
    (errno.EROFS, "may only be read"),
    (errno.EACCES, "rights do not allow"),
    (errno.EIO, "the disk does not work"),
    (errno.ENOTDIR, os.strerror(errno.ENOTDIR)),
]
"""errno of POSIX, <errno.h>."""


def failure(name: str) -> sqlite3.DatabaseError:
    """What Python raises for that code."""
    fault = sqlite3.DatabaseError("words of SQLite")
    fault.sqlite_errorcode = getattr(sqlite3, name)
    return fault


@pytest.mark.parametrize(("name", "what", "do"), WORDS)
def test_what_an_error_of_sqlite_is_called(name: str, what: str, do: str) -> None:
    """Each code has its words and what to do; only what is about the content is called damage."""
    problem = unusable(Path("season.job"), failure(name))
    assert what in problem.what
    assert do in problem.do
    assert str(problem).startswith("season.job: ")
    assert isinstance(problem, JobFileBroken) is (what == "damaged")
    assert problem.exit_status == (1 if what == "damaged" else 2)


@pytest.mark.parametrize(("number", "what"), ERRNOS)
def test_what_an_error_of_the_system_is_called(number: int, what: str) -> None:
    """The same, by errno; one that nobody foresaw keeps the system's words."""
    problem = unusable(Path("season.job"), OSError(number, os.strerror(number)))
    assert isinstance(problem, CallProblem)
    assert what in problem.what


def test_every_code_of_a_disk_is_in_the_table() -> None:
    """Whatever kind of I/O error, full, read-only, busy or not to be opened it is: it is the disk's. Damage never is."""
    codes = {name: code for name, code in vars(sqlite3).items() if name.startswith("SQLITE_") and isinstance(code, int)}
    disk = {
        name for name in codes if name.startswith(("SQLITE_IOERR", "SQLITE_FULL", "SQLITE_BUSY", "SQLITE_CANTOPEN"))
    }
    assert len(disk) > 30
    assert all(trouble_of(failure(name)) for name in disk)
    assert not any(trouble_of(failure(name)) for name in codes if name.startswith(("SQLITE_CORRUPT", "SQLITE_NOTADB")))


AFTER = [
    (StepOpened("fog"), "make room, then say it again"),
    (JobResumed("layup", "vosk"), "then `layup resume {path}` again; all that was told as kept is in the file"),
    (
        JobOpened("p", "", "", "", "j", (), "layup", "vosk"),
        "then remove season.job, in which nothing stands, and begin",
    ),
    (Amended(**asdict(reading("c", "", "1")), reason="x", who="Ada"), "make room, then do it again"),
]


@pytest.mark.parametrize(("entry", "do"), AFTER)
def test_what_to_do_is_what_can_be_done(tmp_path: Path, entry: Entry, do: str) -> None:
    """What came by voice is said again; a job that was to be resumed is resumed; and so on. Nothing is wrong with the job."""
    path = tmp_path / "season.job"
    with JobFile.create(path) as job:
        job._connection.execute("PRAGMA max_page_count=1")  # SQLite's own way to be full
        with pytest.raises(NotKept, match="not kept: the disk is full") as caught:
            job.append(entry, at(0), tone(20000))
    assert do.format(path=path) in caught.value.do
    assert caught.value.exit_status == Doubtful.exit_status == 2


@contextmanager
def small_disk(folder: Path, size_kb: int) -> Iterator[Path]:
    """A disk of so many KiB; skips where none may be mounted."""
    folder.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", f"size={size_kb}k", "tmpfs", str(folder)]
    if os.geteuid() or not shutil.which("mount") or subprocess.run(mount, capture_output=True, check=False).returncode:
        pytest.skip("a small disk can only be mounted by root")
    try:
        yield folder
    finally:
        subprocess.run(["umount", str(folder)], check=True)


@pytest.mark.parametrize("size_kb", [8, 20, 24, 32, 40, 48])
def test_no_room_to_begin_a_job(tmp_path: Path, size_kb: int) -> None:
    """On a disk that is too small to make or open a job: it is full, with status 2, and nothing lies there afterwards."""
    with small_disk(tmp_path / "disk", size_kb) as disk:
        with pytest.raises(CallProblem, match=r"the disk is full\n.*make room") as caught:
            JobFile.create(disk / "season.job")
        assert "damaged" not in str(caught.value)
        assert caught.value.exit_status == 2
        assert list(disk.iterdir()) == []


@pytest.mark.parametrize("room_kb", [0, 4, 12, 28])
def test_no_room_to_open_a_job_again(tmp_path: Path, room_kb: int, capsys: pytest.CaptureFixture[str]) -> None:
    """A job on a full disk: `layup` says that it is full, where, and what to do, with status 2; then all that stood stands."""
    script = SCRIPTS["compression"]
    talk(tmp_path / "season.job", ScriptedClock(0), script.work(), script.lines[:2], lambda _: None)
    made, before = (tmp_path / "season.job").read_bytes(), verify(tmp_path / "season.job")
    with small_disk(tmp_path / "disk", 400) as disk:
        path = disk / "season.job"
        path.write_bytes(made)
        (disk / "ballast").write_bytes(bytes(400 * 1024 - len(made) - room_kb * 1024))
        assert main(["forget", str(path), "--clips", "--who", "Ada"]) == 2
        said = capsys.readouterr().err
        assert f"{path}: cannot be opened to write: the disk is full\n" in said
        assert (
            f"make room, then do it again (the work: `layup resume {path}`); all that was told as kept is in the file"
            in said
        )
        assert "damaged" not in said
        with pytest.raises(CallProblem, match="the disk is full"):
            resume_job(path, ScriptedClock(60), "scripted")
        assert (verify(path).whole, verify(path).head) == (True, before.head)
        (disk / "ballast").unlink()
        with JobFile.open(path) as job:
            assert len(job.entries()) == before.entries
            job.append(StepOpened("fog"), at(900))
        assert verify(path).entries == before.entries + 1


FULL_TEMPORARY = """
import sys, tempfile
from pathlib import Path
from assistant.cli import main
tempfile.tempdir = sys.argv[2]
sys.exit(main(["verify", sys.argv[1]]))
"""


def test_no_room_for_the_copy_that_is_read(tmp_path: Path) -> None:
    """A copy of an open job is read by way of the folder for temporary files: that it is full is not the job's fault."""
    path = tmp_path / "season.job"
    with JobFile.create(path) as job:
        job.append(StepOpened("fog"), at(0), picture=PNG)
        copy = tmp_path / "copy.job"
        copy.write_bytes(path.read_bytes())
        copy.with_name("copy.job-wal").write_bytes(path.with_name("season.job-wal").read_bytes())
    assert verify(copy).whole
    with small_disk(tmp_path / "disk", 8) as disk:
        call = [sys.executable, "-c", FULL_TEMPORARY, str(copy), str(disk)]
        done = subprocess.run(call, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout) == (2, "")
    assert "folder for temporary files: the disk is full" in done.stderr
    assert "damaged" not in done.stderr
    assert verify(copy).whole


@pytest.mark.skipif(os.geteuid() == 0, reason="root may read everything")
def test_a_file_that_may_not_be_read(tmp_path: Path) -> None:
    """It is told in words, where it is opened and where it is only looked at."""
    path = small_job(tmp_path / "season.job")
    path.chmod(0)
    with pytest.raises(CallProblem, match="rights do not allow"):
        lacks(path, "-wal")
    with pytest.raises(CallProblem, match="rights do not allow"):
        connect_to_read(path)

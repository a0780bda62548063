"""The job file keeps every entry that it said it kept, and nothing else."""

from __future__ import annotations

import os
import resource
import shutil
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from job_samples import PNG, any_entry, any_samples, at, small_job, tone

from assistant.core.entries import DeviceChanged, Entry, JobSigned, RemarkKept, SoundForgotten, StepOpened
from assistant.core.problems import CallProblem, ChainBroken, DeviceTrouble, JobFileBroken, LayupProblem
from assistant.files.clips import Samples
from assistant.files.job_file import JobFile, NotKept
from assistant.files.verify import verify

APPENDING_CHILD = """
import sys
from pathlib import Path
from assistant.core.entries import RemarkKept
from assistant.files.job_file import JobFile
import numpy as np
with JobFile.open(Path(sys.argv[1])) as job:
    for number in range(100_000):
        sound = np.full(500, number % 3000, dtype=np.int16) if number % 3 == 0 else None
        kept = job.append(RemarkKept("fog", "note", f"note {number}"), "2026-10-14T09:00:00.000Z", sound)
        print(kept.sequence, flush=True)
"""

HOLDING_CHILD = """
import sys
from pathlib import Path
from assistant.files.job_file import JobFile
with JobFile.open(Path(sys.argv[1])):
    print("open", flush=True)
    sys.stdin.read()
"""


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "season.job"


@pytest.fixture
def job(path: Path) -> Iterator[JobFile]:
    with JobFile.create(path) as job:
        yield job


def any_plain_entry() -> st.SearchStrategy[Entry]:
    """Any entry that `append` keeps."""
    return any_entry().filter(lambda entry: not isinstance(entry, JobSigned | SoundForgotten))


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(any_plain_entry(), st.none() | any_samples()), max_size=8))
def test_any_entries_come_back(tmp_path: Path, given_entries: list[tuple[Entry, Samples | None]]) -> None:
    """Whatever is appended is read back the same, in order, with its sound, by a later reader; the file is whole."""
    path = tmp_path / "any.job"
    path.unlink(missing_ok=True)
    with JobFile.create(path) as job:
        kept = [job.append(entry, at(i), sound) for i, (entry, sound) in enumerate(given_entries)]
    with JobFile.open(path, read_only=True) as job:
        assert list(job.entries()) == kept
        for one, (entry, sound) in zip(kept, given_entries, strict=True):
            assert one.entry == entry
            assert sound is None or np.array_equal(job.clip_samples(one.clip), sound)
    assert verify(path).whole


def test_entries_are_numbered_from_one(job: JobFile) -> None:
    """The sequence counts 1, 2, 3, and a kept entry says its own."""
    assert [job.append(StepOpened(s), at(0)).sequence for s in "abc"] == [1, 2, 3]


def test_a_picture_is_kept(job: JobFile) -> None:
    """A label's picture comes back byte for byte."""
    assert job.clip_bytes(job.append(StepOpened("filter"), at(0), picture=PNG).clip) == PNG


def test_the_same_sound_is_kept_once(job: JobFile) -> None:
    """Two entries may have one clip."""
    first, second = (job.append(StepOpened(s), at(0), tone()) for s in "ab")
    assert first.clip == second.clip
    assert verify(job.path).clips == 1


def test_a_closed_job_is_one_file(path: Path) -> None:
    """Nothing is left beside a closed job: no journal, no lock."""
    small_job(path)
    assert [p.name for p in path.parent.iterdir()] == [path.name]


def test_an_open_job_carries_on_where_it_was(path: Path) -> None:
    """A job opened again counts on from its last entry."""
    small_job(path)
    with JobFile.open(path) as job:
        assert job.append(StepOpened("fog"), at(6)).sequence == 7
        assert len(job.entries()) == 7
    assert verify(path).whole


def test_the_file_says_what_it_is(path: Path) -> None:
    """The first bytes carry SQLite's magic, our application id ("LayU") and the format's version."""
    data = small_job(path).read_bytes()
    assert data.startswith(b"SQLite format 3\0")
    assert data[68:72] == b"LayU"
    assert data[60:64] == b"\0\0\0\x02"


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE entry SET body = '{}' WHERE sequence = 1",
        "UPDATE entry SET at = at",
        "DELETE FROM entry WHERE sequence = 6",
        "DELETE FROM entry",
        "UPDATE clip SET samples = 1",
        "DELETE FROM clip",
        "INSERT OR REPLACE INTO entry SELECT * FROM entry WHERE sequence = 2",
        "INSERT OR REPLACE INTO clip SELECT * FROM clip",
        "INSERT INTO entry SELECT 9, at, kind, version, body, clip, previous, hash FROM entry WHERE sequence = 6",
        "INSERT INTO entry SELECT 7, at, kind, version, body, clip, previous, hash FROM entry WHERE sequence = 6",
    ],
)
def test_rows_are_only_added(path: Path, statement: str) -> None:
    """The file itself refuses to change, remove or replace an entry or a clip, whoever asks."""
    before = small_job(path).read_bytes()
    with closing(sqlite3.connect(path)) as connection, pytest.raises(sqlite3.IntegrityError, match=r"never|only added"):
        connection.execute(statement)
    assert path.read_bytes() == before


@pytest.mark.parametrize(
    "time", ["", "2026-10-14 09:00:00.000Z", "2026-10-14T09:00:00Z", "2026-10-14T09:00:00.000+02:00", "now"]
)
def test_a_time_of_another_form_is_refused(job: JobFile, time: str) -> None:
    """Only UTC in the one form is kept."""
    with pytest.raises(ValueError, match="time is like"):
        job.append(StepOpened("a"), time)
    assert job.entries() == ()


def test_a_time_that_is_none_is_refused(job: JobFile) -> None:
    """A month 13 is refused."""
    with pytest.raises(ValueError, match="month"):
        job.append(StepOpened("a"), "2026-13-14T09:00:00.000Z")


def test_what_cannot_be_hashed_is_refused(job: JobFile) -> None:
    """A text that has no UTF-8 form is refused, and the next entry is kept."""
    with pytest.raises(ValueError, match="UTF-8"):
        job.append(StepOpened("\ud800"), at(0), tone())
    assert job.append(StepOpened("a"), at(0)).sequence == 1
    assert verify(job.path).clips == 0


def test_a_sound_and_a_picture_at_once_are_refused(job: JobFile) -> None:
    """An entry names one clip."""
    with pytest.raises(ValueError, match="not both"):
        job.append(StepOpened("a"), at(0), tone(), PNG)


def test_a_clock_that_steps_back_is_kept_as_it_was(path: Path) -> None:
    """Times are neither clamped nor hidden; verify notes the step and the file is whole."""
    with JobFile.create(path) as job:
        job.append(StepOpened("a"), at(90))
        assert job.append(StepOpened("b"), at(30)).at == at(30)
    assert verify(path).whole
    assert verify(path).notes == ("entry 2: the clock went back by 60.000 s",)


def test_an_existing_file_is_not_overwritten(path: Path) -> None:
    """Making a job where a file stands is refused, and the file is as it was."""
    path.write_text("the foreman's notes")
    with pytest.raises(CallProblem, match="already"):
        JobFile.create(path)
    assert path.read_text() == "the foreman's notes"
    assert [p.name for p in path.parent.iterdir()] == [path.name]


def test_a_folder_that_is_not_there_is_refused(tmp_path: Path) -> None:
    """Making a job in no folder says so."""
    with pytest.raises(CallProblem, match="cannot be"):
        JobFile.create(tmp_path / "nowhere" / "season.job")


@pytest.mark.parametrize("read_only", [True, False])
@pytest.mark.parametrize(
    "content", [None, b"", b"PK\x03\x04 something else", b"x" * 5000, b"SQLite format 3\0"], ids=str
)
def test_what_is_no_job_file_is_refused(path: Path, content: bytes | None, read_only: bool) -> None:
    """A missing, empty or foreign file is refused in one or two lines, and left as it was."""
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(CallProblem) as caught:
        JobFile.open(path, read_only=read_only)
    assert 1 <= len(str(caught.value).splitlines()) <= 2
    assert str(path) in str(caught.value)
    assert content is None or path.read_bytes() == content


def test_another_programs_sqlite_file_is_refused(path: Path) -> None:
    """A database of another program is no job file."""
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("CREATE TABLE entry (x)")
    with pytest.raises(CallProblem, match="no job file"):
        JobFile.open(path)


@pytest.mark.parametrize("read_only", [True, False])
def test_a_newer_version_is_refused(path: Path, read_only: bool) -> None:
    """A file of a version to come is refused by that name, and can then be opened by whoever knows it."""
    small_job(path)
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("PRAGMA user_version=3")
    with pytest.raises(CallProblem, match="version 3"):
        JobFile.open(path, read_only=read_only)
    assert [p.name for p in path.parent.iterdir()] == [path.name]


def test_a_changed_entry_stops_the_reader(path: Path) -> None:
    """A changed entry is not read as if nothing had happened: both hashes are shown."""
    small_job(path)
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("DROP TRIGGER entry_is_never_changed")
        connection.execute("UPDATE entry SET body = replace(body, '188', '108') WHERE sequence = 3")
        connection.commit()
        [stored] = connection.execute("SELECT hash FROM entry WHERE sequence = 3").fetchone()
    with (
        JobFile.open(path) as job,
        pytest.raises(ChainBroken, match=f"entry 3 .*{stored}, it should be [0-9a-f]{{64}}"),
    ):
        job.entries()


def test_a_changed_clip_stops_the_reader(path: Path) -> None:
    """A clip whose bytes are not those of its name is not played."""
    small_job(path)
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("DROP TRIGGER clip_is_never_changed")
        connection.execute("UPDATE clip SET data = CAST(data || x'00' AS BLOB) WHERE samples = 400")
        [name] = connection.execute("SELECT sha256 FROM clip WHERE samples = 400").fetchone()
        connection.commit()
    with JobFile.open(path, read_only=True) as job:
        with pytest.raises(ChainBroken, match="was changed"):
            job.clip_samples(name)
        with pytest.raises(KeyError):
            job.clip_bytes("0" * 64)


def test_an_entry_of_a_newer_kind_is_refused(path: Path) -> None:
    """A kind that this program does not know is named, not skipped."""

    class Signed(DeviceChanged):
        kind = "signed"

    with JobFile.create(path) as job:
        job.append(Signed("key", "", ""), at(0))
        with pytest.raises(CallProblem, match="'signed' version 1 is newer"):
            job.entries()


def test_a_cut_file_is_told(path: Path) -> None:
    """A file cut in the middle is damaged, in plain words."""
    data = small_job(path).read_bytes()
    path.write_bytes(data[: len(data) // 2])
    with pytest.raises(LayupProblem), JobFile.open(path) as job:
        job.entries()
    assert not verify(path).whole


def test_a_dead_writers_lock_is_waited_for(path: Path) -> None:
    """A process that was killed while it started another leaves the lock to that one for a moment: nobody is refused for it."""
    small_job(path)
    dying = "import os, sys; from assistant.files.job_file import JobFile; from pathlib import Path; from time import sleep\n"
    dying += "job = JobFile.open(Path(sys.argv[1]))\nif os.fork(): os.kill(os.getpid(), 9)\nsleep(0.4)"
    assert subprocess.run([sys.executable, "-c", dying, str(path)], check=False).returncode == -signal.SIGKILL
    with JobFile.open(path) as job:
        assert len(job.entries()) == 6


def test_one_writer_at_a_time(path: Path) -> None:
    """A second process cannot write to an open job, but may read it; when the first ends the job is free."""
    small_job(path)
    holder = subprocess.Popen(
        [sys.executable, "-c", HOLDING_CHILD, str(path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE
    )
    with holder:
        assert holder.stdout is not None
        assert holder.stdout.readline() == b"open\n"
        with pytest.raises(CallProblem, match=f"another program is writing .*process {holder.pid}"):
            JobFile.open(path)
        with JobFile.open(path, read_only=True) as job:
            assert len(job.entries()) == 6
        holder.kill()
    with JobFile.open(path) as job:
        job.append(StepOpened("fog"), at(9))


def test_one_writer_in_one_process_too(job: JobFile) -> None:
    """The same holds inside one process, by whatever name the file is called."""
    alias = job.path.with_name("alias.job")
    alias.symlink_to(job.path)
    for name in (job.path, alias):
        with pytest.raises(CallProblem, match="another program"):
            JobFile.open(name)


def test_a_reader_sees_what_is_kept_at_once(job: JobFile) -> None:
    """What append returned can be read by another while the job is open, and the reader does not hold up the writer."""
    with JobFile.open(job.path, read_only=True) as reader:
        for count in range(1, 4):
            job.append(StepOpened("a"), at(count), tone())
            assert len(reader.entries()) == count


def test_a_reader_cannot_write(path: Path) -> None:
    """A job opened for reading keeps nothing, and says so."""
    with JobFile.open(small_job(path), read_only=True) as job, pytest.raises(NotKept, match="only be read"):
        job.append(StepOpened("a"), at(9))


@pytest.mark.parametrize("count", [1, 2, 5, 23, 90])
def test_killed_while_appending(path: Path, count: int) -> None:
    """What was printed as kept is there after SIGKILL; the file is whole, opened again or not; work goes on."""
    JobFile.create(path).close()
    child = subprocess.Popen([sys.executable, "-c", APPENDING_CHILD, str(path)], stdout=subprocess.PIPE)
    with child:
        assert child.stdout is not None
        printed = [int(child.stdout.readline()) for _ in range(count)]
        child.kill()
        printed += [int(line) for line in child.stdout.read().splitlines() if line]
    beside = sorted(path.parent.iterdir())
    assert verify(path).whole
    assert verify(path).entries >= len(printed)
    assert sorted(path.parent.iterdir()) == beside
    with JobFile.open(path) as job:
        assert {kept.sequence for kept in job.entries()} >= set(printed)
        job.append(StepOpened("fog"), at(0))
    assert verify(path).whole


def test_the_file_alone_of_a_killed_job(path: Path) -> None:
    """The job file taken away without its -wal is a shorter job, and verify says that something may be missing."""
    JobFile.create(path).close()
    child = subprocess.Popen([sys.executable, "-c", APPENDING_CHILD, str(path)], stdout=subprocess.PIPE)
    with child:
        assert child.stdout is not None
        for _ in range(3):
            child.stdout.readline()
        child.kill()
    alone = path.with_name("alone.job")
    shutil.copyfile(path, alone)
    assert verify(alone).whole
    assert "newest entries may be missing" in str(verify(alone))
    assert "newest entries may be missing" not in str(verify(path))
    assert not list(path.parent.glob("alone.job-*"))


def test_no_room_to_write(job: JobFile) -> None:
    """Where the file may not grow, nothing is kept and nothing is harmed; with room again, it goes on."""
    kept = [job.append(StepOpened("a"), at(0))]
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (60_000, hard))
    try:
        with pytest.raises(NotKept, match="not kept") as caught:
            for second in range(1, 200):
                kept.append(job.append(RemarkKept("fog", "note", "x" * 900), at(second), tone(2000 + second)))
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert isinstance(caught.value, DeviceTrouble)
    assert list(job.entries()) == kept
    kept.append(job.append(StepOpened("b"), at(300)))
    assert list(job.entries()) == kept
    assert verify(job.path).whole


def test_a_full_disk(tmp_path: Path) -> None:
    """On a real full disk the same holds."""
    disk = tmp_path / "disk"
    disk.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=400k", "tmpfs", str(disk)]
    if os.geteuid() or not shutil.which("mount") or subprocess.run(mount, capture_output=True, check=False).returncode:
        pytest.skip("a small disk can only be mounted by root")
    try:
        with JobFile.create(disk / "season.job") as job:
            kept = []
            ballast = disk / "ballast"
            ballast.write_bytes(bytes(200_000))
            with pytest.raises(NotKept, match=r"not kept: the disk is full\n.*make room"):
                for second in range(300):
                    kept.append(job.append(RemarkKept("fog", "note", "x" * 900), at(second), tone(2000 + second)))
            assert kept
            assert list(job.entries()) == kept
            ballast.unlink()
            kept.append(job.append(StepOpened("b"), at(301)))
        assert verify(disk / "season.job").entries == len(kept)
        assert verify(disk / "season.job").whole
    finally:
        subprocess.run(["umount", str(disk)], check=True)


def test_a_damaged_file_is_told(path: Path) -> None:
    """A damaged file is told as a problem, never as a library's error."""
    with JobFile.create(path) as job:
        job.append(StepOpened("a"), at(0))
    path.write_bytes(path.read_bytes()[:4096] + bytes(4096) * 8)
    with pytest.raises(JobFileBroken, match="damaged"), JobFile.open(path) as job:
        job.append(StepOpened("b"), at(1))

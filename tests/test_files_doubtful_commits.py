"""An error at the moment of the commit: what stands in the file is kept once, and what can't be told is said so."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from job_samples import at, tone

from assistant.core.entries import RemarkKept, StepOpened
from assistant.core.job import fold
from assistant.files.job_file import JobFile, NotKept
from assistant.files.opening import connect_to_write
from assistant.files.verify import verify
from assistant.files.writing import Doubtful


def failure() -> sqlite3.OperationalError:
    """What SQLite says where a folder could not be synced (https://sqlite.org/rescode.html#ioerr_dir_fsync)."""
    fault = sqlite3.OperationalError("disk I/O error")
    fault.sqlite_errorcode = sqlite3.SQLITE_IOERR_DIR_FSYNC
    return fault


class FailingDisk:
    """A connection whose next commit fails: after it was done, or before; and perhaps all that is asked of the disk then."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._connection = connection
        self.fails = ""
        self.dead = False

    def execute(self, statement: str, *values: Any) -> sqlite3.Cursor:
        """The same, unless it is to fail."""
        if self.dead and statement.startswith("PRAGMA wal_checkpoint"):
            raise failure()
        if statement == "COMMIT" and self.fails:
            if self.fails == "after":
                self._connection.execute(statement)
            self.fails = ""
            raise failure()
        return self._connection.execute(statement, *values)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._connection, name)


@pytest.fixture
def disk(tmp_path: Path) -> Iterator[FailingDisk]:
    JobFile.create(tmp_path / "season.job").close()
    connection = connect_to_write(tmp_path / "season.job")
    yield FailingDisk(connection)
    connection.close()


@pytest.fixture
def job(disk: FailingDisk, tmp_path: Path) -> JobFile:
    return JobFile(tmp_path / "season.job", disk, None)


NOTE = RemarkKept("fog", "note", "said once")


def test_a_commit_that_fails_after_it_was_done(disk: FailingDisk, job: JobFile) -> None:
    """The entry is in the file, and the disk confirms it when asked again: it is kept, once, and the job goes on."""
    job.append(StepOpened("fog"), at(0))
    disk.fails = "after"
    assert job.append(NOTE, at(1), tone()).sequence == 2
    job.append(StepOpened("oil"), at(2))
    assert [kept.entry for kept in job.entries()] == [StepOpened("fog"), NOTE, StepOpened("oil")]
    assert fold(job.entries()).length == 3
    assert verify(job.path).whole


def test_a_commit_that_fails_before_it_was_done(disk: FailingDisk, job: JobFile) -> None:
    """Nothing of the entry is in the file; said again, it stands once."""
    disk.fails = "before"
    with pytest.raises(NotKept, match="the disk does not work"):
        job.append(NOTE, at(0), tone())
    assert job.entries() == ()
    assert job.append(NOTE, at(1), tone()).sequence == 1
    assert len(job.entries()) == 1
    assert verify(job.path).whole


def test_a_commit_that_nobody_confirms(disk: FailingDisk, job: JobFile) -> None:
    """Where the disk does not confirm an entry that stands, nothing is called kept or not kept; resumed, it stands once."""
    disk.fails, disk.dead = "after", True
    with pytest.raises(Doubtful, match=r"whether entry 1 is kept .*\n.*layup resume") as caught:
        job.append(NOTE, at(0), tone())
    assert not isinstance(caught.value, NotKept)
    disk._connection.close()
    with JobFile.open(job.path) as again:
        assert [kept.entry for kept in again.entries()] == [NOTE]
        assert again.append(StepOpened("oil"), at(1)).sequence == 2
    assert verify(job.path).whole

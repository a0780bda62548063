"""The right to write to a job: one process has it, by `flock` on a small file beside the job, for as long as the job is open.

SQLite's own locks end with each transaction; its EXCLUSIVE locking mode would shut the readers out; and locking the job file by
another descriptor would drop SQLite's locks when that is closed (https://sqlite.org/howtocorrupt.html, 2.2). The kernel lets go
of the lock when the process dies, however it dies.
"""

from __future__ import annotations

import contextlib
import fcntl
import os
import time
from pathlib import Path

from assistant.core.problems import CallProblem
from assistant.files.opening import unusable

DIED_S = 1.0
"""How long the lock of a dead process is waited for: one that it was about to start may hold it for a moment longer."""


class WriterLock:
    """The right to write to one job, held until `release` or the end of the process.

    Raises CallProblem if another has it.
    """

    def __init__(self, job: Path) -> None:
        self._file = job.with_name(job.name + "-lock")
        self._descriptor = self._take(job)

    def _take(self, job: Path) -> int:
        try:
            descriptor = os.open(self._file, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o644)
        except OSError as fault:
            raise unusable(job, fault, "cannot be written", "do it again") from fault
        try:
            _lock(descriptor)
        except BlockingIOError as fault:
            who = _holder(descriptor)
            os.close(descriptor)
            raise CallProblem(
                f"another program is writing to this job (process {who or 'unknown'})",
                where=str(job),
                do="end that one first, or open the job for reading only",
            ) from fault
        except OSError as fault:
            os.close(descriptor)
            raise unusable(job, fault, "cannot be locked", "do it again") from fault
        return self._ours(descriptor, job)

    def _ours(self, descriptor: int, job: Path) -> int:
        """The lock counts only if its file still stands in the folder: the one before us may just have removed it."""
        try:
            same = os.path.samestat(os.fstat(descriptor), self._file.stat())
        except FileNotFoundError:
            same = False
        if not same:
            os.close(descriptor)
            return self._take(job)
        with contextlib.suppress(OSError):  # the lock holds without a name in it
            os.ftruncate(descriptor, 0)
            os.pwrite(descriptor, str(os.getpid()).encode("ascii"), 0)
        return descriptor

    def release(self) -> None:
        """Let the next one write."""
        with contextlib.suppress(OSError):  # left lying it does no harm: what counts is `flock`, which ends here
            self._file.unlink()
        os.close(self._descriptor)

    def __enter__(self) -> WriterLock:
        return self

    def __exit__(self, *_: object) -> None:
        self.release()


def _lock(descriptor: int) -> None:
    """BlockingIOError where another has it, still so a little later if that one is dead."""
    until_s = time.monotonic() + DIED_S
    while True:
        try:
            return fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            if time.monotonic() > until_s or not _is_dead(_holder(descriptor)):
                raise
        time.sleep(DIED_S / 50)


def _holder(descriptor: int) -> str:
    return os.pread(descriptor, 20, 0).decode("ascii", "replace").strip()


def _is_dead(process: str) -> bool:
    """Is there no such process here. One of another machine on the same disk seems dead, and is waited for in vain."""
    try:
        os.kill(int(process), 0)
    except ProcessLookupError:
        return True
    except (ValueError, OverflowError, OSError):
        return False
    return False

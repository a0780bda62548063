"""What an error of the disk is called: by SQLite's result code, or by errno where a file is dealt with directly.

A full or failing disk is no damage: what stands in the file stands. "Damaged" is left for what SQLite says of the content
(`SQLITE_CORRUPT`, `SQLITE_NOTADB`, a table that is missing) and for the chain. Codes, and what they come from:
https://sqlite.org/rescode.html; errno: POSIX, <errno.h>.
"""

from __future__ import annotations

import errno
import sqlite3
from typing import NamedTuple


class Trouble(NamedTuple):
    """What is wrong with the disk, and what helps."""

    what: str
    remedy: str


FULL = Trouble("the disk is full", "make room")
NO_WRITING = Trouble("the disk cannot be written", "check its room, your share of it and whether it works")
READ_ONLY = Trouble("the job file may only be read", "check the disk and who may write")
FAILING = Trouble("the disk does not work as it should", "check the disk")
HELD = Trouble("another program holds the job file", "end that program")
NOT_OPENED = Trouble("the job file, or one beside it, cannot be opened", "check the folder and who may write there")
NO_RIGHT = Trouble("its rights do not allow it", "check who may read and write it")

BY_CODE: dict[int, Trouble] = {
    sqlite3.SQLITE_FULL: FULL,  # no room (ENOSPC), or less was written than was asked
    sqlite3.SQLITE_IOERR_SHMSIZE: FULL,  # the `-shm` file of an open job could not grow
    sqlite3.SQLITE_IOERR_WRITE: NO_WRITING,  # any other reason not to write: a quota, a limit on files, the disk
    sqlite3.SQLITE_IOERR: FAILING,
    sqlite3.SQLITE_READONLY: READ_ONLY,
    sqlite3.SQLITE_CANTOPEN: NOT_OPENED,
    sqlite3.SQLITE_PERM: NO_RIGHT,
    sqlite3.SQLITE_BUSY: HELD,
    sqlite3.SQLITE_LOCKED: HELD,
    sqlite3.SQLITE_PROTOCOL: HELD,
}
"""By extended result code, else by its low byte, the primary one. What is not here is about the content."""

BY_ERRNO: dict[int, Trouble] = {
    errno.ENOSPC: FULL,
    errno.EDQUOT: NO_WRITING,
    errno.EFBIG: NO_WRITING,
    errno.EROFS: READ_ONLY,
    errno.EACCES: NO_RIGHT,
    errno.EPERM: NO_RIGHT,
    errno.EIO: FAILING,
}


def trouble_of(fault: BaseException) -> Trouble | None:
    """The disk's trouble behind an error of SQLite or of the system; None where it is the content that is at fault.

    >>> trouble_of(OSError(errno.ENOSPC, "No space left on device"))
    Trouble(what='the disk is full', remedy='make room')
    """
    if isinstance(fault, OSError):
        return BY_ERRNO.get(fault.errno or 0, Trouble(fault.strerror or str(fault), "check the folder and the disk"))
    code: int = getattr(fault, "sqlite_errorcode", 0)
    return BY_CODE.get(code) or BY_CODE.get(code & 0xFF)

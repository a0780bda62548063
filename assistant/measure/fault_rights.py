"""Faults that need no shim: no room, no right to write, another process, a clock that steps back."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

from assistant.files.job_file import JobFile
from assistant.files.verify import verify
from assistant.measure.fault_job import SCRIPTS, Order, ScriptedClock, talk
from assistant.measure.fault_judging import Server, Skipped, Told, Trial, judged, rows_in
from assistant.measure.fault_strokes import NAME, chosen, clear

ROOM, DISK, READ_ONLY, BACK, SECOND = (
    "file may not grow", "small disk full", "read-only", "clock stepped back", "second process",
)  # fmt: skip
PAGE = 4096
NOBODY = 65534
"""The user without rights on Linux and BSD."""
DISKS_KB = (40, 64, 96, 128, 160, 200, 240, 280, 320, 400)


def no_room(server: Server, folder: Path, script: str, most: int) -> Iterator[Trial]:
    """A file may have so many pages and no more (RLIMIT_FSIZE), from none to more than the job takes."""
    path = folder / NAME
    step = max(1, 60 // most) if most else 1
    for pages in range(1, 60, step):
        yield judged(ROOM, path, server.do(Order(script, str(path), room=pages * PAGE)))
        clear(path)


def small_disk(server: Server, folder: Path, script: str, most: int) -> Iterator[Trial | Skipped]:
    """A disk of its own, too small for the job; skipped where none may be mounted."""
    disk = folder / "disk"
    disk.mkdir(exist_ok=True)
    for size_kb in DISKS_KB[: most or None]:
        mount = ["mount", "-t", "tmpfs", "-o", f"size={size_kb}k", "tmpfs", str(disk)]
        if not shutil.which("mount") or subprocess.run(mount, capture_output=True, check=False).returncode:
            yield Skipped(DISK, "a small disk may not be mounted here (only root may)")
            return
        try:
            told = server.do(Order(script, str(disk / NAME)))
            for beside in disk.iterdir():  # judged where there is room: resuming writes
                shutil.copyfile(beside, folder / beside.name)
        finally:
            subprocess.run(["umount", str(disk)], check=True)
        yield judged(DISK, folder / NAME, told)
        clear(folder / NAME)


def read_only(server: Server, folder: Path, script: str) -> Iterator[Trial]:
    """The file, or its folder, may only be read: refused in words, and not a byte is changed."""
    user = NOBODY if os.geteuid() == 0 else 0
    for file_mode, folder_mode in ((0o444, 0o777), (0o666, 0o555), (0o444, 0o555)):
        path = _begun(folder, script)
        before = path.read_bytes()
        path.chmod(file_mode)
        folder.chmod(folder_mode)
        told = server.do(Order(script, str(path), user=user))
        folder.chmod(0o777)
        path.chmod(0o666)
        yield _refused(READ_ONLY, path, told, before)
        clear(path)


def second_process(server: Server, folder: Path, script: str, most: int) -> Iterator[Trial]:
    """Another process wants to write to a job that is open: it is refused, whatever the first is doing, and reads all."""
    path = _begun(folder, script)
    entries = rows_in(path)
    clear(path)
    talk(path, ScriptedClock(0), SCRIPTS[script].work(), (), lambda _: None)
    with JobFile.open(path) as first:
        for _ in chosen(len(entries), most):
            last = first.entries()[-1]
            first.append(last.entry, last.at)
            before, stands = path.read_bytes(), rows_in(path)
            told = server.do(Order(script, str(path)))
            trial = _refused(SECOND, path, told, before)
            yield trial if rows_in(path) == stands else Trial(SECOND, unseen=1)
    clear(path)


def clock_back(server: Server, folder: Path, script: str, most: int) -> Iterator[Trial]:
    """The clock steps back by an hour before each entry: the order stays, the times stand as given, and verify notes it."""
    path = folder / NAME
    entries = len(rows_in(_begun(folder, script)))
    clear(path)
    for entry in chosen(entries - 2, most):
        told = server.do(Order(script, str(path), back_at=entry + 2))  # opening a job asks the clock twice
        noted = any("the clock went back by" in note for note in verify(path).notes)
        trial = judged(BACK, path, told)
        yield trial if noted else Trial(BACK, unseen=1, trouble="not noted", where=f"{script}, entry {entry + 2}")
        clear(path)


def _begun(folder: Path, script: str) -> Path:
    """The whole job, closed."""
    path = folder / NAME
    talk(path, ScriptedClock(0), SCRIPTS[script].work(), SCRIPTS[script].lines, lambda _: None)
    return path


def _refused(fault: str, path: Path, told: Told, before: bytes) -> Trial:
    """The child was to be refused, and the file to be as it was."""
    if path.read_bytes() != before:
        return Trial(fault, unseen=1, trouble="the file was changed")
    if told.broke or told.rows or not told.stopped:
        return Trial(fault, trouble=told.broke or "it was not refused")
    return Trial(fault)

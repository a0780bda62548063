"""The job files of one folder: which there are, and a line of summary for each, kept so that a list of thousands comes at once.

A summary is made anew when its file has changed (size or time of the file or of its `-wal`). A few are made while the page
waits; more are made by a thread, and the list says how many are still to come. What was made is kept in the user's cache
folder; it may be deleted at any time. A name in an address is only ever looked up in the folder's own listing: it is never
made into a path.
"""

from __future__ import annotations

import hashlib
import json
import os
import threading
import time
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import fields
from pathlib import Path
from typing import Any, NamedTuple

from assistant.core.problems import CallProblem
from assistant.review.summary import Summary, summary_of

JOB = ".job"
ENDS = (JOB, f"{JOB}-wal")
MISNAMED = "its name is not in UTF-8: give it another"
AT_ONCE_S = 0.1
"""So long the page waits for summaries that are not there yet."""
KEEP_EVERY_S = 5.0
"""How often the thread puts what it has made on the disk."""
MADE_BY = "layup summaries 3"


class Mark(NamedTuple):
    """By what it is seen that a file has changed: bytes and time (ns) of the job file and of its -wal."""

    size: int
    changed_ns: int
    wal_size: int
    wal_changed_ns: int


class Folder:
    """The jobs of a folder, for any number of readers. `close` ends the thread."""

    def __init__(self, path: Path, cache: Path | None = None) -> None:
        self.path = path
        self._cache = cache or cache_file(path)
        self._known: dict[str, tuple[Mark, Summary]] = _read(self._cache)
        self._guard = threading.Lock()
        self._closing = threading.Event()
        self._thread: threading.Thread | None = None

    def find(self, name: str) -> Path | None:
        """The job file of that name (without `.job`), if one of the folder's own files is called so."""
        wanted = f"{name}{JOB}"
        return next((self.path / wanted for item in self._files() if item.name == wanted and _is_shown(wanted)), None)

    def mark(self, name: str) -> Mark | None:
        """By what it is seen that this job has changed; None where there is none."""
        found = self.find(name)
        try:
            return _mark(found.lstat(), _stat(found.with_name(f"{found.name}-wal"))) if found else None
        except FileNotFoundError:
            return None

    def summaries(self) -> tuple[tuple[Summary, ...], int]:
        """Those that are made, and how many are still to come."""
        marks = self._marks()
        waiting = [name for name in marks if not self._current(name, marks)]
        if waiting and not self._busy():
            until = time.monotonic() + AT_ONCE_S
            while waiting and time.monotonic() < until:
                self._make(waiting.pop(), marks)
        if waiting:
            self._begin()
        with self._guard:
            made = tuple(self._known[name][1] for name in marks if name in self._known)
        return (*made, *self._misnamed()), len(waiting)

    def close(self) -> None:
        """End the thread, and keep what was made."""
        self._closing.set()
        if self._thread is not None:
            self._thread.join(timeout=30.0)
        self._keep()

    def _files(self) -> list[os.DirEntry[str]]:
        """Job files and what stands beside them: regular files of the folder itself, no links out of it."""
        try:
            with os.scandir(self.path) as listed:
                return [item for item in listed if item.name.endswith(ENDS) and item.is_file(follow_symlinks=False)]
        except OSError as fault:
            what = f"the folder of the jobs cannot be read: {fault.strerror}"
            raise CallProblem(
                what, where=str(self.path), do="put it back, or start `layup review` on another"
            ) from fault

    def _marks(self) -> Mapping[str, Mark]:
        """Every job file that can be shown."""
        stats: dict[str, os.stat_result] = {}
        for item in self._files():
            with suppress(FileNotFoundError):  # it went meanwhile
                stats[item.name] = item.stat(follow_symlinks=False)
        return {
            name.removesuffix(JOB): _mark(stat, stats.get(f"{name}-wal"))
            for name, stat in stats.items()
            if _is_shown(name)
        }

    def _misnamed(self) -> tuple[Summary, ...]:
        """Files whose name no page can show, nor an address hold."""
        names = (item.name for item in self._files() if item.name.endswith(JOB) and not item.name.startswith("."))
        return tuple(
            Summary(os.fsencode(name).decode("utf-8", "replace").removesuffix(JOB), "cannot be read", problem=MISNAMED)
            for name in names
            if not _is_shown(name)
        )

    def _busy(self) -> bool:
        return self._thread is not None and self._thread.is_alive()

    def _current(self, name: str, marks: Mapping[str, Mark]) -> bool:
        known = self._known.get(name)
        return known is not None and known[0] == marks[name]

    def _make(self, name: str, marks: Mapping[str, Mark]) -> None:
        summary = summary_of(self.path / f"{name}{JOB}")
        with self._guard:
            self._known[name] = (marks[name], summary)

    def _begin(self) -> None:
        with self._guard:
            if self._thread is None or not self._thread.is_alive():
                self._thread = threading.Thread(target=self._make_all, name="summaries", daemon=True)
                self._thread.start()

    def _make_all(self) -> None:
        kept = time.monotonic()
        marks = self._marks()
        for name in sorted(marks, key=lambda name: -marks[name].changed_ns):
            if self._closing.is_set():
                return
            if not self._current(name, marks):
                self._make(name, marks)
                time.sleep(0.001)  # lets the pages' own thread in
            if time.monotonic() - kept > KEEP_EVERY_S:
                kept = time.monotonic()
                self._keep()
        self._keep()

    def _keep(self) -> None:
        """To the disk, whole or not at all; where that cannot be, the next start makes them again."""
        begun = self._cache.with_suffix(".new")
        try:
            there = self._marks()
            with self._guard:
                rows = {
                    name: [*mark, summary.fields()] for name, (mark, summary) in self._known.items() if name in there
                }
            self._cache.parent.mkdir(parents=True, exist_ok=True)
            begun.write_text(json.dumps({"kind": MADE_BY, "jobs": rows}), encoding="utf-8")
            begun.replace(self._cache)
        except (OSError, CallProblem):
            return


def _is_shown(name: str) -> bool:
    """A job file's name, of UTF-8, and none that begins with a dot: such are hidden, and `..` is no name of a page."""
    try:
        name.encode()
    except UnicodeEncodeError:
        return False
    return name.endswith(JOB) and not name.startswith(".")


def _mark(job: os.stat_result, wal: os.stat_result | None) -> Mark:
    return Mark(job.st_size, job.st_mtime_ns, *((wal.st_size, wal.st_mtime_ns) if wal else (0, 0)))


def _stat(path: Path) -> os.stat_result | None:
    try:
        return path.lstat()
    except OSError:
        return None


def cache_file(folder: Path, environ: Mapping[str, str] = os.environ) -> Path:
    """Where the summaries of a folder are kept: `layup` in this user's cache folder (XDG Base Directory)."""
    root = Path(environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "layup"
    return root / f"jobs-{hashlib.sha256(str(folder.resolve()).encode()).hexdigest()[:16]}.json"


def _read(cache: Path) -> dict[str, tuple[Mark, Summary]]:
    """What was kept; nothing where there is none, or none of this program's."""
    try:
        table = json.loads(cache.read_text(encoding="utf-8"))
        if table["kind"] != MADE_BY:
            return {}
        return {name: (Mark(*row[:4]), _summary(row[4])) for name, row in table["jobs"].items()}
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return {}


def _summary(row: Mapping[str, Any]) -> Summary:
    known = {f.name for f in fields(Summary)}
    if set(row) != known:
        raise KeyError("a summary of another program")
    frozen: dict[str, Any] = {key: tuple(value) if isinstance(value, list) else value for key, value in row.items()}
    return Summary(**frozen)

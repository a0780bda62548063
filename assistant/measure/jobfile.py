"""`layup measure jobfile`: how fast entries are kept, checked and read back, and whether that grows no faster than the job.

Appends are timed one by one beside bare inserts of the same bytes into SQLite with the same settings, turn by turn, so that
both have the same disk at the same moment. Then jobs of 100, 1,000 and 10,000 entries, each made by `append`, are verified and
resumed. Exit status 0 only where the targets are met. No other work should go on meanwhile.
"""

from __future__ import annotations

import json
import os
import sqlite3
import tempfile
import time
from argparse import Namespace
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing
from dataclasses import asdict, dataclass
from datetime import date
from functools import partial
from pathlib import Path
from statistics import median

from assistant.bench.starting import resume_job
from assistant.core.entries import RemarkKept, StepOpened
from assistant.core.problems import CallProblem
from assistant.files.job_file import JobFile
from assistant.files.opening import CHECKPOINT_PAGES
from assistant.files.verify import verify
from assistant.measure.fault_job import SCRIPTS, ScriptedClock, talk
from assistant.measure.jobfile_plot import plot
from assistant.measure.speech_table import section

Line = Callable[[str], None]
SIZES = (100, 1000, 10_000)
PAIRS = 1000
"""Appends, and bare inserts, that are timed."""
TARGET_VERIFY_S, TARGET_RESUME_S, TARGET_APPEND_TIMES = 2.0, 1.0, 3.0
BEST_OF = 3
"""Verifying and resuming are done so often; the median counts."""


@dataclass(frozen=True)
class Appends:
    """Milliseconds of one append and of one bare insert: the median and the 99th percentile, of `of` each."""

    of: int
    append_ms: float
    append_p99_ms: float
    bare_ms: float
    bare_p99_ms: float

    @property
    def times(self) -> float:
        """How many times as long as the bare insert, by the medians."""
        return self.append_ms / self.bare_ms


@dataclass(frozen=True)
class Grown:
    """A job of so many entries: bytes an entry on disk, seconds to verify and to resume it."""

    entries: int
    bytes_an_entry: float
    verify_s: float
    resume_s: float


def measure_jobfile(args: Namespace, line: Line) -> int:
    """The command; 0 where every target is met. `--most N`: at most N appends and jobs of at most N entries."""
    if args.out is not None and not args.out.is_dir():
        raise CallProblem("there is no such folder", where=str(args.out), do="make it, or name another with --out")
    most = args.most or max(SIZES)
    with tempfile.TemporaryDirectory(dir=os.environ.get("LAYUP_MEASURE_FOLDER")) as name:
        appends = time_appends(Path(name), min(PAIRS, most))
        grown = [grow(Path(name), size) for size in sorted({min(size, most) for size in SIZES})]
    text = [*table(appends, grown)]
    objects = [
        {"what": "append", **asdict(appends), "times": appends.times},
        *({"what": "job", **asdict(g)} for g in grown),
    ]
    for row in map(json.dumps, objects) if args.json else text:
        line(row)
    if args.out is not None:
        pages = [*_heading(), *text, "", "![](jobfile.svg)", ""]
        (args.out / "jobfile.md").write_text("\n".join(pages), encoding="utf-8")
        (args.out / "jobfile.svg").write_text(
            plot([(g.entries, g.verify_s, g.resume_s) for g in grown]), encoding="utf-8"
        )
    return 0 if meets(appends, grown) else 1


def remark(number: int) -> RemarkKept:
    """An entry of the usual length, each another."""
    return RemarkKept("compression", "note", f"note {number}: the hose behind the second clamp is cracked and was told")


def time_appends(folder: Path, pairs: int) -> Appends:
    """One append, then one bare insert, and so on."""
    path, bare_path = begun(folder / "append.job"), folder / "bare.db"
    clock = ScriptedClock(10)
    ours, theirs = [], []
    with JobFile.open(path) as job, closing(bare(bare_path)) as other:
        for number in range(pairs):
            entry, at = remark(number), clock.utc()
            row = (at, entry.kind, json.dumps(entry.body()), "0" * 64, "0" * 64)
            ours.append(_timed_s(partial(job.append, entry, at)))
            theirs.append(_timed_s(partial(insert, other, row)))
    a, b = ([1000 * s for s in sorted(times)] for times in (ours, theirs))
    worst = min(pairs - 1, int(0.99 * pairs))
    return Appends(pairs, median(a), a[worst], median(b), b[worst])


def bare(path: Path) -> sqlite3.Connection:
    """A table without triggers or hashes; the settings of `assistant/files/opening.py`."""
    connection = sqlite3.connect(path, isolation_level=None)
    for setting in ("synchronous=EXTRA", "journal_mode=WAL", f"wal_autocheckpoint={CHECKPOINT_PAGES}"):
        connection.execute(f"PRAGMA {setting}")
    connection.execute("CREATE TABLE entry (sequence INTEGER PRIMARY KEY, at, kind, body, previous, hash)")
    return connection


def insert(connection: sqlite3.Connection, row: Sequence[str]) -> None:
    """One row, on disk."""
    connection.execute("INSERT INTO entry (at, kind, body, previous, hash) VALUES (?, ?, ?, ?, ?)", row)


def begun(path: Path) -> Path:
    """A job with its first entries, closed."""
    talk(path, ScriptedClock(0), SCRIPTS["compression"].work(), (), lambda _: None)
    return path


def grow(folder: Path, entries: int) -> Grown:
    """Make a job of so many entries, and time what is done with it."""
    path, clock = begun(folder / f"{entries}.job"), ScriptedClock(10)
    empty = path.stat().st_size
    with JobFile.open(path) as job:
        there = len(job.entries())
        for number in range(entries - there):
            job.append(StepOpened("compression") if number % 5 == 0 else remark(number), clock.utc())
    each = (path.stat().st_size - empty) / (entries - there)
    verified = median(_timed_s(lambda: verify(path)) for _ in range(BEST_OF))
    resumed = []
    for _ in range(BEST_OF):
        began_s = time.perf_counter()
        job, _state = resume_job(path, clock, "scripted")
        resumed.append(time.perf_counter() - began_s)
        job.close()
    return Grown(entries, each, verified, median(resumed))


def _timed_s(do: Callable[[], object]) -> float:
    began_s = time.perf_counter()
    do()
    return time.perf_counter() - began_s


def meets(appends: Appends, grown: Sequence[Grown]) -> bool:
    """Every target."""
    largest = grown[-1]
    return (
        appends.times < TARGET_APPEND_TIMES
        and largest.verify_s < TARGET_VERIFY_S
        and largest.resume_s < TARGET_RESUME_S
    )


def _heading() -> Iterator[str]:
    yield "# How fast a job file is"
    yield ""
    yield f"`layup measure jobfile --out assistant/measure/results`, {date.today()}, {os.cpu_count()} cores,"
    yield f"SQLite {sqlite3.sqlite_version}."


def table(appends: Appends, grown: Sequence[Grown]) -> Iterator[str]:
    """For a person."""
    head = ("one entry, synced to disk", "of", "median ms", "99th percentile ms")
    rows = (
        ("append: chain, triggers, hash", str(appends.of), f"{appends.append_ms:.2f}", f"{appends.append_p99_ms:.2f}"),
        (
            "a bare insert beside it, same settings",
            str(appends.of),
            f"{appends.bare_ms:.2f}",
            f"{appends.bare_p99_ms:.2f}",
        ),
    )
    yield from section("Appends", head, rows)
    yield f"- {appends.times:.2f} times the bare insert (target: within {TARGET_APPEND_TIMES:.0f})"
    jobs_head = ("entries", "bytes an entry", "verify s", "entries verified a second", "resume s")
    yield from section("Whole jobs", jobs_head, map(_row, grown))
    yield f"- targets at {max(SIZES):,} entries: verify under {TARGET_VERIFY_S:.0f} s, resume under {TARGET_RESUME_S:.0f} s"
    if len(grown) > 1:
        (one, other) = grown[-2:]
        more = other.entries / one.entries
        yield (
            f"- {more:.0f} times the entries take {other.verify_s / one.verify_s:.1f} times as long to verify, "
            f"{other.resume_s / one.resume_s:.1f} times to resume"
        )


def _row(one: Grown) -> tuple[str, ...]:
    rate = one.entries / one.verify_s
    return f"{one.entries:,}", f"{one.bytes_an_entry:.0f}", f"{one.verify_s:.3f}", f"{rate:,.0f}", f"{one.resume_s:.3f}"

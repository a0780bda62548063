"""`layup measure review`: how fast the foreman's pages are, and, with `--fuzz N`, what they make of N hostile job files.

A folder of 2,000 jobs is listed (while its files are read for the first time, and afterwards) and searched; a job of 5,000
entries is opened by a server that was just started, for the first time, and again, in every order; its clips are fetched whole
and by ranges. Times are of this process on all its threads (`cpu`) and on the clock; the targets are held by the first, since
other work may go on beside. Exit status 0 only where they are met, and nothing was found.
"""

from __future__ import annotations

import json
import multiprocessing
import os
import random
import sys
import tempfile
import time
from argparse import Namespace
from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path
from statistics import median

from assistant.core.problems import CallProblem
from assistant.measure.review_client import Answer, Client
from assistant.measure.review_fuzz import Fuzzed, fuzz
from assistant.measure.review_jobs import MANY, SOUND, USUAL, draft, large_entries, small_entries, write_job
from assistant.measure.speech_table import section

Line = Callable[[str], None]
JOBS, ENTRIES = 2000, 5000
TIMES = 15
"""So often each page is asked for; the median counts, the worst is told."""
STARTS = 9
LIST_S, MEANWHILE_S, OPEN_S = 0.3, 0.5, 0.5
"""Targets: the list once it is read, any answer meanwhile, a job of 5,000 entries."""
RANGE = "bytes=100-199"
LOOPS = 400_000
SHOWN_FAULTS = 20
TOLD_EVERY = 500


@dataclass(frozen=True)
class Timed:
    """One kind of answer: how many were timed; the median and the worst in seconds of the processor, and on the clock."""

    what: str
    of: int
    cpu_s: float
    worst_cpu_s: float
    wall_s: float
    worst_wall_s: float
    target_s: float = 0.0

    @property
    def meets(self) -> bool:
        """Within the target, if it has one."""
        return not self.target_s or self.cpu_s < self.target_s


def measure_review(args: Namespace, line: Line) -> int:
    """The command."""
    if args.out is not None and not args.out.is_dir():
        raise CallProblem("there is no such folder", where=str(args.out), do="make it, or name another with --out")
    if args.fuzz is not None:
        return _fuzz(args, line)
    share = min(args.most, JOBS) if args.most else JOBS
    with tempfile.TemporaryDirectory(dir=os.environ.get("LAYUP_MEASURE_FOLDER")) as name:
        timed = [*time_folder(Path(name) / "jobs", share), *time_job(Path(name) / "job", ENTRIES * share // JOBS)]
    text = [
        *table(timed),
        f"- {LOOPS:,} turns of a plain loop took {1000 * loop_s():.0f} ms then: compare machines by it",
    ]
    for row in [json.dumps(asdict(one)) for one in timed] if args.json else text:
        line(row)
    if args.out is not None:
        _write(args.out / "review.md", "Speed", [*_heading("layup measure review"), *text])
    return 0 if all(one.meets for one in timed) else 1


def loop_s() -> float:
    """Seconds of the processor for a fixed piece of plain Python, the median of a few: what the machine is worth now."""
    found = []
    for _ in range(STARTS):
        began_s, total = time.process_time(), 0
        for n in range(LOOPS):
            total += n * n % 7
        found.append(time.process_time() - began_s)
    return median(found)


# A folder


def time_folder(folder: Path, jobs: int) -> Iterator[Timed]:
    """A folder of so many short jobs: while it is read for the first time, and then."""
    folder.mkdir()
    for number in range(jobs):
        write_job(folder / f"w{number:04}.job", small_entries(random.Random(number), number))
    with Client(folder) as client:
        client.get("/login")
        meanwhile = []
        while True:
            meanwhile.append(client.get("/"))
            if "still being read" not in meanwhile[-1].text:
                break
            meanwhile.append(client.get(f"/jobs/w{len(meanwhile) % jobs:04}"))
        yield timed_of(f"any page while {jobs:,} files are read", meanwhile, MEANWHILE_S)
        for what, address in (
            (f"list of {jobs:,} jobs", "/"),
            ("  its last page", "/?page=99"),
            ("  searched: machine", "/?q=tern"),
            ("  searched: customer, machine, state", "/?q=holt+lark&state=open"),
        ):
            yield timed_of(what, [client.get(address) for _ in range(TIMES)], LIST_S)
        yield timed_of(f"a short job among {jobs:,}", [client.get("/jobs/w0001") for _ in range(TIMES)], OPEN_S)


# A job


def time_job(folder: Path, entries: int) -> Iterator[Timed]:
    """A job of so many entries."""
    folder.mkdir()
    for shape, called in ((USUAL, "large"), (MANY, "larger")):
        drafts = [draft(one) for one in large_entries(entries, shape)]
        drafts = [one._replace(clip=SOUND.row[0]) if one.kind == "reading kept" else one for one in drafts]
        write_job(folder / f"{called}.job", drafts, [SOUND])
    name = f"job of {entries:,} entries"
    times = STARTS if entries == ENTRIES else 1
    started = starts(folder, "large", times)
    yield timed_of("the first page of a server just started", [one for one, _ in started])
    yield timed_of(f"{name}: the first time that it is opened", [two for _, two in started], OPEN_S)
    if entries == ENTRIES:
        many = starts(folder, "larger", times)
        yield timed_of("  with a procedure of three times the usual length", [two for _, two in many])
    with Client(folder) as client:
        client.get("/jobs/large")
        for what, query in (
            ("again, doubtful first", ""),
            ("again, its middle page", "?page=30"),
            ("again, open only", "?order=open"),
            ("again, as it happened", "?order=time"),
            ("again, its last page", "?order=time&page=999"),
        ):
            yield timed_of(f"{name}: {what}", [client.get(f"/jobs/large{query}") for _ in range(TIMES)], OPEN_S)
        row = f"/jobs/large/entries/{entries // 2}"
        yield timed_of("one row of it", [client.get(row) for _ in range(TIMES)])
        yield timed_of("its figures", [client.get("/jobs/large/figures") for _ in range(STARTS)])
        clip = f"/jobs/large/clips/{SOUND.row[0]}"
        yield timed_of("a clip", [client.get(clip) for _ in range(TIMES)])
        yield timed_of("a range of it", [client.get(clip, {"range": RANGE}) for _ in range(TIMES)])


def starts(folder: Path, name: str, times: int) -> list[tuple[Answer, Answer]]:
    """Each in a process that has looked at no job."""
    with multiprocessing.get_context("spawn").Pool(1, maxtasksperchild=1) as pool:
        return [pool.apply(opened_first, (folder, name)) for _ in range(times)]


def opened_first(folder: Path, name: str) -> tuple[Answer, Answer]:
    """In a new process: its first answer, and then the large job, which nobody has read the texts of before."""
    with Client(folder, cache=folder / "none" / "summaries.json") as client:
        small = folder.parent / "small"
        small.mkdir(exist_ok=True)
        write_job(small / "small.job", small_entries(random.Random(1), 1))
        with Client(small) as other:  # templates are made by whatever page comes first
            started = other.get("/jobs/small")
        return started, client.get(f"/jobs/{name}")


def timed_of(what: str, answers: Sequence[Answer], target_s: float = 0.0) -> Timed:
    """The line for these answers; ValueError where one of them is none."""
    if odd := [one.status for one in answers if one.status not in (200, 206)]:
        raise ValueError(f"{what}: answered {odd[0]}")
    cpu, wall = [one.cpu_s for one in answers], [one.wall_s for one in answers]
    return Timed(what, len(answers), median(cpu), max(cpu), median(wall), max(wall), target_s)


def table(timed: Sequence[Timed]) -> Iterator[str]:
    """For a person."""
    head = ("page", "of", "cpu ms", "worst", "clock ms", "worst", "target")
    yield from section("Speed", head, map(_row, timed))


def _row(one: Timed) -> tuple[str, ...]:
    times = (one.cpu_s, one.worst_cpu_s, one.wall_s, one.worst_wall_s)
    target = f"under {1000 * one.target_s:.0f}: {'met' if one.meets else 'missed'}" if one.target_s else ""
    return one.what, str(one.of), *(f"{1000 * s:.0f}" for s in times), target


# Hostile files


def _fuzz(args: Namespace, line: Line) -> int:
    done = Fuzzed()
    for part in fuzz(args.fuzz, args.first, args.workers or os.cpu_count() or 1):
        done.add(part)
        if done.files % TOLD_EVERY < part.files:
            print(f"{done.files} of {args.fuzz} files, {len(done.faults)} faults", file=sys.stderr, flush=True)
    text = [*fuzz_table(done)]
    for row in [json.dumps(_as_json(done))] if args.json else text:
        line(row)
    if args.out is not None:
        _write(args.out / "review.md", "Hostile files", [*_heading(f"layup measure review --fuzz {args.fuzz}"), *text])
    return 1 if done.faults else 0


def fuzz_table(done: Fuzzed) -> Iterator[str]:
    """For a person."""
    ways = sorted(done.ways.items())
    yield from section(
        "Hostile files", ("how they were made", "files"), [(way.replace("_", " "), f"{n:,}") for way, n in ways]
    )
    answers = [(str(status), f"{n:,}") for status, n in sorted(done.answers.items())]
    yield from section("What the pages answered", ("status", "answers"), answers)
    yield f"- {done.files:,} files, of which {done.shown:,} were shown and the others refused in words"
    yield f"- {len(done.faults)} faults"
    yield f"- the slowest answer took {done.slowest_s:.2f} s of the processor: {done.slowest!a}"
    faults = [(str(f.number), f.way, ascii(f.address), ascii(f.what)) for f in done.faults[:SHOWN_FAULTS]]
    yield from section("Faults", ("file", "how made", "address", "what"), faults)


def _as_json(done: Fuzzed) -> dict[str, object]:
    return {
        "files": done.files,
        "shown": done.shown,
        "answers": done.answers,
        "slowest_s": done.slowest_s,
        "faults": [fault._asdict() for fault in done.faults],
    }


# The page


def _heading(command: str) -> Iterator[str]:
    yield f"`{command} --out assistant/measure/results`, {date.today()}, {os.cpu_count()} cores, other work beside it."


def _write(path: Path, title: str, text: Sequence[str]) -> None:
    """One half of the page; the other stays as it was measured."""
    mark = "<!-- {} -->"
    halves = dict.fromkeys(("Speed", "Hostile files"), "")
    if path.is_file():
        old = path.read_text("utf-8")
        for name in halves:
            _, _, after = old.partition(mark.format(name) + "\n")
            halves[name] = after.partition("<!-- ")[0].strip()
    halves[title] = "\n".join(text).strip()
    parts = [f"{mark.format(name)}\n{half}\n" for name, half in halves.items() if half]
    path.write_text("\n".join(("# The foreman's pages: speed, and hostile files\n", *parts)), "utf-8")

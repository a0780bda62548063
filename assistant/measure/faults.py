"""`layup measure faults`: a job is broken off, or its file damaged, in every way that there is, and what became is counted.

Kills and failures come at an exact stroke (`fault_strokes`), by a shim under the C library (`fault_shim.c`); the rest needs
none (`fault_rights`). A closed job is damaged bit by bit and by chance (`fault_damage`). Exit status 0 only where all
survived, nothing was lost and nothing changed unseen. Power cuts are not among these: a killed process leaves to the kernel
what it wrote, a power cut may not.
"""

from __future__ import annotations

import json
import os
import sys
import tempfile
import time
from argparse import Namespace
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import TypeVar

from assistant.core.problems import CallProblem
from assistant.measure import fault_rights as rights
from assistant.measure import fault_strokes as strokes
from assistant.measure.fault_damage import damage_campaign, damage_counts, damage_table
from assistant.measure.fault_job import SCRIPTS
from assistant.measure.fault_judging import Count, Server, Skipped, Trial, counts
from assistant.measure.fault_shim import build_shim
from assistant.measure.speech_table import section

Line = Callable[[str], None]
T = TypeVar("T", bound=Trial | Skipped)
FAILURES, MIXED = 40, 150
"""Strokes at which each failure of the disk is tried, and copies and torn ends of each job, where `--most` does not say."""
TELL_EVERY_S = 10.0
HEAD = ("fault", "tried", "survived", "lost", "unseen changes")


def measure_faults(args: Namespace, line: Line) -> int:
    """The command; 0 where all is well. `--most N`: at most N strokes of each job and fault."""
    if args.out is not None and not args.out.is_dir():
        raise CallProblem("there is no such folder", where=str(args.out), do="make it, or name another with --out")
    found = list(counts(_told(campaign(args.most))))
    with tempfile.TemporaryDirectory(dir=os.environ.get("LAYUP_MEASURE_FOLDER")) as folder:
        damaged = list(damage_counts(_told(damage_campaign(Path(folder), args.most))))
    text = [*table(found), *damage_table(damaged)]
    rows = [*(one.as_json() for one in found), *(one.as_json() for one in damaged)]
    for row in map(json.dumps, rows) if args.json else text:
        line(row)
    if args.out is not None:
        (args.out / "faults.md").write_text("\n".join([*heading(), *text, ""]), encoding="utf-8")
    every = (*found, *(one.count for one in damaged))
    return 0 if all(one.survived == one.tried for one in every) else 1


def campaign(most: int, scripts: Sequence[str] = tuple(SCRIPTS)) -> Iterator[Trial | Skipped]:
    """Every fault, in jobs of these scripts. `most`: at most so many strokes of each; 0 every one for the kills."""
    with tempfile.TemporaryDirectory(dir=os.environ.get("LAYUP_MEASURE_FOLDER")) as name:
        top, folder = Path(name), Path(name) / "jobs"
        folder.mkdir()
        for each in (top, folder):
            each.chmod(0o777)  # a user without rights must get as far as the file
        shim = build_shim(top)
        environment = {**os.environ, "PYTHONDONTWRITEBYTECODE": "1", "LD_PRELOAD": ""}
        if isinstance(shim, Path):
            environment["LD_PRELOAD"] = str(shim)
        call = [sys.executable, "-m", "assistant.measure.fault_job", environment["LD_PRELOAD"], *scripts]
        with Server(call, environment) as server:
            for script in scripts:
                if isinstance(shim, Path):
                    yield from _by_stroke(server, folder, script, most)
                else:
                    yield from (Skipped(fault, shim) for fault in strokes.BY_STROKE)
                yield from rights.no_room(server, folder, script, most)
                yield from rights.small_disk(server, folder, script, most)
                yield from rights.read_only(server, folder, script)
                yield from rights.second_process(server, folder, script, most)
                yield from rights.clock_back(server, folder, script, most)


def _by_stroke(server: Server, folder: Path, script: str, most: int) -> Iterator[Trial]:
    whole, states = strokes.undisturbed(server, folder, script), list[strokes.State]()
    yield from strokes.kills(server, folder, whole, most, states)
    yield from strokes.copies(folder, whole, states, most or MIXED)
    yield from strokes.torn(folder, whole, states, most or MIXED)
    yield from strokes.failures(server, folder, whole, most or FAILURES)


def _told(trials: Iterator[T]) -> Iterator[T]:
    told_s = time.monotonic()
    for number, trial in enumerate(trials, start=1):
        yield trial
        if time.monotonic() - told_s > TELL_EVERY_S:
            told_s = time.monotonic()
            print(f"{number} tried, now: {trial.fault}", file=sys.stderr, flush=True)


def heading() -> Iterator[str]:
    """What the table is of."""
    yield "# What a job file survives"
    yield ""
    yield "`layup measure faults --out assistant/measure/results`. Two scripted jobs at the live loop; a kill is SIGKILL, at"
    yield "each call that writes, cuts, syncs, renames or removes a file. Lost: an entry that the loop had been told is kept."
    yield "Unseen: the file is called whole and is not as it was told. Copies and torn ends: damaged and called so is survived."
    yield ""
    yield "Damage: every bit of a small signed job, one at a time, and another job damaged by chance; the signer's key is asked"
    yield "for. No row changed: the file is called whole, and every entry, clip and signature was read again and is as before"
    yield "(the bit is in free room of a page, or in a counter of SQLite's header that no row depends on: JOBFILE.md). After"
    yield "the signature: only entries that no signature covers differ, which no chain can show. Lost, unseen: of the rest."
    yield "Verifiers: `layup verify` and the bundle's check_job.py say the same: whole, or which entry does not fit and how."


def table(found: list[Count]) -> Iterator[str]:
    """For a person."""
    yield from section("Faults", HEAD, (_row(one) for one in [*found, _sum(found)]))
    for one in found:
        if one.skipped:
            yield f"- {one.fault}: skipped: {one.skipped}"
        for trouble in one.troubles:
            yield f"- {one.fault}: {trouble}"


def _row(one: Count) -> tuple[str, ...]:
    return (one.fault, *map(str, (one.tried, one.survived, one.lost, one.unseen)))


def _sum(found: list[Count]) -> Count:
    tried, survived = sum(c.tried for c in found), sum(c.survived for c in found)
    return Count("all", tried, survived, sum(c.lost for c in found), sum(c.unseen for c in found), ())

"""Faults at an exact stroke of the file, a stroke being one call that changes it: kills, a disk that fails, copies, torn ends.

A job is done once to count its strokes; then again for each, into a new folder, with the fault at that one. The clock is
scripted, so that what stands after a kill must be, entry for entry and hash for hash, the beginning of the undisturbed job.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice
from pathlib import Path

from assistant.core.problems import LayupProblem
from assistant.files.verify import verify
from assistant.measure.fault_job import Order
from assistant.measure.fault_judging import Row, Server, Told, Trial, judged, rows_in
from assistant.measure.fault_shim import How

SIGKILLED = -9
NAME = "season.job"
"""Of every job here: its name stands in its first entry."""
KILLS = {How.KILLED_BEFORE: "killed before a write", How.KILLED_IN_IT: "killed in a write"}
FAILURES = {
    How.FAILS_ONCE: "one I/O error", How.FAILS_ON: "I/O errors from then on",
    How.FULL_ONCE: "disk full once", How.FULL_ON: "disk full from then on",
}  # fmt: skip
COPIED, TORN = "copied while written", "last page torn"
BY_STROKE = (*KILLS.values(), COPIED, TORN, *FAILURES.values())
"""Every fault that needs the shim, in the order in which they are tried."""
ENDS = ("", "-wal", "-journal")


@dataclass(frozen=True)
class Undisturbed:
    """A script's job without a fault: how many strokes it takes, and its entries."""

    script: str
    strokes: int
    rows: tuple[Row, ...]


def undisturbed(server: Server, folder: Path, script: str) -> Undisturbed:
    """Do the job and look at it."""
    path = folder / NAME
    told = server.do(Order(script, str(path)))
    if told.status or told.stopped:
        raise LayupProblem("the scripted job failed with no fault", do=told.broke or told.stopped or "try again")
    rows = tuple(rows_in(path))
    clear(path)
    return Undisturbed(script, told.strokes, rows)


def chosen(strokes: int, most: int) -> Sequence[int]:
    """Every stroke, from 1; or, where `most` is not 0, that many, each in the middle of its part."""
    if not most or most >= strokes:
        return range(1, strokes + 1)
    return [1 + (2 * n + 1) * strokes // (2 * most) for n in range(most)]


def kills(server: Server, folder: Path, whole: Undisturbed, most: int, states: list[State]) -> Iterator[Trial]:
    """SIGKILL before each stroke, and in the middle of each. What the files were like at each goes to `states`."""
    for how, name in KILLS.items():
        for stroke in chosen(whole.strokes, most):
            path, told = _done(server, folder, whole, stroke, how)
            if told.status != SIGKILLED:
                yield Trial(name, trouble="not killed", where=f"{whole.script}, stroke {stroke}")
                continue
            if how is How.KILLED_BEFORE:
                states.append(State(stroke, *(_bytes(path, end) for end in ENDS)))
            yield _named(judged(name, path, told, whole.rows), whole, stroke)
            clear(path)


def failures(server: Server, folder: Path, whole: Undisturbed, most: int) -> Iterator[Trial]:
    """The disk fails, or is full, at each stroke: once, or from then on. The program must say so, and end by itself."""
    for how, name in FAILURES.items():
        for stroke in chosen(whole.strokes, most):
            path, told = _done(server, folder, whole, stroke, how)
            yield _named(judged(name, path, told), whole, stroke)
            clear(path)


@dataclass(frozen=True)
class State:
    """A job's files at a stroke; b"" for one that is not there."""

    stroke: int
    job: bytes
    wal: bytes
    journal: bytes


def copies(folder: Path, whole: Undisturbed, states: Sequence[State], most: int) -> Iterator[Trial]:
    """A copy takes the files one after the other while they are written: each from another moment.

    All that can be asked of such a copy is that it is the job's beginning, or is called damaged.
    """
    chance = random.Random(8)
    there = [state for state in states if state.job]
    for _ in range(most if len(there) > 1 else 0):
        one, other = sorted(chance.sample(range(len(there)), 2))
        first, second = (one, other) if chance.random() < 0.5 else (other, one)
        yield _copied(COPIED, folder, whole, there[first].job, there[second].wal, there[second].journal)


def torn(folder: Path, whole: Undisturbed, states: Sequence[State], most: int) -> Iterator[Trial]:
    """The last page did not get to the disk whole: cut short, or its rest zeros, in the job file or the `-wal` beside it."""
    chance = random.Random(9)
    there = [state for state in states if state.job]
    for state in islice(_again(there, chance), most if there else 0):
        job, wal = state.job, state.wal
        if wal and chance.random() < 0.7:
            wal = _torn(wal, chance)
        else:
            job = _torn(job, chance)
        yield _copied(TORN, folder, whole, job, wal, state.journal)


def _again(states: Sequence[State], chance: random.Random) -> Iterator[State]:
    while True:
        yield chance.choice(states)


def _torn(data: bytes, chance: random.Random) -> bytes:
    lost = chance.randint(1, min(len(data), 4096))
    return data[:-lost] + (bytes(lost) if chance.random() < 0.5 else b"")


def _copied(fault: str, folder: Path, whole: Undisturbed, job: bytes, wal: bytes, journal: bytes) -> Trial:
    """What verify says of these files, and whether that is true. What is damaged and called so is survived."""
    path = folder / "copy.job"
    for end, data in zip(ENDS, (job, wal, journal), strict=True):
        if data:
            path.with_name(path.name + end).write_bytes(data)
    try:
        if not verify(path).whole:
            return Trial(fault)
        unseen = sum(a != b for a, b in zip(rows_in(path), whole.rows, strict=False))
        return Trial(fault, unseen=unseen)
    except LayupProblem:
        return Trial(fault)  # refused, in plain words
    finally:
        clear(path)


def _done(server: Server, folder: Path, whole: Undisturbed, stroke: int, how: How) -> tuple[Path, Told]:
    path = folder / NAME
    return path, server.do(Order(whole.script, str(path), stroke, how))


def _named(trial: Trial, whole: Undisturbed, stroke: int) -> Trial:
    """The trial with its place, so that it can be made again."""
    return replace(trial, where=f"{whole.script}, stroke {stroke}")


def _bytes(path: Path, end: str) -> bytes:
    beside = path.with_name(path.name + end)
    return beside.read_bytes() if beside.exists() else b""


def clear(path: Path) -> None:
    """Remove a job and all that stands beside it."""
    for beside in path.parent.glob(path.name + "*"):
        beside.unlink()

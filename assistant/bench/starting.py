"""A job that can be worked on: a new one, or one taken up again from its own file alone."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date
from importlib.metadata import version
from pathlib import Path
from typing import TypeVar

from assistant.bench.clock import Clock
from assistant.core.entries import JobOpened, JobResumed, Kept, ReadingKept
from assistant.core.job import apply, fold
from assistant.core.looking_up import may_change, people_in
from assistant.core.state import State
from assistant.files.job_file import JobFile
from assistant.files.work import Work, state_of, work_in

T = TypeVar("T")
Follow = Callable[[State, Kept], State]
"""The state by which the engine takes up an entry that is on disk, and not yet folded."""
Earlier = tuple[tuple[str, str, str, str, str], ...]


def program() -> str:
    """Name and version, for the record."""
    return f"layup {version('layup')}"


def open_job(
    path: Path,
    work: Work,
    clock: Clock,
    ears: str,
    technician: str = "",
    earlier: Earlier = (),
    *,
    customer: str = "",
    number: str = "",
    keeps_sound: bool = True,
) -> tuple[JobFile, State]:
    """A new job file with its first entry; refused where the file is there already.

    `technician` does it, `customer` is whose machine it is and `number` its own, "" not named; `earlier` are last season's
    readings (`readings_of`); `keeps_sound`: what is heard is kept as sound, for as long as the job lasts.
    """
    job_file = JobFile.create(path)
    opened = JobOpened(
        procedure=work.procedure.name,
        procedure_text=work.procedure_text,
        sheet_text=work.sheet_text,
        site_text=work.site_text,
        job=path.stem,
        conditions=_pairs(work.procedure.start),
        program=program(),
        ears=ears,
        technician=technician,
        earlier=earlier,
        keeps_sound=keeps_sound,
        customer=" ".join(customer.split()),
        number=" ".join(number.split()),
    )
    try:
        return job_file, _begun(job_file, work, clock, opened)
    except BaseException:
        job_file.close()
        path.unlink(missing_ok=True)  # nothing is in it
        raise


def readings_of(path: Path) -> Earlier:
    """The measured values that stand in a job file, each as (step, name, place, value, unit)."""
    with JobFile.open(path, read_only=True) as job_file:
        kept = fold(job_file.entries()).readings.values()
    found = (k.entry for k in kept if isinstance(k.entry, ReadingKept))
    return tuple((r.step, r.name, r.at, r.value, r.unit) for r in found if r.unit)


def resume_job(path: Path, clock: Clock, ears: str, technician: str = "") -> tuple[JobFile, State]:
    """Take a job up again: everything is read from the file itself. `technician` goes on with it, "" not named."""
    job_file = JobFile.open(path)
    try:
        return job_file, _begun(job_file, work_in(job_file), clock, JobResumed(program(), ears, technician))
    except BaseException:
        job_file.close()
        raise


def _begun(job_file: JobFile, work: Work, clock: Clock, entry: JobOpened | JobResumed) -> State:
    job_file.append(entry, clock.utc())
    job = fold(job_file.entries())
    today = date.fromisoformat(clock.utc()[:10])
    state = state_of(work, today)
    return State(state.procedure, state.parts, state.site, today, job)


def _pairs(conditions: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    return tuple(sorted(conditions.items()))


def follower_of(work: Work, job_file: JobFile) -> Follow:
    """What keeps the procedure up with the numbers that are looked up, in a session that has been begun."""
    look_ups = work.look_ups
    if look_ups is None:
        return lambda state, _kept: state
    people = people_in(job_file.entries())

    def followed(state: State, kept: Kept) -> State:
        if not may_change(kept):
            return state
        job = apply(state.job, kept)
        procedure = look_ups.bound(job, people).procedure
        open_still = not job.step or any(step.id == job.step for step in procedure.steps)
        return replace(state, procedure=procedure) if open_still else state

    return followed

"""From files to a job that can be worked on: a new one, or one taken up again from its own file alone."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from importlib.metadata import version
from pathlib import Path
from typing import TypeVar

from assistant.bench.clock import Clock
from assistant.core.entries import JobOpened, JobResumed, Kept, ReadingKept
from assistant.core.job import apply, fold
from assistant.core.looking_up import LookUps, bound_as_of, look_ups_of, may_change, people_in
from assistant.core.machine import MachineSheet, Site
from assistant.core.problems import CallProblem, FileProblem, FileProblems
from assistant.core.procedure import Procedure
from assistant.core.state import State
from assistant.files.job_file import JobFile
from assistant.files.procedure_file import read_procedure
from assistant.files.sheet_file import read_sheet
from assistant.files.shipped import PROCEDURE, SHEET, SITE, find_file, site_beside
from assistant.files.site_file import read_site, standing_alone
from assistant.files.word_clashes import refuse_clashes
from assistant.files.yaml_source import read_text

T = TypeVar("T")
Follow = Callable[[State, Kept], State]
"""The state by which the engine takes up an entry that is on disk, and not yet folded."""
Earlier = tuple[tuple[str, str, str, str, str], ...]
DEFAULT_SITE = "shop: the shop\ngallon: us_gal\nvalues: {}\n"
"""Used where no site sheet is given: no altitude, no lowest temperature."""


@dataclass(frozen=True)
class Work:
    """What is to be done on what, where: the texts as read and what they say.

    `look_ups`: numbers that the sheet lacks, for which the procedure begins with steps that ask for them.
    """

    procedure_text: str
    sheet_text: str
    site_text: str
    procedure: Procedure
    sheet: MachineSheet
    site: Site
    look_ups: LookUps | None = None


def program() -> str:
    """Name and version, for the record."""
    return f"layup {version('layup')}"


def read_work(procedure: Path, sheet: Path, site: Path | None) -> Work:
    """Read and bind the three files; every problem of all of them is in the FileProblems that is raised.

    A bare name (`pwc-off-season`) that is no file here means the one that travels with the program. Without a site the only
    site sheet in the procedure's folder is taken, if there is just one.
    """
    procedure, sheet = find_file(procedure, PROCEDURE), find_file(sheet, SHEET)
    site = find_file(site, SITE) if site else site_beside(procedure)
    site_text = standing_alone(read_text(site), site.parent) if site else DEFAULT_SITE
    names = (str(procedure), str(sheet), str(site or "(no site sheet)"))
    return work_of(read_text(procedure), read_text(sheet), site_text, names)


def work_of(
    procedure_text: str,
    sheet_text: str,
    site_text: str,
    names: tuple[str, str, str],
    *,
    entries: tuple[Kept, ...] | None = None,
) -> Work:
    """The same from texts; `names` are what problems call the three. `entries` of the job file that the texts stand in."""
    problems: list[FileProblem] = []
    procedure = _gather(problems, read_procedure, procedure_text, names[0])
    sheet = _gather(problems, partial(read_sheet, kept=entries is not None), sheet_text, names[1])
    site = _gather(problems, read_site, site_text, names[2])
    if procedure is None or sheet is None or site is None:
        raise FileProblems(tuple(problems))
    if entries is None:  # a job that is begun can be taken up, whatever is refused by now
        refuse_clashes(procedure, procedure_text, site, site_text)
    bound = bound_as_of(procedure, sheet, site, entries or ())
    if bound.problems:
        raise FileProblems(tuple(bound.problems))
    return Work(
        procedure_text, sheet_text, site_text, bound.procedure, sheet, site, look_ups_of(procedure, sheet, site)
    )


def _gather(problems: list[FileProblem], read: Callable[[str, str], T], text: str, name: str) -> T | None:
    try:
        return read(text, name)
    except FileProblems as found:
        problems.extend(found.problems)
        return None


def state_of(work: Work, today: date) -> State:
    """The engine's state before anything is kept."""
    return State(work.procedure, work.sheet.parts, work.site, today)


def open_job(
    path: Path,
    work: Work,
    clock: Clock,
    ears: str,
    technician: str = "",
    earlier: Earlier = (),
    *,
    keeps_sound: bool = True,
) -> tuple[JobFile, State]:
    """A new job file with its first entry; refused where the file is there already.

    `technician` does it, "" not named; `earlier` are last season's readings (`readings_of`); `keeps_sound`: what is heard
    is kept as sound, for as long as the job lasts.
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


def work_in(job_file: JobFile) -> Work:
    """The procedure, sheet and site as they stand in the job's first entry."""
    kept = job_file.entries()
    if not kept or not isinstance(kept[0].entry, JobOpened):
        raise CallProblem(
            "the job was never begun: its first entry is missing",
            where=str(job_file.path),
            do=f"if it was copied from an open job, copy {job_file.path.name}-wal too; else remove it and run again",
        )
    opened = kept[0].entry
    inside = f"{job_file.path} (inside)"
    return work_of(opened.procedure_text, opened.sheet_text, opened.site_text, (inside, inside, inside), entries=kept)


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


def no_such_step(work_file: str, step: str, procedure: Procedure) -> CallProblem:
    """The problem for a step id that the procedure does not have."""
    ids = [s.id for s in procedure.steps]
    near = difflib.get_close_matches(step, ids, n=3)
    hint = f"did you mean {', '.join(near)}?" if near else f"its steps are {', '.join(ids[:8])} ..."
    return CallProblem(f"there is no step {step!r}", where=work_file, do=hint)

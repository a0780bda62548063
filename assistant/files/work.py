"""What is to be done on what, where: procedure, machine sheet and site, from files or as they stand in a job file."""

from __future__ import annotations

import difflib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from functools import partial
from pathlib import Path
from typing import TypeVar

from assistant.core.entries import JobOpened, Kept
from assistant.core.looking_up import LookUps, bound_as_of, look_ups_of
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


def no_such_step(work_file: str, step: str, procedure: Procedure) -> CallProblem:
    """The problem for a step id that the procedure does not have."""
    ids = [s.id for s in procedure.steps]
    near = difflib.get_close_matches(step, ids, n=3)
    hint = f"did you mean {', '.join(near)}?" if near else f"its steps are {', '.join(ids[:8])} ..."
    return CallProblem(f"there is no step {step!r}", where=work_file, do=hint)

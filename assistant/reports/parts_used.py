"""Which parts went into which machines: every job file of a folder, part by part and lot by lot.

What counts is what each job took (`kept`); a packet that was only shown is left out. A file that cannot be read, and a copy of
a job that is there already, are told and left out; the others stand.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from assistant.core.entries import JobOpened, Kept, PartScanned
from assistant.core.job import Job, fold
from assistant.core.problems import CallProblem, FileProblems, LayupProblem
from assistant.files.job_file import JobFile
from assistant.files.sheet_file import read_sheet
from assistant.reports.season_jobs import NAMES_ONE_MACHINE


@dataclass(frozen=True)
class Use:
    """Pieces of one packet in one job. `machine`: its model; `machine_number`: hull or engine number where the job has one;
    `began`: the job's first day (UTC); `entry`: where it stands in the file; `unsure`: it was taken as not known."""

    job: str
    machine: str
    machine_number: str
    began: str
    step: str
    entry: int
    count: int
    serial: str
    answer: str

    @property
    def unsure(self) -> bool:
        """Not a part that the sheet lists."""
        return self.answer != "right"


@dataclass(frozen=True)
class PartLot:
    """All uses of one product of one lot ("" where the label gave none)."""

    role: str
    say: str
    gtin: str
    number: str
    lot: str
    uses: tuple[Use, ...]

    @property
    def count(self) -> int:
        """Pieces in all."""
        return sum(use.count for use in self.uses)


@dataclass(frozen=True)
class PartsUsed:
    """The lots by part, number and lot; what could not be read; serials that two jobs or more took."""

    lots: tuple[PartLot, ...]
    problems: tuple[LayupProblem, ...]
    jobs: int

    @property
    def serials_twice(self) -> tuple[tuple[PartLot, str, tuple[str, ...]], ...]:
        """One packet cannot be in two machines: the lot, the serial, and the jobs."""
        found = []
        for lot in self.lots:
            for serial in dict.fromkeys(use.serial for use in lot.uses if use.serial):
                jobs = tuple(dict.fromkeys(use.job for use in lot.uses if use.serial == serial))
                found += [(lot, serial, jobs)] if len(jobs) > 1 else []
        return tuple(found)


def parts_used(folder: Path, lot: str = "") -> PartsUsed:
    """Read the folder's job files, without those of folders in it. `lot`: only that one, capitals aside.

    Raises CallProblem where there is no such folder, or no job file in it.
    """
    if not folder.is_dir():
        raise CallProblem("there is no such folder", where=str(folder), do="name the folder that holds the job files")
    paths = sorted(folder.glob("*.job"))
    if not paths:
        raise CallProblem(
            "there is no job file in it", where=str(folder), do="name the folder that holds the *.job files"
        )
    taken: dict[tuple[str, str, str, str], list[tuple[str, Use]]] = {}
    problems: list[LayupProblem] = []
    begun: dict[tuple[str, JobOpened], Path] = {}
    for path in paths:
        try:
            kept, opened = _entries(path, begun)
        except LayupProblem as problem:
            problems.append(problem)
            continue
        for key, say, use in _uses(path, kept, opened):
            if not lot or key[3].upper() == lot.upper():
                taken.setdefault(key, []).append((say, use))
    lots = (PartLot(role, uses[0][0], gtin, number, of, tuple(use for _, use in uses))
            for (role, gtin, number, of), uses in taken.items())  # fmt: skip
    ordered = sorted(lots, key=lambda one: (one.say, one.role, one.gtin, one.number, one.lot))
    return PartsUsed(tuple(ordered), tuple(problems), len(begun))


def _entries(path: Path, begun: dict[tuple[str, JobOpened], Path]) -> tuple[tuple[Kept, ...], JobOpened]:
    with JobFile.open(path, read_only=True) as job_file:
        kept = job_file.entries()
    first = kept[0] if kept else None
    if first is None or not isinstance(first.entry, JobOpened):
        raise CallProblem(
            "the job was never begun: its first entry is missing", where=str(path), do="move it elsewhere"
        )
    same = begun.setdefault((first.at, first.entry), path)
    if same != path:
        raise CallProblem(f"it is a copy of {same.name}", where=str(path), do="keep one of them there")
    return kept, first.entry


def _uses(path: Path, kept: Sequence[Kept], opened: JobOpened) -> list[tuple[tuple[str, str, str, str], str, Use]]:
    """Key (role, GTIN, number, lot), what the part is called, and the use; entry by entry."""
    model, says = _sheet(opened, path)
    number = _machine_number(fold(kept))
    found = []
    for k in kept:
        p = k.entry
        if isinstance(p, PartScanned) and p.kept:
            name = "" if p.gtin else p.number or p.text
            use = Use(path.name, model, number, kept[0].at[:10], p.step, k.sequence, p.count, p.serial, p.answer)
            found.append(((p.role, p.gtin, name, p.lot), says.get(p.role, p.role.replace("_", " ")), use))
    return found


def _sheet(opened: JobOpened, path: Path) -> tuple[str, Mapping[str, str]]:
    """Model and what each role is called; where the sheet in the file is of a form that is no longer read, neither."""
    try:
        sheet = read_sheet(opened.sheet_text, f"{path} (inside)", kept=True)
    except FileProblems:
        return "(sheet not readable)", {}
    return " ".join(sheet.model.split()), {role: part.say for role, part in sheet.parts.items()}


def _machine_number(job: Job) -> str:
    """What tells the machine from others of its model, where the job has a reading of it."""
    named = {name: kept.entry for (_, name, _), kept in job.readings.items()}
    return next((getattr(named[name], "value", "") for name in NAMES_ONE_MACHINE if name in named), "")

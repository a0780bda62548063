"""Job files of one machine, in the order of their seasons: what each kept, and how many hours the engine had run.

Refused: another machine's job among them, the same job twice, engine hours that run back. What a job file does not say
(the single machine: it names a model) is not made up.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from itertools import pairwise
from pathlib import Path

from assistant.core.entries import JobOpened, Kept, ReadingKept
from assistant.core.job import ReadingKey, fold
from assistant.core.problems import CallProblem, FileProblems
from assistant.core.trade.seasons import Season, step_in
from assistant.core.units import KINDS, Amount, convert
from assistant.files.job_file import JobFile
from assistant.files.sheet_file import read_sheet

HOURS_NAMES = ("hours", "engine_hours", "running_hours")
"""What a procedure may call the reading of the engine's own hour meter; another name is told with `--hours`."""
NAMES_ONE_MACHINE = ("hull_number", "engine_number", "serial_number", "vehicle_number")
"""Readings that tell one machine from others of its model: where two jobs have one of them, it must be the same."""
HOURS_UNIT = "h"


@dataclass(frozen=True)
class SeasonJob:
    """One job file: its first entry, the model of the machine, the values that count, and the engine hours with the name of
    their reading (None and "" where it has none)."""

    path: Path
    opened: Kept
    texts: JobOpened
    model: str
    readings: Mapping[ReadingKey, ReadingKept]
    hours: Decimal | None
    hours_name: str

    @property
    def began(self) -> str:
        """The day (UTC, ISO 8601)."""
        return self.opened.at[:10]

    def season(self, key: ReadingKey) -> Season | None:
        """The value of a reading; None where the job has none that is a number with a unit."""
        kept = self.readings.get(key)
        number = _number(kept.value) if kept else None
        if kept is None or number is None or kept.unit not in KINDS:
            return None
        return Season(str(self.path), self.began, self.hours, Amount(number, kept.unit), _read_to(kept, number))


def read_seasons(paths: Sequence[Path], hours_name: str = "") -> tuple[SeasonJob, ...]:
    """The jobs, oldest first. Raises CallProblem (see the module), and whatever `JobFile.open` and `entries` do."""
    if len(paths) < 2:
        raise CallProblem("one job shows no change", where=str(paths[0]), do="name the machine's earlier jobs too")
    jobs = [_read(path, hours_name) for path in paths]
    _check_each_once(jobs)
    jobs.sort(key=lambda job: job.opened.at)
    _check_one_machine(jobs)
    _check_hours(jobs)
    return tuple(jobs)


def _read(path: Path, hours_name: str) -> SeasonJob:
    with JobFile.open(path, read_only=True) as job_file:
        entries = job_file.entries()
    first = entries[0] if entries else None
    if first is None or not isinstance(first.entry, JobOpened):
        raise CallProblem("the job was never begun: its first entry is missing", where=str(path), do="leave it out")
    kept = {key: k for key, k in fold(entries).readings.items() if isinstance(k.entry, ReadingKept)}
    readings = {key: k.entry for key, k in kept.items() if isinstance(k.entry, ReadingKept)}
    named, hours = _hours(kept.values(), hours_name, path)
    return SeasonJob(path, first, first.entry, _model(first.entry, path), readings, hours, named)


def _model(opened: JobOpened, path: Path) -> str:
    try:
        return " ".join(read_sheet(opened.sheet_text, f"{path} (inside)", kept=True).model.split())
    except FileProblems as fault:
        raise CallProblem(
            "its machine sheet cannot be read, so it cannot be told which machine it was",
            where=str(path),
            do="leave it out",
        ) from fault


def _hours(kept: Iterable[Kept], name: str, path: Path) -> tuple[str, Decimal | None]:
    """The name of the reading and the engine hours, in h; of several readings of one name the last that was kept."""
    wanted = (name,) if name else HOURS_NAMES
    found: dict[str, Decimal] = {}
    for k in sorted(kept, key=lambda one: one.sequence):
        r = k.entry
        assert isinstance(r, ReadingKept)
        number = _number(r.value)
        if r.name in wanted and number is not None and KINDS.get(r.unit) == KINDS[HOURS_UNIT]:
            found[r.name] = convert(Amount(number, r.unit), HOURS_UNIT).value
    if len(found) > 1:
        told = " and ".join(found)
        raise CallProblem(f"both {told} may be the engine hours", where=str(path), do="say which with --hours NAME")
    return next(iter(found.items()), ("", None))


def _check_each_once(jobs: Sequence[SeasonJob]) -> None:
    """A copy under another name is the same job: it begins with the same entry."""
    seen: dict[tuple[str, JobOpened], Path] = {}
    for job in jobs:
        other = seen.setdefault((job.opened.at, job.texts), job.path)
        if other is not job.path:
            raise CallProblem(f"this is the same job as {other}", where=str(job.path), do="name each job once")


def _check_one_machine(jobs: Sequence[SeasonJob]) -> None:
    last = jobs[-1]
    for job in jobs[:-1]:
        if job.model.casefold() != last.model.casefold():
            what = f"the machine is a {job.model}, in {last.path} it is a {last.model}"
            raise CallProblem(what, where=str(job.path), do="name jobs of one machine only")
        for name, number in _numbers_of(last).items():
            other = _numbers_of(job).get(name, number)
            if other != number:
                what = f"its {name.replace('_', ' ')} is {other}, in {last.path} it is {number}"
                raise CallProblem(what, where=str(job.path), do="name jobs of one machine only")


def names_one_machine(jobs: Sequence[SeasonJob]) -> bool:
    """Do all jobs have a reading that tells this machine from others of its model?"""
    return any(all(name in _numbers_of(job) for job in jobs) for name in NAMES_ONE_MACHINE)


def _numbers_of(job: SeasonJob) -> dict[str, str]:
    return {r.name: r.value for r in job.readings.values() if r.name in NAMES_ONE_MACHINE}


def _check_hours(jobs: Sequence[SeasonJob]) -> None:
    for before, after in pairwise([job for job in jobs if job.hours is not None]):
        if before.hours is not None and after.hours is not None and after.hours < before.hours:
            what = f"the engine hours run back: {Amount(after.hours, 'h')} on {after.began}"
            what += f", and {Amount(before.hours, 'h')} on {before.began} in {before.path}"
            do = "another machine, a new hour meter, or a wrong value: amend it, or name only jobs that go together"
            raise CallProblem(what, where=str(after.path), do=do)


def _read_to(r: ReadingKept, number: Decimal) -> Decimal:
    """The last figure that was said, in the reading's own unit: "13 bar" is read to 1 bar, however it is converted."""
    said = _number(r.said_value)
    if said is None or KINDS.get(r.said_unit) != KINDS[r.unit]:
        return _last_figure(number)
    return step_in(_last_figure(said), r.said_unit, r.unit)


def _last_figure(number: Decimal) -> Decimal:
    exponent = number.as_tuple().exponent
    return Decimal(1).scaleb(exponent if isinstance(exponent, int) else 0)


def _number(text: str) -> Decimal | None:
    try:
        number = Decimal(text)
    except InvalidOperation:
        return None
    return number if number.is_finite() else None

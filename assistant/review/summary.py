"""A job in a line of the list: what it is, how far it is, how much of it is open."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Literal

from assistant.core.entries import Kept
from assistant.core.problems import LayupProblem
from assistant.files.verdict import Fault
from assistant.reports.job_report import JobReport, report_of
from assistant.reports.open_items import open_items
from assistant.reports.season_jobs import NAMES_ONE_MACHINE
from assistant.reports.standing import is_signed
from assistant.review.untrusted import record_in

State = Literal["open", "to be reviewed", "signed", "signature does not fit", "cannot be read"]
STATES: tuple[State, ...] = ("to be reviewed", "open", "signed", "signature does not fit", "cannot be read")


@dataclass(frozen=True)
class Summary:
    """`began` and `ended` are UTC; `numbers` what marks the single machine (hull number); `open` how much holds up a signature.

    `problem`: why the file cannot be shown, "" where it can; then the rest is empty.
    """

    name: str
    state: State
    job: str = ""
    machine: str = ""
    procedure: str = ""
    numbers: tuple[str, ...] = ()
    customer: str = ""
    technicians: tuple[str, ...] = ()
    began: str = ""
    ended: str = ""
    entries: int = 0
    out_of_limits: int = 0
    open: int = 0
    problem: str = ""

    @property
    def searched(self) -> str:
        """All that a search looks at, in small letters."""
        texts = (self.name, self.job, self.machine, self.procedure, *self.numbers, self.customer, *self.technicians)
        return " ".join((*texts, self.began[:10], self.state)).casefold()

    def fields(self) -> dict[str, object]:
        """As JSON keeps it."""
        return asdict(self)


def summary_of(path: Path) -> Summary:
    """The line for a job file, whatever lies there."""
    try:
        record = record_in(path)
        report = report_of(record.kept)
    except LayupProblem as problem:
        return Summary(path.stem, "cannot be read", problem=problem.what)
    return Summary(
        name=path.stem,
        state=state_of(report, record.kept, record.misfit),
        job=report.job,
        machine=report.machine,
        procedure=report.procedure,
        numbers=numbers_of(report),
        customer=report.customer,
        technicians=report.technicians,
        began=report.began,
        ended=report.ended,
        entries=report.entries,
        out_of_limits=len(report.out_of_limits),
        open=len(open_items(report)),
    )


def state_of(report: JobReport, kept: tuple[Kept, ...], misfit: Fault | None = None) -> State:
    """Open, finished and to be reviewed, or signed with nothing of weight after it; a signature that does not fit comes before
    all of that, for `verify` then finds the file not whole."""
    if misfit is not None:
        return "signature does not fit"
    if is_signed(kept):
        return "signed"
    return "to be reviewed" if report.finished else "open"


def numbers_of(report: JobReport) -> tuple[str, ...]:
    """The machine's own number, as the job was opened with it, and as the hull number and its like were read."""
    read = (v.value for v in report.values if v.name in NAMES_ONE_MACHINE)
    return tuple(dict.fromkeys(number for number in (report.number, *read) if number))

"""What still stands open in a job: whoever signs answers for all of it, so nothing may be left unlooked at.

Open are: a job that was not finished; a look (`looks`) whose entry the foreman neither upheld nor amended himself; a finding
without the customer's decision; a question that nobody answered. A clock that went back and a device that was lost are told,
and hold nothing up.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from assistant.core.problems import CallProblem
from assistant.reports.job_report import JobReport

TOLD_ONLY = ("clock", "device")
"""Kinds of look that need nobody's answer."""
NAMED_AT_MOST = 3


@dataclass(frozen=True)
class OpenItem:
    """One thing that holds up the signature: its kind, its entry (0: the job), what it is, and what settles it."""

    kind: str
    sequence: int
    what: str
    do: str


def open_items(report: JobReport) -> tuple[OpenItem, ...]:
    """All of them, in the order of the looks, then the questions."""
    return (*_looks(report), *_questions(report))


def refuse_open(report: JobReport, where: str) -> None:
    """Raises CallProblem where anything is open, saying how much and naming the first."""
    items = open_items(report)
    if not items:
        return
    named = "; ".join(f"entry {i.sequence}, {i.kind}" if i.sequence else i.kind for i in items[:NAMED_AT_MOST])
    more = f"; and {len(items) - NAMED_AT_MOST} more" if len(items) > NAMED_AT_MOST else ""
    count = "1 thing is" if len(items) == 1 else f"{len(items)} things are"
    do = "settle each on the foreman's pages (`layup review`)"
    raise CallProblem(f"not signed: {count} open: {named}{more}", where=where, do=do)


def _looks(report: JobReport) -> Iterator[OpenItem]:
    amended = {v.sequence for v in report.values if v.amended}
    for look in report.looks:
        if look.kind == "finding":
            if look.sequence not in report.decisions:
                yield OpenItem(look.kind, look.sequence, look.what, "write down what the customer says of it")
        elif look.kind == "not finished":
            yield OpenItem(look.kind, 0, look.what, "have it finished: `layup resume`")
        elif look.kind not in TOLD_ONLY and look.sequence not in report.upheld and look.sequence not in amended:
            yield OpenItem(look.kind, look.sequence, look.what, "let it stand, amend it, or ask back")


def _questions(report: JobReport) -> Iterator[OpenItem]:
    for asked in report.questions:
        if not asked.answered:
            do = "the technician answers it at the next `layup resume`, or on the pages"
            yield OpenItem("asked back", asked.sequence, asked.text, do)

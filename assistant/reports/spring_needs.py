"""What spring needs: only what the job itself leaves open. Nothing is made up, and nothing is left out that was declined
here but is still so: that stands with the findings."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from assistant.reports.job_report import JobReport
from assistant.reports.looks import named
from assistant.reports.measured import MEANS
from assistant.reports.sections import Remark
from assistant.reports.values import spaced
from assistant.reports.work_done import not_done


@dataclass(frozen=True)
class Need:
    """One thing to be done or looked at: `what`, and `why` it is on the list. `heard`: `what` are words as made out."""

    what: str
    why: str
    heard: bool = False


def spring_needs(report: JobReport, says: tuple[str, ...] = ()) -> tuple[Need, ...]:
    """Findings that are approved or put off or not decided, steps not done, values that are not as they should be, states
    left in doubt, and what the procedure says of spring (`says`)."""
    return (
        *_findings(report),
        *_steps(report),
        *_values(report),
        *_doubts(report),
        *(Need(sentence, "the procedure says so") for sentence in says),
    )


def finding_words(report: JobReport, finding: Remark) -> tuple[str, bool]:
    """What was found, and whether these are words as made out; the foreman's own where he wrote any to a spoken one. What he
    wrote to the value of a written one is why that value stands (`measured`)."""
    if finding.written:
        return finding.words, False
    upheld = report.upheld.get(finding.sequence)
    if upheld is not None and upheld.why:
        return upheld.why, False
    return finding.words or "told by voice; ask the shop", bool(finding.words)


def _findings(report: JobReport) -> Iterator[Need]:
    told = {
        "approved": "you approved it; this record does not show it done",
        "later": "you wanted it decided later",
    }
    for finding in report.findings:
        decision = report.decisions.get(finding.sequence)
        words, heard = finding_words(report, finding)
        if decision is None:
            yield Need(f"{report.title(finding.step)}: {words}", "found; not decided yet", heard)
        elif decision.decision != "declined":
            yield Need(f"{report.title(finding.step)}: {words}", told.get(decision.decision, decision.decision), heard)


def _steps(report: JobReport) -> Iterator[Need]:
    for left in not_done(report):
        yield Need(left.title, "begun, not ended" if left.begun else "not done")


def _values(report: JobReport) -> Iterator[Need]:
    """Those that no finding speaks of."""
    spoken_of = {finding.sequence for finding in report.findings}
    for step in report.steps:
        for v in step.values:
            bad = v.out_of_limits or v.verdict == "unsure"
            if bad and v.sequence not in spoken_of:
                limit = f" ({spaced(v.limit)})" if v.limit else ""
                yield Need(f"{step.title}: {named(v)} {v.written}{limit}", MEANS[v.verdict])


def _doubts(report: JobReport) -> Iterator[Need]:
    for step in report.steps:
        if step.doubted:
            yield Need(spaced(", ".join(step.doubted)).capitalize(), "its state is in doubt: look before use")

"""A job's entries as a report: what was done, measured, fitted and found, and what the foreman should look at.

The report is made of the entries alone; its steps are `step_reports`'. Of the texts in the first entry headings are taken, and
what other words would have meant (`own_texts`).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from itertools import pairwise

from assistant.core import entries as e
from assistant.core.entries import Kept, opened_in
from assistant.core.judging import JUDGED_AGAIN
from assistant.reports.looks import Look, looks_of
from assistant.reports.own_texts import OwnTexts, heading
from assistant.reports.reviewed import decisions_of, questions_of, upheld_of
from assistant.reports.sections import (
    Afterwards,
    AskedBack,
    ClockStep,
    Decision,
    DeviceChange,
    Part,
    Photograph,
    Remark,
    StepReport,
    Upheld,
)
from assistant.reports.step_reports import once, steps_of
from assistant.reports.values import Correction, ReadingHistory, Value


@dataclass(frozen=True)
class JobReport:
    """The whole job. Times are UTC, ISO 8601. `decisions` and `upheld` by the entry that they are about."""

    job: str
    procedure: str
    machine: str
    shop: str
    program: str
    ears: tuple[str, ...]
    technicians: tuple[str, ...]
    began: str
    ended: str
    finished: bool
    resumed: tuple[str, ...]
    entries: int
    steps: tuple[StepReport, ...]
    corrections: tuple[Correction, ...]
    devices: tuple[DeviceChange, ...]
    clock: tuple[ClockStep, ...]
    looks: tuple[Look, ...]
    afterwards: tuple[Afterwards, ...] = ()
    customer: str = ""
    number: str = ""
    decisions: Mapping[int, Decision] = field(default_factory=dict)
    questions: tuple[AskedBack, ...] = ()
    upheld: Mapping[int, Upheld] = field(default_factory=dict)

    @property
    def values(self) -> tuple[Value, ...]:
        """Every current value, step by step."""
        return tuple(value for step in self.steps for value in step.values)

    @property
    def out_of_limits(self) -> tuple[Value, ...]:
        """The current values that broke a limit."""
        return tuple(value for value in self.values if value.out_of_limits)

    @property
    def parts(self) -> tuple[Part, ...]:
        """Every label read, step by step."""
        return tuple(part for step in self.steps for part in step.parts)

    @property
    def remarks(self) -> tuple[Remark, ...]:
        """Every note and finding, step by step."""
        return tuple(remark for step in self.steps for remark in step.remarks)

    @property
    def photographs(self) -> tuple[Photograph, ...]:
        """Every photograph, step by step."""
        return tuple(photograph for step in self.steps for photograph in step.photographs)

    @property
    def findings(self) -> tuple[Remark, ...]:
        """What the customer must decide on."""
        return tuple(remark for remark in self.remarks if remark.about == "finding")

    @property
    def unclear(self) -> int:
        """How often something was heard that could not be made out."""
        return sum(step.unclear for step in self.steps)

    def count(self, status: str) -> int:
        """How many steps are done, unable or open."""
        return sum(step.status == status for step in self.steps)

    def title(self, step_id: str) -> str:
        """The title of a step that was opened."""
        return next((step.title for step in self.steps if step.id == step_id), step_id)


def report_of(kept: tuple[Kept, ...]) -> JobReport:
    """The report of these entries, as many as there are: an open job has one too."""
    opened = opened_in(kept)
    texts = OwnTexts(opened, kept)
    history = ReadingHistory(kept)
    steps = steps_of(kept, opened, texts, history.values(texts.means_else))
    whole = tuple(k for k in kept if not getattr(k.entry, "step", ""))  # what is about no one step: a few of thousands
    corrections, clock, devices = history.corrections(), _clock(kept), _devices(whole)
    finished = any(isinstance(k.entry, e.JobFinished) for k in whole)
    clips = {k.sequence: k.clip for k in kept if k.clip}
    return JobReport(
        job=opened.job if opened else "",
        procedure=(texts.procedure or heading(opened.procedure_text, "title", opened.procedure)) if opened else "",
        machine=heading(opened.sheet_text, "model") if opened else "",
        shop=heading(opened.site_text, "shop") if opened else "",
        program=opened.program if opened else "",
        ears=_ears(whole),
        technicians=_technicians(whole),
        began=kept[0].at if kept else "",
        ended=_ended(kept),
        finished=finished,
        resumed=tuple(k.at for k in whole if isinstance(k.entry, e.JobResumed)),
        entries=len(kept),
        steps=steps,
        corrections=corrections,
        devices=devices,
        clock=clock,
        looks=looks_of(steps, corrections, devices, clock, clips, finished=finished),
        afterwards=tuple(_afterwards(whole)),
        customer=opened.customer if opened else "",
        number=opened.number if opened else "",
        decisions=decisions_of(whole),
        questions=questions_of(whole),
        upheld=upheld_of(whole),
    )


def _devices(kept: tuple[Kept, ...]) -> tuple[DeviceChange, ...]:
    return tuple(
        DeviceChange(k.sequence, k.at, k.entry.device, k.entry.state, k.entry.why)
        for k in kept
        if isinstance(k.entry, e.DeviceChanged)
    )


def _clock(kept: tuple[Kept, ...]) -> tuple[ClockStep, ...]:
    steps = []
    for before, after in pairwise(kept):
        if before.at > after.at:  # times of one form, in UTC: their texts are in their order
            back_s = (datetime.fromisoformat(before.at) - datetime.fromisoformat(after.at)).total_seconds()
            steps.append(ClockStep(after.sequence, after.at, f"{back_s:.3f}"))
    return tuple(steps)


def _afterwards(kept: tuple[Kept, ...]) -> Iterator[Afterwards]:
    for k in kept:
        match k.entry:
            case e.JobSigned(who=who):
                yield Afterwards(k.sequence, k.at, f"signed by {who}")
            case e.SoundForgotten(clips=clips, who=who):
                by = f", by {who}" if who else ""
                yield Afterwards(k.sequence, k.at, f"the sound of {len(clips)} clips removed{by}")


def _ears(kept: tuple[Kept, ...]) -> tuple[str, ...]:
    return once(k.entry.ears for k in kept if isinstance(k.entry, e.JobOpened | e.JobResumed))


def _ended(kept: tuple[Kept, ...]) -> str:
    """When it was finished, else when last something was done: what comes afterwards is no work on the machine."""
    finished = (k.at for k in reversed(kept) if isinstance(k.entry, e.JobFinished))
    done = (k.at for k in reversed(kept) if _is_work(k.entry))
    return next(finished, "") or next(done, "")


def _is_work(entry: e.Entry) -> bool:
    return not isinstance(entry, e.AFTERWARDS) and getattr(entry, "why", "") != JUDGED_AGAIN


def _technicians(kept: tuple[Kept, ...]) -> tuple[str, ...]:
    """Who was named at a start, in order; one who is not named leaves no mark."""
    named = (k.entry.technician for k in kept if isinstance(k.entry, e.JobOpened | e.JobResumed))
    return tuple(name for name in once(named) if name)

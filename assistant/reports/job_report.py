"""A job's entries as a report: what was done, measured, fitted and found, and what the foreman should look at.

The report is made of the entries alone. Of the texts in the first entry headings are taken, leniently (the titles of
steps, the machine's model, the shop's name; a text that cannot be read costs its heading and nothing else), and what
other words would have meant (`own_texts`).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from functools import lru_cache
from itertools import pairwise

from assistant.core import entries as e
from assistant.core.entries import Kept
from assistant.core.judging import JUDGED_AGAIN
from assistant.core.problems import FileProblems
from assistant.core.turns.opening import REASON_UNHEARD
from assistant.files.yaml_source import Complaints, Items, Node, Table, Text, parse_yaml
from assistant.reports.looks import Look, looks_of
from assistant.reports.own_texts import OwnTexts
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
from assistant.reports.values import Correction, Value, corrections_of, values_of


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
    opened = next((k.entry for k in kept if isinstance(k.entry, e.JobOpened)), None)
    texts = OwnTexts(opened, kept)
    steps = _steps(kept, opened, texts)
    corrections, clock, devices = corrections_of(kept), _clock(kept), _devices(kept)
    finished = any(isinstance(k.entry, e.JobFinished) for k in kept)
    return JobReport(
        job=opened.job if opened else "",
        procedure=(texts.procedure or _heading(opened.procedure_text, "title", opened.procedure)) if opened else "",
        machine=_heading(opened.sheet_text, "model") if opened else "",
        shop=_heading(opened.site_text, "shop") if opened else "",
        program=opened.program if opened else "",
        ears=_ears(kept),
        technicians=_technicians(kept),
        began=kept[0].at if kept else "",
        ended=_ended(kept),
        finished=finished,
        resumed=tuple(k.at for k in kept if isinstance(k.entry, e.JobResumed)),
        entries=len(kept),
        steps=steps,
        corrections=corrections,
        devices=devices,
        clock=clock,
        looks=_with_clips(looks_of(steps, corrections, devices, clock, finished), kept),
        afterwards=tuple(_afterwards(kept)),
        customer=opened.customer if opened else "",
        number=opened.number if opened else "",
        decisions=decisions_of(kept),
        questions=questions_of(kept),
        upheld=upheld_of(kept),
    )


def _steps(kept: tuple[Kept, ...], opened: e.JobOpened | None, texts: OwnTexts) -> tuple[StepReport, ...]:
    by_step: dict[str, list[Kept]] = {}
    for k in kept:
        step = getattr(k.entry, "step", "")
        if step:
            by_step.setdefault(step, []).append(k)
    values: dict[str, list[Value]] = {}
    for value in values_of(kept, texts.means_else):
        values.setdefault(value.step, []).append(value)
    return tuple(
        _step(step, own, texts, texts.title(step) or _title(step, opened), tuple(values.get(step, ())))
        for step, own in by_step.items()
    )


def _step(step_id: str, own: list[Kept], texts: OwnTexts, title: str, values: tuple[Value, ...]) -> StepReport:
    status, reason, reason_entry, ended = _status(own)
    doubted = (k.entry.unsure for k in own if isinstance(k.entry, e.StepOpened | e.StepUnable))
    return StepReport(
        id=step_id,
        title=title,
        status=status,
        reason=reason,
        reason_entry=reason_entry,
        opened=own[0].at,
        ended=ended,
        cautions=_once(k.entry.caution for k in own if isinstance(k.entry, e.CautionAnswered)),
        affirmed=_once(
            f"{k.entry.condition}: {k.entry.is_now}" for k in own if isinstance(k.entry, e.ConditionAffirmed)
        ),
        doubted=_once(condition for unsure in doubted for condition in unsure),
        counted_s=tuple(k.entry.seconds for k in own if isinstance(k.entry, e.Counted)),
        values=values,
        parts=tuple(_part(k, k.entry) for k in own if isinstance(k.entry, e.PartScanned)),
        remarks=(*(_remark(k, k.entry) for k in own if isinstance(k.entry, e.RemarkKept)), *findings_of(values, texts)),
        photographs=tuple(_photograph(k, k.entry, texts) for k in own if isinstance(k.entry, e.PhotographKept)),
        lacking=_lacking(step_id, own, texts),
        unclear=sum(isinstance(k.entry, e.HeardUnclear) for k in own),
        ended_entry=next((k.sequence for k in reversed(own) if isinstance(k.entry, e.StepDone | e.StepUnable)), 0),
        doubted_entry=next((k.sequence for k in own if getattr(k.entry, "unsure", ())), 0),
    )


def _status(own: list[Kept]) -> tuple[str, str, int, str]:
    """Status, reason, its entry and the end by the last entry that says so: a step opened again is open."""
    for k in reversed(own):
        match k.entry:
            case e.StepDone():
                return "done", "", 0, k.at
            case e.StepUnable(reason=reason):
                return "unable", "" if reason == REASON_UNHEARD else reason, k.sequence, k.at
            case e.StepPassed(condition=condition, is_now=value):
                return "passed over", f"{condition} is {value}", k.sequence, k.at
            case e.StepOpened():
                return "open", "", 0, ""
    return "open", "", 0, ""


def _with_clips(looks: tuple[Look, ...], kept: tuple[Kept, ...]) -> tuple[Look, ...]:
    """Reasons and corrections were spoken too: their looks get the clip of their entry."""
    clips = {k.sequence: k.clip for k in kept}
    spoken = ("not done", "corrected")
    return tuple(replace(look, clip=clips.get(look.sequence, "")) if look.kind in spoken else look for look in looks)


def _part(k: Kept, p: e.PartScanned) -> Part:
    return Part(
        k.sequence, k.at, p.step, p.role, p.answer, p.kept,
        p.gtin, p.number, p.lot, p.serial, p.expiry, p.text, p.why, k.clip, p.count,
    )  # fmt: skip


def _remark(k: Kept, r: e.RemarkKept) -> Remark:
    return Remark(k.sequence, k.at, r.step, r.about, r.words, k.clip)


def findings_of(values: Iterable[Value], texts: OwnTexts) -> Iterator[Remark]:
    """The findings that the procedure has for values that are not as they should be: the words are its own."""
    for v in values:
        finding = texts.finding(v.step, v.name)
        if finding is not None and v.out_of_limits:
            words = f"{finding.say}{', price later' if finding.price_later else ''}"
            yield Remark(v.sequence, v.time, v.step, "finding", words, v.clip, written=True)


def _photograph(k: Kept, p: e.PhotographKept, texts: OwnTexts) -> Photograph:
    return Photograph(k.sequence, k.at, p.step, texts.photographs(p.step).get(p.name, p.name), p.trouble, k.clip)


def _lacking(step_id: str, own: list[Kept], texts: OwnTexts) -> tuple[str, ...]:
    """Photographs that were wanted, of a step that was done without."""
    kept = {k.entry.name for k in own if isinstance(k.entry, e.PhotographKept)}
    done = any(isinstance(k.entry, e.StepDone) for k in own)
    return tuple(of for name, of in texts.photographs(step_id).items() if done and name not in kept)


def _devices(kept: tuple[Kept, ...]) -> tuple[DeviceChange, ...]:
    return tuple(
        DeviceChange(k.sequence, k.at, k.entry.device, k.entry.state, k.entry.why)
        for k in kept
        if isinstance(k.entry, e.DeviceChanged)
    )


def _clock(kept: tuple[Kept, ...]) -> tuple[ClockStep, ...]:
    steps = []
    for before, after in pairwise(kept):
        back_s = (datetime.fromisoformat(before.at) - datetime.fromisoformat(after.at)).total_seconds()
        if back_s > 0:
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
    return _once(k.entry.ears for k in kept if isinstance(k.entry, e.JobOpened | e.JobResumed))


def _ended(kept: tuple[Kept, ...]) -> str:
    """When it was finished, else when last something was done: what comes afterwards is no work on the machine."""
    finished = [k.at for k in kept if isinstance(k.entry, e.JobFinished)]
    done = [k.at for k in kept if not isinstance(k.entry, e.AFTERWARDS) and getattr(k.entry, "why", "") != JUDGED_AGAIN]
    return (finished or done or [""])[-1]


def _technicians(kept: tuple[Kept, ...]) -> tuple[str, ...]:
    """Who was named at a start, in order; one who is not named leaves no mark."""
    named = (k.entry.technician for k in kept if isinstance(k.entry, e.JobOpened | e.JobResumed))
    return tuple(name for name in _once(named) if name)


def _once(texts: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(texts))


@lru_cache(maxsize=64)
def _read(text: str) -> Mapping[str, Node]:
    """Its keys, read as the program reads a procedure: nothing that refers to itself, or grows when it is read."""
    try:
        table = parse_yaml(text, Complaints("text of the job"))
    except FileProblems:
        return {}
    return table.entries if table else {}


def _heading(text: str, key: str, otherwise: str = "") -> str:
    return _text(_read(text).get(key)) or otherwise


@lru_cache(maxsize=64)
def _titles(procedure_text: str) -> Mapping[str, str]:
    steps = _read(procedure_text).get("steps")
    tables = [one.entries for one in (steps.items if isinstance(steps, Items) else ()) if isinstance(one, Table)]
    named = ((_text(table.get("id")), _text(table.get("title"))) for table in tables)
    return {step: title for step, title in named if step and title}


def _text(node: Node | None) -> str:
    return node.value if isinstance(node, Text) else ""


def _title(step_id: str, opened: e.JobOpened | None) -> str:
    """The step's title by the text alone. A step for each cylinder has ids like plug.2, its title a place for the number."""
    titles = _titles(opened.procedure_text) if opened else {}
    if step_id in titles:
        return titles[step_id]
    stem, _, number = step_id.rpartition(".")
    if stem in titles:
        filled = re.sub(r"\{\w+\}", number, titles[stem])
        return filled if filled != titles[stem] else f"{filled}, {number}"
    return step_id.replace("_", " ").replace("-", " ")

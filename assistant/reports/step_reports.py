"""A job's entries step by step: how each ended, what was measured, fitted, remarked and photographed in it, what it lacks."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from assistant.core import entries as e
from assistant.core.entries import Kept
from assistant.core.turns.opening import REASON_UNHEARD
from assistant.reports.own_texts import OwnTexts, title_by_text
from assistant.reports.sections import Part, Photograph, Remark, StepReport
from assistant.reports.values import Value


def steps_of(
    kept: tuple[Kept, ...], opened: e.JobOpened | None, texts: OwnTexts, found: tuple[Value, ...]
) -> tuple[StepReport, ...]:
    """Every step of which anything was kept, in the order of its first entry; `found` are the current values of the job."""
    by_step: dict[str, list[Kept]] = {}
    for k in kept:
        step = getattr(k.entry, "step", "")
        if step:
            by_step.setdefault(step, []).append(k)
    values: dict[str, list[Value]] = {}
    for value in found:
        values.setdefault(value.step, []).append(value)
    return tuple(
        _step(step, own, texts, texts.title(step) or title_by_text(step, opened), tuple(values.get(step, ())))
        for step, own in by_step.items()
    )


OFTEN = (e.ReadingKept, e.Amended, e.CommandHeard, e.HeardUnclear)
"""Most of what is kept of a step, and told elsewhere: by `values`, or by its number alone."""


def _step(step_id: str, every: list[Kept], texts: OwnTexts, title: str, values: tuple[Value, ...]) -> StepReport:
    own = [k for k in every if type(k.entry) not in OFTEN]
    status, reason, reason_entry, ended = _status(own)
    doubted = (k.entry.unsure for k in own if isinstance(k.entry, e.StepOpened | e.StepUnable))
    return StepReport(
        id=step_id,
        title=title,
        status=status,
        reason=reason,
        reason_entry=reason_entry,
        opened=every[0].at,
        ended=ended,
        cautions=once(k.entry.caution for k in own if isinstance(k.entry, e.CautionAnswered)),
        affirmed=once(
            f"{k.entry.condition}: {k.entry.is_now}" for k in own if isinstance(k.entry, e.ConditionAffirmed)
        ),
        doubted=once(condition for unsure in doubted for condition in unsure),
        counted_s=tuple(k.entry.seconds for k in own if isinstance(k.entry, e.Counted)),
        values=values,
        parts=tuple(_part(k, k.entry) for k in own if isinstance(k.entry, e.PartScanned)),
        remarks=(*(_remark(k, k.entry) for k in own if isinstance(k.entry, e.RemarkKept)), *_findings(values, texts)),
        photographs=tuple(_photograph(k, k.entry, texts) for k in own if isinstance(k.entry, e.PhotographKept)),
        lacking=_lacking(step_id, own, texts),
        unclear=sum(type(k.entry) is e.HeardUnclear for k in every),
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


def _part(k: Kept, p: e.PartScanned) -> Part:
    return Part(
        k.sequence, k.at, p.step, p.role, p.answer, p.kept,
        p.gtin, p.number, p.lot, p.serial, p.expiry, p.text, p.why, k.clip, p.count,
    )  # fmt: skip


def _remark(k: Kept, r: e.RemarkKept) -> Remark:
    return Remark(k.sequence, k.at, r.step, r.about, r.words, k.clip)


def _findings(values: Iterable[Value], texts: OwnTexts) -> Iterator[Remark]:
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


def once(texts: Iterable[str]) -> tuple[str, ...]:
    """Each text once, in the order in which it first comes."""
    return tuple(dict.fromkeys(texts))

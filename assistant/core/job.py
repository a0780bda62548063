"""What stands in the job so far: the fold of its entries. Resume is this fold again.

Rules for maintainers: `apply` never asks the clock or the procedure; all it needs is in the entry. Nothing here is undone:
going back opens a step again and keeps its readings, a correction takes the place of the reading that it names.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import cached_property

from assistant.core import entries as e
from assistant.core.conditions import UNSURE
from assistant.core.labels.part_check import Taken, same_key
from assistant.core.units import Amount

ReadingKey = tuple[str, str, str]
"""Step id, reading name, place ("cylinder 2" or "")."""


@dataclass(frozen=True)
class Job:
    """The state that entries make. `step` is the open step ("" before the first and after the last).

    `signed` is the sequence of the last signed entry, 0 if none; `asked_back` what the foreman asked and nobody answered.
    """

    opened: e.JobOpened | None = None
    step: str = ""
    status: Mapping[str, str] = field(default_factory=dict)
    conditions: Mapping[str, str] = field(default_factory=dict)
    cautions: frozenset[str] = frozenset()
    readings: Mapping[ReadingKey, e.Kept] = field(default_factory=dict)
    parts: Mapping[tuple[str, str], tuple[e.Kept, ...]] = field(default_factory=dict)
    used: frozenset[str] = frozenset()
    photographs: frozenset[tuple[str, str]] = frozenset()
    remarks: tuple[e.Kept, ...] = ()
    counted: frozenset[str] = frozenset()
    last_reading: e.Kept | None = None
    finished: bool = False
    signed: int = 0
    asked_back: tuple[e.Kept, ...] = ()
    length: int = 0

    @cached_property
    def earlier(self) -> Mapping[ReadingKey, Amount]:
        """Last season's readings of this machine, as far as the job was opened with them."""
        rows = self.opened.earlier if self.opened else ()
        return {(step, name, at): Amount(Decimal(value), unit) for step, name, at, value, unit in rows}

    @cached_property
    def parts_taken(self) -> Taken:
        """The packets that were taken, as `check_part` wants them."""
        counts: dict[str, int] = {}
        learnt: dict[str, frozenset[str]] = {}
        for part in self.parts_kept:
            product = part.gtin or part.number
            if product and not part.serial:
                key = same_key(product, part.lot)
                counts[key] = counts.get(key, 0) + part.count
            if product and part.answer == "not known":
                learnt[part.role] = learnt.get(part.role, frozenset()) | {product.upper()}
        return Taken(self.used, counts, learnt)

    @property
    def parts_kept(self) -> tuple[e.PartScanned, ...]:
        """Every part that was taken, role by role."""
        return tuple(k.entry for kept in self.parts.values() for k in kept if isinstance(k.entry, e.PartScanned))

    def pieces(self, step: str, role: str) -> int:
        """How many pieces of a part were taken at a step."""
        kept = self.parts.get((step, role), ())
        return sum(k.entry.count for k in kept if isinstance(k.entry, e.PartScanned))

    def chosen(self, step: str) -> Mapping[str, str]:
        """The answers kept at a step: reading -> value, of readings without places."""
        kept = ((key, k.entry) for key, k in self.readings.items() if key[0] == step and not key[2])
        return {name: entry.value for (_, name, _), entry in kept if isinstance(entry, e.ReadingKept)}

    def reading(self, step: str, name: str, at: str) -> e.ReadingKept | None:
        """The value kept there now."""
        kept = self.readings.get((step, name, at))
        return kept.entry if kept and isinstance(kept.entry, e.ReadingKept) else None


def apply(job: Job, kept: e.Kept) -> Job:
    """The job with one more entry. Raises ValueError when the sequence does not follow."""
    if kept.sequence != job.length + 1:
        raise ValueError(f"entry {kept.sequence} cannot follow entry {job.length}")
    return replace(_applied(job, kept), length=kept.sequence)


def fold(kept: Iterable[e.Kept]) -> Job:
    """The job that these entries make."""
    job = Job()
    for one in kept:
        job = apply(job, one)
    return job


def _applied(job: Job, kept: e.Kept) -> Job:
    entry = kept.entry
    match entry:
        case e.JobOpened():
            return replace(job, opened=entry, conditions=dict(entry.conditions))
        case e.JobResumed():
            return replace(job, cautions=frozenset())  # nobody knows what happened meanwhile: they are said again
        case e.CautionAnswered(caution=caution):
            return replace(job, cautions=job.cautions | {caution})
        case e.ConditionAffirmed(condition=condition, is_now=value):
            return replace(job, conditions={**job.conditions, condition: value})
        case e.ReadingKept():
            key = (entry.step, entry.name, entry.at)
            return replace(job, readings=_with_reading(job, key, kept), last_reading=_last_reading(job, kept))
        case e.PartScanned(kept=True):
            return _with_part(job, entry, kept)
        case e.PhotographKept(step=step, name=name):
            return replace(job, photographs=job.photographs | {(step, name)})
        case e.RemarkKept():
            return replace(job, remarks=(*job.remarks, kept))
        case e.JobFinished():
            return replace(job, finished=True, step="")
        case e.JobSigned() | e.QuestionAsked() | e.QuestionAnswered():
            return _foreman_applied(job, kept)
        case _:
            return _step_applied(job, entry)


def _foreman_applied(job: Job, kept: e.Kept) -> Job:
    match kept.entry:
        case e.QuestionAsked():
            return replace(job, asked_back=(*job.asked_back, kept))
        case e.QuestionAnswered(question=question):
            return replace(job, asked_back=tuple(k for k in job.asked_back if k.sequence != question))
        case _:
            return replace(job, signed=kept.sequence)


def _step_applied(job: Job, entry: e.Entry) -> Job:
    match entry:
        case e.StepOpened(step=step, unsure=unsure):
            opened = replace(job, step=step, cautions=frozenset(), counted=job.counted - {step})
            return replace(opened, status=_without(job.status, step), conditions=_doubted(job, unsure))
        case e.Counted(step=step):
            return replace(job, counted=job.counted | {step})
        case e.StepDone(step=step, makes=makes):
            return replace(job, status={**job.status, step: "done"}, conditions={**job.conditions, **dict(makes)})
        case e.StepPassed(step=step):
            return replace(job, step=step, status={**job.status, step: job.status.get(step, "passed")})
        case e.StepUnable(step=step, unsure=unsure):
            return replace(job, status={**job.status, step: "unable"}, conditions=_doubted(job, unsure))
        case _:
            return job


def _doubted(job: Job, unsure: tuple[str, ...]) -> Mapping[str, str]:
    return {**job.conditions, **dict.fromkeys(unsure, UNSURE)}


def _without(status: Mapping[str, str], step: str) -> Mapping[str, str]:
    return {k: v for k, v in status.items() if k != step}


def _with_reading(job: Job, key: ReadingKey, kept: e.Kept) -> Mapping[ReadingKey, e.Kept]:
    """The kept readings with this one; one that it replaces elsewhere (another cylinder was meant) goes."""
    entry = kept.entry
    assert isinstance(entry, e.ReadingKept)
    readings = dict(job.readings)
    if entry.replaces:
        for gone in [k for k, v in readings.items() if v.sequence == entry.replaces]:
            del readings[gone]
    readings[key] = kept
    return readings


def _last_reading(job: Job, kept: e.Kept) -> e.Kept | None:
    """What the technician said last: an amendment only takes the place of it when it is what was amended."""
    last = job.last_reading
    if isinstance(kept.entry, e.Amended) and (last is None or last.sequence != kept.entry.replaces):
        return last
    return kept


def _with_part(job: Job, entry: e.PartScanned, kept: e.Kept) -> Job:
    place = (entry.step, entry.role)
    parts = {**job.parts, place: (*job.parts.get(place, ()), kept)}
    used = job.used | {f"{entry.gtin or entry.number}/{entry.serial}"} if entry.serial else job.used
    return replace(job, parts=parts, used=used)

"""Numbers that a machine sheet lacks, asked of the technician in the bay: looked up in the manual, read out, affirmed.

A sheet that says `look_up: yes` may lack numbers. The procedure then begins with a step for each (the number, then its page),
and one that has each of them affirmed like a condition of the machine. All of it is in the job file, so that the procedure at
any moment follows from the texts and the entries alone (`LookUps.bound`): a resume, a report and the talk itself come to the
same. Until a number is affirmed nothing is judged by it, and where it would be spoken the manual is named instead; so the
procedure can be run, and proved, at every moment.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from assistant.core.binding import PLACEHOLDER, Bound, bind
from assistant.core.computing import parts_of
from assistant.core.entries import Amended, JobOpened, JobResumed, Kept, ReadingKept
from assistant.core.job import Job, fold
from assistant.core.look_up_steps import (
    NUMBER,
    PAGE,
    condition_of,
    gate_step,
    in_words,
    look_up_step,
    step_id,
)
from assistant.core.machine import MachineSheet, NamedValue, Site
from assistant.core.procedure import Limit, Procedure, Step
from assistant.core.sheet_needs import Need, needs_of
from assistant.core.speech.language import Language
from assistant.core.speech.sources import page_of
from assistant.core.units import Amount

People = tuple[tuple[int, str], ...]
"""Who worked from which entry on: (sequence, name), in order."""


@dataclass(frozen=True)
class LookUps:
    """The texts of a job, and the numbers that they lack."""

    procedure: Procedure
    sheet: MachineSheet
    site: Site
    needs: tuple[Need, ...]

    def bound(self, job: Job, people: People) -> Bound:
        """The whole procedure as of now: the steps that look up, and the rest with what has been affirmed."""
        known = self._known(job, people)
        rest, refused, language = self._rest(known), [], self.site.language
        if rest.problems and known:  # a number that does not fit is as good as none; which one, is found one by one
            fitting: dict[str, NamedValue] = {}
            for name, value in known.items():
                if self._rest({**fitting, name: value}).problems:
                    refused.append(name)
                else:
                    fitting[name] = value
            rest = self._rest(fitting)
        steps = (*(look_up_step(need, language) for need in self.needs), gate_step(self._said(job), refused, language))
        return replace(rest, procedure=replace(rest.procedure, steps=(*steps, *rest.procedure.steps)))

    def _rest(self, known: Mapping[str, NamedValue]) -> Bound:
        """The procedure itself, with these numbers and without whatever hangs on the others."""
        lacking = {need.name for need in self.needs} - set(known)
        sheet = replace(self.sheet, values={**self.sheet.values, **known})
        return bind(_without(self.procedure, lacking, self.site.language), sheet, self.site)

    def _said(self, job: Job) -> dict[str, str]:
        """Name -> number and page in words, of those that were read out."""
        found = ((need.name, _read_out(job, need)) for need in self.needs)
        return {name: in_words(*read, self.site) for name, read in found if read}

    def _known(self, job: Job, people: People) -> dict[str, NamedValue]:
        """The numbers that stand: affirmed as they were read out, or put right by the foreman."""
        known = {}
        for need in self.needs:
            read = _read_out(job, need)
            if read is None:
                continue
            number, page = read
            said = in_words(number, page, self.site)
            if job.conditions.get(condition_of(need.name, self.site.language)) == said or isinstance(number, Amended):
                kept = job.readings[step_id(need.name), NUMBER, ""]
                known[need.name] = self._value(need.name, number, page, kept, people)
        return known

    def _value(self, name: str, number: ReadingKept, page: str, kept: Kept, people: People) -> NamedValue:
        who = [by for sequence, by in people if sequence <= kept.sequence and by]
        by, on = who[-1] if who else "the technician", date.fromisoformat(kept.at[:10])
        source = f"{page_of(self.sheet.manual or 'manual', page)}, read out by {by} on {on}"
        return NamedValue(name, Amount(Decimal(number.value), number.unit), source, by, on)


def look_ups_of(procedure: Procedure, sheet: MachineSheet, site: Site) -> LookUps | None:
    """What has to be looked up in the bay; None where nothing has, or where the sheet does not say `look_up: yes`.

    Only numbers whose kind is known: others stay a problem of the texts.
    """
    needs = needs_of(procedure, site.values).values
    missing = tuple(need for need in needs.values() if need.kind and need.name not in sheet.values)
    return LookUps(procedure, sheet, site, missing) if sheet.look_up and missing else None


def bound_as_of(procedure: Procedure, sheet: MachineSheet, site: Site, entries: tuple[Kept, ...]) -> Bound:
    """The procedure for this machine and shop with what was looked up in these entries; `bind`, where nothing has to be."""
    look_ups = look_ups_of(procedure, sheet, site)
    if look_ups is None:
        return bind(procedure, sheet, site)
    return look_ups.bound(fold(entries), people_in(entries))


def people_in(entries: Iterable[Kept]) -> People:
    """Who worked from which entry on."""
    begun = ((kept.sequence, kept.entry) for kept in entries)
    return tuple((at, entry.technician) for at, entry in begun if isinstance(entry, JobOpened | JobResumed))


def may_change(kept: Kept) -> bool:
    """Can the procedure be another one after this entry."""
    return str(getattr(kept.entry, "step", "")).startswith(step_id(""))


def _read_out(job: Job, need: Need) -> tuple[ReadingKept, str] | None:
    number = job.reading(step_id(need.name), NUMBER, "")
    page = job.reading(step_id(need.name), PAGE, "")
    return (number, page.value) if number and page else None


# What hangs on a number that is not known


def _without(procedure: Procedure, lacking: Collection[str], language: Language) -> Procedure:
    """The procedure with nothing in it that needs one of these."""
    gone, works = set(lacking), []
    for work in procedure.worked_out:
        if any(part in gone for given in work.inputs.values() for part in parts_of(given)):
            gone.add(work.name)
        else:
            works.append(work)
    steps = tuple(_step_without(step, gone, language) for step in procedure.steps)
    return replace(procedure, worked_out=tuple(works), steps=steps)


def _step_without(step: Step, gone: Collection[str], language: Language) -> Step:
    for_it = language.phrase("as the manual says")

    def said(text: str) -> str:
        return PLACEHOLDER.sub(lambda found: for_it if found[1] in gone else found[0], text)

    readings = tuple(
        replace(r, ask=said(r.ask), limits=tuple(limit for limit in r.limits if not _hangs(limit, gone)))
        for r in step.readings
    )
    texts = replace(step, title=said(step.title), say=said(step.say), cautions=tuple(map(said, step.cautions)))
    if step.countdown:
        counted = step.countdown
        texts = replace(texts, countdown=replace(counted, start=said(counted.start), end=said(counted.end)))
    if step.tighten and step.tighten.torque in gone:
        texts = replace(
            texts, tighten=None, wait_for_done=True, say=f"{texts.say} {language.phrase('the torque', torque=for_it)}"
        )
    return replace(texts, readings=readings)


def _hangs(limit: Limit, gone: Collection[str]) -> bool:
    given = (part for _, parts in limit.inputs for part in parts_of(parts))
    used = (limit.low, limit.high, limit.target, limit.tolerance, limit.uncertainty, *given)
    return any(isinstance(name, str) and name in gone for name in used)

"""A procedure for a class of machines, made one for this machine in this shop.

Names of values become amounts (from the machine sheet, the site, or worked out by a trade computation), `{name}` in
what is said becomes the amount as it is spoken, and what is `each: cylinder` becomes one step or position a cylinder.
Nothing is guessed: a name that nothing gives is a problem with the line of its step.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from difflib import get_close_matches

from assistant.core.computing import compute, input_named, misnamed, parts_of
from assistant.core.joint_steps import steps_of
from assistant.core.limit_binding import Known, bind_limit
from assistant.core.machine import MachineSheet, NamedValue, Site
from assistant.core.problems import FileProblem, Place
from assistant.core.procedure import (
    Countdown,
    Given,
    Joint,
    Limit,
    OfReading,
    Procedure,
    Reading,
    Step,
    Value,
    WorkedOut,
)
from assistant.core.sheet_unit import in_sheet_unit
from assistant.core.speech.english import ENGLISH
from assistant.core.speech.language import Language
from assistant.core.trade.inputs import Computation
from assistant.core.trade.registry import BY_NAME
from assistant.core.units import Amount, plain

PLACEHOLDER = re.compile(r"\{([^{}]*)\}")
SPOKEN_DECIMALS = Decimal("0.001")


@dataclass(frozen=True)
class Bound:
    """The procedure as it will be run, and what stands in the way of running it."""

    procedure: Procedure
    problems: tuple[FileProblem, ...]


def bind(procedure: Procedure, sheet: MachineSheet, site: Site) -> Bound:
    """Bind to one machine sheet and one site. With problems, names that were not found stay as they are."""
    binder = _Binder(procedure, sheet, site)
    binder.check_class()
    for work in procedure.worked_out:
        binder.work_out(work)
    steps = tuple(bound for step in procedure.steps for bound in binder.steps(step))
    return Bound(replace(procedure, steps=steps), tuple(binder.problems))


def say_amount(amount: Amount, language: Language = ENGLISH) -> str:
    """An amount as a prompt says it; the unit is always said.

    >>> say_amount(Amount(Decimal("-20"), "degF")), say_amount(Amount(Decimal(1), "us_qt"))
    ('minus 20 degrees Fahrenheit', '1 U S quart')
    """
    value = amount.value if amount.value == (short := amount.value.quantize(SPOKEN_DECIMALS)) else short
    one, many = language.units[amount.unit]
    sign = f"{language.phrase('minus')} " if value < 0 else ""
    return f"{sign}{plain(abs(value)).replace('.', language.point)} {one if value == 1 else many}".strip()


class _Binder:
    """The values known so far, and the problems found so far."""

    def __init__(self, procedure: Procedure, sheet: MachineSheet, site: Site) -> None:
        self.procedure = procedure
        self.sheet = sheet
        self.site = site
        self.problems: list[FileProblem] = []
        self.values: dict[str, NamedValue] = dict(sheet.values)
        self.failed: set[str] = set()
        self.readings = {reading.name: reading for step in procedure.steps for reading in step.readings}
        for name, value in site.values.items():
            self.add_value(name, value, 0)

    def complain(self, line: int, what: str, do: str) -> None:
        self.problems.append(FileProblem(what, where=Place(self.procedure.file, line), do=do))

    def check_class(self) -> None:
        if self.procedure.machine_class != self.sheet.machine_class:
            what = f"this procedure is for '{self.procedure.machine_class}', the sheet for '{self.sheet.machine_class}'"
            self.complain(0, what, f"take another sheet than {self.sheet.file or self.sheet.model}")

    def add_value(self, name: str, value: NamedValue, line: int) -> None:
        if name in self.values:
            self.complain(line, f"the value '{name}' is given twice", "rename it in sheet, site or work_out")
        self.values[name] = value

    def amount(self, value: Value | None, line: int, where: str) -> Amount | None:
        """The amount itself; None, and a problem once, where its name is not known."""
        if not isinstance(value, str):
            return value
        if value in self.values:
            return self.values[value].amount
        if value not in self.failed:
            what = f"{where}: nothing gives the value '{value}'"
            self.complain(
                line,
                what,
                _advice(value, self.values, "give it in the sheet, in the site sheet (--site SITE) or in work_out"),
            )
        return None

    def work_out(self, work: WorkedOut) -> None:
        found = self._computed(work)
        if found is None:
            self.failed.add(work.name)
            return
        self.add_value(work.name, NamedValue(work.name, found, f"worked out by {work.by}"), work.line)

    def _computed(self, work: WorkedOut) -> Amount | None:
        where = f"work_out '{work.name}'"
        computation = BY_NAME.get(work.by)
        if computation is None:
            self.complain(work.line, f"{where}: there is no computation '{work.by}'", _advice(work.by, BY_NAME, ""))
            return None
        wrong = list(misnamed(computation, work.inputs))
        for _, what, do in wrong:
            self.complain(work.line, f"{where}: {what}", do)
        given = {name: self._given(computation, name, value, work) for name, value in work.inputs.items()}
        if wrong or any(None in parts for parts in given.values()):
            return None
        try:
            known = {name: [part for part in parts if part is not None] for name, parts in given.items()}
            return compute(computation, known, None).amount
        except ValueError as error:
            self.complain(work.line, f"{where}: {error}", "look at the values that it takes")
            return None

    def _given(self, computation: Computation, name: str, given: Given, work: WorkedOut) -> list[Amount | str | None]:
        """The amounts and words that an input is given; a None for each that is not known."""
        wanted = input_named(computation, name)
        found: list[Amount | str | None] = []
        for part in parts_of(given):
            if isinstance(part, OfReading):
                raise TypeError("a value is worked out before anything is read")
            by_name = isinstance(part, str) and wanted is not None and wanted.form == "amount"
            found.append(self.amount(part, work.line, f"work_out '{work.name}'") if by_name else part)
        return found

    def steps(self, step: Step) -> Iterable[Step]:
        """The step itself, or one for each position."""
        for role in step.parts:
            if role not in self.sheet.parts:
                what = f"step '{step.id}': the sheet has no part '{role}'"
                self.complain(step.line, what, _advice(role, self.sheet.parts, "add it to the sheet"))
        if step.tighten is not None:
            return self._turns(self._step(step, {}), step.tighten)
        if not step.each:
            return (self._step(step, {}),)
        return [
            replace(self._step(step, {step.each: str(n)}), id=f"{step.id}.{n}", at=n)
            for n in self._positions(step.each, step)
        ]

    def _turns(self, step: Step, joint: Joint) -> tuple[Step, ...]:
        """The step of a joint, one for each turn of the tool."""
        where = f"step '{step.id}'"
        count = len(self._positions(joint.fastener, step))
        torque = self.amount(joint.torque, step.line, where)
        if not count or torque is None:
            return (step,)
        try:
            return steps_of(step, joint, count, torque, self.site.language, self._said)
        except ValueError as error:
            self.complain(step.line, f"{where}: {error}", "look at the joint's 'tighten' and the sheet")
            return (step,)

    def _said(self, amount: Amount) -> str:
        return say_amount(amount, self.site.language)

    def _positions(self, each: str, step: Step) -> tuple[int, ...]:
        if each not in self.sheet.counts:
            what = f"step '{step.id}': the sheet does not count '{each}'"
            self.complain(step.line, what, _advice(each, self.sheet.counts, "add it to the sheet's counts"))
        return tuple(range(1, self.sheet.counts.get(each, 0) + 1))

    def _step(self, step: Step, here: Mapping[str, str]) -> Step:
        def said(text: str) -> str:
            return self._filled(text, here, step)

        language, countdown = self.site.language, step.countdown
        if countdown and countdown.start == Countdown.start:
            countdown = replace(countdown, start=language.phrase("count start"))
        if countdown and countdown.end == Countdown.end:
            countdown = replace(countdown, end=language.phrase("count end"))
        return replace(
            step,
            title=said(step.title),
            say=said(step.say),
            cautions=tuple(said(caution) for caution in step.cautions),
            photographs=tuple(replace(photograph, of=said(photograph.of)) for photograph in step.photographs),
            readings=tuple(replace(self._reading(r, step), ask=said(r.ask)) for r in step.readings),
            manual=self.sheet.pages.get(step.manual, ""),
            countdown=countdown and replace(countdown, start=said(countdown.start), end=said(countdown.end)),
        )

    def _filled(self, text: str, here: Mapping[str, str], step: Step) -> str:
        def spoken(match: re.Match[str]) -> str:
            name = match[1]
            if name in here:
                return here[name]
            amount = self.amount(name, step.line, f"step '{step.id}'")
            return name if amount is None else self._said(amount)

        filled = PLACEHOLDER.sub(spoken, text)
        if "{" in filled or "}" in filled:
            self.complain(step.line, f"step '{step.id}': a bracket too many in '{text}'", "write {name}")
        return filled

    def _reading(self, reading: Reading, step: Step) -> Reading:
        positions = reading.positions or (self._positions(reading.each, step) if reading.each else ())
        limits = tuple(
            limit if reading.kind == "date" and not limit.by else self._limit(limit, reading, step)
            for limit in reading.limits  # those of a date, by dates, name no value
        )
        return in_sheet_unit(replace(reading, positions=positions, limits=limits), reading.limits)

    def _limit(self, limit: Limit, reading: Reading, step: Step) -> Limit:
        line = limit.line or step.line
        where = f"step '{step.id}', reading '{reading.name}'"
        known = Known(
            self.values,
            self.readings,
            lambda value: self.amount(value, line, where),
            lambda what, do: self.complain(line, f"{where}: {what}", do),
        )
        return bind_limit(limit, reading, known)


def _advice(name: str, known: Iterable[str], otherwise: str) -> str:
    near = get_close_matches(name, list(known), n=1, cutoff=0.6)
    return f"did you mean '{near[0]}'?" if near else otherwise or f"known are: {', '.join(known)}"

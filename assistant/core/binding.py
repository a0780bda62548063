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

from assistant.core.problems import FileProblem, Place
from assistant.core.procedure import Limit, MachineSheet, NamedValue, Procedure, Reading, Site, Step, Value, WorkedOut
from assistant.core.trade.inputs import Computation
from assistant.core.trade.registry import BY_NAME
from assistant.core.units import SPOKEN, Amount, convert, kind_of, plain

PLACEHOLDER = re.compile(r"\{([^{}]*)\}")
SINGULAR = (("degrees", "degree"), ("inches", "inch"), ("feet", "foot"))
KEPT_WHOLE = {"P S I", "R P M", "thou", "percent", "bar"}
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


def say_amount(amount: Amount) -> str:
    """An amount as a prompt says it; the unit is always said.

    >>> say_amount(Amount(Decimal("-20"), "degF")), say_amount(Amount(Decimal(1), "us_qt"))
    ('minus 20 degrees Fahrenheit', '1 U S quart')
    """
    value = amount.value if amount.value == (short := amount.value.quantize(SPOKEN_DECIMALS)) else short
    unit = SPOKEN[amount.unit]
    if value == 1 and unit not in KEPT_WHOLE:
        unit = _singular(unit)
    return f"{'minus ' if value < 0 else ''}{plain(abs(value))} {unit}".strip()


def _singular(unit: str) -> str:
    for many, one in SINGULAR:
        if many in unit:
            return unit.replace(many, one)
    return unit.removesuffix("s")


class _Binder:
    """The values known so far, and the problems found so far."""

    def __init__(self, procedure: Procedure, sheet: MachineSheet, site: Site) -> None:
        self.procedure = procedure
        self.sheet = sheet
        self.site = site
        self.problems: list[FileProblem] = []
        self.values: dict[str, NamedValue] = dict(sheet.values)
        self.failed: set[str] = set()
        self.units = {reading.name: reading.unit for step in procedure.steps for reading in step.readings}
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
        inputs = {name: self.amount(value, work.line, where) for name, value in work.inputs.items()}
        if not self._takes(computation, work, where) or None in inputs.values():
            return None
        try:
            return computation(**inputs).amount
        except ValueError as error:
            self.complain(work.line, f"{where}: {error}", "look at the values that it takes")
            return None

    def _takes(self, computation: Computation, work: WorkedOut, where: str) -> bool:
        wanted = tuple(i.name for i in computation.inputs)
        needed = {i.name for i in computation.inputs if i.needed}
        wrong = sorted((set(work.inputs) - set(wanted)) | (needed - set(work.inputs)))
        for name in wrong:
            what = "does not take" if name in work.inputs else "needs"
            self.complain(work.line, f"{where}: {work.by} {what} '{name}'", f"it takes {', '.join(wanted)}")
        return not wrong

    def steps(self, step: Step) -> Iterable[Step]:
        """The step itself, or one for each position."""
        for role in step.parts:
            if role not in self.sheet.parts:
                what = f"step '{step.id}': the sheet has no part '{role}'"
                self.complain(step.line, what, _advice(role, self.sheet.parts, "add it to the sheet"))
        if not step.each:
            return (self._step(step, {}),)
        return [
            replace(self._step(step, {step.each: str(n)}), id=f"{step.id}.{n}", at=n)
            for n in self._positions(step.each, step)
        ]

    def _positions(self, each: str, step: Step) -> tuple[int, ...]:
        if each not in self.sheet.counts:
            what = f"step '{step.id}': the sheet does not count '{each}'"
            self.complain(step.line, what, _advice(each, self.sheet.counts, "add it to the sheet's counts"))
        return tuple(range(1, self.sheet.counts.get(each, 0) + 1))

    def _step(self, step: Step, here: Mapping[str, str]) -> Step:
        def said(text: str) -> str:
            return self._filled(text, here, step)

        countdown = step.countdown
        return replace(
            step,
            title=said(step.title),
            say=said(step.say),
            cautions=tuple(said(caution) for caution in step.cautions),
            readings=tuple(replace(self._reading(r, step), ask=said(r.ask)) for r in step.readings),
            countdown=countdown and replace(countdown, start=said(countdown.start), end=said(countdown.end)),
        )

    def _filled(self, text: str, here: Mapping[str, str], step: Step) -> str:
        def spoken(match: re.Match[str]) -> str:
            name = match[1]
            if name in here:
                return here[name]
            amount = self.amount(name, step.line, f"step '{step.id}'")
            return name if amount is None else say_amount(amount)

        filled = PLACEHOLDER.sub(spoken, text)
        if "{" in filled or "}" in filled:
            self.complain(step.line, f"step '{step.id}': a bracket too many in '{text}'", "write {name}")
        return filled

    def _reading(self, reading: Reading, step: Step) -> Reading:
        positions = reading.positions or (self._positions(reading.each, step) if reading.each else ())
        if reading.kind == "date":
            return replace(reading, positions=positions)  # its limits are dates, and name no value
        limits = tuple(self._limit(limit, reading, step) for limit in reading.limits)
        return replace(reading, positions=positions, limits=limits)

    def _limit(self, limit: Limit, reading: Reading, step: Step) -> Limit:
        where = f"step '{step.id}', reading '{reading.name}'"
        if limit.rule == "spread" and (not reading.each or kind_of(reading.unit) == "temperature"):
            self.complain(step.line, f"{where}: a spread is of a set", "give the reading 'each', or another limit")
        if limit.rule == "same_as" and kind_of(self.units.get(limit.other, "")) != kind_of(reading.unit):
            what = f"{where}: '{limit.other}' is measured in '{self.units.get(limit.other)}', not in '{reading.unit}'"
            self.complain(step.line, what, "compare readings of one kind")
        low = self._bound(limit.low, reading, step, where)
        high = self._bound(limit.high, reading, step, where)
        if low and high and kind_of(low.unit) == kind_of(high.unit) and low.value > convert(high, low.unit).value:
            self.complain(step.line, f"{where}: nothing lies between {low} and {high}", "write [low, high]")
        return replace(limit, low=low or limit.low, high=high or limit.high, source=limit.source or self._source(limit))

    def _bound(self, value: Value | None, reading: Reading, step: Step, where: str) -> Amount | None:
        amount = self.amount(value, step.line, where)
        if amount is None:
            return None
        if kind_of(amount.unit) != kind_of(reading.unit):
            what = f"{where}: {amount} is a {kind_of(amount.unit)}, the reading a {kind_of(reading.unit)}"
            self.complain(step.line, what, "give both the same kind of unit")
        elif not reading.plausible[0] <= convert(amount, reading.unit).value <= reading.plausible[1]:
            what = f"{where}: the limit {amount} lies outside of what is plausible"
            self.complain(step.line, what, "widen 'plausible', or mend the limit")
        return amount

    def _source(self, limit: Limit) -> str:
        """Where the named bounds of the limit come from."""
        names = [name for name in (limit.low, limit.high) if isinstance(name, str) and name in self.values]
        return "; ".join(dict.fromkeys(self.values[name].source for name in names))


def _advice(name: str, known: Iterable[str], otherwise: str) -> str:
    near = get_close_matches(name, list(known), n=1, cutoff=0.6)
    return f"did you mean '{near[0]}'?" if near else otherwise or f"known are: {', '.join(known)}"

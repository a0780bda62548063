"""What a procedure wants of a machine sheet: numbers with the kind they must be of, positions to count, parts.

Nothing is bound here: a sheet may be empty yet, and is filled in by this list.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass

from assistant.core.binding import PLACEHOLDER
from assistant.core.computing import input_named, parts_of
from assistant.core.procedure import Limit, Procedure, Reading, Step, WorkedOut
from assistant.core.trade.limits import difference_unit
from assistant.core.trade.registry import BY_NAME
from assistant.core.units import KINDS, kind_of

KEPT_BY_A_TOLERANCE = "target"
"""The input whose kind and size a tolerance keeps: what is worked out of it lies in the same reading's range."""


@dataclass(frozen=True)
class Use:
    """One place where a number is used: the step's title, the unit that is customary there ("" where any will do), the
    reading whose range it must lie in, and a unit of another kind that will do as well (percent for an amount)."""

    step: str
    unit: str = ""
    reading: Reading | None = None
    also: str = ""


@dataclass(frozen=True)
class Need:
    """One number: all of its uses, in the order of the procedure."""

    name: str
    uses: tuple[Use, ...]

    @property
    def units(self) -> tuple[str, ...]:
        """The units that fit, the customary one first; every unit where nothing says which kind it is."""
        first = next((use.unit for use in self.uses if use.unit), "")
        also = {kind_of(use.also) for use in self.uses if use.also}
        beside = [u for kind in ({kind_of(first)}, also - {kind_of(first)}) for u in KINDS if KINDS[u] in kind]
        return tuple(dict.fromkeys((first, *beside))) if first else tuple(KINDS)

    @property
    def kind(self) -> str:
        """The kind of quantity; "" where nothing says which."""
        return next((KINDS[use.unit] for use in self.uses if use.unit), "")

    @property
    def steps(self) -> tuple[str, ...]:
        """The titles of the steps that use it."""
        return tuple(dict.fromkeys(use.step for use in self.uses if use.step))

    @property
    def readings(self) -> tuple[Reading, ...]:
        """The readings in whose range it must lie."""
        return tuple(dict.fromkeys(use.reading for use in self.uses if use.reading))


@dataclass(frozen=True)
class SheetNeeds:
    """Everything that is wanted. `counts` and `parts`: name -> titles of the steps."""

    counts: Mapping[str, tuple[str, ...]]
    values: Mapping[str, Need]
    parts: Mapping[str, tuple[str, ...]]


def needs_of(procedure: Procedure, given: Collection[str] = ()) -> SheetNeeds:
    """What the sheet must give, each in the order in which the procedure first wants it. `given`: what the site gives."""
    uses: dict[str, list[Use]] = {}
    counts: dict[str, list[str]] = {}
    parts: dict[str, list[str]] = {}
    for step in procedure.steps:
        for name in _positions(step):
            counts.setdefault(name, []).append(_title(step))
        for role in step.parts:
            parts.setdefault(role, []).append(_title(step))
        for name, use in _of_step(step, set(counts), {r.name for s in procedure.steps for r in s.readings}):
            uses.setdefault(name, []).append(use)
    for work in reversed(procedure.worked_out):  # a value worked out may be worked out of another
        later = uses.pop(work.name, [])
        for name, use in _of_work(work, later):
            uses.setdefault(name, []).append(use)
    order = {_title(step): place for place, step in enumerate(procedure.steps)}
    needs = [_need(name, found, uses, order) for name, found in uses.items() if name not in given]
    return SheetNeeds(
        {name: tuple(dict.fromkeys(titles)) for name, titles in counts.items()},
        {need.name: need for need in sorted(needs, key=lambda need: order.get(need.uses[0].step, len(order)))},
        {role: tuple(dict.fromkeys(titles)) for role, titles in parts.items()},
    )


def _need(name: str, found: list[Use], uses: Mapping[str, list[Use]], order: Mapping[str, int]) -> Need:
    """In the order of the steps; a number that is only said is of the kind of its least or most."""
    stem = name.removesuffix("_usual")
    if stem != name and not any(use.unit for use in found):
        near = (use for beside in ("_least", "_most", "") for use in uses.get(stem + beside, ()))
        found = [*found, *(Use("", use.unit) for use in near if use.unit)][: len(found) + 1]
    return Need(name, tuple(sorted(found, key=lambda use: order.get(use.step, len(order)))))


def _title(step: Step) -> str:
    """As the procedure has it, for any position: "Plug of cylinder N"."""
    return PLACEHOLDER.sub(lambda found: "N" if found[1] == step.each else "...", step.title)


def _positions(step: Step) -> Iterator[str]:
    if step.each:
        yield step.each
    if step.tighten is not None:
        yield step.tighten.fastener
    yield from (r.each for r in step.readings if r.each and not r.positions)


def _of_step(step: Step, counts: Collection[str], readings: Collection[str]) -> Iterator[tuple[str, Use]]:
    title, after = _title(step), step.countdown
    texts = [step.title, step.say, *step.cautions, *(r.ask for r in step.readings)]
    texts += [after.start, after.end] if after else []
    for text in texts:
        yield from ((name, Use(title)) for name in PLACEHOLDER.findall(text) if name not in counts)
    if step.tighten is not None and isinstance(step.tighten.torque, str):
        yield step.tighten.torque, Use(title, "Nm")
    for reading in step.readings:
        for limit in reading.limits:
            if limit.by or reading.kind != "date":
                yield from _of_limit(limit, reading, title, readings)


def _of_limit(limit: Limit, reading: Reading, title: str, readings: Collection[str]) -> Iterator[tuple[str, Use]]:
    apart = difference_unit(reading.unit)
    for value in (limit.low, limit.high, limit.target):
        if isinstance(value, str):
            plain = not (limit.by or limit.compared)
            yield value, Use(title, reading.unit, reading) if plain else _of_difference(title, apart, limit)
    for value in (limit.tolerance, limit.uncertainty):
        if isinstance(value, str):
            yield (
                value,
                Use(title, apart) if kind_of(apart) != kind_of(reading.unit) else Use(title, "percent", also=apart),
            )
    computation = BY_NAME.get(limit.by)
    for name, given in limit.inputs if computation else ():
        wanted = input_named(computation, name) if computation else None
        if wanted is not None and wanted.form == "amount":
            named = (part for part in parts_of(given) if isinstance(part, str) and part not in readings)
            yield from ((part, Use(title, wanted.unit)) for part in named)


def _of_difference(title: str, apart: str, limit: Limit) -> Use:
    """The bound of a difference: an amount, or percent; of a computation, whatever it answers in."""
    return Use(title) if limit.by else Use(title, apart, also="percent")


def _of_work(work: WorkedOut, later: list[Use]) -> Iterator[tuple[str, Use]]:
    """What a value is worked out of is used where that value is."""
    computation = BY_NAME.get(work.by)
    for name, given in work.inputs.items():
        wanted = input_named(computation, name) if computation else None
        if wanted is None or wanted.form != "amount":
            continue
        for part in parts_of(given):
            if isinstance(part, str):
                yield from ((part, _through(use, wanted.unit, same=name == KEPT_BY_A_TOLERANCE)) for use in later)
                yield part, Use("", wanted.unit)


def _through(use: Use, unit: str, *, same: bool) -> Use:
    return Use(use.step, use.unit if same and use.unit else unit, use.reading if same else None)

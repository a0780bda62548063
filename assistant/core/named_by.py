"""Which values of sheet and site a procedure names, and at which steps: what the manual must give before it can be run."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from assistant.core.binding import PLACEHOLDER
from assistant.core.computing import parts_of
from assistant.core.procedure import Given, Limit, Procedure, Reading, Step, Value

WORKED_OUT = "work_out"
"""In the place of a step: a value is named where others are worked out."""


def names_of(procedure: Procedure) -> dict[str, tuple[str, ...]]:
    """Name -> the steps that name it, in their order, of a procedure that is not bound. Names of positions, of readings and of
    what is worked out are among them where they stand in the same places: the sheet tells which are its own."""
    found: dict[str, dict[str, None]] = {}
    for work in procedure.worked_out:
        for given in work.inputs.values():
            for name in _given(given):
                found.setdefault(name, {})[WORKED_OUT] = None
    for step in procedure.steps:
        for name in _in_step(step):
            found.setdefault(name, {})[step.id] = None
    return {name: tuple(steps) for name, steps in found.items()}


def _in_step(step: Step) -> Iterator[str]:
    texts = [step.title, step.say, *step.cautions, *(reading.ask for reading in step.readings)]
    texts += [photograph.of for photograph in step.photographs]
    if step.countdown:
        texts += [step.countdown.start, step.countdown.end]
    for text in texts:
        yield from PLACEHOLDER.findall(text)
    if step.tighten:
        yield from _named((step.tighten.torque,))
    for reading in step.readings:
        yield from _in_reading(reading)


def _in_reading(reading: Reading) -> Iterator[str]:
    for limit in reading.limits:
        yield from _in_limit(limit)


def _in_limit(limit: Limit) -> Iterator[str]:
    yield from _named((limit.low, limit.high, limit.target, limit.tolerance, limit.uncertainty))
    for _, given in limit.inputs:
        yield from _given(given)


def _given(given: Given) -> Iterator[str]:
    yield from (part for part in parts_of(given) if isinstance(part, str))


def _named(values: Iterable[Value | None]) -> Iterator[str]:
    yield from (value for value in values if isinstance(value, str))

"""What stands on a wall card: a row a step, repeats taken together, with the machine's conditions before and after.

The conditions are those of a job that goes well: what a step needs is so when it is done, what it makes is so after it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from assistant.core.conditions import UNSURE, kept_out, made
from assistant.core.machine import MachineSheet
from assistant.core.procedure import Limit, Procedure, Reading, Step
from assistant.core.speech.limit_wording import limit_written, named_aloud
from assistant.core.units import WRITTEN, plain

Conditions = Mapping[str, str]


@dataclass(frozen=True)
class Detail:
    """A line under a title: what kind of thing it is, and the text."""

    kind: str
    text: str


@dataclass(frozen=True)
class Row:
    """One step, or several of one name. `numbers` as the assistant says them; `needs`: conditions looked at before it."""

    step: str
    numbers: str
    title: str
    caution: bool
    details: tuple[Detail, ...]
    needs: frozenset[str]
    before: Conditions
    after: Conditions


@dataclass(frozen=True)
class Lane:
    """One condition that changes. `values` in the order of the procedure: the first is drawn as a thin line."""

    name: str
    values: tuple[str, ...]


def rows_of(procedure: Procedure, sheet: MachineSheet) -> tuple[Row, ...]:
    """The rows of a bound procedure, in order."""
    rows: list[Row] = []
    now: Conditions = dict(procedure.start)
    first = 1
    for _, group in groupby(procedure.steps, key=lambda step: step.id.partition(".")[0]):
        steps = tuple(group)
        row = _row(steps, first, now, sheet)
        rows.append(row)
        now, first = row.after, first + len(steps)
    return tuple(rows)


def lanes_of(procedure: Procedure, rows: Sequence[Row]) -> tuple[Lane, ...]:
    """The conditions that have another value than their first at some time."""
    seen = {
        name for row in rows for held in (row.before, row.after) for name, value in held.items()
        if value not in (procedure.conditions[name][0], UNSURE)
    }  # fmt: skip
    return tuple(Lane(name, values) for name, values in procedure.conditions.items() if name in seen)


def pivot_of(procedure: Procedure) -> str:
    """The condition that most of the *never* rules name: its values part the job into phases. "" where there is no rule."""
    counts = Counter(name for rule in procedure.never for name in rule.conditions)
    return max(counts, key=lambda name: (counts[name], -list(procedure.conditions).index(name)), default="")


def _row(steps: tuple[Step, ...], first: int, now: Conditions, sheet: MachineSheet) -> Row:
    step, last = steps[0], first + len(steps) - 1
    passed = kept_out(step, now) is not None
    before = now if passed else {**now, **step.needs}
    after = dict(before)
    for each in steps if not passed else ():
        after.update(made(each, _good_answers(each.readings)))
    return Row(
        step=step.id.partition(".")[0],
        numbers=str(first) if last == first else f"{first}-{last}",
        title=_title(steps),
        caution=any(each.cautions for each in steps),
        details=tuple(_details(step, len(steps), sheet)),
        needs=frozenset(step.needs),
        before=before,
        after=after,
    )


def _good_answers(readings: Iterable[Reading]) -> dict[str, str]:
    """Reading -> the first good answer, where there are answers to choose from."""
    return {r.name: next((c.name for c in r.choices if c.good), r.choices[0].name) for r in readings if r.choices}


def _title(steps: tuple[Step, ...]) -> str:
    """Of repeats one title, with the first and the last number in it; of a joint that of the whole."""
    if len(steps) == 1 or not steps[0].each:
        return steps[0].title
    first, last = steps[0].title.split(), steps[-1].title.split()
    if len(first) != len(last):
        return steps[0].title
    return " ".join(a if a == b else f"{a}-{b}" for a, b in zip(first, last, strict=True))


def _details(step: Step, repeats: int, sheet: MachineSheet) -> Iterable[Detail]:
    if step.only:
        yield Detail("only", f"only {', '.join(f'{named_aloud(k)} {named_aloud(v)}' for k, v in step.only.items())}")
    for role in step.parts:
        part = sheet.parts[role]
        known = " or ".join((*part.numbers, *part.gtins))
        yield Detail("part", f"{part.quantity} x {part.say}: {known}")
    for photograph in step.photographs:
        yield Detail("part", f"photograph of {photograph.of}")
    for text in dict.fromkeys(reading_text(reading) for reading in step.readings):
        yield Detail("reading", text)
    if step.countdown:
        yield Detail("count", f"counted aloud: {step.countdown.seconds} s")
    if repeats > 1 and not step.each:
        yield Detail("only", f"{repeats - 1} turns of the wrench in the order that is said")
    if step.minutes is not None:
        yield Detail("only", f"about {plain(step.minutes)} min")
    if step.manual:
        yield Detail("only", f"see {step.manual}")


def reading_text(reading: Reading) -> str:
    """One reading with what is allowed; "" for a plain number that nothing limits."""
    name = reading.spoken_name
    name = f"{name[:1].upper()}{name[1:]}" + (f", each {reading.each}" if reading.each else "")
    if reading.kind == "choice":
        return f"{name}: {' or '.join(choice.name.replace('_', ' ') for choice in reading.choices if choice.good)}"
    if reading.limits:
        return f"{name}: {'; '.join(_limit_text(limit) for limit in reading.limits)}"
    if reading.kind in ("letters", "date"):
        return name
    unit = WRITTEN.get(reading.unit, reading.unit)
    return f"{name}, {unit}" if unit and reading.unit != "count" else ""


def _limit_text(limit: Limit) -> str:
    """As the reports have it, without its source; the unit of a range once, a range of one value as that value."""
    text = limit_written(replace(limit, source="", other=named_aloud(limit.other), by=named_aloud(limit.by)))
    if limit.rule != "between" or limit.by or limit.compared:
        return text
    if limit.low == limit.high:
        return text.partition(" to ")[0]
    low, _, high = text.partition(" to ")
    unit = high.partition(" ")[2]
    return f"{low.removesuffix(f' {unit}')} to {high}" if unit else text

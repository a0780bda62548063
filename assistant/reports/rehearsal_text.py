"""A rehearsal for a person and as JSON: the conversation line by line, then what the job takes."""

from __future__ import annotations

from collections.abc import Iterator

from assistant.core.expected_time import total_s
from assistant.core.procedure import Procedure
from assistant.reports.rehearsal import Line, PartRow, Rehearsal, ValueRow
from assistant.reports.worked_figure import DEFER

WIDTH = 12
Json = dict[str, object]


class Conversation:
    """Lines of text for lines of the conversation: with the first of each step its heading."""

    def __init__(self, procedure: Procedure) -> None:
        self._procedure = procedure
        self._step = ""

    def texts(self, line: Line) -> Iterator[str]:
        """What is printed for this line."""
        if line.step and line.step != self._step:
            self._step = line.step
            number = self._procedure.index(line.step) + 1
            yield f"-- step {number} of {len(self._procedure.steps)}: {self._procedure.step(line.step).title}"
        yield f"{line.who:>{WIDTH}}  {line.text}"


def line_json(line: Line) -> Json:
    """One line as an object."""
    return {"kind": line.who, "step": line.step, "text": line.text}


def after_text(rehearsal: Rehearsal) -> Iterator[str]:
    """What is printed after the conversation: parts, values, time, problems."""
    yield "parts that the job takes:"
    yield from (f"  {_part_text(row)}" for row in rehearsal.parts)
    if not rehearsal.parts:
        yield "  none"
    yield f"values that the manual must give, as the sheet of the {rehearsal.sheet.model} has them:"
    yield from (f"  {_value_text(row)}" for row in rehearsal.values)
    if not rehearsal.values:
        yield "  none"
    yield f"expected time: about {minutes_text(total_s(rehearsal.time))}"
    for part in rehearsal.time:
        yield f"  {part.times} {part.what}: {minutes_text(part.seconds)} ({part.source})"
    yield f"problems: {', '.join(f'{count} {kind}' for kind, count in rehearsal.score.items())}"
    yield from (f"  {problem.kind}: {problem}" for problem in rehearsal.problems)
    yield "the job came to its end" if rehearsal.finished else "the job did not come to its end"
    yield DEFER


def after_json(rehearsal: Rehearsal) -> Iterator[Json]:
    """The same as objects; the last says how it ended."""
    for part in rehearsal.parts:
        wanted = part.part
        numbers = {"numbers": list(wanted.numbers), "gtins": list(wanted.gtins)}
        yield {"kind": "part", "role": wanted.role, "say": wanted.say, "pieces": part.pieces, **numbers}
    for row in rehearsal.values:
        amount, source = row.value.amount, row.value.source
        is_now = {"value": format(amount.value, "f"), "unit": amount.unit}
        yield {"kind": "value", "name": row.value.name, **is_now, "source": source, "steps": list(row.steps)}
    for each in rehearsal.time:
        told = {"what": each.what, "times": each.times, "seconds": round(each.seconds, 1), "source": each.source}
        yield {"kind": "time", **told}
    for problem in rehearsal.problems:
        told_problem = {
            "what": problem.kind,
            "step": problem.step,
            "text": problem.text,
            "where": problem.place or None,
        }
        yield {"kind": "found", **told_problem}
    yield {
        "kind": "end",
        "finished": rehearsal.finished,
        "expected_s": round(total_s(rehearsal.time)),
        "problems": dict(rehearsal.score),
    }


def minutes_text(seconds: float) -> str:
    """A stretch of time, to the minute; under two minutes in seconds.

    >>> minutes_text(5), minutes_text(3725)
    ('5 s', '1 h 2 min')
    """
    if seconds < 120:
        return f"{seconds:.0f} s"
    hours, minutes = divmod(round(seconds / 60), 60)
    return f"{hours} h {minutes} min" if hours else f"{minutes} min"


def _part_text(row: PartRow) -> str:
    known = [*row.part.numbers, *row.part.gtins]
    return f"{row.pieces} x {row.part.say} ({row.part.role}): {' or '.join(known)}"


def _value_text(row: ValueRow) -> str:
    where = f"{row.value.source}; " if row.value.source else ""
    return f"{row.value.name} = {row.value.amount} ({where}for {', '.join(row.steps)})"

"""The work in plain words, for the customer: the titles of the steps done, grouped, and what was not done and why.

Groups are those that the procedure's writer made: the comments between its steps that begin with dashes, "# ---- fuel".
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from assistant.reports.job_report import JobReport
from assistant.reports.sections import StepReport

HEADING = re.compile(r"^\s*#\s*-{3,}\s*(?P<heading>\S.*?)\s*-*\s*$")
STEP = re.compile(r"^\s*-\s*\{?\s*id:\s*[\"']?(?P<id>[^\s,\"'}]+)")
NUMBER = re.compile(r"\d+$")


@dataclass(frozen=True)
class Group:
    """The titles of what was done under one heading, "" where the procedure has none."""

    heading: str
    titles: tuple[str, ...]


@dataclass(frozen=True)
class NotDone:
    """A step that was left or never ended; `reason` in the foreman's words where he wrote any to it, else in the technician's
    as made out (`heard`), "" where it is kept as sound only."""

    title: str
    reason: str
    sequence: int
    begun: bool
    heard: bool = False


def groups_of(report: JobReport, procedure_text: str) -> tuple[Group, ...]:
    """What was done, in the order of the work. Steps of one kind (each cylinder, each bolt) are told together."""
    headings = headings_in(procedure_text)
    by_heading: dict[str, list[str]] = {}
    for stem, steps in alike(step for step in report.steps if step.status == "done"):
        by_heading.setdefault(headings.get(stem, ""), []).append(together([step.title for step in steps]))
    return tuple(Group(heading, tuple(dict.fromkeys(titles))) for heading, titles in by_heading.items())


def not_done(report: JobReport) -> tuple[NotDone, ...]:
    """What was left, and the step that the job stands at; steps for other machines are no work of this one."""
    return tuple(_left(step, report) for step in report.steps if step.status in ("unable", "open"))


def _left(step: StepReport, report: JobReport) -> NotDone:
    upheld = report.upheld.get(step.reason_entry)
    own = upheld.why if upheld else ""
    heard = bool(step.reason) and not own
    return NotDone(step.title, own or step.reason, step.reason_entry, step.status == "open", heard)


def headings_in(procedure_text: str) -> Mapping[str, str]:
    """Step id -> the heading over it.

    >>> headings_in("steps:\\n  # ---- fuel, cold\\n  - id: fill\\n  - {id: dose, say: x}")
    {'fill': 'Fuel, cold', 'dose': 'Fuel, cold'}
    """
    found, heading = {}, ""
    for line in procedure_text.splitlines():
        if over := HEADING.match(line):
            heading = over["heading"][0].upper() + over["heading"][1:]
        elif heading and (step := STEP.match(line)):
            found[step["id"]] = heading
    return found


def alike(steps: Iterable[StepReport]) -> Sequence[tuple[str, list[StepReport]]]:
    """Steps by what they are made of (plug.1, plug.2: plug), in the order of the first of each."""
    by_stem: dict[str, list[StepReport]] = {}
    for step in steps:
        by_stem.setdefault(step.id.partition(".")[0], []).append(step)
    return tuple(by_stem.items())


def together(titles: Sequence[str]) -> str:
    """One title for those of steps of one kind.

    >>> together(["Plug of cylinder 1", "Plug of cylinder 2", "Plug of cylinder 3"])
    'Plug of cylinder 1, 2 and 3'
    >>> together(["Pump bolts", "Pump bolts, a third, number 1", "Pump bolts, round, number 4"])
    'Pump bolts'
    """
    stems = {NUMBER.sub("", title) for title in titles}
    numbers = [found[0] for title in titles if (found := NUMBER.search(title))]
    if len(titles) > 1 and len(stems) == 1 and len(numbers) == len(titles):
        return f"{stems.pop()}{listed(numbers)}"
    first = titles[0]
    return first if all(title.startswith(first) for title in titles) else "; ".join(dict.fromkeys(titles))


def listed(parts: Sequence[str]) -> str:
    """
    >>> listed(["1"]), listed(["1", "2", "3"])
    ('1', '1, 2 and 3')
    """
    return " and ".join(filter(None, (", ".join(parts[:-1]), *parts[-1:])))

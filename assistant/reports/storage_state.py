"""The state that a machine is left in, and what that asks of whoever uses it next: from the job's own procedure alone.

No knowledge of machines is in here. What must be so before it runs again follows from the conditions as the entries left
them, from the rules that the procedure forbids (*never*), and from what it needs before its own steps that start the engine.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

from assistant.core.conditions import UNSURE
from assistant.core.entries import Kept, opened_in
from assistant.core.job import fold
from assistant.core.problems import FileProblems
from assistant.core.procedure import Procedure, Step
from assistant.files.procedure_file import read_procedure
from assistant.reports.job_report import JobReport
from assistant.reports.values import spaced
from assistant.reports.wall_card_rows import pivot_of

SENTENCE = re.compile(r"[^.!?]+[.!?]?")
OF_THE_TAG = re.compile(r"\b(tag|for the wheel|stays (off|out|open|shut)|for the winter|streamers?)\b", re.IGNORECASE)
"""A sentence of a step with one of these says what is left so until the machine is used (common practice, no source)."""
OF_EACH = re.compile(r"\bfor each\b")
OF_SPRING = re.compile(r"\b((in|before|for|until|by|next) spring|next season)\b", re.IGNORECASE)
"""A sentence of a step with one of these says something of spring, and not of a spring that is wound."""


@dataclass(frozen=True)
class BeforeUse:
    """One condition to be put right before the machine runs: what it is now, what it must be ("on", "not off"), and why (""
    where only a step needs it)."""

    condition: str
    is_now: str
    must_be: str
    because: str

    def __str__(self) -> str:
        now = "state not known" if self.is_now == UNSURE else self.is_now
        return f"{spaced(self.condition).capitalize()}: {now}; must be {self.must_be}."


@dataclass(frozen=True)
class StorageState:
    """What must be put right before use; sentences of done steps about the tag and about spring, as the procedure has them;
    cautions of the steps that matter to who uses it next."""

    before_use: tuple[BeforeUse, ...] = ()
    tag_says: tuple[str, ...] = ()
    spring_says: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


def storage_state(report: JobReport, kept: tuple[Kept, ...]) -> StorageState:
    """By the job's own procedure; all empty where its text cannot be read."""
    opened = opened_in(kept)
    procedure = _procedure(opened.procedure_text) if opened else None
    if procedure is None:
        return StorageState()
    now = fold(kept).conditions
    before, done = before_use(procedure, now), _done(report, procedure)
    return StorageState(
        before_use=before,
        tag_says=_saying(_after_the_last_run(procedure, done), OF_THE_TAG),
        spring_says=_saying(done, OF_SPRING),
        cautions=_cautions(procedure, done, {item.condition: item.is_now for item in before}),
    )


def before_use(procedure: Procedure, now: Mapping[str, str]) -> tuple[BeforeUse, ...]:
    """What forbids, or is needed for, the state that the most *never* rules are about; those that forbid first."""
    pivot, runs = _running(procedure)
    if not pivot or now.get(pivot, UNSURE) == runs:
        return ()
    found: dict[str, BeforeUse] = {}
    for rule in procedure.never:
        others = [(name, value) for name, value in rule.conditions.items() if name != pivot]
        if rule.conditions.get(pivot) == runs and len(others) == 1:
            [(name, bad)] = others
            if now.get(name, UNSURE) in (bad, UNSURE):
                found.setdefault(
                    name, BeforeUse(name, now.get(name, UNSURE), _other(procedure, name, bad), rule.because)
                )
    for step in _starting(procedure, pivot, runs):
        for name, wanted in step.needs.items():
            if name != pivot and now.get(name, UNSURE) != wanted:
                found.setdefault(name, BeforeUse(name, now.get(name, UNSURE), wanted, ""))
    return tuple(found.values())


def _running(procedure: Procedure) -> tuple[str, str]:
    """The condition of which most rules speak, and the value that most of them forbid things in: engine, running."""
    pivot = pivot_of(procedure)
    counts = Counter(rule.conditions[pivot] for rule in procedure.never if pivot in rule.conditions)
    return (pivot, counts.most_common(1)[0][0]) if counts else ("", "")


def _starting(procedure: Procedure, pivot: str, runs: str) -> tuple[Step, ...]:
    """The steps that start it, the last one first: it asks for the most."""
    return tuple(step for step in reversed(procedure.steps) if any(w.makes.get(pivot) == runs for w in step.ways))


def _other(procedure: Procedure, name: str, bad: str) -> str:
    """The value that is left of a condition of two; of more, all but the forbidden one."""
    values = [value for value in procedure.conditions.get(name, ()) if value != bad]
    return values[0] if len(values) == 1 else f"not {bad}"


def _done(report: JobReport, procedure: Procedure) -> tuple[Step, ...]:
    """The steps of the text that were done; a step for each cylinder is done once one of them is."""
    done = {step.id.partition(".")[0] for step in report.steps if step.status == "done"}
    return tuple(step for step in procedure.steps if step.id in done)


def _saying(done: Iterable[Step], of: re.Pattern[str]) -> tuple[str, ...]:
    """The sentences that speak of it; one that says "for each" with the sentence before it, which says of what."""
    found: list[str] = []
    for step in done:
        sentences = [one.strip() for one in SENTENCE.findall(step.say)]
        for n, one in enumerate(sentences):
            if of.search(one) and "{" not in step.say:
                found.append(f"{sentences[n - 1]} {one}" if n and OF_EACH.search(one) else one)
    return tuple(dict.fromkeys(found))


def _after_the_last_run(procedure: Procedure, done: tuple[Step, ...]) -> tuple[Step, ...]:
    """What was done since it last ran: what earlier steps left so may be otherwise by now."""
    ran = _starting(procedure, *_running(procedure))
    last = max((n for n, step in enumerate(done) if step in ran), default=-1)
    return done[last + 1 :]


def _cautions(procedure: Procedure, done: tuple[Step, ...], left: Mapping[str, str]) -> tuple[str, ...]:
    """Of the done steps that left what is to be put right, of the first that started the engine, and of the last one."""
    started = [step for step in done if step in _starting(procedure, *_running(procedure))][:1]

    def matters(step: Step) -> bool:
        made = {pair for way in step.ways for pair in way.makes.items()}
        return bool(made & set(left.items())) or step in started or step is done[-1]

    return tuple(dict.fromkeys(caution for step in done if matters(step) for caution in step.cautions))


@lru_cache(maxsize=16)
def _procedure(text: str) -> Procedure | None:
    try:
        return read_procedure(text, "procedure")
    except FileProblems:
        return None

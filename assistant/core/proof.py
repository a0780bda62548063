"""Is a procedure safe to follow: no order of answers that a technician can give may reach what must never be.

The model
---------
A state is the open step and what is believed of the machine (`conditions`). At a step whose needs do not all hold the
assistant asks for the first that does not: *affirm* makes it hold. Once all hold the step is read: *done* makes what
it makes, and what the answers chosen in it make, and opens the next. *Unable* opens the next step and *go back* the one
before, at any time; a step left like that after it was read may have been done in part, so what it may make is unsure.
Steps that are only for other machines are passed over both ways. *Stop*, *stand by*, a value, a correction and a resumed
job move nothing: a resumed job asks the open step again. Truthful answers are taken for granted, and so is that nothing
is done to the machine unasked. The run-time engine refuses an answer that would break a rule; the proof does not count
on that: a procedure must be safe without.

Why it is exact, and quick
--------------------------
Needs can always be affirmed and *unable* always said, so conditions never stand in each other's way, save those by which
steps are passed over. A rule that names some conditions can therefore be checked on those and on the latter alone, k in
all: a path there is a path of the whole with a few more *affirm*s between, and the other way round. That is at most
steps x (values + 1)^k states a rule, however many conditions there are. A step that needs more than those k may be left
unread in the small model at any time; where the whole would have read it, that adds nothing, since whatever can be
reached from a state can be reached from one with more unsure.
Only when a rule fails is the whole searched for the shortest path, with the distance still to go in the small model as
the guide (A*: that distance is never too long, as leaving conditions out only shortens paths).
"""

from __future__ import annotations

import heapq
from collections import deque
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from assistant.core.conditions import (
    affirmed,
    after_done,
    after_leaving,
    broken,
    next_opened,
    previous_opened,
    to_affirm,
)
from assistant.core.procedure import Never, Procedure, Step, Way
from assistant.core.speech.wording import before_step

Flat = tuple[str, ...]
"""The values of the procedure's conditions, in the order of its `start`."""
At = tuple[int, Flat]
"""Index of the open step, from 0 (the number of steps: the job is finished), and the conditions."""


@dataclass(frozen=True)
class Answer:
    """One turn: what the assistant says at a step, and what the technician answers: done, unable, go back or affirm."""

    step: str
    heard: str
    said: str
    line: int = 0

    @property
    def said_aloud(self) -> str:
        """Affirm names no condition aloud: the assistant just did."""
        return "affirm" if self.said.startswith("affirm ") else self.said


@dataclass(frozen=True)
class Counterexample:
    """The shortest way to what must never be, as a conversation. No answers: the procedure already starts there."""

    never: Never
    answers: tuple[Answer, ...]
    ends: dict[str, str]

    def __str__(self) -> str:
        lines: list[str] = []
        step = ""
        for answer in self.answers:
            if answer.step != step:
                lines.append(f"-- {answer.step}, line {answer.line}" if answer.line else f"-- {answer.step}")
            step = answer.step
            lines += [f"   assistant  {answer.heard}", f"  technician  {answer.said_aloud}"]
        found = ", ".join(f"{name} {self.ends[name]}" for name in self.never.conditions)
        return "\n".join([*lines, f"== now {found}: {self.never.because}"])


@dataclass(frozen=True)
class Asked:
    """A condition that must be affirmed although every step before it was done: nothing has made it so."""

    step: str
    condition: str
    value: str


@dataclass(frozen=True)
class Proof:
    """`ok`: no *never* can be reached, and every step can be reached and done.

    `counterexample`: the shortest, where there is one. `unreachable`: steps that cannot be done one after the other
    because the engine would have to refuse one. `asked`: what is to be affirmed when all goes well. `states`: how many
    were looked at.
    """

    ok: bool
    counterexample: Counterexample | None
    unreachable: tuple[str, ...]
    asked: tuple[Asked, ...]
    states: int


def prove(procedure: Procedure) -> Proof:
    """Look at everything that can be answered in any order. Bound or not makes no difference to the result."""
    models = [_Model(procedure, never) for never in procedure.never]
    failing = [model for model in models if model.to_go]
    examples = [model.shortest() for model in failing]
    example = min(examples, key=lambda found: len(found.answers), default=None)
    asked, undone = _all_done(procedure)
    return Proof(not examples and not undone, example, undone, asked, sum(model.states for model in models))


def moves(procedure: Procedure, index: int, now: dict[str, str]) -> Iterator[tuple[str, int, dict[str, str]]]:
    """Every answer that can be given in a state: (what is said, next index, next conditions)."""
    steps = procedure.steps
    if index == len(steps):
        return
    step = steps[index]
    asked = to_affirm(step, now)
    if asked:
        name, value = asked[0]
        yield f"affirm {name} {value}", index, affirmed(now, name, value)
    for way in () if asked else step.ways:
        after = after_done(now, way.makes)
        yield _aloud(step, way), next_opened(steps, index, after), after
    left = after_leaving(step, now)
    yield "unable", next_opened(steps, index, left), left
    before = previous_opened(steps, index, left)
    if before is not None:
        yield "go back", before, left


def _aloud(step: Step, way: Way) -> str:
    """The answers that decide, as the technician would say them, and *done*."""
    if not way.chosen:
        return "done"
    words = {(r.name, c.name): c.words[0] for r in step.readings for c in r.choices}
    return ", ".join((*(words[one] for one in way.chosen), "done"))


def begin(procedure: Procedure) -> int:
    """The place of the first step that is opened."""
    return next_opened(procedure.steps, -1, procedure.start)


class _Model:
    """One rule: the small model of its own conditions, and how far each of its states is from breaking the rule."""

    def __init__(self, procedure: Procedure, never: Never) -> None:
        self.whole = procedure
        self.never = never
        self.names = tuple(dict.fromkeys((*never.conditions, *(n for step in procedure.steps for n in step.only))))
        self.small = replace(procedure, steps=tuple(_only(step, self.names) for step in procedure.steps))
        self.states = 0
        self.to_go = self._distances()

    def _flat(self, now: dict[str, str]) -> Flat:
        return tuple(now[name] for name in self.names)

    def _is_broken(self, now: dict[str, str]) -> bool:
        return broken((self.never,), now) is not None

    def _distances(self) -> dict[At, int]:
        """State of the small model -> fewest answers to the broken rule; empty where it cannot be reached."""
        start = {name: self.whole.start[name] for name in self.names}
        first = (begin(self.whole), self._flat(start))
        seen: dict[At, None] = {first: None}
        before: dict[At, list[At]] = {}
        ends: list[At] = []
        todo = deque([first])
        while todo:
            at = todo.popleft()
            now = dict(zip(self.names, at[1], strict=True))
            if self._is_broken(now):
                ends.append(at)
                continue
            for index, after in self._small_moves(at[0], now):
                to = (index, self._flat(after))
                before.setdefault(to, []).append(at)
                if to not in seen:
                    seen[to] = None
                    todo.append(to)
        self.states = len(seen)
        return _backwards(ends, before)

    def _small_moves(self, index: int, now: dict[str, str]) -> Iterator[tuple[int, dict[str, str]]]:
        for _, to, after in moves(self.small, index, now):
            yield to, after
        steps = self.whole.steps
        if index < len(steps) and set(steps[index].needs) - set(self.names):
            yield next_opened(steps, index, now), now
            before = previous_opened(steps, index, now)
            if before is not None:
                yield before, now

    def shortest(self) -> Counterexample:
        """The shortest path of the whole model to the broken rule; only called where there is one."""
        start = dict(self.whole.start)
        order = tuple(start)
        first: At = (begin(self.whole), tuple(start.values()))
        came: dict[At, tuple[At, str] | None] = {first: None}
        steps: dict[At, int] = {first: 0}
        todo = [(self.to_go[(first[0], self._flat(start))], 0, first)]
        while True:
            _, _, at = heapq.heappop(todo)
            now = dict(zip(order, at[1], strict=True))
            if self._is_broken(now):
                return Counterexample(self.never, _answers(self.whole, came, at), now)
            for said, index, after in reversed(tuple(moves(self.whole, at[0], now))):  # *done* is the newest then
                to: At = (index, tuple(after[name] for name in order))
                left = self.to_go.get((index, self._flat(after)))
                if left is not None and (to not in steps or steps[at] + 1 < steps[to]):
                    steps[to] = steps[at] + 1
                    came[to] = (at, said)
                    heapq.heappush(todo, (steps[to] + left, -len(came), to))  # of equals the newest: straight on


def _only(step: Step, names: tuple[str, ...]) -> Step:
    """The step with nothing but these conditions."""

    def kept(held: Mapping[str, str]) -> dict[str, str]:
        return {name: value for name, value in held.items() if name in names}

    readings = tuple(
        replace(r, choices=tuple(replace(c, makes=tuple(kept(dict(c.makes)).items())) for c in r.choices))
        for r in step.readings
        if r.choices
    )
    return replace(step, needs=kept(step.needs), makes=kept(step.makes), readings=readings)


def _backwards(ends: list[At], before: dict[At, list[At]]) -> dict[At, int]:
    far = dict.fromkeys(ends, 0)
    todo = deque(ends)
    while todo:
        at = todo.popleft()
        for earlier in before.get(at, ()):
            if earlier not in far:
                far[earlier] = far[at] + 1
                todo.append(earlier)
    return far


def _answers(procedure: Procedure, came: dict[At, tuple[At, str] | None], at: At) -> tuple[Answer, ...]:
    found: list[Answer] = []
    while (step := came[at]) is not None:
        at, said = step
        open_step = procedure.steps[at[0]]
        asked = to_affirm(open_step, dict(zip(procedure.start, at[1], strict=True)))
        heard = before_step(open_step.title, *asked[0]) if asked else open_step.say
        found.append(Answer(open_step.id, heard, said, open_step.line))
    return tuple(reversed(found))


def _all_done(procedure: Procedure) -> tuple[tuple[Asked, ...], tuple[str, ...]]:
    """Every step done, whatever is chosen on the way: what has to be affirmed then, and the steps that are never reached, be
    it that breaking a rule keeps them away or that they are for no machine."""
    first = (begin(procedure), dict(procedure.start))
    todo, seen = [first], {_state(*first)}
    asked: dict[Asked, None] = {}
    opened: set[str] = set()
    refused: set[str] = set()
    while todo:
        index, now = todo.pop()
        if index == len(procedure.steps):
            continue
        step = procedure.steps[index]
        for name, value in to_affirm(step, now):
            asked[Asked(step.id, name, value)] = None
            now = affirmed(now, name, value)
        for way in step.ways:
            after = after_done(now, way.makes)
            if broken(procedure.never, after):
                refused.update(late.id for late in procedure.steps[index:])
                continue
            opened.add(step.id)
            to = (next_opened(procedure.steps, index, after), after)
            if _state(*to) not in seen:
                seen.add(_state(*to))
                todo.append(to)
    ways = [step.id for step in procedure.steps if step.id in refused or step.id not in opened]
    return tuple(asked), tuple(ways)


def _state(index: int, now: Mapping[str, str]) -> tuple[int, tuple[tuple[str, str], ...]]:
    return index, tuple(sorted(now.items()))

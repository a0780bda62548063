"""Is a procedure safe to follow: no order of answers that a technician can give may reach what must never be.

The model
---------
A state is the open step and what is believed of the machine (`conditions`). At a step whose needs do not all hold the
assistant asks for the first that does not: *affirm* makes it hold. Once all hold the step is read: *done* makes what
it makes and opens the next. *Unable* opens the next step and *go back* the one before, at any time; a step left like
that after it was read may have been done in part, so what it makes is unsure. Truthful answers are taken for granted,
and so is that nothing is done to the machine unasked. The run-time engine refuses an answer that would break a rule;
the proof does not count on that: a procedure must be safe without.

Why it is exact, and quick
--------------------------
Needs can always be affirmed and *unable* always said, so conditions never stand in each other's way. A rule that names
k conditions can therefore be checked on those k alone: a path there is a path of the whole with a few more *affirm*s
between, and the other way round. That is at most steps x (values + 1)^k states a rule, however many conditions there
are. A step that needs more than those k may be left unread in the small model at any time; where the whole would have
read it, that adds nothing, since whatever can be reached from a state can be reached from one with more unsure.
Only when a rule fails is the whole searched for the shortest path, with the distance still to go in the small model as
the guide (A*: that distance is never too long, as leaving conditions out only shortens paths).
"""

from __future__ import annotations

import heapq
from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass, replace

from assistant.core.conditions import affirmed, after_done, after_leaving, broken, to_affirm
from assistant.core.procedure import Never, Procedure, Step

Flat = tuple[str, ...]
"""The values of the procedure's conditions, in the order of its `start`."""
At = tuple[int, Flat]
"""Index of the open step, from 0 (the number of steps: the job is finished), and the conditions."""


@dataclass(frozen=True)
class Answer:
    """What the technician says at a step: done, unable, go back, or affirm with a condition."""

    step: str
    said: str
    line: int = 0


@dataclass(frozen=True)
class Counterexample:
    """The shortest way to what must never be. No answers: the procedure already starts there."""

    never: Never
    answers: tuple[Answer, ...]
    ends: dict[str, str]

    def __str__(self) -> str:
        said = [f"  {answer.step}: {answer.said}" for answer in self.answers]
        found = ", ".join(f"{name} {self.ends[name]}" for name in self.never.conditions)
        return "\n".join([*said, f"  reaches: {found} ({self.never.because})"])


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
    if index == len(procedure.steps):
        return
    step = procedure.steps[index]
    asked = to_affirm(step, now)
    if asked:
        name, value = asked[0]
        yield f"affirm {name} {value}", index, affirmed(now, name, value)
    else:
        yield "done", index + 1, after_done(step, now)
    left = after_leaving(step, now)
    yield "unable", index + 1, left
    if index:
        yield "go back", index - 1, left


class _Model:
    """One rule: the small model of its own conditions, and how far each of its states is from breaking the rule."""

    def __init__(self, procedure: Procedure, never: Never) -> None:
        self.whole = procedure
        self.never = never
        self.names = tuple(never.conditions)
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
        first = (0, self._flat(start))
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
        if index < len(self.whole.steps) and set(self.whole.steps[index].needs) - set(self.names):
            yield index + 1, now
            yield max(index - 1, 0), now

    def shortest(self) -> Counterexample:
        """The shortest path of the whole model to the broken rule; only called where there is one."""
        start = dict(self.whole.start)
        order = tuple(start)
        first: At = (0, tuple(start.values()))
        came: dict[At, tuple[At, str] | None] = {first: None}
        steps: dict[At, int] = {first: 0}
        todo = [(self.to_go[(0, self._flat(start))], 0, first)]
        while True:
            _, _, at = heapq.heappop(todo)
            now = dict(zip(order, at[1], strict=True))
            if self._is_broken(now):
                return Counterexample(self.never, _answers(self.whole, came, at), now)
            for said, index, after in moves(self.whole, at[0], now):
                to: At = (index, tuple(after[name] for name in order))
                left = self.to_go.get((index, self._flat(after)))
                if left is not None and (to not in steps or steps[at] + 1 < steps[to]):
                    steps[to] = steps[at] + 1
                    came[to] = (at, said)
                    heapq.heappush(todo, (steps[to] + left, len(came), to))


def _only(step: Step, names: tuple[str, ...]) -> Step:
    """The step with nothing but these conditions."""
    needs = {name: value for name, value in step.needs.items() if name in names}
    makes = {name: value for name, value in step.makes.items() if name in names}
    return replace(step, needs=needs, makes=makes)


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
        found.append(Answer(open_step.id, said, open_step.line))
    return tuple(reversed(found))


def _all_done(procedure: Procedure) -> tuple[tuple[Asked, ...], tuple[str, ...]]:
    """Every step done in order: what has to be affirmed on the way, and the steps that breaking a rule keeps away."""
    now = dict(procedure.start)
    asked: list[Asked] = []
    for place, step in enumerate(procedure.steps):
        for name, value in to_affirm(step, now):
            asked.append(Asked(step.id, name, value))
            now = affirmed(now, name, value)
        now = after_done(step, now)
        if broken(procedure.never, now):
            return tuple(asked), tuple(late.id for late in procedure.steps[place:])
    return tuple(asked), ()

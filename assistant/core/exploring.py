"""Every state that answers can lead to, a rule at a time: can the rule be broken, and what is the shortest way to it.

The model is that of `proof`. Why it is exact, and quick:

Needs can always be affirmed and *unable* always said, so conditions never stand in each other's way, save those by which
steps are passed over. A rule that names some conditions can therefore be checked on those and on the latter alone, k in
all: a path there is a path of the whole with a few more *affirm*s between, and the other way round. That is at most steps x
(values + 1)^k states a rule, however many conditions there are. First it is checked on fewer: of the latter on those alone
by which steps are passed over that have to do with the rule (`_touching`); a step passed over by any other is there left
open and passed over, both. What cannot be reached in that model, which can do more, is safe. A step that needs more than
those k may be left unread in the small model at any time; where the whole would have read it, that adds nothing, since
whatever can be reached from a state can be reached from one with more unsure. Only when a rule fails is the whole searched
for the shortest path, with the distance still to go in the small model as the guide (A*: that distance is never too long,
as leaving conditions out only shortens paths).
"""

from __future__ import annotations

import heapq
from collections import deque
from collections.abc import Iterable, Iterator, Mapping
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
Leads = tuple[int, tuple[tuple[int, str], ...]]
"""Where an answer leads: the index of the step that is open then, and the conditions that change, by their place."""


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


def model_of(procedure: Procedure, never: Never) -> Model:
    """The rule's model on as few conditions as settle it."""
    quick = Model(procedure, never, _touching(procedure, never))
    every = tuple(dict.fromkeys((*never.conditions, *(name for step in procedure.steps for name in step.only))))
    if not quick.to_go or set(quick.names) == set(every):
        return quick
    exact = Model(procedure, never, every)
    exact.states += quick.states
    return exact


def _touching(procedure: Procedure, never: Never) -> tuple[str, ...]:
    """The rule's conditions, and those by which steps are passed over that need or make any of these."""
    names = dict.fromkeys(never.conditions)
    found = 0
    while found < len(names):
        found = len(names)
        for step in procedure.steps:
            touched = {*step.needs, *(name for way in step.ways for name in way.makes)}
            if touched & names.keys():
                names |= dict.fromkeys(step.only)
    return tuple(names)


class Model:
    """One rule: a small model of some conditions, and how far each of its states is from breaking the rule."""

    def __init__(self, procedure: Procedure, never: Never, names: tuple[str, ...]) -> None:
        self.whole = procedure
        self.never = never
        self.names = names
        self.small = replace(procedure, steps=tuple(_only(step, names) for step in procedure.steps))
        beyond = [({*step.only} - {*names}, {*step.needs} - {*names}) for step in procedure.steps]
        self.passable = {i for i, (only, _) in enumerate(beyond) if only}
        self.unread = {i for i, (only, needs) in enumerate(beyond) if only or needs}
        self.local = tuple(self._local(index) for index in range(len(procedure.steps)))
        self.known: dict[tuple[int, Flat], tuple[Leads, ...]] = {}
        self.states = 0
        self.to_go = self._distances()

    def _local(self, index: int) -> tuple[int, ...]:
        """The places, in a state, of what the step's answers hang on: what it names, and what those beside it are only for, as
        far as steps that may be passed over lie there."""
        step = self.small.steps[index]
        names = {*step.needs, *step.only, *(name for way in step.ways for name in way.makes)}
        for way in (1, -1):
            at = index + way
            while 0 <= at < len(self.whole.steps) and self.whole.steps[at].only:
                names |= self.whole.steps[at].only.keys()
                at += way
        return tuple(i for i, name in enumerate(self.names) if name in names)

    def _flat(self, now: Mapping[str, str]) -> Flat:
        return tuple(now[name] for name in self.names)

    def _is_broken(self, now: Mapping[str, str]) -> bool:
        return broken((self.never,), now) is not None

    def _distances(self) -> dict[At, int]:
        """State of the small model -> fewest answers to the broken rule; empty where it cannot be reached."""
        first = (begin(self.whole), self._flat(self.whole.start))
        seen: dict[At, None] = {first: None}
        ends: list[At] = []
        todo = deque([first])
        harm: dict[Flat, bool] = {}
        while todo:
            at = todo.popleft()
            if at[1] not in harm:
                harm[at[1]] = self._is_broken(dict(zip(self.names, at[1], strict=True)))
            if harm[at[1]]:
                ends.append(at)
                continue
            for to in self._small_moves(at):
                if to not in seen:
                    seen[to] = None
                    todo.append(to)
        self.states = len(seen)
        return self._backwards(ends, seen) if ends else {}

    def _backwards(self, ends: list[At], seen: Iterable[At]) -> dict[At, int]:
        far = dict.fromkeys(ends, 0)
        before: dict[At, list[At]] = {}
        for at in seen:
            for to in () if at in far else self._small_moves(at):
                before.setdefault(to, []).append(at)
        todo = deque(ends)
        while todo:
            at = todo.popleft()
            for earlier in before.get(at, ()):
                if earlier not in far:
                    far[earlier] = far[at] + 1
                    todo.append(earlier)
        return far

    def _small_moves(self, at: At) -> Iterator[At]:
        """Where a state leads: worked out once for each step and what its answers hang on, for the rest stays as it is."""
        index, flat = at
        if index == len(self.small.steps):
            return
        key = (index, tuple(flat[i] for i in self.local[index]))
        if key not in self.known:
            self.known[key] = tuple(self._leads(index, flat))
        for to, changed in self.known[key]:
            if changed:
                after = list(flat)
                for i, value in changed:
                    after[i] = value
                yield to, tuple(after)
            else:
                yield to, flat

    def _leads(self, index: int, flat: Flat) -> Iterator[Leads]:
        now = dict(zip(self.names, flat, strict=True))
        steps = self.small.steps
        ways = [(to, after) for _, to, after in moves(self.small, index, now)]
        if index in self.unread:
            back = previous_opened(steps, index, now)
            ways += [(next_opened(steps, index, now), now), *([] if back is None else [(back, now)])]
        for to, after in ways:
            changed = tuple((i, after[name]) for i, name in enumerate(self.names) if after[name] != flat[i])
            yield from ((place, changed) for place in self._landing(index, to, after))

    def _landing(self, index: int, to: int, now: dict[str, str]) -> Iterator[int]:
        """That place; and those beyond it where it may be one that is passed over."""
        yield to
        place: int | None = to
        while place is not None and place != index and place in self.passable:
            opened = next_opened if to > index else previous_opened
            place = opened(self.small.steps, place, now)
            if place is not None:
                yield place

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
    return replace(step, needs=kept(step.needs), makes=kept(step.makes), only=kept(step.only), readings=readings)


def _answers(procedure: Procedure, came: dict[At, tuple[At, str] | None], at: At) -> tuple[Answer, ...]:
    found: list[Answer] = []
    while (step := came[at]) is not None:
        at, said = step
        open_step = procedure.steps[at[0]]
        asked = to_affirm(open_step, dict(zip(procedure.start, at[1], strict=True)))
        heard = before_step(open_step.title, *asked[0]) if asked else open_step.say
        found.append(Answer(open_step.id, heard, said, open_step.line))
    return tuple(reversed(found))

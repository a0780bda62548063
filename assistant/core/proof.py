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

How it is searched, and why that is exact and quick, stands in `exploring`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from assistant.core.conditions import affirmed, after_done, broken, next_opened, to_affirm
from assistant.core.exploring import Counterexample, begin, model_of
from assistant.core.procedure import Procedure


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
    models = [model_of(procedure, never) for never in procedure.never]
    examples = [model.shortest() for model in models if model.to_go]
    example = min(examples, key=lambda found: len(found.answers), default=None)
    asked, undone = _all_done(procedure)
    return Proof(not examples and not undone, example, undone, asked, sum(model.states for model in models))


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

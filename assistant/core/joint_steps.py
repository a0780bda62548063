"""A joint's step made one for each turn of the tool, so that the order is spoken fastener by fastener.

Each turn is a step of its own: *done* goes to the next fastener, and after a cut the job is taken up at the fastener where
it stood. The order and its stages, with their sources, are those of `trade.tightening`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import groupby

from assistant.core.procedure import Joint, Step
from assistant.core.speech.language import Language, capital
from assistant.core.trade.rounding import to_figures
from assistant.core.trade.tightening import Tightening, circle_order, rectangle_order, tightenings
from assistant.core.units import Amount

MOST_TURNS = 120
"""More than a technician follows by ear: a larger joint is marked on the metal and tightened from the manual."""
SPOKEN_FIGURES = 2
"""Of a stage on the way ("about 30 %" in the source); the full torque is said as it stands."""

SayAmount = Callable[[Amount], str]


def steps_of(
    step: Step, joint: Joint, count: int, torque: Amount, language: Language, say_amount: SayAmount
) -> tuple[Step, ...]:
    """The step itself, its `at` 0, then one for each turn, numbered from 1; the first of each stage says the torque.

    Cautions are said before the first, needs hold before each. Raises ValueError for a joint that cannot be laid out so.
    """
    fastener = capital(language.named(joint.fastener))
    found = [replace(step, id=f"{step.id}.0", at=0, tighten=None)]
    for _, stage in groupby(_turns(joint, count, torque), key=lambda turn: turn.stage):
        for place, turn in enumerate(stage):
            number, stage_said = str(turn.fastener), language.named(turn.stage)
            head = "" if place else _stage_aloud(turn, language, say_amount)
            said = language.phrase("fastener", fastener=fastener, number=number)
            found.append(
                replace(
                    found[0],
                    id=f"{step.id}.{len(found)}",
                    at=len(found),
                    title=language.phrase("turn title", title=step.title, stage=stage_said, number=number),
                    say=f"{head} {said}".strip(),
                    cautions=(),
                )
            )
    return tuple(found)


def _turns(joint: Joint, count: int, torque: Amount) -> tuple[Tightening, ...]:
    if count < 2:
        raise ValueError(f"an order is for two fasteners or more, the sheet counts {count}")
    order = circle_order(count) if joint.layout == "circle" else rectangle_order(count, joint.short_side)
    turns = tightenings(order, torque, joint.rounds)
    if len(turns) > MOST_TURNS:
        raise ValueError(f"{count} fasteners are {len(turns)} turns of the tool, at most {MOST_TURNS} are read aloud")
    return turns


def _stage_aloud(turn: Tightening, language: Language, say_amount: SayAmount) -> str:
    if turn.stage == "round":
        return language.phrase("once round", torque=say_amount(turn.torque))
    on_the_way = turn.stage != "full"
    value = to_figures(turn.torque.value, SPOKEN_FIGURES) if on_the_way else turn.torque.value
    torque = say_amount(Amount(value, turn.torque.unit))
    return language.phrase("set wrench", torque=torque, stage=language.named(turn.stage))

"""Procedures that nobody thought of, from a seed: steps, needs, makes, answers that decide, steps for some machines, rules."""

from __future__ import annotations

import random

from assistant.core.procedure import Choice, Never, Procedure, Reading, Step

VALUES = {
    "engine": ("stopped", "running"),
    "water": ("off", "on"),
    "lid": ("shut", "ajar"),
    "cooling": ("air", "raw", "closed"),
}
MOST_STEPS = 7


def generated(seed: int) -> Procedure:
    """The procedure of that seed: 1 to 7 steps over four conditions, 1 or 2 rules."""
    dice = random.Random(seed)
    steps = tuple(_step(dice, f"s{n}") for n in range(dice.randint(1, MOST_STEPS)))
    rules = tuple(Never(_held(dice, 2, 3), "") for _ in range(dice.randint(1, 2)))
    start = {name: dice.choice(values) if dice.random() < 0.9 else "unsure" for name, values in VALUES.items()}
    return Procedure("p", "P", 1, "boat", start, VALUES, rules, (), steps)


def _step(dice: random.Random, name: str) -> Step:
    only = _held(dice, 1, 1) if dice.random() < 0.3 else {}
    needs, makes = _held(dice, 0, 3), _held(dice, 0, 1)
    if dice.random() < 0.8:
        return Step(name, name, name, needs=needs, makes=makes, only=only)
    readings = tuple(_question(dice, f"{name}q{n}") for n in range(dice.randint(1, 2)))
    return Step(name, name, name, readings=readings, needs=needs, makes=makes if dice.random() < 0.3 else {}, only=only)


def _question(dice: random.Random, name: str) -> Reading:
    choices = tuple(
        Choice(f"a{n}", (f"a{n}",), makes=tuple(_held(dice, 0, 1).items())) for n in range(dice.randint(2, 3))
    )
    return Reading(name, name, "choice", choices=choices)


def _held(dice: random.Random, least: int, most: int) -> dict[str, str]:
    names = dice.sample(sorted(VALUES), dice.randint(least, most))
    return {name: dice.choice(VALUES[name]) for name in names}

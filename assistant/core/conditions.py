"""What state the machine is in, as far as the answers tell; the rules that the engine and the proof share.

A condition has one of its values, or `UNSURE`: any of them. Three rules keep what is believed true to what is so:

1. A step is read only when all it needs holds. What does not hold is asked for, one at a time in the order written, and
   *affirm* makes it so (`to_affirm`, `affirmed`).
2. *Done* makes what the step makes (`after_done`).
3. A step left any other way once it was read (*unable*, *go back*) may have been done in part: whatever it makes that
   was not so before is then unsure (`after_leaving`). Left before it was read, it changes nothing.

A `never` is broken as soon as it cannot be ruled out: each of its conditions has the named value or is unsure.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from assistant.core.procedure import Never, Step

UNSURE = "unsure"
"""In the place of a value: it may be any. Allowed in a procedure's `start`, nowhere else."""

Conditions = Mapping[str, str]


def to_affirm(step: Step, now: Conditions) -> tuple[tuple[str, str], ...]:
    """The (condition, value) pairs that the step needs and that do not surely hold, in the order to ask for them."""
    return tuple((name, value) for name, value in step.needs.items() if now.get(name, UNSURE) != value)


def affirmed(now: Conditions, name: str, value: str) -> dict[str, str]:
    """The technician affirmed it."""
    return {**now, name: value}


def after_done(step: Step, now: Conditions) -> dict[str, str]:
    """The step is done: what it makes holds."""
    return {**now, **step.makes}


def after_leaving(step: Step, now: Conditions) -> dict[str, str]:
    """The step is left undone: unchanged if it had not been read, else what it makes may be so or not."""
    if to_affirm(step, now):
        return dict(now)
    return {**now, **{name: UNSURE for name, value in step.makes.items() if now.get(name, UNSURE) != value}}


def broken(never: Iterable[Never], now: Conditions) -> Never | None:
    """The first rule that the conditions do not rule out; None when all are kept."""
    for rule in never:
        if all(now.get(name, UNSURE) in (value, UNSURE) for name, value in rule.conditions.items()):
            return rule
    return None

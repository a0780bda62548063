"""What state the machine is in, as far as the answers tell; the rules that the engine and the proof share.

A condition has one of its values, or `UNSURE`: any of them. Three rules keep what is believed true to what is so:

1. A step is read only when all it needs holds. What does not hold is asked for, one at a time in the order written, and
   *affirm* makes it so (`to_affirm`, `affirmed`).
2. *Done* makes what the step makes, and what the answers chosen in it make (`made`, `after_done`).
3. A step left any other way once it was read (*unable*, *go back*) may have been done in part: whatever it makes that
   was not so before is then unsure (`after_leaving`). Left before it was read, it changes nothing.
4. A step that is `only` for some machines is passed over where it surely does not belong (`kept_out`); where that is not
   sure, it is asked for like a need.

A `never` is broken as soon as it cannot be ruled out: each of its conditions has the named value or is unsure.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from assistant.core.procedure import Never, Step

UNSURE = "unsure"
"""In the place of a value: it may be any. Allowed in a procedure's `start`, nowhere else."""

Conditions = Mapping[str, str]


def kept_out(step: Step, now: Conditions) -> tuple[str, str] | None:
    """The first (condition, value) that shows the step to be for other machines; None where it is to be opened."""
    for name, wanted in step.only.items():
        value = now.get(name, UNSURE)
        if value not in (wanted, UNSURE):
            return name, value
    return None


def next_opened(steps: Sequence[Step], index: int, now: Conditions) -> int:
    """The place of the first step after `index` that is not passed over; their number where none is left."""
    return next((i for i in range(index + 1, len(steps)) if not kept_out(steps[i], now)), len(steps))


def previous_opened(steps: Sequence[Step], index: int, now: Conditions) -> int | None:
    """The place of the last step before `index` that is not passed over; None where none is."""
    return next((i for i in range(index - 1, -1, -1) if not kept_out(steps[i], now)), None)


def to_affirm(step: Step, now: Conditions) -> tuple[tuple[str, str], ...]:
    """The (condition, value) pairs that the step needs and that do not surely hold, in the order to ask for them."""
    wanted = (*step.only.items(), *step.needs.items()) if step.only else step.needs.items()
    return tuple((name, value) for name, value in wanted if now.get(name, UNSURE) != value)


def affirmed(now: Conditions, name: str, value: str) -> dict[str, str]:
    """The technician affirmed it."""
    return {**now, name: value}


def made(step: Step, chosen: Mapping[str, str]) -> Mapping[str, str]:
    """What the step makes with the answers kept in it (reading -> answer)."""
    return next(way.makes for way in step.ways if all(chosen.get(name) == answer for name, answer in way.chosen))


def after_done(now: Conditions, makes: Conditions) -> dict[str, str]:
    """The step is done: what it makes, in the way that it was done, holds."""
    return {**now, **makes}


def after_leaving(step: Step, now: Conditions) -> dict[str, str]:
    """The step is left undone: unchanged if it had not been read, else whatever it may make is so or not."""
    after = dict(now)
    if not to_affirm(step, now):
        for way in step.ways:
            after.update((name, UNSURE) for name, value in way.makes.items() if now.get(name, UNSURE) != value)
    return after


def broken(never: Iterable[Never], now: Conditions) -> Never | None:
    """The first rule that the conditions do not rule out; None when all are kept."""
    for rule in never:
        if all(now.get(name, UNSURE) in (value, UNSURE) for name, value in rule.conditions.items()):
            return rule
    return None

"""Cranking pressures against each other: each published rule by its name, and the lowest against its neighbours.

The rules disagree with each other, so one set may keep to some and not to others: then the verdict is unsure and both
sides are named. Each rule is a least value for a cylinder of this set; the boundary is as its source words it. All in
reference.md section 7.4.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from typing import Literal

from assistant.core.trade.compression import CRANKING
from assistant.core.trade.cylinders import NONE, compared, cranking_pressures, named, where
from assistant.core.trade.figure import Figure, Verdict
from assistant.core.trade.inputs import Pressure
from assistant.core.trade.rounding import in_short, shown
from assistant.core.units import Amount, convert

TEN_PSI = Amount(Decimal(10), "psi")
RuleName = Literal["below_mean", "ten_psi", "lowest_75", "lowest_90"]
SIDE_BY_SIDE = "neighbours are the ones side by side: of a V engine give one bank at a time"
NO_LEAK_FOUND = "A set in balance may still be low on every cylinder: the machine's own least figure comes first."


@dataclass(frozen=True)
class Rule:
    """One published rule. `floor` gives the least for a cylinder of the set; `floor_passes`: one right on it is good."""

    says: str
    source: str
    floor: Callable[[Sequence[Decimal], str], Decimal]
    floor_passes: bool

    def weak(self, numbers: Sequence[Decimal], unit: str) -> list[int]:
        """The cylinders, counted from one, that do not keep to it."""
        floor = compared(self.floor(numbers, unit))
        return where(numbers, lambda n: compared(n) < floor or (compared(n) == floor and not self.floor_passes))


RULES: dict[str, Rule] = {
    "below_mean": Rule(
        "no cylinder 20 % or more below the average",
        "TM 1-1500-204-23-1, compression test",
        lambda numbers, _: sum(numbers, Decimal(0)) * 4 / (5 * len(numbers)),
        floor_passes=False,
    ),
    "ten_psi": Rule(
        "no more than 10 psi between cylinders",
        "TM 10-3930-618-20 para 2-12",
        lambda numbers, unit: max(numbers) - ten_psi_in(unit),
        floor_passes=True,
    ),
    "lowest_75": Rule(
        "lowest at least 75 % of the highest",
        "common practice, from memory",
        lambda numbers, _: max(numbers) * 75 / 100,
        floor_passes=True,
    ),
    "lowest_90": Rule(
        "lowest within 10 % of the highest",
        "common practice, from memory",
        lambda numbers, _: max(numbers) * 90 / 100,
        floor_passes=True,
    ),
}
"""Name -> rule."""


def compression_by_rule(*, rule: RuleName, pressures: tuple[Pressure, ...]) -> Figure:
    """The weak cylinders of a set by one rule of balance: within or low; readings in the order of the cylinders.

    Sources: `RULES`. Raises ValueError for a rule that is none of them, fewer than two readings, or one that is not from
    0 to 1000 psi.
    """
    if rule not in RULES:
        raise ValueError(f"'rule' is '{rule}', and must be one of {', '.join(RULES)}")
    numbers, unit = cranking_pressures("pressures", pressures)
    chosen = RULES[rule]
    weak = chosen.weak(numbers, unit)
    return Figure(
        named(weak),
        (*_set_told(numbers, unit), _rule_told(rule, numbers, unit)),
        (chosen.source,),
        verdict="low" if weak else "within",
        cautions=(NO_LEAK_FOUND, *CRANKING),
    )


def compression_balance(*, pressures: tuple[Pressure, ...]) -> Figure:
    """The weak cylinders of a set by all rules of balance: within or low where they agree, else unsure.

    Sources and errors as `compression_by_rule`.
    """
    numbers, unit = cranking_pressures("pressures", pressures)
    weak = {name: rule.weak(numbers, unit) for name, rule in RULES.items()}
    fail = [name for name in RULES if weak[name]]
    keep = [name for name in RULES if not weak[name]]
    working = [*_set_told(numbers, unit), *(_rule_told(name, numbers, unit) for name in RULES)]
    if fail and keep:
        working.append(f"the rules disagree: kept {', '.join(keep)}; not kept {', '.join(fail)}")
    verdict: Verdict = "within" if not fail else "unsure" if keep else "low"
    return Figure(
        named(sorted({cylinder for cylinders in weak.values() for cylinder in cylinders})),
        tuple(working),
        tuple(f"{name}: {rule.source}" for name, rule in RULES.items()),
        verdict=verdict,
        beside=tuple((name, named(weak[name])) for name in RULES),
        cautions=(NO_LEAK_FOUND, *CRANKING),
    )


def compression_neighbours(*, pressures: tuple[Pressure, ...]) -> Figure:
    """The lowest cylinder, and how far below each neighbour it stands; readings in the order in which they stand.

    Two side by side that are both more than 10 psi below the highest suggest the head gasket between them (TM
    10-3930-647-14&P, reference.md 7.4; that manual's origin is not confirmed). Errors as `compression_by_rule`.
    """
    numbers, unit = cranking_pressures("pressures", pressures)
    lowest = min(numbers)
    at = where(numbers, lambda number: number == lowest) if lowest < max(numbers) else []
    gaps = [
        (f"cylinder_{one}_below_cylinder_{other}", numbers[other - 1] - lowest)
        for one in at
        for other in (one - 1, one + 1)
        if 1 <= other <= len(numbers) and other not in at
    ]
    pairs = low_pairs(numbers, unit)
    working = [*_set_told(numbers, unit), f"lowest {in_short(lowest)} {unit}: {named(at)}"]
    working += [f"{name.replace('_', ' ')} by {in_short(gap)} {unit}" for name, gap in gaps]
    working += [f"cylinders {a} and {b} are both more than 10 psi below the highest, side by side" for a, b in pairs]
    suspects = "; ".join(f"head gasket between cylinders {a} and {b}" for a, b in pairs)
    return Figure(
        named(at),
        tuple(working),
        ("TM 10-3930-618-20 para 2-12 for 10 psi; TM 10-3930-647-14&P for two neighbours, unconfirmed",),
        beside=(*((name, Amount(gap, unit)) for name, gap in gaps), ("suspect", suspects or NONE)),
        cautions=(f"Order: {SIDE_BY_SIDE}.", *CRANKING),
    )


def ten_psi_in(unit: str) -> Decimal:
    """The 10 psi of the rules in another unit of gauge pressure."""
    return convert(TEN_PSI, unit).value


def low_ones(numbers: Sequence[Decimal], unit: str) -> list[int]:
    """The cylinders to test again with oil: more than 10 psi below the highest (TM 10-3930-618-20)."""
    return RULES["ten_psi"].weak(numbers, unit)


def low_pairs(numbers: Sequence[Decimal], unit: str) -> list[tuple[int, int]]:
    """Those of them that stand side by side."""
    return [(a, b) for a, b in pairwise(low_ones(numbers, unit)) if b == a + 1]


def _set_told(numbers: Sequence[Decimal], unit: str) -> tuple[str, ...]:
    mean = sum(numbers, Decimal(0)) / len(numbers)
    lowest, highest = min(numbers), max(numbers)
    return (
        ", ".join(f"cylinder {at}: {in_short(number)}" for at, number in enumerate(numbers, start=1)) + f" {unit}",
        f"highest {in_short(highest)}, lowest {in_short(lowest)}, apart {in_short(highest - lowest)},"
        f" mean {in_short(mean)} {unit}",
        f"lowest / highest = {shown(lowest * 100 / highest, 1)} %; lowest below the mean by"
        f" {shown((mean - lowest) * 100 / mean, 1)} %",
    )


def _rule_told(name: str, numbers: Sequence[Decimal], unit: str) -> str:
    rule = RULES[name]
    bound = "at least" if rule.floor_passes else "above"
    floor = in_short(rule.floor(numbers, unit))
    return f"{name}, {rule.says}: {bound} {floor} {unit}, not kept by {named(rule.weak(numbers, unit))}"


COMPUTATIONS = (compression_by_rule, compression_balance, compression_neighbours)

"""One reading of one machine, season by season: its shapes, what has changed, and whether this season's value stands apart.

Pure: the lines through the seasons need scipy and are drawn in `assistant.reports.season_trends`. What cannot be told is a
value too (`NotTold`), with its reason.

Source of the score: Iglewicz and Hoaglin, How to Detect and Handle Outliers (ASQC Basic References in Quality Control 16,
1993), section 3.3, modified z-scores: 0.6745 (x - median) / MAD, an outlier where that is more than 3.5 away from zero.
Secondary pages restate it, and that 3.5 was tried on sets of 10, 20 and 40; the book itself was not seen.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import pairwise
from statistics import median
from typing import Literal

from assistant.core.procedure import Limit
from assistant.core.units import Amount, convert, kind_of

TO_NORMAL = Decimal("0.6745")
"""The normal distribution's upper quartile, as the source rounds it: the MAD of normal values is that many of their sigma."""
APART = Decimal("3.5")
FEWEST_TO_SCORE = 4
"""Of n values without any outlier the last passes 3.5 by chance in 9.6 % of sets of 3, 4.2 % of 4, 5.4 % of 5, 1.7 % of 10
(400 000 random sets of normal values each)."""
TRIED_FROM = 10
"""The smallest set that the source tried 3.5 on: with fewer values what it says is unsure."""
EXCLUSIVE = ("above", "below")
"""Limit rules whose bound itself is out of limits."""
FEWEST_FOR_A_LINE = 3
"""Two values lie on a line whatever they are: nothing is left over to tell scatter from wear."""


@dataclass(frozen=True)
class NotTold:
    """What cannot be told from these seasons, and why."""

    why: str


@dataclass(frozen=True)
class Season:
    """The value of one job. `began`: the day, ISO 8601; `hours`: what the engine had run, None where the job does not say.

    `read_to`: the smallest step of the value as it was said ("190" is read to 1), in the unit of the value.
    """

    job: str
    began: str
    hours: Decimal | None
    value: Amount
    read_to: Decimal


@dataclass(frozen=True)
class Change:
    """From the season before to this one; a temperature's is a temperature difference. `hours`: run between, if known."""

    amount: Amount
    since: str
    hours: Decimal | None


@dataclass(frozen=True)
class Score:
    """How far this season's value lies from the median of all, and of how many. `unsure`: far, but of too few to say so."""

    value: Decimal
    of: int
    verdict: Literal["apart", "not apart", "unsure"]


@dataclass(frozen=True)
class Rate:
    """What a running hour changes, in the unit of the value: by which method, with its interval where there is one."""

    method: Literal["least squares", "Theil-Sen"]
    per_hour: float
    interval: tuple[float, float] | NotTold


@dataclass(frozen=True)
class Projection:
    """Running hours after this season's reading at which the least-squares line comes to `limit`, with its interval.

    `beyond`: how many times the hours that were watched that is ahead. A projection: nobody has measured there.
    """

    limit: Amount
    hours: float
    earliest: float
    latest: float
    beyond: float


@dataclass(frozen=True)
class Trend:
    """All that is told of one reading at one place; the last of `seasons` is this one. `notes`: what was left out, and why."""

    step: str
    name: str
    place: str
    seasons: tuple[Season, ...]
    change: Change | NotTold
    score: Score | NotTold
    rates: tuple[Rate, ...] | NotTold
    projection: Projection | NotTold
    notes: tuple[str, ...] = ()


def in_this_unit(seasons: Sequence[Season]) -> tuple[Season, ...]:
    """The seasons in the unit of the last, exact. Raises ValueError, naming the job, for a value of another kind.

    >>> old = Season("a", "2025-10-01", None, Amount(Decimal(13), "bar"), Decimal(1))
    >>> new = Season("b", "2026-10-01", None, Amount(Decimal(1300), "kPa"), Decimal(10))
    >>> [str(s.value) for s in in_this_unit((old, new))], in_this_unit((old, new))[0].read_to
    (['1300 kPa', '1300 kPa'], Decimal('100'))
    """
    unit = seasons[-1].value.unit
    for season in seasons:
        if kind_of(season.value.unit) != kind_of(unit):
            here, there = kind_of(season.value.unit), kind_of(unit)
            raise ValueError(f"{season.job} has {season.value} ({here}), {seasons[-1].job} has {unit} ({there})")
    return tuple(
        replace(s, value=convert(s.value, unit), read_to=step_in(s.read_to, s.value.unit, unit)) for s in seasons
    )


def step_in(step: Decimal, said_in: str, unit: str) -> Decimal:
    """A step of one unit in another of its kind: the difference that it makes, whatever the units' zero points.

    >>> step_in(Decimal(1), "degC", "degF").quantize(Decimal("0.001"))
    Decimal('1.800')
    """
    return convert(Amount(step, said_in), unit).value - convert(Amount(Decimal(0), said_in), unit).value


def change_since_last(seasons: Sequence[Season]) -> Change | NotTold:
    """This season's value less that of the season before; `seasons` in order and in one unit."""
    if len(seasons) < 2:
        return NotTold("no earlier season has it")
    before, now = seasons[-2:]
    between = None if before.hours is None or now.hours is None else now.hours - before.hours
    unit = {"degC": "delta_K", "degF": "delta_F"}.get(now.value.unit, now.value.unit)
    return Change(Amount(now.value.value - before.value.value, unit), before.job, between)


def outlier_score(values: Sequence[Decimal]) -> Score | NotTold:
    """The modified z-score of the last value among all, to 2 decimals (judged before it is rounded); source: the module's.

    It knows no running hours: steady wear alone moves it.

    >>> outlier_score([Decimal(v) for v in (10, 12, 12, 13, 12, 11, 14, 300)])
    Score(value=Decimal('194.26'), of=8, verdict='unsure')
    """
    if len(values) < FEWEST_TO_SCORE:
        return NotTold(f"a score needs {FEWEST_TO_SCORE} seasons, and there are {len(values)}")
    middle = median(values)
    spread = median(abs(value - middle) for value in values)
    if not spread:
        return NotTold("more than half of the values are the same: there is no spread to measure by")
    score = TO_NORMAL * (values[-1] - middle) / spread
    far: Literal["apart", "unsure"] = "apart" if len(values) >= TRIED_FROM else "unsure"
    return Score(score.quantize(Decimal("0.01")), len(values), far if abs(score) > APART else "not apart")


def why_no_line(hours: Sequence[Decimal]) -> NotTold | None:
    """Why no line can be drawn through values at these running hours; None where one can."""
    if len(hours) < FEWEST_FOR_A_LINE:
        return NotTold(f"a rate needs {FEWEST_FOR_A_LINE} seasons with engine hours, and there are {len(hours)}")
    if all(before == after for before, after in pairwise(hours)):
        return NotTold("no running hours between the seasons")
    return None


def limit_ahead(limits: Sequence[Limit], value: Amount, *, falling: bool) -> Amount | NotTold:
    """The nearest bound that a falling or rising value goes towards, in its unit.

    Only bounds that stand fixed (`Limit.alone`): others move with the readings themselves.
    """
    found = []
    for limit in limits:
        bound = limit.low if falling else limit.high
        if limit.alone and isinstance(bound, Amount):
            left = value.value - convert(bound, value.unit).value
            found.append(((left if falling else -left), limit.rule not in EXCLUSIVE, bound))
    if not found:
        return NotTold(f"it {'falls' if falling else 'rises'}, and no fixed limit lies on that side")
    left, may_touch, bound = min(found, key=lambda one: one[:2])
    here = convert(bound, value.unit)
    if left < 0 or (left == 0 and not may_touch):
        return NotTold(f"it is past its limit of {legible(here)} already")
    return here


def legible(amount: Amount) -> Amount:
    """To three decimals: for reading only, where a conversion has left more.

    >>> str(legible(Amount(Decimal("174.04528527596193"), "psi")))
    '174.045 psi'
    """
    return Amount(round(amount.value, 3), amount.unit)

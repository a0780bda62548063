"""Lines through a reading's seasons, over the hours that the engine ran: two rates named apart, and when a limit is reached.

Sources. Least squares: `scipy.stats.linregress`; its slope's interval by Student's t with n - 2 degrees of freedom.
Theil-Sen: `scipy.stats.theilslopes` (Theil 1950, Sen 1968), the median of the slopes between all pairs. Inverse prediction:
the hours at which the least-squares line comes to a limit, with the hours at which its confidence band does (Fieller 1954;
Graybill and Iyer, Regression Analysis 1994, chapter 6, on whose printed examples it is tested). Read off the band of the
line, not of a single reading, as ICH Q1E does for shelf lives (from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite, sqrt
from statistics import fmean

from assistant.core.entries import ReadingKept
from assistant.core.job import ReadingKey
from assistant.core.problems import CallProblem
from assistant.core.procedure import Limit
from assistant.core.trade.seasons import (
    NotTold,
    Projection,
    Rate,
    Season,
    Trend,
    change_since_last,
    in_this_unit,
    legible,
    limit_ahead,
    outlier_score,
    why_no_line,
)
from assistant.core.units import Amount
from assistant.reports.own_texts import OwnTexts
from assistant.reports.season_jobs import SeasonJob

LEVEL = 0.95
"""Of all intervals. Each is right so often for one line alone: of twenty lines without wear one shows some by chance."""
FEWEST_FOR_SEN = 5
"""The widest interval between slopes of pairs holds the true slope in 1 - 2/n! of cases (all residuals in order, up or down):
91.7 % for 4 seasons, 98.3 % for 5."""
NO_WEAR = "no wear can be told from these: the slope's interval holds zero"


@dataclass(frozen=True)
class Line:
    """A least-squares line over running hours, about the middle of its points. `scatter`: the points' standard deviation
    about it; `spread`: the sum of squares of the hours about their mean; `t`: Student's factor of the interval."""

    per_hour: float
    mean_hours: float
    mean_value: float
    spread: float
    scatter: float
    points: int
    t: float

    @property
    def interval(self) -> tuple[float, float]:
        """Of the slope."""
        half = self.t * self.scatter / sqrt(self.spread)
        return self.per_hour - half, self.per_hour + half

    @property
    def tells_wear(self) -> bool:
        """The slope's interval does not hold zero."""
        low, high = self.interval
        return low > 0 or high < 0

    def at(self, hours: float) -> float:
        """The value of the line."""
        return self.mean_value + self.per_hour * (hours - self.mean_hours)

    def crossing(self, limit: float) -> tuple[float, float, float]:
        """The hours at which the line comes to `limit`; and those, earliest and latest, at which its confidence band does.

        Raises ValueError where the slope's interval holds zero: the band then never leaves the limit behind.
        """
        if not self.tells_wear:
            raise ValueError(NO_WEAR)
        gap, reach = limit - self.mean_value, self.t * self.scatter
        steep = self.per_hour**2 - reach**2 / self.spread  # above zero just where the slope's interval does not hold it
        middle = self.mean_hours + self.per_hour * gap / steep
        half = reach * sqrt(gap**2 / self.spread + steep / self.points) / steep
        return self.mean_hours + gap / self.per_hour, middle - half, middle + half


def least_squares(hours: Sequence[float], values: Sequence[float], read_to: float = 0, level: float = LEVEL) -> Line:
    """The line through three points or more at two different hours or more.

    Values read to whole steps may lie on a line by rounding alone: the scatter is at least that of a rounding, the step over
    the root of 12 (JCGM 100:2008, F.2.2.1).
    """
    from scipy import stats

    fit = stats.linregress(hours, values)
    middle = fmean(hours)
    spread = sum((hour - middle) ** 2 for hour in hours)
    scatter = max(float(fit.stderr) * sqrt(spread), read_to / sqrt(12))
    t = float(stats.t.ppf((1 + level) / 2, len(hours) - 2))
    return Line(float(fit.slope), middle, fmean(values), spread, scatter, len(hours), t)


def theil_sen(hours: Sequence[float], values: Sequence[float]) -> Rate:
    """The rate that one odd season does not turn. No interval of `LEVEL` with too few seasons at different hours, nor where so
    many values are the same that the ranks, which it is made from, say nothing."""
    import numpy as np
    from scipy import stats

    with np.errstate(invalid="ignore"):  # so many are the same that Sen's variance is below zero
        found = stats.theilslopes(values, hours, alpha=LEVEL)
    slope, low, high = float(found.slope), float(found.low_slope), float(found.high_slope)
    if len(set(hours)) < FEWEST_FOR_SEN:
        return Rate("Theil-Sen", slope, NotTold(f"no interval under {FEWEST_FOR_SEN} seasons"))
    if len(set(values)) == 1 or not isfinite(low):
        return Rate("Theil-Sen", slope, NotTold("no interval: too many values are the same"))
    return Rate("Theil-Sen", slope, (low, high))


def line_of(seasons: Sequence[Season]) -> Line | NotTold:
    """The least-squares line through the seasons whose hours are known; they are in order and in one unit."""
    refused = why_no_line([s.hours for s in seasons if s.hours is not None])
    if refused:
        return refused
    return least_squares(*points_of(seasons), float(max(s.read_to for s in seasons if s.hours is not None)))


def points_of(seasons: Sequence[Season]) -> tuple[list[float], list[float]]:
    """Hours and values of the seasons whose hours are known."""
    known = [(float(s.hours), float(s.value.value)) for s in seasons if s.hours is not None]
    return [hours for hours, _ in known], [value for _, value in known]


def trend_of(key: ReadingKey, seasons: Sequence[Season], limits: Sequence[Limit] | None) -> Trend:
    """All that is told of one reading; `limits` are those of this season's job, None where they cannot be told."""
    try:
        same = in_this_unit(seasons)
    except ValueError as fault:
        no = NotTold(f"measured in units of different kinds: {fault}")
        return Trend(*key, seasons=tuple(seasons[-1:]), change=no, score=no, rates=no, projection=no)
    line = line_of(same)
    rates = line if isinstance(line, NotTold) else _rates(line, same)
    return Trend(
        *key,
        seasons=same,
        change=change_since_last(same),
        score=outlier_score([s.value.value for s in same]),
        rates=rates,
        projection=line if isinstance(line, NotTold) else _projection(line, same, limits),
        notes=_notes(seasons, same),
    )


def _rates(line: Line, seasons: Sequence[Season]) -> tuple[Rate, ...]:
    return Rate("least squares", line.per_hour, line.interval), theil_sen(*points_of(seasons))


def _projection(line: Line, seasons: Sequence[Season], limits: Sequence[Limit] | None) -> Projection | NotTold:
    now = seasons[-1]
    if not line.tells_wear:
        return NotTold(NO_WEAR)
    if theil_sen(*points_of(seasons)).per_hour * line.per_hour <= 0:
        return NotTold("the two rates do not point the same way: look at the single seasons")
    if now.hours is None:
        return NotTold("this season's job has no engine hours to count from")
    if limits is None:
        return NotTold("its limits cannot be read from this season's job")
    limit = limit_ahead(limits, now.value, falling=line.per_hour < 0)
    return limit if isinstance(limit, NotTold) else _until(line, limit, seasons)


def _until(line: Line, limit: Amount, seasons: Sequence[Season]) -> Projection | NotTold:
    hours, _ = points_of(seasons)
    ahead, earliest, latest = (at - hours[-1] for at in line.crossing(float(limit.value)))
    if ahead <= 0:
        what = f"the line is past the limit of {legible(limit)} already"
        return NotTold(f"{what}, and this season's value is not: measure again")
    return Projection(limit, ahead, max(earliest, 0.0), latest, ahead / (hours[-1] - hours[0]))


def _notes(as_kept: Sequence[Season], same: Sequence[Season]) -> tuple[str, ...]:
    turned = [
        f"{legible(old.value)} in {old.job} is {legible(new.value)}"
        for old, new in zip(as_kept, same, strict=True)
        if old.value.unit != new.value.unit
    ]
    return (*turned, *(f"{s.job} has no engine hours: left out of the rates" for s in same if s.hours is None))


def trends_of(jobs: Sequence[SeasonJob], name: str = "") -> tuple[Trend, ...]:
    """The trends of the last job's readings, in the order in which they were kept.

    Without `name` only of what is measured: counts (screws, tools) do not wear, and the engine hours are what is counted by.
    Raises CallProblem where this season's job has no number for such a reading.
    """
    now = jobs[-1]
    numbers = {key: kept for key, kept in now.readings.items() if now.season(key)}
    keys = [key for key, kept in numbers.items() if _wanted(kept, name, now)]
    if not keys:
        what = f"it has no number for a reading named '{name}'" if name else "nothing was measured in it"
        there = ", ".join(dict.fromkeys(kept.name for kept in numbers.values()))
        raise CallProblem(what, where=str(now.path), do=f"it has {there}" if there else "name this season's job too")
    texts = OwnTexts(now.texts)
    return tuple(
        trend_of(key, [found for job in jobs if (found := job.season(key))], texts.limits(*key[:2])) for key in keys
    )


def _wanted(kept: ReadingKept, name: str, now: SeasonJob) -> bool:
    return kept.name == name if name else kept.unit != "count" and kept.name != now.hours_name

"""The trends of a machine's seasons in words, a line a reading and place, and as JSON; with what must be said beside them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import Decimal
from typing import TypeVar

from assistant.core.trade.seasons import Change, NotTold, Projection, Rate, Score, Season, Trend, legible
from assistant.core.units import WRITTEN, Amount, plain
from assistant.reports.season_jobs import SeasonJob, names_one_machine
from assistant.reports.season_trends import LEVEL
from assistant.reports.worked_figure import DEFER

T = TypeVar("T")
SURE = f"{LEVEL * 100:.0f} %"
CAUTIONS = (
    "A projection is no measurement: it lets the line of these seasons run on, and knows nothing of other use, or of parts "
    "renewed or mended between. It never puts an inspection off.",
    "Only readings taken alike can be compared: the same gauge, an engine as warm, a battery as strong (common practice, no "
    "source).",
    f"An interval of {SURE} is one for its line alone: of twenty lines without any wear about one shows some by chance.",
    "An outlier score knows no running hours: steady wear alone moves it.",
)
FAR = 1.0
"""A limit that lies further ahead than was watched, in hours, is called so. That no line be drawn further is nobody's rule."""
VERDICTS = {
    "apart": "apart from the others",
    "not apart": "not apart",
    "unsure": "far from the others, of too few seasons",
}


def seasons_text(jobs: Sequence[SeasonJob], trends: Sequence[Trend]) -> str:
    """For a person: the seasons, a line for each trend, then cautions."""
    lines = [f"{jobs[-1].model}, {len(jobs)} seasons"]
    lines += [f"  {job.began} {_hours_text(job.hours)}  {job.path}" for job in jobs]
    lines += [trend_line(trend) for trend in trends]
    lines += [f"caution: {caution}" for caution in (*CAUTIONS, *_which_machine(jobs))]
    return "\n".join([*lines, DEFER])


def _which_machine(jobs: Sequence[SeasonJob]) -> tuple[str, ...]:
    if names_one_machine(jobs):
        return ()
    return ("These files name a model, not the single machine: that all are of one is for you to know.",)


def trend_line(trend: Trend) -> str:
    """All of one trend on a line."""
    parts = [
        ", ".join(_season_text(season) for season in trend.seasons),
        f"change {_change_text(trend.change)}",
        f"rate {_rates_text(trend.rates, trend.seasons[-1].value.unit)}",
        f"outlier score {_score_text(trend.score)}",
        f"limit {_projection_text(trend.projection)}",
        *(f"note: {note}" for note in trend.notes),
    ]
    return f"{title(trend)}: {'; '.join(parts)}"


def title(trend: Trend) -> str:
    """The reading, its place, and its step where that is called otherwise.

    >>> no = NotTold("")
    >>> title(Trend("plug.2", "plug_gap", "side port", (), no, no, no, no))
    'plug gap, side port (plug.2)'
    """
    head = ", ".join(filter(None, (trend.name.replace("_", " "), trend.place)))
    return head if trend.step == trend.name else f"{head} ({trend.step})"


def rounded(number: float) -> str:
    """Three figures, no exponent: more is never meant.

    >>> rounded(-0.072349), rounded(1234.5)
    ('-0.0723', '1230')
    """
    return plain(Decimal(f"{number:.3g}"))


def _hours_text(hours: Decimal | None) -> str:
    return "no engine hours" if hours is None else f"{plain(hours)} h"


def _season_text(season: Season) -> str:
    return f"{legible(season.value)} at {_hours_text(season.hours)}"


def _change_text(change: Change | NotTold) -> str:
    if isinstance(change, NotTold):
        return f"none told: {change.why}"
    sign = "+" if change.amount.value > 0 else ""
    between = "" if change.hours is None else f" in {plain(change.hours)} h"
    return f"{sign}{legible(change.amount)}{between}"


def _rates_text(rates: tuple[Rate, ...] | NotTold, unit: str) -> str:
    if isinstance(rates, NotTold):
        return f"none told: {rates.why}"
    written = f"{WRITTEN.get(unit, unit)}/h".strip()
    return ", ".join(f"{r.method} {rounded(r.per_hour)} {written} ({_interval_text(r)})" for r in rates)


def _interval_text(rate: Rate) -> str:
    if isinstance(rate.interval, NotTold):
        return rate.interval.why
    low, high = rate.interval
    return f"{SURE} {rounded(low)} to {rounded(high)}"


def _score_text(score: Score | NotTold) -> str:
    if isinstance(score, NotTold):
        return f"none told: {score.why}"
    return f"{plain(score.value)} ({VERDICTS[score.verdict]})"


def _projection_text(projection: Projection | NotTold) -> str:
    if isinstance(projection, NotTold):
        return f"not projected: {projection.why}"
    earliest = f"{rounded(projection.earliest)} h" if projection.earliest else "now"
    far = f", {rounded(projection.beyond)} times as far ahead as was watched" if projection.beyond > FAR else ""
    return (
        f"{legible(projection.limit)} projected in {rounded(projection.hours)} h ({SURE} {earliest} to "
        f"{rounded(projection.latest)} h{far})"
    )


def trend_json(trend: Trend) -> dict[str, object]:
    """One object; kept values as decimal text and unit, what was computed as numbers; `refused` where something is not told."""
    return {
        "step": trend.step,
        "name": trend.name,
        "place": trend.place,
        "seasons": [_season_json(season) for season in trend.seasons],
        "change": _or_refused(trend.change, _change_json),
        "rates": _or_refused(trend.rates, lambda rates: [_rate_json(rate) for rate in rates]),
        "outlier": _or_refused(trend.score, lambda s: {"score": plain(s.value), "of": s.of, "verdict": s.verdict}),
        "projection": _or_refused(trend.projection, _projection_json),
        "notes": list(trend.notes),
    }


def _or_refused(told: T | NotTold, form: Callable[[T], object]) -> object:
    return {"refused": told.why} if isinstance(told, NotTold) else form(told)


def _season_json(season: Season) -> dict[str, object]:
    hours = None if season.hours is None else plain(season.hours)
    return {"job": season.job, "began": season.began, "hours": hours, **_amount_json(season.value)}


def _change_json(change: Change) -> dict[str, object]:
    hours = None if change.hours is None else plain(change.hours)
    return {**_amount_json(change.amount), "since": change.since, "hours": hours}


def _rate_json(rate: Rate) -> dict[str, object]:
    return {
        "method": rate.method,
        "per_hour": rate.per_hour,
        "interval": _or_refused(rate.interval, list),
        "level": LEVEL,
    }


def _projection_json(projection: Projection) -> dict[str, object]:
    return {
        "limit": _amount_json(projection.limit),
        "hours": projection.hours,
        "interval": [projection.earliest, projection.latest],
        "level": LEVEL,
        "times_watched": projection.beyond,
        "caution": CAUTIONS[0],
    }


def _amount_json(amount: Amount) -> dict[str, object]:
    return {"value": plain(amount.value), "unit": amount.unit}

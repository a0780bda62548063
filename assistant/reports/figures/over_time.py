"""A warm-up over the entries' own times: temperatures that a running engine may have, and what else was taken meanwhile.

Known by their unit, by fixed limits of their own, and by what is plausible: it must reach `HOT`, which no coolant test and no
acid does. Each point has a number, its limit behind it, and a line of the list under the drawing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from decimal import Decimal

from assistant.core.units import WRITTEN, Amount, convert, kind_of, plain
from assistant.reports.figures.drawing import (
    BAND,
    LINE,
    RULE,
    SMALL,
    WIDTH,
    Drawn,
    box,
    framed,
    long,
    rule,
    shape,
    text,
)
from assistant.reports.figures.grid import Cell, Columns, heads_at, row_at
from assistant.reports.figures.places import sentence
from assistant.reports.figures.scale import Band, Scale, apart, band_told, fixed_band, scale_over, ticks
from assistant.reports.figures.told import Point, ReadingSet
from assistant.reports.figures.told import Told as Texts
from assistant.reports.looks import told
from assistant.reports.values import spaced

HOT = Amount(Decimal(100), "degC")
"""Water boils there: a warm engine's gauge goes at least so far (common practice, no source)."""
MEANWHILE = ("voltage", "speed", "pressure")
"""What else is drawn where it was taken at two moments or more between the first and the last temperature."""
LEFT, RIGHT, PANEL = 76.0, WIDTH - 24.0, 120.0
STRIP = 24.0
MOST = 16
"""So many points fit a page with their list; what does not fit is told."""
STEPS_S = (1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400, 43200, 86400)
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
COLUMNS = Columns(("", "Time, UTC", "Reading", "Value", "Verdict", "Limit"), (30, 84, 178, 96, 112, 180))


@dataclass(frozen=True)
class _Moment:
    """One value, when it was kept (s from 1970), and the band of its limits."""

    at_s: float
    found: ReadingSet
    point: Point
    band: Band


def over_time(sets: Sequence[ReadingSet], texts: Texts, order: Sequence[str]) -> Drawn | None:
    """The figure; None where fewer than two temperatures of an engine were taken, or all at one moment."""
    hot = _in_time(one for one in sets if _is_engine_temperature(one, texts))
    if len({moment.at_s for moment in hot}) < 2:
        return None
    between = _between(hot, order)
    panels, omitted = [hot[:MOST]], ["temperature"] if hot[MOST:] else []
    for kind in MEANWHILE:
        others = _in_time(one for one in sets if kind_of(one.unit) == kind and one.step in between and _single(one))
        if len({moment.at_s for moment in others}) < 2:
            continue
        if sum(map(len, panels)) + len(others) <= MOST:
            panels.append(others)
        else:
            omitted.append(kind)
    return _drawn(panels, omitted)


def _single(one: ReadingSet) -> bool:
    return len(one.points) == 1 and not one.points[0].value.place


def _is_engine_temperature(one: ReadingSet, texts: Texts) -> bool:
    if kind_of(one.unit) != "temperature" or one.reading is None or not _single(one) or one.name in texts.taken:
        return False
    bounded = fixed_band(one.limits, one.unit) != (None, None)
    hottest = convert(Amount(one.reading.plausible[1], one.reading.unit), HOT.unit).value
    return bounded and all(limit.alone for limit in one.limits) and hottest >= HOT.value


def _in_time(sets: Iterator[ReadingSet]) -> list[_Moment]:
    found = []
    for one in sets:
        at_s = seconds_of(one.points[0].value.time)
        if at_s is not None:
            found.append(_Moment(at_s, one, one.points[0], fixed_band(one.limits, one.unit)))
    return sorted(found, key=lambda moment: moment.at_s)


def seconds_of(time: str) -> float | None:
    """A kept time in seconds from 1970; None where it is no time."""
    try:
        at = datetime.fromisoformat(time)
    except ValueError:
        return None
    return ((at if at.tzinfo else at.replace(tzinfo=UTC)) - EPOCH).total_seconds()


def _between(hot: Sequence[_Moment], order: Sequence[str]) -> set[str]:
    """The steps from that of the first temperature to that of the last."""
    at = [order.index(moment.found.step) for moment in hot if moment.found.step in order]
    return set(order[min(at) : max(at) + 1]) if at else set()


def _drawn(panels: Sequence[Sequence[_Moment]], omitted: Sequence[str]) -> Drawn:
    moments = [moment for panel in panels for moment in panel]
    times = [moment.at_s for moment in moments]
    across = _time_scale(min(times), max(times))
    parts: list[str] = []
    y, number = 0.0, 1
    for panel in panels:
        parts += _panel(panel, across, y, number)
        number += len(panel)
        y += LINE + STRIP + PANEL + 12
    parts += _clock(across, y - 12)
    head, y = heads_at(COLUMNS, y + 22)
    parts += head
    for n, moment in enumerate(moments, start=1):
        row, y = row_at(COLUMNS, _row(n, moment), y)
        parts += row
    title = "Warm-up over time"
    said = [
        f"{_hour(m.at_s)} {spaced(m.found.name)} {m.point.value.written}, {told(m.point.value.verdict)}"
        for m in moments
    ]
    alt = sentence(f"{title}: {'; '.join(said)}")
    caption = "When each was kept; the grey bar behind a point is where its own limit would have it."
    caption += f" Not all is drawn of: {', '.join(omitted)}." if omitted else ""
    return Drawn("", "over time", title, caption, alt, framed(parts, y + 6, alt))


def _time_scale(first: float, last: float) -> Scale:
    room = max((last - first) * 0.05, 1.0)
    return Scale(first - room, last + room, LEFT, RIGHT)


def _panel(panel: Sequence[_Moment], across: Scale, y: float, first: int) -> Iterator[str]:
    """One kind of quantity: its scale at the left, its numbered points, the limits behind them."""
    unit = panel[0].found.unit
    numbers = [convert(moment.point.amount, unit).value for moment in panel]
    bands = [_band_in(moment, unit) for moment in panel]
    top, bottom = y + LINE + STRIP, y + LINE + STRIP + PANEL
    up = scale_over([*numbers, *(bound for band in bands for bound in band if bound is not None)], bottom, top)
    yield text(0, y + LINE - 4, f"{(kind_of(unit) or '').capitalize()}, {WRITTEN.get(unit, unit)}", bold=True)
    yield box(LEFT, top, RIGHT - LEFT, PANEL, edge=RULE)
    for tick in ticks(up.low, up.high):
        yield rule(LEFT, up.at(tick), RIGHT, up.at(tick), ink=RULE, thick=1)
        yield text(LEFT - 6, up.at(tick) + 4, plain(tick), anchor="end", size=SMALL)
    xs = [across.at(moment.at_s) for moment in panel]
    for x, (low, high) in zip(xs, bands, strict=True):
        if (low, high) != (None, None):
            lower, upper = (up.at(low) if low is not None else bottom), (up.at(high) if high is not None else top)
            yield box(x - 8, upper, 16, lower - upper, fill=BAND)
            yield from (rule(x - 9, up.at(edge), x + 9, up.at(edge)) for edge in (low, high) if edge is not None)
    labels = _spread([long(str(first + n), SMALL) + 6 for n in range(len(panel))], xs)
    for n, (x, label, number) in enumerate(zip(xs, labels, numbers, strict=True)):
        yield rule(label, y + LINE + 14, x, top, ink="#888", thick=1)
        yield text(label, y + LINE + 11, str(first + n), anchor="middle", size=SMALL, bold=True)
        yield rule(x, top, x, up.at(number), ink="#888", thick=1)
        yield shape(panel[n].point.value.verdict, x, up.at(number))


def _band_in(moment: _Moment, unit: str) -> Band:
    return fixed_band(moment.found.limits, unit)


def _spread(widths: Sequence[float], xs: Sequence[float]) -> list[float]:
    """Middles of labels of these widths, as near to `xs` (rising) as they go without touching."""
    found: list[float] = []
    edge = LEFT
    for wide, x in zip(widths, xs, strict=True):
        found.append(max(x, edge + wide / 2))
        edge = found[-1] + wide / 2
    edge = float(WIDTH)
    for n in reversed(range(len(found))):
        found[n] = min(found[n], edge - widths[n] / 2)
        edge = found[n] - widths[n] / 2
    return found


def _clock(across: Scale, y: float) -> Iterator[str]:
    """The hours under the lowest panel."""
    span = across.high - across.low
    step = next((one for one in STEPS_S if span / one <= 6), STEPS_S[-1] * (int(span / 6 / STEPS_S[-1]) + 1))
    first = int(across.low // step + 1) * step
    labels = [(across.at(at), _hour(at, short=step >= 60)) for at in range(first, int(across.high) + 1, step)]
    if span > 86400:
        labels = [
            (across.at(at), f"{_day(at)} {_hour(at, short=True)}") for at in range(first, int(across.high) + 1, step)
        ]
    for x, words in apart(labels):
        yield rule(x, y, x, y + 5, thick=1)
        yield text(x, y + 18, words, anchor="middle", size=SMALL)


def _hour(at_s: float, *, short: bool = False) -> str:
    return f"{EPOCH + timedelta(seconds=at_s):{'%H:%M' if short else '%H:%M:%S'}}"


def _day(at_s: float) -> str:
    return f"{EPOCH + timedelta(seconds=at_s):%m-%d}"


def _row(n: int, moment: _Moment) -> tuple[Cell, ...]:
    value = moment.point.value
    return (
        Cell(str(n), bold=True),
        Cell(_hour(moment.at_s)),
        Cell(spaced(moment.found.name)),
        Cell(value.written, bold=True),
        Cell(told(value.verdict), verdict=value.verdict),
        Cell(band_told(moment.band, moment.found.unit) or "no fixed limit"),
    )

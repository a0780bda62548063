"""The seasons as one picture: SVG text of our own, readable in grey. A panel a reading and place: its values over engine hours,
the least-squares line, drawn through where it was watched and dashed where it is projected, the limit and the hours to it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape
from pathlib import Path

from assistant.core.problems import CallProblem
from assistant.core.trade.seasons import NotTold, Projection, Trend, legible
from assistant.core.units import WRITTEN, plain
from assistant.reports.figures.scale import ticks
from assistant.reports.season_text import rounded, title
from assistant.reports.season_trends import Line, line_of, points_of

WIDTH, HEIGHT = 300, 170
LEFT, TOP, APART, ROOM = 70, 50, 90, 54
"""Around a panel, in the units of the drawing: for its scale, its title, between two, and under it."""
ACROSS = 3
LEGEND = (
    "points: seasons; line: least squares, dashed where it is a projection and no measurement; "
    "grey: the limit, the bar its hours with an interval of 95 %"
)


@dataclass(frozen=True)
class Frame:
    """What a panel shows: from which hours and values to which."""

    first: float
    last: float
    low: float
    high: float

    def x(self, hours: float) -> float:
        """Drawing units from the left; what lies outside is put on the edge."""
        share = (min(max(hours, self.first), self.last) - self.first) / (self.last - self.first)
        return round(WIDTH * share, 1)

    def y(self, value: float) -> float:
        """Drawing units from the top."""
        return round(HEIGHT * (1 - (value - self.low) / (self.high - self.low)), 1)


def check_name(path: Path) -> None:
    """Raises CallProblem for a file that is to be something else than SVG."""
    if path.suffix.lower() != ".svg":
        raise CallProblem("seasons are drawn as SVG only", where=str(path), do="name a file that ends in .svg")


def write_picture(trends: Sequence[Trend], path: Path) -> None:
    """Write the picture. Raises CallProblem where there is nothing to draw, and where it cannot be written."""
    check_name(path)
    drawn = [trend for trend in trends if len(points_of(trend.seasons)[0]) > 1]
    if not drawn:
        raise CallProblem(
            "nothing to draw: no reading has two seasons with engine hours", where=str(path), do="leave -o out"
        )
    try:
        path.write_text(picture(drawn, len(trends) - len(drawn)), encoding="utf-8", newline="")
    except OSError as fault:
        raise CallProblem(f"cannot be written: {fault.strerror}", where=str(path), do="check the folder") from fault


def picture(trends: Sequence[Trend], left_out: int = 0) -> str:
    """The text of an SVG file; each trend has two seasons with engine hours or more. `left_out`: others, not drawn."""
    columns, rows = min(len(trends), ACROSS), -(-len(trends) // ACROSS)
    across, down = columns * (WIDTH + APART) + LEFT // 2, rows * (TOP + HEIGHT + ROOM) + 40
    across = max(across, 820)
    parts = []
    for n, trend in enumerate(trends):
        x, y = LEFT + n % ACROSS * (WIDTH + APART), TOP + n // ACROSS * (TOP + HEIGHT + ROOM)
        parts.append(f'<g transform="translate({x} {y})">{"".join(_panel(trend))}</g>')
    without = f"; {left_out} readings without two seasons of engine hours are not drawn" if left_out else ""
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{across}" height="{down}" viewBox="0 0 {across} {down}" '
            'font-family="sans-serif" font-size="12" role="img" aria-label="Readings season by season">',
            '<rect width="100%" height="100%" fill="white"/>',
            *parts,
            f'<text x="{LEFT // 2}" y="{down - 14}" font-size="11">{LEGEND}{without}</text>',
            "</svg>",
            "",
        ]
    )


def _panel(trend: Trend) -> Iterator[str]:
    line, limit = line_of(trend.seasons), trend.projection
    frame = _frame_of(trend, line)
    unit = trend.seasons[-1].value.unit
    yield f'<text x="0" y="-26" font-weight="bold">{escape(title(trend))}</text>'
    yield f'<text x="0" y="-10" font-size="11">{escape(_says(limit))}</text>'
    yield from _scales(frame, WRITTEN.get(unit, unit))
    if isinstance(limit, Projection) and isinstance(line, Line):
        yield from _projected(frame, trend, line, limit)
    if isinstance(line, Line):
        hours, _ = points_of(trend.seasons)
        yield _stroke(frame, line, hours[0], hours[-1], "none")
    for at, value in zip(*points_of(trend.seasons), strict=True):
        yield f'<circle cx="{frame.x(at)}" cy="{frame.y(value)}" r="4" fill="white" stroke="black" stroke-width="1.5"/>'


def _says(projection: Projection | NotTold) -> str:
    if isinstance(projection, NotTold):
        short = projection.why.partition(":")[0]
        return f"not projected: {short}"
    until = f"{rounded(projection.earliest)} to {rounded(projection.latest)}"
    return f"projected: {legible(projection.limit)} in {rounded(projection.hours)} h ({until})"


def _frame_of(trend: Trend, line: Line | NotTold) -> Frame:
    """All seasons, and the limit where it is projected; of a long interval only twice the way to the limit."""
    hours, values = points_of(trend.seasons)
    last, shown = hours[-1], [*values]
    if isinstance(line, Line):
        shown += [line.at(hours[0]), line.at(hours[-1])]
    if isinstance(trend.projection, Projection):
        last += min(trend.projection.latest, 2 * trend.projection.hours)
        shown.append(float(trend.projection.limit.value))
    margin = (max(shown) - min(shown)) * 0.08 or 1.0
    return Frame(hours[0], max(last, hours[0] + 1), min(shown) - margin, max(shown) + margin)


def _scales(frame: Frame, unit: str) -> Iterator[str]:
    for value in ticks(frame.low, frame.high):
        y = frame.y(float(value))
        yield f'<path d="M0 {y} H{WIDTH}" stroke="#dddddd"/>'
        yield f'<text x="-6" y="{y + 4}" text-anchor="end">{plain(value)}</text>'
    for hours in ticks(frame.first, frame.last):
        yield f'<text x="{frame.x(float(hours))}" y="{HEIGHT + 16}" text-anchor="middle">{plain(hours)}</text>'
    yield f'<rect width="{WIDTH}" height="{HEIGHT}" fill="none" stroke="#666666"/>'
    yield f'<text x="{WIDTH / 2}" y="{HEIGHT + 32}" text-anchor="middle" font-size="11">engine hours</text>'
    yield f'<text x="-6" y="-10" text-anchor="end" font-size="11">{escape(unit)}</text>'


def _projected(frame: Frame, trend: Trend, line: Line, projection: Projection) -> Iterator[str]:
    hours, _ = points_of(trend.seasons)
    now, y = hours[-1], frame.y(float(projection.limit.value))
    yield f'<path d="M0 {y} H{WIDTH}" stroke="#888888" stroke-width="2"/>'
    earliest, latest = frame.x(now + projection.earliest), frame.x(now + projection.latest)
    yield f'<path d="M{earliest} {y} H{latest}" stroke="#888888" stroke-width="8"/>'
    yield f'<path d="M{frame.x(now + projection.hours)} {y - 9} v18" stroke="black" stroke-width="2"/>'
    yield _stroke(frame, line, now, now + projection.hours, "5 4")


def _stroke(frame: Frame, line: Line, first: float, last: float, dashes: str) -> str:
    ends = f"M{frame.x(first)} {frame.y(line.at(first))} L{frame.x(last)} {frame.y(line.at(last))}"
    return f'<path d="{ends}" stroke="black" stroke-width="1.5" stroke-dasharray="{dashes}" fill="none"/>'

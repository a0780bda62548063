"""How verifying and resuming grow with the entries, as one picture: SVG text of our own, both scales logarithmic."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import ceil, floor, log10

LEFT, TOP, WIDTH, HEIGHT = 70, 40, 420, 300
NAMES = ("verify", "resume")
FILLS = ("black", "white")
Point = tuple[int, float, float]


def plot(points: Sequence[Point]) -> str:
    """The picture as the text of an SVG file. points: entries, seconds to verify, seconds to resume; all above 0."""
    low_x, high_x = log10(points[0][0]), max(log10(points[-1][0]), log10(points[0][0]) + 1)
    seconds = [s for _, *both in points for s in both]
    low_y, high_y = floor(log10(min(seconds))), ceil(log10(max(seconds)))

    def x(entries: float) -> float:
        return LEFT + WIDTH * (log10(entries) - low_x) / (high_x - low_x)

    def y(s: float) -> float:
        return TOP + HEIGHT * (high_y - log10(s)) / max(1, high_y - low_y)

    across, down = LEFT + WIDTH + 50, TOP + HEIGHT + 50
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{across}" height="{down}" viewBox="0 0 {across} {down}" '
        'font-family="sans-serif" font-size="12" role="img" aria-label="Seconds to verify and to resume, by entries">',
        '<rect width="100%" height="100%" fill="white"/>',
        *(_level(10.0**power, y(10.0**power)) for power in range(low_y, high_y + 1)),
        *(f'<text x="{x(n):.1f}" y="{TOP + HEIGHT + 20}" text-anchor="middle">{n:,}</text>' for n, *_ in points),
        f'<text x="{LEFT + WIDTH / 2}" y="{down - 8}" text-anchor="middle">entries</text>',
    ]
    for number, (name, fill) in enumerate(zip(NAMES, FILLS, strict=True)):
        parts += _line(name, fill, number, [(x(p[0]), y(p[1 + number])) for p in points])
    last, seconds_last = points[-1][0], points[-1][1]
    parts.append(
        f'<path d="M{x(last):.1f} {y(seconds_last):.1f} L{x(points[0][0]):.1f} '
        f'{y(seconds_last * points[0][0] / last):.1f}" stroke="#999999" stroke-dasharray="4 3" fill="none"/>'
    )
    return "\n".join([*parts, "</svg>", ""])


def _level(seconds: float, at: float) -> str:
    line = f'<path d="M{LEFT} {at:.1f} H{LEFT + WIDTH}" stroke="#dddddd"/>'
    return f'{line}<text x="{LEFT - 8}" y="{at + 4:.1f}" text-anchor="end">{seconds:g} s</text>'


def _line(name: str, fill: str, number: int, points: Sequence[tuple[float, float]]) -> Iterator[str]:
    path = " L".join(f"{x:.1f} {y:.1f}" for x, y in points)
    yield f'<path d="M{path}" stroke="black" fill="none"/>'
    mark = f'fill="{fill}" stroke="black"/>'
    for x, y in points:
        yield f'<circle cx="{x:.1f}" cy="{y:.1f}" r="5" {mark}'
    at = LEFT + number * 90
    yield f'<circle cx="{at}" cy="18" r="5" {mark}<text x="{at + 12}" y="22">{name}</text>'
    if number == len(NAMES) - 1:
        yield f'<text x="{at + 90}" y="22">dashed: in proportion to the entries</text>'

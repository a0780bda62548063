"""The scores as one picture: SVG text of our own, readable in grey, since a line chart is no reason for a plotting library.

A panel a set, readings right first time against the sound; and one of reliability, right against claimed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from html import escape

from assistant.measure.reliability import Bin
from assistant.measure.speech_scores import Score

WIDTH, HEIGHT = 300, 240
LEFT, TOP, APART = 46, 34, 60
STYLES = {
    "vosk": ("4 3", "white"),
    "whisper": ("1 3", "#999999"),
    "together": ("none", "black"),
}
"""How each ear is drawn: the line's dashes, and what fills its points."""
FEWEST = 5
"""Bins with fewer are not drawn: they say nothing."""
Point = tuple[float, float]


def plot(levels: Sequence[tuple[str, Score]], reliability: dict[str, tuple[Bin, ...]]) -> str:
    """The picture as the text of an SVG file."""
    sets = list(dict.fromkeys(score.name for _, score in levels))
    panels = [_sounds_panel(name, [row for row in levels if row[1].name == name]) for name in sets]
    panels.append(_reliability_panel(reliability))
    across = LEFT + len(panels) * (WIDTH + APART)
    down = TOP + HEIGHT + 74
    parts = [
        f'<g transform="translate({LEFT + n * (WIDTH + APART)} {TOP})">{"".join(panel)}</g>'
        for n, panel in enumerate(panels)
    ]
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{across}" height="{down}" viewBox="0 0 {across} {down}" '
            'font-family="sans-serif" font-size="12" role="img" aria-label="How well the ears hear">',
            '<rect width="100%" height="100%" fill="white"/>',
            *parts,
            *_legend(down - 14),
            "</svg>",
            "",
        ]
    )


def _sounds_panel(name: str, levels: list[tuple[str, Score]]) -> Iterator[str]:
    sounds = list(dict.fromkeys(level for level, _ in levels))
    at = {sound: (n + 0.5) / len(sounds) for n, sound in enumerate(sounds)}
    yield from _frame(f"{name}: right first time", [(at[sound], sound) for sound in sounds])
    for ear in STYLES:
        points = [(at[level], s.right_first / s.utterances) for level, s in levels if s.ear == ear]
        yield from _line(ear, points)


def _reliability_panel(reliability: dict[str, tuple[Bin, ...]]) -> Iterator[str]:
    yield from _frame("reliability: right against claimed", [(x / 4, f"{x / 4:.0%}") for x in range(5)])
    yield f'<path d="M0 {HEIGHT} L{WIDTH} 0" stroke="#bbbbbb"/>'
    for ear in STYLES:
        yield from _line(ear, [(b.claimed, b.right_share) for b in reliability.get(ear, ()) if b.of >= FEWEST])


def _frame(title: str, ticks: Iterable[tuple[float, str]]) -> Iterator[str]:
    yield f'<text x="0" y="-12" font-weight="bold">{escape(title)}</text>'
    for share in (0.0, 0.25, 0.5, 0.75, 1.0):
        y = _y(share)
        yield f'<path d="M0 {y} H{WIDTH}" stroke="#dddddd"/><text x="-6" y="{y + 4}" text-anchor="end">{share:.0%}</text>'
    for x, label in ticks:
        yield f'<text x="{x * WIDTH:.1f}" y="{HEIGHT + 18}" text-anchor="middle">{escape(label)}</text>'
    yield f'<rect width="{WIDTH}" height="{HEIGHT}" fill="none" stroke="#666666"/>'


def _line(ear: str, points: list[Point]) -> Iterator[str]:
    if not points:
        return
    dashes, fill = STYLES[ear]
    path = " ".join(f"{x * WIDTH:.1f},{_y(y)}" for x, y in points)
    yield f'<polyline points="{path}" fill="none" stroke="black" stroke-width="1.5" stroke-dasharray="{dashes}"/>'
    for x, y in points:
        yield f'<circle cx="{x * WIDTH:.1f}" cy="{_y(y)}" r="4" fill="{fill}" stroke="black"/>'


def _legend(y: int) -> Iterator[str]:
    for n, (ear, (dashes, fill)) in enumerate(STYLES.items()):
        x = LEFT + n * 130
        yield f'<path d="M{x} {y - 4} h36" stroke="black" stroke-width="1.5" stroke-dasharray="{dashes}"/>'
        yield f'<circle cx="{x + 18}" cy="{y - 4}" r="4" fill="{fill}" stroke="black"/>'
        yield f'<text x="{x + 44}" y="{y}">{ear}</text>'


def _y(share: float) -> float:
    return round(HEIGHT * (1 - share), 1)

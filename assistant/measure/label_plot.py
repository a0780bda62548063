"""The share read by damage and decoder as one picture: SVG text of our own, readable in grey."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape

from assistant.measure.label_readings import OURS, PYZBAR, ZXING
from assistant.measure.label_scores import Trial

LEFT, WIDTH, ROW, TOP = 110, 520, 26, 54
MARKS = {PYZBAR: "white", ZXING: "#999999", OURS: "black"}


def plot(trials: Sequence[Trial]) -> str:
    """The picture as the text of an SVG file: a row a damage, a point a decoder, from none read to all."""
    there = [t for t in trials if t.wanted]
    damages = list(dict.fromkeys(t.damage for t in there))
    across, down = LEFT + WIDTH + 30, TOP + ROW * len(damages) + 34
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{across}" height="{down}" viewBox="0 0 {across} {down}" '
        'font-family="sans-serif" font-size="12" role="img" aria-label="Share of labels read, by damage and decoder">',
        '<rect width="100%" height="100%" fill="white"/>',
        *_legend(),
        *_scale(TOP + ROW * len(damages)),
        *(part for n, name in enumerate(damages) for part in _row(n, name, [t for t in there if t.damage == name])),
        "</svg>",
        "",
    ]
    return "\n".join(parts)


def _legend() -> Iterator[str]:
    for n, (name, fill) in enumerate(MARKS.items()):
        x = LEFT + n * 110
        yield f'<circle cx="{x}" cy="20" r="5" fill="{fill}" stroke="black"/><text x="{x + 12}" y="24">{name}</text>'


def _scale(bottom: int) -> Iterator[str]:
    for quarter in range(5):
        x = LEFT + WIDTH * quarter / 4
        yield f'<path d="M{x} {TOP - 10} V{bottom}" stroke="#dddddd"/>'
        yield f'<text x="{x}" y="{bottom + 18}" text-anchor="middle">{quarter / 4:.0%}</text>'


def _row(n: int, damage: str, trials: Sequence[Trial]) -> Iterator[str]:
    y = TOP + ROW * n + 6
    at = {name: LEFT + WIDTH * sum(t.read_by(name) for t in trials) / len(trials) for name in MARKS}
    yield f'<text x="{LEFT - 14}" y="{y + 4}" text-anchor="end">{escape(damage)}</text>'
    yield f'<path d="M{min(at.values()):.1f} {y} H{max(at.values()):.1f}" stroke="black"/>'
    for name, fill in MARKS.items():
        yield f'<circle cx="{at[name]:.1f}" cy="{y}" r="5" fill="{fill}" stroke="black"/>'

"""Which figure word was heard for which, as one picture: SVG text of our own, in grey, as `speech_plot` draws.

A row a word said, a column a word heard, in each field how often; the darker, the larger its share of the row. Words of other
kinds are taken together; what was left out and what was put in have a column and a row of their own.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from html import escape

from assistant.core.speech.numbers import DIGITS, TEENS, TENS
from assistant.measure.speech_moments import ORDINARY
from assistant.measure.speech_trials import Trial
from assistant.measure.speech_words import WordCount, word_counts

FIGURES = (*(w for w in (*DIGITS, *TEENS, *TENS) if w not in ORDINARY), "hundred", "thousand", "point")
"""Rows and columns, in this order, of those that occur."""
OTHER, LEFT_OUT, PUT_IN = "other word", "left out", "put in"
FIELD = 30
LEFT, TOP = 96, 116
DARK = 0.5
"""From this share of the row on the figure in the field is white."""
Counts = Mapping[str, Counter[str]]


def plot_confusion(heard: Sequence[Trial]) -> str:
    """The picture as the text of an SVG file, of the last ear: both together where there are two."""
    ear, words = next(reversed(word_counts(heard).items()), ("", {}))
    counts = confusion(words)
    rows = [name for name in (*FIGURES, OTHER, PUT_IN) if name in counts]
    there = {other for each in counts.values() for other in each}
    columns = [name for name in (*FIGURES, OTHER, LEFT_OUT) if name in there]
    across, down = LEFT + FIELD * len(columns) + 20, TOP + FIELD * len(rows) + 44
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{across}" height="{down}" viewBox="0 0 {across} {down}" '
            'font-family="sans-serif" font-size="12" role="img" aria-label="Which figure word was heard for which">',
            '<rect width="100%" height="100%" fill="white"/>',
            f'<text x="8" y="20" font-weight="bold">{escape(f"figure words, {ear}: rows said, columns heard")}</text>',
            *_names(rows, columns),
            *(part for y, name in enumerate(rows) for part in _row(y, counts[name], columns, shaded=name != PUT_IN)),
            f'<rect x="{LEFT}" y="{TOP}" width="{FIELD * len(columns)}" height="{FIELD * len(rows)}" fill="none" '
            'stroke="#666666"/>',
            f'<text x="8" y="{down - 14}">How often; darker: more of its row.</text>',
            "</svg>",
            "",
        ]
    )


def confusion(words: Mapping[str, WordCount]) -> Counts:
    """What was said, as a row's name, and how often it was heard as each column's; other words for other words are left away.

    An other word heard right, or for another such, is no matter of figures.
    """
    found: dict[str, Counter[str]] = {}
    for word, count in words.items():
        row = _name(word, PUT_IN)
        for other, times in count.heard.items():
            column = _name(other, LEFT_OUT)
            if row in FIGURES or column in FIGURES:
                found.setdefault(row, Counter())[column] += times
    return found


def _name(word: str, nothing: str) -> str:
    if not word:
        return nothing
    return word if word in FIGURES else OTHER


def _names(rows: Sequence[str], columns: Sequence[str]) -> Iterator[str]:
    for n, name in enumerate(rows):
        yield f'<text x="{LEFT - 6}" y="{TOP + FIELD * n + 19}" text-anchor="end">{name}</text>'
    for n, name in enumerate(columns):
        x, y = LEFT + FIELD * n + 19, TOP - 6
        yield f'<text x="{x}" y="{y}" transform="rotate(-90 {x} {y})">{name}</text>'


def _row(y: int, row: Counter[str], columns: Sequence[str], *, shaded: bool) -> Iterator[str]:
    """One row's fields. Of words put in the shares mean nothing, so they are not shaded."""
    for n, name in enumerate(columns):
        times = row[name]
        share = times / row.total() if shaded else 0.0
        left, top = LEFT + FIELD * n, TOP + FIELD * y
        yield f'<rect x="{left}" y="{top}" width="{FIELD}" height="{FIELD}" fill="{_grey(share)}" stroke="#dddddd"/>'
        if times:
            ink = "white" if share >= DARK else "black"
            middle = left + FIELD // 2
            yield f'<text x="{middle}" y="{top + 19}" text-anchor="middle" font-size="11" fill="{ink}">{times}</text>'


def _grey(share: float) -> str:
    """White for none; the square root, so that a rare one shows."""
    level = round(255 - 205 * share**0.5)
    return f"#{level:02x}{level:02x}{level:02x}"

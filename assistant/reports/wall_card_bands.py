"""The lanes of a wall card: for each condition a band that shows beside every step what is so while it is done.

A thin line: the first value of the condition; a dotted one: nobody knows, the assistant asks; a band with its name: any other.
A dot: the step needs it so, and it is looked at before.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from assistant.core.conditions import UNSURE
from assistant.reports.text_width import width
from assistant.reports.wall_card_layout import Column, Placed
from assistant.reports.wall_card_marks import BANDS, LIGHT, dot, text
from assistant.reports.wall_card_rows import Lane
from assistant.reports.wall_card_sizes import Sizes

BETWEEN = 1.0
"""Two bands."""
CLEAR = 3.0
"""Between a name in a band and the band's end, or a dot."""
NEED_AT, CHANGE_AT = 0.32, 0.6
"""Where in a row's height the dot stands, and where what the step makes begins."""


@dataclass(frozen=True)
class Stretch:
    """A piece of a lane in which the condition keeps its value."""

    top: float
    bottom: float
    value: str


@dataclass(frozen=True)
class _Drawn:
    """A lane in its place: the middle of it, and its colour."""

    lane: Lane
    x: float
    colour: str
    sizes: Sizes


def lanes_drawn(column: Column, lanes: tuple[Lane, ...], sizes: Sizes) -> Iterator[str]:
    """All lanes of one column, with their names over them."""
    for n, lane in enumerate(lanes):
        drawn = _Drawn(lane, column.left + (n + 0.5) * sizes.lane, BANDS[n % len(BANDS)], sizes)
        name = lane.name.replace("_", " ")
        yield text(drawn.x + sizes.lane_text * 0.36, column.top - 4, sizes.lane_text, name, turned=True)
        yield f'<g data-lane="{lane.name}">'
        dots = tuple(_dots(column, lane, sizes))
        for stretch in stretches(column, lane.name, sizes):
            yield from _stretch_drawn(stretch, drawn, [y for y, _ in dots])
        yield from (dot(drawn.x, y, on_band=on) for y, on in dots)
        yield "</g>"


def stretches(column: Column, name: str, sizes: Sizes) -> list[Stretch]:
    """The pieces of one lane from the top of a column to its end; neighbours of one value are one."""
    found: list[Stretch] = []
    for placed in column.rows:
        _, change, bottom = _heights(placed, sizes)
        _add(found, placed.top, change, placed.row.before.get(name, UNSURE))
        _add(found, change, bottom, placed.row.after.get(name, UNSURE))
    return found


def _add(found: list[Stretch], top: float, bottom: float, value: str) -> None:
    if found and found[-1].value == value:
        found[-1] = Stretch(found[-1].top, bottom, value)
    else:
        found.append(Stretch(top, bottom, value))


def _heights(placed: Placed, sizes: Sizes) -> tuple[float, float, float]:
    """Top of the row under its strip, where it changes something, its bottom."""
    top = placed.top + (sizes.strip_height if placed.strip else 0.0)
    bottom = placed.top + placed.height
    return top, top + (bottom - top) * CHANGE_AT, bottom


def _stretch_drawn(stretch: Stretch, drawn: _Drawn, dots: list[float]) -> Iterator[str]:
    x, size, band = drawn.x, drawn.sizes.lane_text, drawn.sizes.lane - BETWEEN
    if stretch.value in (UNSURE, drawn.lane.values[0]):
        dashes = ' stroke-dasharray="1 2.2"' if stretch.value == UNSURE else ""
        yield f'<path d="M{x:.2f} {stretch.top:.2f} V{stretch.bottom:.2f}" stroke="{LIGHT}" stroke-width="0.9"{dashes}/>'
        return
    yield (
        f'<rect x="{x - band / 2:.2f}" y="{stretch.top:.2f}" width="{band:.2f}" height="{stretch.bottom - stretch.top:.2f}" '
        f'rx="1.6" fill="{drawn.colour}" data-value="{stretch.value}"/>'
    )
    for label in _labels(drawn.lane, stretch.value):
        top = _free(stretch, dots, width(label, size, bold=True))
        if top is not None:
            yield text(x + size * 0.36, top, size, label, bold=True, fill="white", anchor="end", turned=True)
            return


def _free(stretch: Stretch, dots: list[float], room: float) -> float | None:
    """The upper end of the first piece of a band that is long enough and has no dot on it."""
    inside = [y for y in dots if stretch.top < y < stretch.bottom]
    for top, bottom in pairwise((stretch.top, *inside, stretch.bottom)):
        if bottom - top >= room + 2 * CLEAR:
            return top + CLEAR
    return None


def _labels(lane: Lane, value: str) -> tuple[str, str]:
    """What may stand in a band, the longest first."""
    return f"{lane.name} {value}".replace("_", " "), value.replace("_", " ")


def _dots(column: Column, lane: Lane, sizes: Sizes) -> Iterator[tuple[float, bool]]:
    """Where the steps that need it stand, and whether a band is there."""
    for placed in column.rows:
        if lane.name in placed.row.needs:
            top, _, bottom = _heights(placed, sizes)
            on = placed.row.before.get(lane.name) not in (lane.values[0], UNSURE)
            yield min(top + (bottom - top) * NEED_AT, top + sizes.padding + 4), on

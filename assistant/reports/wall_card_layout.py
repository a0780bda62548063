"""Where everything of a wall card goes: A4 upright, in points; as large as one page allows, never under what can be read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from assistant.core.procedure import Procedure
from assistant.reports.text_width import width, wrapped
from assistant.reports.wall_card_rows import Detail, Lane, Row
from assistant.reports.wall_card_sizes import MARGIN, PAGE, Sizes, line_height, sizes_to_try

GUTTER = 14.0
APART = 7.0
"""Between two details, at scale 1."""
MARKED = ("part", "count", "reading")
MOST_COLUMNS = 3
NARROWEST = 95.0
"""Room for text in a column, at scale 1: a title must not be chopped."""


@dataclass(frozen=True)
class Piece:
    """A piece of the details: its mark ("" in a line that goes on), its text, how far it stands from the left of the text."""

    kind: str
    text: str
    x: float


@dataclass(frozen=True)
class Placed:
    """A row in its place: the top of it and its height; the lines of its title; its details by lines, the first of which is the
    last of the title."""

    row: Row
    top: float
    height: float
    title: tuple[str, ...]
    details: tuple[tuple[Piece, ...], ...]
    strip: str = ""
    pivot_on: bool = False


@dataclass(frozen=True)
class Column:
    """One column: its left edge, from where to where it runs, and its rows."""

    left: float
    top: float
    bottom: float
    rows: tuple[Placed, ...]


@dataclass(frozen=True)
class Card:
    """The whole: pages of columns in one size."""

    sizes: Sizes
    column_width: float
    lanes: tuple[Lane, ...]
    pages: tuple[tuple[Column, ...], ...]

    @property
    def lanes_width(self) -> float:
        """Of all lanes together."""
        return self.sizes.lane * len(self.lanes)


@dataclass(frozen=True)
class Body:
    """What is to be placed, and the room for it: top of the column heads, top of the rows, lower edge."""

    procedure: Procedure
    rows: Sequence[Row]
    lanes: tuple[Lane, ...]
    pivot: str
    top: float
    bottom: float


def lay_out(body: Body) -> Card:
    """As large as it fits on one page; where it does not fit at the smallest, on as few pages as it takes."""
    fewest: Card | None = None
    for sizes in sizes_to_try():
        for columns in range(1, MOST_COLUMNS + 1):
            card = _in_columns(body, sizes, columns)
            if card is not None and (fewest is None or len(card.pages) < len(fewest.pages)):
                fewest = card
        if fewest is not None and len(fewest.pages) == 1:
            break
    assert fewest is not None  # one column is always wide enough
    return fewest


def column_head(lanes: Sequence[Lane], sizes: Sizes) -> float:
    """How high the names over the lanes stand."""
    return max((width(lane.name.replace("_", " "), sizes.lane_text) for lane in lanes), default=0.0) + 6


def _in_columns(body: Body, sizes: Sizes, columns: int) -> Card | None:
    column_width = (PAGE[0] - 2 * MARGIN - (columns - 1) * GUTTER) / columns
    room = column_width - sizes.lane * len(body.lanes) - sizes.text_left
    if columns > 1 and room < NARROWEST * sizes.scale:
        return None
    sized = [_sized(row, sizes, room) for row in body.rows]
    top = body.top + column_head(body.lanes, sizes)
    full = body.bottom - top
    chunks = _chunks(sized, body, sizes, full)
    if len(chunks) <= columns:
        chunks = _balanced(sized, body, sizes, columns, full)
    lefts = [MARGIN + n * (column_width + GUTTER) for n in range(columns)]
    placed = [
        Column(lefts[n % columns], top, max((p.top + p.height for p in chunk), default=0.0) + top,
               tuple(_moved(p, top) for p in chunk))
        for n, chunk in enumerate(chunks)
    ]  # fmt: skip
    pages = tuple(tuple(placed[n : n + columns]) for n in range(0, len(placed), columns))
    return Card(sizes, column_width, body.lanes, pages)


def _balanced(sized: Sequence[Placed], body: Body, sizes: Sizes, columns: int, full: float) -> list[tuple[Placed, ...]]:
    """In columns of one length, as far as rows allow."""
    height = sum(p.height for p in sized) / columns
    while height < full:
        chunks = _chunks(sized, body, sizes, height)
        if len(chunks) <= columns:
            return chunks
        height += 4
    return _chunks(sized, body, sizes, full)


def _chunks(sized: Sequence[Placed], body: Body, sizes: Sizes, room: float) -> list[tuple[Placed, ...]]:
    """Rows one under the other, a new column where the next does not fit; every phase and column begins with a strip."""
    chunks: list[tuple[Placed, ...]] = []
    chunk: list[Placed] = []
    at, phase = 0.0, ""
    for one in sized:
        now = _phase(one.row, body.pivot)
        strip = sizes.strip_height if body.pivot and (now != phase or not chunk) else 0.0
        if chunk and at + strip + one.height > room:
            chunks.append(tuple(chunk))
            chunk, at = [], 0.0
            strip = sizes.strip_height if body.pivot else 0.0
        label = (f"… {now}" if now == phase else now) if strip else ""
        chunk.append(_with_strip(one, at, strip, label, on=_is_on(one.row, body)))
        at, phase = at + strip + one.height, now
    return [*chunks, tuple(chunk)]


def _with_strip(one: Placed, at: float, strip: float, label: str, *, on: bool) -> Placed:
    return Placed(one.row, at, strip + one.height, one.title, one.details, label, on)


def _moved(one: Placed, down: float) -> Placed:
    return Placed(one.row, one.top + down, one.height, one.title, one.details, one.strip, one.pivot_on)


def _phase(row: Row, pivot: str) -> str:
    """While the row is done; a step that changes it belongs to what it makes."""
    value = row.after.get(pivot, "") if row.after.get(pivot) != row.before.get(pivot) else row.before.get(pivot, "")
    return f"{pivot} {value}".replace("_", " ") if pivot else ""


def _is_on(row: Row, body: Body) -> bool:
    first = body.procedure.conditions[body.pivot][0] if body.pivot else ""
    return bool(body.pivot) and row.after.get(body.pivot) != first and row.before.get(body.pivot, first) != ""


def _sized(row: Row, sizes: Sizes, room: float) -> Placed:
    title = tuple(wrapped(row.title, sizes.title, room, bold=True))
    details = _flowed(row.details, width(title[-1], sizes.title, bold=True), sizes, room)
    lines = len(title) * line_height(sizes.title) + (len(details) - 1) * line_height(sizes.detail)
    return Placed(row, 0.0, lines + sizes.padding, title, details)


def _flowed(details: Sequence[Detail], begun: float, sizes: Sizes, room: float) -> tuple[tuple[Piece, ...], ...]:
    """One after the other, from behind the title on; what does not fit begins a line."""
    lines: list[list[Piece]] = [[]]
    size, apart = sizes.detail, APART * sizes.scale
    at = begun + apart
    for detail in details:
        mark = sizes.mark if detail.kind in MARKED else 0.0
        wide = mark + width(detail.text, size)
        if at + wide > room:
            lines.append([])
            at = 0.0
        first, *more = wrapped(detail.text, size, room - mark) or [""]
        lines[-1].append(Piece(detail.kind, first, at))
        lines += [[Piece("", text, mark)] for text in more]
        at += apart + (wide if not more else mark + width(more[-1], size))
    return tuple(map(tuple, lines))

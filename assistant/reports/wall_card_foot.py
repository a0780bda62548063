"""The foot of a wall card: what the marks mean, what must never be, and what goes before the card."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from assistant.core.procedure import Never, Procedure
from assistant.reports.text_width import width, wrapped
from assistant.reports.wall_card_marks import BANDS, INK, LIGHT, caution_sign, detail_mark, dot, text
from assistant.reports.wall_card_rows import Lane
from assistant.reports.wall_card_sizes import FOOT_PT, LEAST_PT, MARGIN, PAGE, line_height

LINE = line_height(FOOT_PT)
GAP = 14.0
DEFERS = (
    "Defers to the machine's service manual, local codes and licensed practice: where this card differs, follow them. "
    "The assistant reads every caution aloud; the card is a map, not the instructions."
)
ROOM = PAGE[0] - 2 * MARGIN
EDGE = 13.0
"""Of the frame around what must never be, on its left."""
COLUMN = (ROOM - EDGE - 10 - GAP) / 2
Lines = list[tuple[bool, str]]
"""Lines of rules, each with whether a rule begins there."""


@dataclass(frozen=True)
class _Sign:
    """One mark of the legend: how wide it is and what it means; `kind` says which."""

    kind: str
    room: float
    text: str


def foot_height(procedure: Procedure, lanes: tuple[Lane, ...]) -> float:
    """What it takes at the lower edge of the page."""
    columns = _nevers(procedure)
    never = _frame_height(columns) + 3 if procedure.never else 0
    return 10 + len(_legend(lanes)) * (LINE + 1) + never + len(_defers()) * LINE


def foot_drawn(procedure: Procedure, lanes: tuple[Lane, ...], top: float) -> Iterator[str]:
    """All of it, from `top` down."""
    yield f'<path d="M{MARGIN} {top:.2f} h{ROOM}" stroke="{LIGHT}" stroke-width="0.6"/>'
    y = top + 8
    for line in _legend(lanes):
        x = MARGIN
        for sign in line:
            yield from _sign_drawn(sign, x, y, lanes)
            x += sign.room
        y += LINE + 1
    if procedure.never:
        columns = _nevers(procedure)
        yield from _never_drawn(columns, y - LINE + 2)
        y += _frame_height(columns) + 3
    for words in _defers():
        yield text(MARGIN, y, FOOT_PT, words, bold=True)
        y += LINE


def _frame_height(columns: tuple[Lines, Lines]) -> float:
    """Around the rules, and never shorter than its name at its edge."""
    return max(max(map(len, columns)) * LINE, width("NEVER", LEAST_PT, bold=True)) + 4


def _never_drawn(columns: tuple[Lines, Lines], top: float) -> Iterator[str]:
    """The rules in a frame, their name along its left edge."""
    height = _frame_height(columns)
    yield (
        f'<rect x="{MARGIN + 0.7:.2f}" y="{top:.2f}" width="{ROOM - 1.4:.2f}" height="{height:.2f}" fill="none" '
        f'stroke="{INK}" stroke-width="1.4"/>'
        f'<rect x="{MARGIN + 0.7:.2f}" y="{top:.2f}" width="{EDGE}" height="{height:.2f}" fill="{INK}"/>'
    )
    name = min(9.0, (height - 4) / width("NEVER", 1, bold=True))
    middle = top + height / 2
    yield text(
        MARGIN + 0.7 + EDGE / 2 + name * 0.36,
        middle,
        name,
        "NEVER",
        bold=True,
        fill="white",
        anchor="middle",
        turned=True,
    )
    for n, lines in enumerate(columns):
        yield from _never_column(lines, MARGIN + EDGE + 6 + n * (COLUMN + GAP), top + LINE - 0.5)


def _never_column(lines: Lines, x: float, y: float) -> Iterator[str]:
    for n, (first, line) in enumerate(lines):
        if first:
            yield f'<path d="M{x:.2f} {y + n * LINE - 4.6:.2f} l4.4 4.4 m0 -4.4 l-4.4 4.4" stroke="{INK}" stroke-width="1.3"/>'
        yield text(x + 8, y + n * LINE, FOOT_PT, line)


def _nevers(procedure: Procedure) -> tuple[Lines, Lines]:
    """The rules in two columns."""
    rules = [_never_lines(rule) for rule in procedure.never]
    half = -(-sum(map(len, rules)) // 2)
    left: Lines = []
    right: Lines = []
    for rule in rules:
        (left if len(left) + len(rule) <= half + 1 and not right else right).extend(rule)
    return left, right


def _never_lines(rule: Never) -> Lines:
    what = " with ".join(f"{name} {value}".replace("_", " ") for name, value in rule.conditions.items())
    lines = wrapped(f"{what}: {rule.because}", FOOT_PT, COLUMN - 8)
    return [(n == 0, line) for n, line in enumerate(lines)]


def _defers() -> list[str]:
    return wrapped(DEFERS, FOOT_PT, ROOM, bold=True)


def _legend(lanes: tuple[Lane, ...]) -> list[list[_Sign]]:
    """The marks in lines that fit."""
    signs = [
        _sign("caution", 11, "caution: hear it out, say roger"),
        _sign("reading", 9, "said aloud, with what is allowed"),
        _sign("part", 9, "shown to the camera"),
        _sign("count", 9, "seconds counted aloud"),
    ]
    if lanes:
        signs += [
            _sign("dot", 7, "looked at before the step"),
            _sign("thin", 9, f"not so: {lanes[0].name} {lanes[0].values[0]}".replace("_", " ")),
            _sign("dotted", 9, "not known yet: it is asked"),
            *(_sign(f"band {n}", 11, _band_text(lane)) for n, lane in enumerate(lanes)),
        ]
    lines: list[list[_Sign]] = [[]]
    for sign in signs:
        if sum(s.room for s in lines[-1]) + sign.room > ROOM + GAP:
            lines.append([])
        lines[-1].append(sign)
    return lines


def _band_text(lane: Lane) -> str:
    others = " or ".join(value.replace("_", " ") for value in lane.values[1:])
    return f"{lane.name.replace('_', ' ')} {others}"


def _sign(kind: str, mark: float, meaning: str) -> _Sign:
    return _Sign(kind, mark + width(meaning, FOOT_PT) + GAP, meaning)


def _sign_drawn(sign: _Sign, x: float, y: float, lanes: tuple[Lane, ...]) -> Iterator[str]:
    mark = sign.room - width(sign.text, FOOT_PT) - GAP
    middle = y - FOOT_PT * 0.36
    kind, _, number = sign.kind.partition(" ")
    match kind:
        case "caution":
            yield caution_sign(x, y - FOOT_PT * 0.8, FOOT_PT * 0.95)
        case "dot":
            yield dot(x + 2, middle, on_band=False)
        case "thin" | "dotted":
            dashes = ' stroke-dasharray="1 2.2"' if kind == "dotted" else ""
            yield f'<path d="M{x + 3:.2f} {y - 6:.2f} V{y + 1:.2f}" stroke="{LIGHT}" stroke-width="0.9"{dashes}/>'
        case "band":
            colour = BANDS[int(number) % len(BANDS)]
            yield f'<rect x="{x:.2f}" y="{y - 6:.2f}" width="8.4" height="7" rx="1.6" fill="{colour}"/>'
        case _:
            yield detail_mark(sign.kind, x, y, FOOT_PT)
    yield text(x + mark, y, FOOT_PT, sign.text)
    assert lanes or kind != "band"

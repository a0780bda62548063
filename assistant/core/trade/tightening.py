"""In which order the fasteners of a joint are tightened, and to what torque in each stage.

Fasteners are numbered clockwise, seen by whoever tightens them. Opposite ones follow each other, so that the joint closes
evenly; a rectangle is tightened from its middle outward. Each is taken once to a third, once to two thirds and once to the
full torque; then all of them once round at the full torque, since each one tightened lets its neighbours go a little.

Sources (reference.md section 8.5): star pattern in steps of about 30 percent and then at least two circular passes, ASME
PCC-1 appendix F as restated by a gasket supplier; 1-3-2-4 and 1-5-3-7-2-6-4-8 from memory; a rectangle from the middle
outward, and one circular pass for a small joint: common practice, no source.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Literal, NamedTuple, get_args

from assistant.core.trade.figure import Figure
from assistant.core.trade.given import above_zero
from assistant.core.trade.inputs import Count, Torque
from assistant.core.trade.reckoning import one_of, whole
from assistant.core.trade.rounding import to_figures
from assistant.core.units import Amount

Layout = Literal["circle", "rectangle"]
Stage = Literal["a third", "two thirds", "full", "round"]
STAGES: tuple[tuple[Stage, int], ...] = (("a third", 1), ("two thirds", 2), ("full", 3))
"""Each stage of the pattern, and how many thirds of the torque it goes to."""
MOST_FASTENERS, MOST_ROUNDS = 60, 5
"""More than anyone is read aloud."""
STAGE_FIGURES = 5
SOURCES = (
    "star pattern in steps of about 30 %, then circular passes: ASME PCC-1 appendix F, as restated by a gasket supplier",
    "order of 4 and 8: from memory; thirds, one circular pass, a rectangle from the middle: common practice, no source",
)
CAUTIONS = (
    "The manual's own order and stages go first; bolts that are tightened by an angle are not tightened in this way.",
    "A pressure flange gets at least two circular passes (ASME PCC-1, as restated); go round until nothing turns.",
)


class Tightening(NamedTuple):
    """One turn of the tool. `fastener` counts from 1; `torque` is what the tool is set to."""

    stage: Stage
    fastener: int
    torque: Amount


def circle_order(count: int) -> tuple[int, ...]:
    """The star pattern of fasteners on a circle, each once, counted from 1 clockwise.

    An even number goes by opposite pairs, and a number of fours by crosses; an odd one, where none is opposite, each time
    almost half-way round.

    >>> circle_order(8), circle_order(5)
    ((1, 5, 3, 7, 2, 6, 4, 8), (1, 3, 5, 2, 4))
    """
    if count % 2:
        return tuple(i * (count // 2) % count + 1 for i in range(count))
    arms = (0, 2, 1, 3) if count % 4 == 0 else (0, 1)
    apart = count // len(arms)
    return tuple(start + arm * apart for start in _spread(apart) for arm in arms)


def _spread(count: int) -> tuple[int, ...]:
    """1 to `count` in steps of half of it, so that what follows lies well away: 1 3 2 4, 1 3 5 2 4, 1 4 2 5 3 6."""
    stride = max(count // 2, 1)
    return tuple(k for start in range(1, stride + 1) for k in range(start, count + 1, stride))


def rectangle_order(count: int, short_side: int) -> tuple[int, ...]:
    """Opposite pairs round a rectangle, the nearest to its middle first, counted clockwise from the left end of a long side.

    `short_side`: how many stand on each short side, both corners counted; with 2 they are two rows. Evenly spaced.
    Raises ValueError where the number does not make such a rectangle.

    >>> rectangle_order(10, 2)
    (3, 8, 2, 7, 4, 9, 1, 6, 5, 10)
    """
    long_side = count // 2 + 2 - short_side
    if count % 2 or short_side < 2 or long_side < short_side:
        raise ValueError(
            f"{count} fasteners with {short_side} on each short side make no rectangle: the number must be even, and"
            " no long side may have fewer than a short one (both corners counted)"
        )
    distance = _distances(long_side, short_side)
    half = sorted(range(count // 2), key=lambda i: distance[i])
    return tuple(place for i in half for place in (i + 1, i + 1 + count // 2))


def _distances(long_side: int, short_side: int) -> tuple[int, ...]:
    """How far the first half of the fasteners are from the middle: squares, in half steps. The other half is opposite."""
    last_x, last_y = long_side - 1, short_side - 1
    top = [(2 * i - last_x, last_y) for i in range(long_side)]
    right = [(last_x, last_y - 2 * j) for j in range(1, last_y)]
    return tuple(x * x + y * y for x, y in top + right)


def tightenings(order: tuple[int, ...], torque: Amount, rounds: int = 1) -> tuple[Tightening, ...]:
    """Every turn of the tool: the pattern at a third, two thirds and the full `torque`, then `rounds` times round at the full.

    The torques of the first stages are rounded to five significant figures. Raises ValueError for what is no torque.
    """
    above_zero("torque", torque, "Nm")
    at = {
        stage: Amount(to_figures(torque.value * thirds / 3, STAGE_FIGURES), torque.unit) for stage, thirds in STAGES[:2]
    }
    star = tuple(Tightening(stage, each, at.get(stage, torque)) for stage, _ in STAGES for each in order)
    return star + tuple(Tightening("round", each, torque) for each in sorted(order)) * rounds


def tightening_order(
    *,
    fasteners: Count,
    layout: Layout,
    torque: Torque,
    short_side: Count | None = None,
    rounds: Count | None = None,
) -> Figure:
    """In which order the fasteners of a joint are tightened: the pattern, and stage by stage what each is taken to.

    `fasteners`: 2 to 60 on a circle, an even number from 4 round a rectangle, of which `short_side` (2 if left out: two
    rows) on each short side, both corners counted. `rounds`: circular passes at the end, 1 if left out.
    Sources: above. Raises ValueError for a number that cannot be laid out so, or what is no torque.
    """
    count = whole("fasteners", fasteners, 2, MOST_FASTENERS)
    passes = whole("rounds", rounds or Amount(Decimal(1), "count"), 1, MOST_ROUNDS)
    one_of("layout", layout, dict.fromkeys(get_args(Layout)))
    if layout == "circle":
        if short_side is not None:
            raise ValueError("a circle has no 'short_side': leave it out")
        order, numbered = circle_order(count), "from any one"
    else:
        side = whole("short_side", short_side or Amount(Decimal(2), "count"), 2, MOST_FASTENERS)
        order, numbered = rectangle_order(count, side), "from the left end of a long side"
    lines = [f"numbered 1 to {count} clockwise {numbered}, seen by whoever tightens"]
    turns = tightenings(order, torque, passes)
    for start in range(0, len(turns), count):
        stage, _, at = turns[start]
        lines.append(f"{stage}, {at}: {', '.join(str(turn.fastener) for turn in turns[start : start + count])}")
    return Figure("-".join(map(str, order)), tuple(lines), SOURCES, cautions=CAUTIONS)


COMPUTATIONS = (tightening_order,)

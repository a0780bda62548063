"""Tightening orders: patterns remembered from the trade, and what any good pattern must keep to (reference.md 8.5)."""

from __future__ import annotations

from decimal import Decimal
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.trade.registry import BY_NAME
from assistant.core.trade.tightening import (
    Tightening,
    circle_order,
    rectangle_order,
    tightening_order,
    tightenings,
)
from assistant.core.units import Amount


def amount(number: str, unit: str) -> Amount:
    return Amount(Decimal(number), unit)


CIRCLES = [
    # reference.md 8.5: 4 and 8 from memory; 12, 16, 20 and 24: the cross pattern of ASME PCC-1, from memory;
    # 5 and 6: the star of a wheel, common practice
    (2, "1-2"),
    (3, "1-2-3"),
    (4, "1-3-2-4"),
    (5, "1-3-5-2-4"),
    (6, "1-4-2-5-3-6"),
    (8, "1-5-3-7-2-6-4-8"),
    (10, "1-6-3-8-5-10-2-7-4-9"),
    (12, "1-7-4-10-2-8-5-11-3-9-6-12"),
    (16, "1-9-5-13-3-11-7-15-2-10-6-14-4-12-8-16"),
    (20, "1-11-6-16-3-13-8-18-5-15-10-20-2-12-7-17-4-14-9-19"),
    (24, "1-13-7-19-4-16-10-22-2-14-8-20-5-17-11-23-3-15-9-21-6-18-12-24"),
]


@pytest.mark.parametrize(("count", "order"), CIRCLES)
def test_the_star_on_a_circle(count: int, order: str) -> None:
    """The order is that of the trade."""
    assert "-".join(map(str, circle_order(count))) == order


@given(st.integers(2, 60))
def test_each_fastener_of_a_circle_once_and_opposite_ones_together(count: int) -> None:
    """reference.md 8.5, needs no source: every bolt once; an even number by diametrically opposite pairs."""
    order = circle_order(count)
    assert sorted(order) == list(range(1, count + 1))
    if count % 2 == 0:
        assert all(abs(a - b) == count // 2 for a, b in zip(order[::2], order[1::2], strict=True))
    elif count > 3:
        apart = [(b - a) % count for a, b in pairwise(order)]
        assert set(apart) == {count // 2}


RECTANGLES = [
    # from the middle outward, crosswise: common practice, no source
    (4, 2, "1-3-2-4"),
    (6, 2, "2-5-1-4-3-6"),
    (8, 2, "2-6-3-7-1-5-4-8"),
    (10, 2, "3-8-2-7-4-9-1-6-5-10"),
    (8, 3, "2-6-4-8-1-5-3-7"),
    (10, 3, "2-7-3-8-5-10-1-6-4-9"),
    (12, 4, "2-8-3-9-5-11-6-12-1-7-4-10"),
]


@pytest.mark.parametrize(("count", "short_side", "order"), RECTANGLES)
def test_a_rectangle_from_its_middle(count: int, short_side: int, order: str) -> None:
    """The nearest to the middle first, each followed by the one opposite."""
    assert "-".join(map(str, rectangle_order(count, short_side))) == order


def place(number: int, long_side: int, short_side: int) -> tuple[float, float]:
    """Where a fastener stands from the middle, walked clockwise step by step: another way than the module's."""
    x, y = 0, 0
    steps = [(1, 0)] * (long_side - 1) + [(0, 1)] * (short_side - 1) + [(-1, 0)] * (long_side - 1)
    for dx, dy in (steps + [(0, -1)] * (short_side - 1))[: number - 1]:
        x, y = x + dx, y + dy
    return x - (long_side - 1) / 2, y - (short_side - 1) / 2


@given(st.integers(2, 8), st.integers(0, 12))
def test_each_fastener_of_a_rectangle_once_and_outward(short_side: int, longer: int) -> None:
    """Every one once, opposite ones together, and never nearer to the middle than the pair before."""
    long_side = short_side + longer
    count = 2 * (long_side + short_side) - 4
    order = rectangle_order(count, short_side)
    assert sorted(order) == list(range(1, count + 1))
    places = [place(number, long_side, short_side) for number in order]
    for (ax, ay), (bx, by) in zip(places[::2], places[1::2], strict=True):
        assert (ax, ay) == (-bx, -by)
    far = [x * x + y * y for x, y in places]
    assert far == sorted(far)


@pytest.mark.parametrize(("count", "short_side"), [(7, 2), (2, 2), (8, 1), (8, 4), (6, 3)])
def test_what_makes_no_rectangle_is_refused(count: int, short_side: int) -> None:
    """An odd number, or a long side that would be shorter than the short one."""
    with pytest.raises(
        ValueError,
        match=f"^{count} fasteners with {short_side} on each short side make no rectangle: the number must be even, and no"
        r" long side may have fewer than a short one \(both corners counted\)$",
    ):
        rectangle_order(count, short_side)


def test_the_stages_are_thirds_and_then_a_round() -> None:
    """Four at 30 N.m: 10, 20, 30 in the pattern, then 30 once round."""
    turns = tightenings(circle_order(4), amount("30", "Nm"))
    star = (1, 3, 2, 4)
    assert turns == tuple(
        Tightening(stage, fastener, amount(torque, "Nm"))
        for stage, torque, order in (
            ("a third", "10", star), ("two thirds", "20", star), ("full", "30", star), ("round", "30", (1, 2, 3, 4)),
        )
        for fastener in order
    )  # fmt: skip
    stage, fastener, torque = turns[0]
    assert (stage, fastener, torque) == ("a third", 1, amount("10", "Nm"))
    # thirds are rounded to five figures, what the manual says is not
    fine = tightenings(circle_order(4), amount("123.456", "Nm"))
    assert [fine[at].torque.value for at in (0, 4, 8, 12)] == [
        Decimal(n) for n in ("41.152", "82.304", "123.456", "123.456")
    ]


@given(
    st.integers(2, 40),
    st.decimals("0.1", "500", places=1),
    st.integers(1, 3),
    st.sampled_from(["Nm", "lbf_in", "lbf_ft"]),
)
def test_torque_never_falls_and_each_pass_has_each_fastener(
    count: int, torque: Decimal, rounds: int, unit: str
) -> None:
    """reference.md 8.5: every bolt once per pass; torque never falls between passes; the last is the full one, exactly."""
    turns = tightenings(circle_order(count), Amount(torque, unit), rounds)
    assert len(turns) == count * (3 + rounds)
    for start in range(0, len(turns), count):
        assert {turn.fastener for turn in turns[start : start + count]} == set(range(1, count + 1))
    values = [turn.torque.value for turn in turns]
    assert values == sorted(values)
    assert values[-count:] == [torque] * count
    assert abs(values[0] * 3 / torque - 1) < Decimal("1e-4") and abs(values[count] * 3 / torque / 2 - 1) < Decimal(
        "1e-4"
    )


def test_an_order_can_be_read_aloud_fastener_by_fastener() -> None:
    """The pattern as the answer, one line for each stage, and the numbering before."""
    figure = tightening_order(fasteners=amount("4", "count"), layout="circle", torque=amount("20", "Nm"))
    assert figure.answer == "1-3-2-4"
    assert figure.working == (
        "numbered 1 to 4 clockwise from any one, seen by whoever tightens",
        "a third, 6.6667 N·m: 1, 3, 2, 4",
        "two thirds, 13.333 N·m: 1, 3, 2, 4",
        "full, 20 N·m: 1, 3, 2, 4",
        "round, 20 N·m: 1, 2, 3, 4",
    )
    assert "PCC-1" in figure.sources[0] and "from memory" in figure.sources[1] and "no source" in figure.sources[1]
    assert "manual" in figure.cautions[0] and "at least two circular passes" in figure.cautions[1]


def test_a_rectangle_by_name() -> None:
    """Two rows if nothing is said of the short side; more rounds if asked."""
    six = {"fasteners": amount("6", "count"), "torque": amount("66", "lbf_in")}
    figure = tightening_order(layout="rectangle", rounds=amount("2", "count"), **six)
    assert figure.answer == "2-5-1-4-3-6"
    assert figure.working[0] == "numbered 1 to 6 clockwise from the left end of a long side, seen by whoever tightens"
    assert figure.working[1] == "a third, 22 lbf·in: 2, 5, 1, 4, 3, 6"
    assert figure.working[-2:] == ("round, 66 lbf·in: 1, 2, 3, 4, 5, 6",) * 2
    eight = tightening_order(
        fasteners=amount("8", "count"), layout="rectangle", torque=amount("9", "Nm"), short_side=amount("3", "count")
    )
    assert eight.answer == "2-6-4-8-1-5-3-7"


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"fasteners": amount("1", "count")}, "'fasteners' is 1, and must be from 2 to 60"),
        ({"fasteners": amount("61", "count")}, "'fasteners' is 61, and must be from 2 to 60"),
        ({"fasteners": amount("4.5", "count")}, "'fasteners' is 4.5, and must be a whole number"),
        ({"fasteners": amount("4", "mm")}, "'fasteners' is 4 mm .length., and must be a count"),
        ({"layout": "oval"}, "'layout' is 'oval', and must be one of circle, rectangle"),
        ({"torque": amount("0", "Nm")}, "'torque' is 0 N·m, and must be above zero"),
        ({"torque": amount("9", "J")}, "'torque' is 9 J .energy., and must be a torque"),
        ({"rounds": amount("0", "count")}, "'rounds' is 0, and must be from 1 to 5"),
        ({"rounds": amount("6", "count")}, "'rounds' is 6, and must be from 1 to 5"),
        ({"short_side": amount("2", "count")}, "a circle has no 'short_side': leave it out$"),
        ({"layout": "rectangle", "short_side": amount("1", "count")}, "'short_side' is 1, and must be from 2 to 60"),
        ({"layout": "rectangle", "short_side": amount("61", "count")}, "'short_side' is 61, and must be from 2 to 60"),
        ({"layout": "rectangle", "fasteners": amount("7", "count")}, "7 fasteners with 2 on each short side make no"),
    ],
)
def test_what_cannot_be_laid_out_is_refused(changed: dict[str, Any], message: str) -> None:
    """The input is named with its value and range."""
    good: dict[str, Any] = {"fasteners": amount("6", "count"), "layout": "circle", "torque": amount("9", "Nm")}
    with pytest.raises(ValueError, match="^" + message):
        tightening_order(**{**good, **changed})


def test_sixty_are_the_most_and_five_rounds() -> None:
    """The ends of the ranges are in them; found by name."""
    figure = BY_NAME["tightening_order"](
        fasteners=amount("60", "count"), layout="circle", torque=amount("9", "Nm"), rounds=amount("5", "count")
    )
    assert len(figure.working) == 1 + 3 + 5

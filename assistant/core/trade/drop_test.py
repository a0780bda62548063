"""Cylinder drop test: the engine runs, one cylinder at a time is cut out, and the weak one is missed least.

Source for the comparison: common practice, no source. For the verdict: a technical school's worked example
(cordonline.net/michigan/ep/ep_24.htm): with a cylinder cut out, the lowest speed must lie within 10 percent of the highest.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from assistant.core.trade.cylinders import named, where
from assistant.core.trade.figure import Figure
from assistant.core.trade.given import given
from assistant.core.trade.inputs import Speed
from assistant.core.trade.rounding import shown, to_figures
from assistant.core.units import Amount

MOST_RPM = "15000"
WANDER_PERCENT = Decimal(5)
"""How far a steady engine's speed may rise by itself when a dead cylinder is cut out (common practice, no source)."""
APART_PERCENT = Decimal(10)
WEAK_PERCENT = Decimal(50)
"""Share of the mean drop below which a cylinder is too weak to be called within (common practice, no source)."""
RUNNING = (
    "The engine runs: exhaust outside, fan on, cooling water on as its manual says, hair and sleeves clear of belts and"
    " drive, machine held fast.",
    "Cut out with a grounding tester or the engine's own service program. Never pull a live lead: it strikes, and an open"
    " lead ruins coils. A few seconds each, with a pause: unburnt fuel overheats a catalytic exhaust.",
)
LIMITS = (
    "A small drop says that a cylinder gives little, not why: spark, fuel and compression come next. An idle control that"
    " holds the speed hides every drop: run above idle, or have it off."
)


def drop_test(*, running: tuple[Speed, ...], cut_out: tuple[Speed, ...]) -> Figure:
    """The cylinders whose speed drop is least, "none" where all are the same; each drop and the mean stand beside.

    `running`: the speed before, once or for each cylinder; `cut_out`: with each cylinder cut out, in order. The verdict is
    low where the speeds, brought to the first running speed, lie more than 10 percent of the highest apart; unsure where they
    do not, and yet the least drop is under half of the mean: the two rules disagree.
    The mean is rounded to 4 significant figures. Source: the module's. Raises ValueError for fewer than two cylinders, sets
    that do not fit each other, running speeds over 10 percent apart, a speed that rises by over 5 percent, no drop at
    all, or an engine that stops each time.
    """
    speeds = _speeds(running, cut_out)
    drops = [a - b for a, b in speeds]
    mean = sum(drops, Decimal(0)) / len(drops)
    if mean <= 0:
        raise ValueError(
            "no cylinder brings the speed down: look at the cutting out, the tachometer and the idle control"
        )
    least = min(drops)
    weak = where(drops, lambda drop: drop == least) if least < max(drops) else []
    first = speeds[0][0]
    lowest, highest = first - max(drops), first - least
    if highest <= 0:
        raise ValueError("the engine stops whichever cylinder is cut out: run it faster, and take all of them again")
    apart = (highest - lowest) * 100 / highest
    return Figure(
        named(weak),
        (
            *(
                f"cylinder {at}: {shown(a)} - {shown(b)} = {shown(a - b)} rpm, {shown((a - b) * 100 / mean, 1)} % of the mean"
                for at, (a, b) in enumerate(speeds, start=1)
            ),
            f"mean drop {shown(mean, 1)} rpm; least {shown(least)} rpm: {named(weak)}",
            f"speeds from {shown(lowest)} to {shown(highest)} rpm: {shown(apart, 1)} % of the highest apart, 10 % is kept",
        ),
        (
            "drop against the mean, under half of it is weak: common practice, no source",
            "10 % between the speeds: a technical school's worked example, cordonline.net/michigan/ep/ep_24.htm",
        ),
        verdict="low" if apart > APART_PERCENT else "unsure" if least * 100 < WEAK_PERCENT * mean else "within",
        beside=(
            ("mean_drop", Amount(to_figures(mean, 4), "rpm")),
            *((f"cylinder_{at}_drop", Amount(drop, "rpm")) for at, drop in enumerate(drops, start=1)),
        ),
        cautions=(*RUNNING, LIMITS),
    )


def _speeds(running: Sequence[Amount], cut_out: Sequence[Amount]) -> list[tuple[Decimal, Decimal]]:
    """Each cylinder's speed before, and with it cut out."""
    if len(cut_out) < 2:
        raise ValueError(f"'cut_out' needs at least two speeds, one for each cylinder, and has {len(cut_out)}")
    if len(running) not in (1, len(cut_out)):
        raise ValueError(f"'running' has {len(running)} speeds for {len(cut_out)} cylinders: give one, or one for each")
    before = [
        given("running", one, "rpm", least="1", most=MOST_RPM, source="no engine in the bay runs faster")
        for one in running
    ]
    if (max(before) - min(before)) * 100 > APART_PERCENT * max(before):
        raise ValueError(
            f"'running' goes from {shown(min(before))} to {shown(max(before))} rpm: run steadily, and take all again"
        )
    before = before * len(cut_out) if len(before) == 1 else before
    after = [
        given("cut_out", one, "rpm", least="0", most=MOST_RPM, source="no engine in the bay runs faster")
        for one in cut_out
    ]
    speeds = list(zip(before, after, strict=True))
    for at, (a, b) in enumerate(speeds, start=1):
        if (b - a) * 100 > WANDER_PERCENT * a:
            raise ValueError(
                f"cylinder {at} cut out raises the speed from {shown(a)} to {shown(b)} rpm: let it settle and take it again"
            )
    return speeds


COMPUTATIONS = (drop_test,)

"""What went in against what came out or was meant to: antifreeze by the can, oil by the measure.

Limits are those of the machine sheet; bounds are inclusive. A volume is judged exactly, then given to five significant figures.
"""

from __future__ import annotations

from decimal import ROUND_CEILING

from assistant.core.trade.figure import Figure
from assistant.core.trade.given import above_zero, given
from assistant.core.trade.inputs import Share, Volume
from assistant.core.trade.reckoning import about
from assistant.core.trade.rounding import to_figures
from assistant.core.trade.sheet_limits import SHEET, by_the_sheet
from assistant.core.units import Amount, convert

FIGURES = 5
COMMON = "common practice, no source"
ANTIFREEZE = (
    "Propylene glycol where it can run out, never the ethylene kind, which is poison; keep it from children and animals.",
    "Catch what comes out; it goes to a collection as waste antifreeze, not into the ground or the water.",
)
USED_OIL = "Old oil goes into a sound container marked Used Oil (40 CFR 279.22); hot oil burns, gloves on."
OIL_TELLS = (
    "Milky oil has water in it, thin oil that smells has fuel in it, and more out than in may be either: find out why."
)


def antifreeze_needed(*, passages: Volume, spare: Share, can: Volume) -> Figure:
    """How many cans of antifreeze are set ready for the raw-water passages, as a volume in the can's unit; the cans beside.

    `spare`: what is added, in percent of `passages`, for what runs out before the colour comes undiluted (0 to 200).
    Source: common practice, no source. Raises ValueError for what is not above zero, or a spare outside of its range.
    """
    litres = above_zero("passages", passages, "L")
    more = given("spare", spare, "percent", least="0", most="200", source=COMMON)
    wanted = Amount(litres * (100 + more) / 100, "L")
    cans = (wanted.value / above_zero("can", can, "L")).to_integral_value(ROUND_CEILING)
    answer = Amount(cans * can.value, can.unit)
    lines = (f"{passages} and {spare} more: {about(convert(wanted, can.unit))}", f"{cans} cans of {can}: {answer}")
    return Figure(answer, lines, (COMMON,), beside=(("cans", Amount(cans, "count")),), cautions=ANTIFREEZE)


def antifreeze_used(
    *, before: Volume, after: Volume, least: Volume, most: Volume, opened: Volume | None = None
) -> Figure:
    """What was used: in the can before, and in cans opened since, less what is left after; in the unit of `before`.

    Within from `least` to `most`, both inclusive; low: the passages may not be full; high: it may not have stayed in them.
    Source: the machine sheet. Raises ValueError where more is left than there was, or for what is no volume.
    """
    given("before", before, "L", least="0")
    given("after", after, "L", least="0")
    unit, there = before.unit, before.value
    if opened is not None:
        above_zero("opened", opened, "L")
        there += convert(opened, unit).value
    used = there - convert(after, unit).value
    if used < 0:
        raise ValueError(f"'after' is {after}, more than the {Amount(there, unit)} that there was before")
    verdict, margin = by_the_sheet(Amount(used, unit), least, most)
    answer = Amount(to_figures(used, FIGURES), unit)
    lines = (f"{about(Amount(there, unit))} less {after} is {about(answer)}", margin)
    return Figure(answer, lines, (SHEET,), verdict, cautions=ANTIFREEZE)


def oil_balance(*, drained: Volume, poured: Volume, allowed: Volume) -> Figure:
    """The oil poured in, less what was drained (filter and all), in the unit of `poured`; below zero: more came out.

    Within where they differ by no more than `allowed`, inclusive; high: more went in than came out (some was burnt, leaked, or
    is still in there); low: less went in (it was overfilled, has fuel or water in it, or the new is short).
    Source: the machine sheet; common practice. Raises ValueError for what is no volume, or below zero.
    """
    for name, amount in (("drained", drained), ("poured", poured), ("allowed", allowed)):
        given(name, amount, "L", least="0")
    out = convert(drained, poured.unit)
    difference = poured.value - out.value
    verdict, margin = by_the_sheet(Amount(difference, poured.unit), Amount(-allowed.value, allowed.unit), allowed)
    answer = Amount(to_figures(difference, FIGURES), poured.unit)
    lines = (f"{poured} in less {about(out)} out is {about(answer)}", margin)
    return Figure(answer, lines, (SHEET, COMMON), verdict, cautions=(OIL_TELLS, USED_OIL))


COMPUTATIONS = (antifreeze_needed, antifreeze_used, oil_balance)

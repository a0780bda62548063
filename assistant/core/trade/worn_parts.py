"""How far a part has worn, judged by the limits of the machine sheet: impeller, spark plug, anode, belt.

Every limit is an input, since only the manual knows it; bounds are inclusive. A value is judged exactly, and then given to
five significant figures.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Literal

from assistant.core.trade.figure import Figure
from assistant.core.trade.given import above_zero, given
from assistant.core.trade.inputs import Length, Mass, Share
from assistant.core.trade.reckoning import about, one_of
from assistant.core.trade.rounding import to_figures
from assistant.core.trade.sheet_limits import SHEET, by_the_sheet
from assistant.core.units import Amount, convert

Side = Literal["per_side", "across"]
Wears = Literal["thickness", "round", "lump"]

SIDES: dict[Side, int] = {"per_side": 1, "across": 2}
"""How many gaps a manual's clearance counts: one side, or both together."""
POWERS: dict[Wears, int] = {"thickness": 1, "round": 2, "lump": 3}
"""How the metal left follows one size of it: a plate by its thickness, a rod by its diameter twice, a lump three times."""
FIGURES = 5
GEOMETRY = "geometry: both gaps together are ring less impeller"
BY_SIZE = "geometry: what is left goes by one size, its square or its cube"
BY_WEIGHT = "proportion by weight, without the metal core"
NO_TURNING = "Battery off and lanyard pulled before hands or feelers go to the impeller; its edges cut."
FEELERS = (
    "Measure at a blade's tip, at two places opposite each other: one alone tells where the shaft hangs, not the wear."
)
PLUG = "Engine cold, ignition off. Bend only the side electrode; some plugs are never set: see the manual."
ANODE = "Clean and dry before it is measured; a loose or painted anode protects nothing, whatever is left of it."
BELT = "Engine stopped and its key out before fingers go near a belt; cracks, glaze or missing cogs condemn it at any size."


def impeller_clearance_by_feelers(
    *, one_side: Length, other_side: Length, limit_is: Side, most: Length, least: Length | None = None
) -> Figure:
    """Impeller to wear ring, from two feeler readings opposite each other; in the unit of `one_side`.

    `limit_is`: whether the manual's limit is one gap (the mean of the two) or both together. The other one, and how far the
    impeller is off the middle, stand beside. Sources: `GEOMETRY`, the sheet. Raises ValueError for a reading below zero.
    """
    given("one_side", one_side, "mm", least="0")
    given("other_side", other_side, "mm", least="0")
    unit = one_side.unit
    one, other = one_side.value, convert(other_side, unit).value
    line = f"{one_side} and {about(Amount(other, unit))}: together {about(Amount(one + other, unit))}"
    off = ("off_the_middle", _shown(abs(one - other) / 2, unit))
    return _clearance(Amount(one + other, unit), line, limit_is, least, most, (off,), (NO_TURNING, FEELERS))


def impeller_clearance_by_diameters(
    *, ring: Length, impeller: Length, limit_is: Side, most: Length, least: Length | None = None
) -> Figure:
    """The same from the inside diameter of the wear ring and the diameter over the impeller's blades; in the ring's unit.

    Raises ValueError for a diameter that is not above zero, or an impeller that is larger than its ring.
    """
    above_zero("ring", ring, "mm")
    above_zero("impeller", impeller, "mm")
    gap = Amount(ring.value - convert(impeller, ring.unit).value, ring.unit)
    if gap.value < 0:
        raise ValueError(f"'impeller' is {impeller} and 'ring' is {ring}: it would not go in")
    line = f"{ring} less {_shown(ring.value - gap.value, ring.unit)}: together {about(gap)}"
    return _clearance(gap, line, limit_is, least, most, (), (NO_TURNING,))


def _clearance(
    together: Amount,
    line: str,
    limit_is: Side,
    least: Amount | None,
    most: Amount,
    beside: tuple[tuple[str, Amount], ...],
    cautions: tuple[str, ...],
) -> Figure:
    one_of("limit_is", limit_is, SIDES)
    gaps = {side: Amount(together.value * count / 2, together.unit) for side, count in SIDES.items()}
    verdict, margin = by_the_sheet(gaps[limit_is], least, most)
    lines = (line, f"half of it is each side; the limit is {limit_is.replace('_', ' ')}", margin)
    shown: dict[str, Amount] = {side: _shown(gap.value, gap.unit) for side, gap in gaps.items()}
    answer = shown.pop(limit_is)
    return Figure(answer, lines, (GEOMETRY, SHEET), verdict, (*shown.items(), *beside), cautions)


def _shown(value: Decimal, unit: str) -> Amount:
    return Amount(to_figures(value, FIGURES), unit)


def plug_gap(*, gap: Length, least: Length, most: Length) -> Figure:
    """A spark plug's gap, judged; how far to open it (below zero: close it) to the middle of its limits stands beside.

    In the gap's unit. Source: the sheet. Raises ValueError for a gap that is not above zero.
    """
    above_zero("gap", gap, "mm")
    verdict, margin = by_the_sheet(gap, least, most)
    middle = (convert(least, gap.unit).value + convert(most, gap.unit).value) / 2
    change = _shown(middle - gap.value, gap.unit)
    lines = (margin, f"the middle is {about(Amount(middle, gap.unit))}: {about(change)} to it")
    return Figure(gap, lines, (SHEET,), verdict, (("to_the_middle", change),), (PLUG,))


def anode_by_weight(*, new: Mass, now: Mass, least: Share, core: Mass | None = None) -> Figure:
    """The share of an anode that is left, in percent, by its weight; `core`: the steel in it, which does not waste.

    Low: below `least`, then it is replaced. Sources: `BY_WEIGHT`, the sheet. Raises ValueError for an anode that weighs more
    than when it was new, or less than its core.
    """
    inside = Amount(Decimal(0), "g") if core is None else core
    steel = given("core", inside, "g", least="0")
    fresh, left = above_zero("new", new, "g") - steel, given("now", now, "g", least="0") - steel
    if not (0 <= left <= fresh and fresh > 0):
        raise ValueError(f"'now' is {now}, and must be from its core, {inside}, to what it weighed new, {new}")
    return _share_left(left / fresh, f"({now} less {inside}) / ({new} less {inside})", least, BY_WEIGHT)


def anode_by_size(*, new: Length, now: Length, wears: Wears, least: Share) -> Figure:
    """The share of an anode that is left, in percent, by one size of it, new and now.

    `wears`: a plate in its thickness, a rod all round (by its diameter), a lump on all sides (by any width, three times).
    Sources: `BY_SIZE`, the sheet. Raises ValueError for one that is larger than when it was new.
    """
    power = one_of("wears", wears, POWERS)
    fresh, left = above_zero("new", new, "mm"), given("now", now, "mm", least="0")
    if left > fresh:
        raise ValueError(f"'now' is {now}, and cannot be above what it was new, {new}")
    return _share_left((left / fresh) ** power, " x ".join([f"({now} / {new})"] * power), least, BY_SIZE)


def _share_left(left: Decimal, line: str, least: Amount, source: str) -> Figure:
    given("least", least, "percent", least="0", most="100")
    share = Amount(left * 100, "percent")
    verdict, margin = by_the_sheet(share, least, None)
    answer = _shown(share.value, "percent")
    lines = (f"{line} = {about(answer)} left", margin)
    return Figure(answer, lines, (source, SHEET), verdict, cautions=(ANODE,))


def belt_width(*, width: Length, least: Length, new: Length | None = None) -> Figure:
    """A belt's width, judged; what is left to wear (below zero: too far already) stands beside, in the width's unit.

    Source: the sheet. Raises ValueError for a width that is not above zero, or above what it was `new`.
    """
    above_zero("width", width, "mm")
    if new is not None and convert(width, "mm").value > above_zero("new", new, "mm"):
        raise ValueError(f"'width' is {width}, and cannot be above what it was new, {new}")
    verdict, margin = by_the_sheet(width, least, None)
    to_wear = _shown(width.value - convert(least, width.unit).value, width.unit)
    return Figure(width, (margin,), (SHEET,), verdict, (("left_to_wear", to_wear),), (BELT,))


def belt_deflection(*, deflection: Length, least: Length, most: Length) -> Figure:
    """How far a belt gives under the manual's force, judged: low is too tight, high too slack.

    Source: the sheet. Raises ValueError for a deflection below zero.
    """
    given("deflection", deflection, "mm", least="0")
    verdict, margin = by_the_sheet(deflection, least, most)
    tells = {"low": ("too tight: bearings suffer",), "high": ("too slack: it slips",)}.get(verdict, ())
    return Figure(deflection, (margin, *tells), (SHEET,), verdict, cautions=(BELT,))


COMPUTATIONS = (
    impeller_clearance_by_feelers, impeller_clearance_by_diameters, plug_gap, anode_by_weight, anode_by_size, belt_width,
    belt_deflection,
)  # fmt: skip

"""Torque: in another unit, through an adapter, over a self-locking nut, and how far the tool can be trusted.

Answers are in the unit of the torque that was given. A setting is rounded to five significant figures, far finer than any
tool; conversions and tolerances are exact.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from assistant.core.trade.figure import Figure, Verdict
from assistant.core.trade.given import above_zero, given
from assistant.core.trade.inputs import Count, Length, Share, Torque
from assistant.core.trade.reckoning import about
from assistant.core.trade.rounding import to_figures
from assistant.core.units import Amount, convert, plain

TorqueUnit = Literal["Nm", "lbf_in", "lbf_ft"]
FACTORS = "inch 25.4 mm, pound 0.45359237 kg, standard gravity 9.80665 m/s2: exact (yard and pound agreement of 1959)"
ADAPTER = "Army TM 9-254, and Navy 14315 figure 3-43: setting = torque x L / (L + E), reference.md section 8.1"
ANGLED = "at an angle E counts by its cosine: Army TM 9-254, computed, reference.md section 8.1"
LOCKNUT = "AC 43.13-1B para 7-40: the friction drag of a self-locking nut is added, reference.md section 8.1"
TOOL = "setting tools good to 4 % either way, checked each year or 5000 cycles: as restated by a tool supplier"
SMALL_TOOL = "6 % for tools of 10 N.m and under: from memory"
RANGE = "ISO 6789-2 calibrates at 20, 60 and 100 % of the range: as restated by suppliers"
SETTING_FIGURES = 5
SMALL_TOOL_NM = Decimal(10)
LEAST_OF_RANGE, MOST_OF_RANGE = Decimal(20), Decimal(100)
GRIP = "Hold the tool at the middle of its grip: L is measured to there, and held elsewhere the correction is wrong."
SQUARE = "An adapter at a right angle to the tool, or a socket bar on its axis, changes nothing."


def torque_least(*, target: Torque, tolerance: Share) -> Figure:
    """The least torque taken for `target` with a `tolerance` in percent either way.

    Source: indicating and setting tools are good to 4 percent either way (reference.md section 8.4): for 20 N.m, 19.2
    is accepted and 19.19 is not. Raises ValueError for another kind of quantity or a tolerance not from 0 to below 100.
    """
    return _apart(target, tolerance, "less", -1)


def torque_most(*, target: Torque, tolerance: Share) -> Figure:
    """The most torque taken for `target`; source and errors as `torque_least`: for 20 N.m it is 20.8."""
    return _apart(target, tolerance, "plus", 1)


def _apart(target: Amount, tolerance: Amount, sign: str, side: int) -> Figure:
    above_zero("target", target, "Nm")
    share = given("tolerance", tolerance, "percent", least="0")
    if share >= 100:
        raise ValueError(f"'tolerance' is {tolerance}, and must be below 100 %: nothing would be too little")
    answer = Amount(target.value * (100 + side * share) / 100, target.unit)
    return Figure(answer, (f"{target} {sign} {tolerance} is {answer}",), ("tool tolerance, reference.md section 8.4",))


def torque_in(*, torque: Torque, unit: TorqueUnit) -> Figure:
    """A torque in another unit, to 20 figures.

    Source: `FACTORS`. Raises ValueError for what is no torque (an energy is none) or a unit of none.
    """
    given("torque", torque, unit)
    answer, factor = convert(torque, unit), convert(Amount(Decimal(1), torque.unit), unit)
    lines = (f"{Amount(Decimal(1), torque.unit)} is {factor}", f"{torque} is {answer}, about {about(answer)}")
    return Figure(answer, lines, (FACTORS,))


def adapter_setting(
    *, target: Torque, tool_length: Length, adapter: Length, angle_degrees: Count | None = None
) -> Figure:
    """What a torque tool is set to, so that the fastener gets `target` through a crow-foot or other offset adapter.

    `tool_length` (L): middle of the drive to middle of the grip. `adapter` (E): middle of the drive to middle of the
    fastener; below zero where it is folded straight back over the tool. `angle_degrees`: how far the adapter is turned from
    straight on, 0 (left out) to 180, a bare number. The setting is target x L / (L + E cos angle), to five figures.
    Sources: `ADAPTER`, `ANGLED`. Raises ValueError where nothing is left of the lever, or an adapter below zero has an angle.
    """
    above_zero("target", target, "Nm")
    lever = _lever(tool_length, adapter, angle_degrees)
    answer = Amount(to_figures(target.value * lever.tool / lever.whole, SETTING_FIGURES), target.unit)
    line = f"setting = {target} x {about(lever.length)} / {about(lever.total)} = {answer}"
    return Figure(answer, (*lever.working, line), (ADAPTER, ANGLED), cautions=(GRIP, SQUARE))


def adapter_applied(
    *, setting: Torque, tool_length: Length, adapter: Length, angle_degrees: Count | None = None
) -> Figure:
    """What a fastener gets through an offset adapter when the tool is set to `setting`: the other way round.

    Applied = setting x (L + E cos angle) / L, to five figures; inputs, sources and errors as `adapter_setting`.
    """
    above_zero("setting", setting, "Nm")
    lever = _lever(tool_length, adapter, angle_degrees)
    answer = Amount(to_figures(setting.value * lever.whole / lever.tool, SETTING_FIGURES), setting.unit)
    line = f"applied = {setting} x {about(lever.total)} / {about(lever.length)} = {answer}"
    return Figure(answer, (*lever.working, line), (ADAPTER, ANGLED), cautions=(GRIP, SQUARE))


@dataclass(frozen=True)
class _Lever:
    """Tool, and tool with adapter, in mm; in the unit of the tool's length for the reader."""

    tool: Decimal
    whole: Decimal
    length: Amount
    total: Amount
    working: tuple[str, ...]


def _lever(length: Amount, adapter: Amount, angle: Amount | None) -> _Lever:
    tool, offset = above_zero("tool_length", length, "mm"), given("adapter", adapter, "mm")
    degrees = Decimal(0) if angle is None else given("angle_degrees", angle, "count", least="0", most="180")
    if offset < 0 and degrees:
        raise ValueError(f"'adapter' is {adapter}, folded back, and has an angle as well: give one of them")
    along = offset * Decimal(repr(math.cos(math.radians(float(degrees)))))
    if tool + along <= 0:
        raise ValueError(f"'adapter' reaches back {adapter} and 'tool_length' is {length}: no lever is left")
    total, part = (convert(Amount(mm, "mm"), length.unit) for mm in (tool + along, along))
    turned = (f"{adapter} x cos {plain(degrees)} degrees = {about(part)} along the tool",) if degrees else ()
    line = f"lever with adapter: {about(length)} + {about(part)} = {about(total)}"
    return _Lever(tool, tool + along, length, total, (*turned, line))


def locknut_torque(*, target: Torque, drag: Torque, least_drag: Torque | None = None) -> Figure:
    """What the tool is set to for a self-locking nut: `target` and the drag of the nut while it runs on, before it seats.

    Low: the nut has no drag, or less than `least_drag` of the sheet, and no longer locks; within: at least that much.
    Without `least_drag` a nut with drag is not judged. Source: `LOCKNUT`. Raises ValueError for what is no torque.
    """
    above_zero("target", target, "Nm")
    running = given("drag", drag, "Nm", least="0")
    least = Decimal(0) if least_drag is None else above_zero("least_drag", least_drag, "Nm")
    verdict: Verdict | None = None if least_drag is None else "within"
    if running == 0 or running < least:
        verdict = "low"
    answer = Amount(to_figures(target.value + convert(drag, target.unit).value, SETTING_FIGURES), target.unit)
    line = f"{target} and {drag} of drag: {answer}"
    lines = (line, f"a drag of {drag} is too little to lock: fit a new nut") if verdict == "low" else (line,)
    cautions = ("Add nothing where the manual says that its torque has the nut's drag in it.",)
    return Figure(answer, lines, (LOCKNUT,), verdict, cautions=cautions)


def torque_tool(*, target: Torque, full_scale: Torque) -> Figure:
    """How far a torque tool of that full scale can be off at `target`, in percent, and whether `target` is in its range.

    4 percent, or 6 for a tool of 10 N.m and under. Low: below 20 percent of full scale, where no calibration reaches; high:
    above full scale. Sources: `TOOL`, `SMALL_TOOL`, `RANGE`. Raises ValueError for what is no torque above zero.
    """
    share = 100 * above_zero("target", target, "Nm") / above_zero("full_scale", full_scale, "Nm")
    off = Decimal(6) if convert(full_scale, "Nm").value <= SMALL_TOOL_NM else Decimal(4)
    verdict: Verdict = "low" if share < LEAST_OF_RANGE else "high" if share > MOST_OF_RANGE else "within"
    answer, of_range = Amount(off, "percent"), Amount(to_figures(share, SETTING_FIGURES), "percent")
    lines = (
        f"{target} is {about(of_range)} of {full_scale}; calibration reaches from 20 % to 100 %",
        f"a tool of {full_scale} is good to {answer} either way",
    )
    cautions = ("A tool that was dropped, or whose yearly check has run out, is not to be trusted for either.",)
    return Figure(answer, lines, (TOOL, SMALL_TOOL, RANGE), verdict, (("share_of_range", of_range),), cautions)


COMPUTATIONS = (
    torque_least, torque_most, torque_in, adapter_setting, adapter_applied, locknut_torque, torque_tool,
)  # fmt: skip

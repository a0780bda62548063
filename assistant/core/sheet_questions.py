"""What in a machine sheet may be a slip of pen or eye, with the reason worked out. Questions, never refusals.

A sheet answers a question with `checked: why it is right` at the value: it is then told as answered. Looked at are the
usual range of a number of that name, the same figures in another unit, what a bolt of that thread and class stands, the
order of least, usual and most, and the range that the procedure takes as a reading at all.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from assistant.core.machine import MachineSheet, NamedValue
from assistant.core.procedure import Reading
from assistant.core.sheet_needs import SheetNeeds
from assistant.core.trade.fasteners import (
    NUT_FACTOR,
    NUT_FACTORS,
    SCATTER,
    PropertyClass,
    Surface,
    Thread,
    preload_metric,
    proof_load_metric,
    torque_estimate,
)
from assistant.core.trade.plausible import Usual, otherwise_read, usual_of
from assistant.core.trade.reckoning import about
from assistant.core.trade.rounding import in_short, shown
from assistant.core.units import Amount, a_kind, convert, kind_of

STRONGEST: PropertyClass = "12.9"
SURFACE: Surface = "dry"
"""What is taken where the sheet does not say; oiled or waxed, the same torque pulls harder still."""
TOO_LOOSE = Decimal("0.1")
"""Share of the estimate below which a torque would hardly stretch the bolt (common practice, no source)."""
FAR_APART = Decimal(4)
"""How many times the least the most may be before both are asked about (common practice, no source)."""
LEAST, USUAL, MOST = "_least", "_usual", "_most"


@dataclass(frozen=True)
class SheetQuestion:
    """What is odd about a number. `about`: the values that it is about, the first of them questioned; `line` of the first.

    `checked`: the sheet's answer, "" where it has none.
    """

    about: tuple[str, ...]
    what: str
    do: str
    line: int = 0
    checked: str = ""


def questions_of(sheet: MachineSheet, needs: SheetNeeds | None = None) -> tuple[SheetQuestion, ...]:
    """Every question about a sheet, line by line. `needs` of a procedure: its readings' ranges are looked at too."""
    found: list[SheetQuestion] = []
    for value in sheet.values.values():
        what = _of_one(value, needs)
        if what:
            found.append(_question(what, value))
    found += _orders(sheet, {question.about[0] for question in found})
    found += _two_gallons(sheet)
    return tuple(sorted(found, key=lambda question: question.line))


def _question(what: str, *values: NamedValue) -> SheetQuestion:
    first = values[0]
    checked = next((value.checked for value in values if value.checked), "")
    do = f"look again at {first.source or 'its source'}; if it is right, add 'checked: why' to the value"
    return SheetQuestion(tuple(value.name for value in values), what, do, first.line, checked)


def _of_one(value: NamedValue, needs: SheetNeeds | None) -> str:
    """What is odd about one number by itself; "" where nothing is."""
    if value.thread and kind_of(value.amount.unit) == "torque":
        return _on_a_thread(value, value.thread)
    usual = usual_of(value.name, value.amount)
    if usual is not None and not usual.holds(value.amount):
        return _unusual(value.amount, usual)
    need = needs.values.get(value.name) if needs else None
    for reading in need.readings if need else ():
        if what := _never_read(value.amount, reading):
            return what
    return ""


def _unusual(amount: Amount, usual: Usual) -> str:
    here = convert(amount, usual.unit)
    is_in = f"{amount} is" if amount.unit == usual.unit else f"{amount} is {about(here)},"
    named = " ".join(usual.words) or a_kind(usual.unit)
    return f"{is_in} outside of {usual.told}, usual for {named} ({usual.source}){_slips(amount, usual)}"


def _slips(amount: Amount, usual: Usual) -> str:
    """Which slips would explain it, the likeliest two."""
    found = [
        f"{other}" if other.unit != amount.unit else f"{other}, a point slipped,"
        for other in otherwise_read(amount, usual)
    ]
    return f"; {' or '.join(found[:2])} would be usual" if found else ""


def _never_read(amount: Amount, reading: Reading) -> str:
    """Is it outside of what the procedure takes as a reading at all."""
    if kind_of(amount.unit) != kind_of(reading.unit):
        return ""
    low, high = reading.plausible
    if low <= convert(amount, reading.unit).value <= high:
        return ""
    fits = Usual((), reading.unit, low, high)
    what = f"{amount} is outside of {fits.told}, all that the reading '{reading.name}' can be"
    return what + _slips(amount, fits)


def _on_a_thread(value: NamedValue, thread: Thread) -> str:
    """Is it more, or far less, than a torque that stretches such a bolt as it should be: T = K d F."""
    strength = value.property_class or STRONGEST
    proof = proof_load_metric(property_class=strength, thread=thread).amount
    tension = preload_metric(property_class=strength, thread=thread, joint="reused").amount
    diameter = Amount(Decimal(thread.removeprefix("M")), "mm")
    takes = torque_estimate(surface=SURFACE, diameter=diameter, tension=tension).amount
    fits = Usual((), takes.unit, takes.value * TOO_LOOSE, takes.value * (1 + SCATTER))
    if fits.holds(value.amount):
        return ""
    unit = value.amount.unit
    pull = Amount(convert(value.amount, "Nm").value * 1000 / (NUT_FACTORS[SURFACE] * diameter.value), "N")
    bolt = f"an {thread} of class {strength}" + ("" if value.property_class else ", the strongest there is")
    return (
        f"{value.amount} on {bolt}: T = K d F = {NUT_FACTORS[SURFACE]} x {diameter} x {tension} (75 % of the proof load) = "
        f"{takes}, {about(convert(takes, unit))}; {value.amount} would pull {about(pull)}, "
        f"{in_short(pull.value / proof.value)} times the proof load ({NUT_FACTOR}){_slips(value.amount, fits)}"
    )


def _orders(sheet: MachineSheet, questioned: set[str]) -> Iterator[SheetQuestion]:
    """Least, usual, most of one thing, in that order; and not far apart, where neither is `questioned` already."""
    names = [name for name in sheet.values if name.endswith((LEAST, USUAL, MOST))]
    for stem in dict.fromkeys(name.rpartition("_")[0] for name in names):
        row = [sheet.values[name] for name in (stem + LEAST, stem + USUAL, stem, stem + MOST) if name in sheet.values]
        for low, high in pairwise(row):
            if kind_of(low.amount.unit) == kind_of(high.amount.unit):
                odd = {low.name, high.name} & questioned
                if what := _out_of_order(low, high) or ("" if odd else _far_apart(low, high)):
                    yield _question(what, low, high)


def _out_of_order(low: NamedValue, high: NamedValue) -> str:
    top = convert(high.amount, low.amount.unit)
    if low.amount.value > top.value:
        more = f"{high.amount}" if high.amount.unit == low.amount.unit else f"{high.amount}, {about(top)}"
        return f"{low.name} is {low.amount}, more than {high.name}, {more}"
    return ""


def _far_apart(low: NamedValue, high: NamedValue) -> str:
    top = convert(high.amount, low.amount.unit)
    if low.amount.value <= 0 or kind_of(low.amount.unit) == "temperature" or top.value < FAR_APART * low.amount.value:
        return ""
    times = shown(top.value / low.amount.value, 1)
    near = Usual((), low.amount.unit, low.amount.value, low.amount.value * FAR_APART)
    return f"{high.name}, {high.amount}, is {times} times {low.name}, {low.amount}{_slips(high.amount, near)}"


def _two_gallons(sheet: MachineSheet) -> Iterator[SheetQuestion]:
    """Imperial gallons beside US measures: a manual has the one or the other."""
    imperial = [value for value in sheet.values.values() if value.amount.unit == "imp_gal"]
    american = [value for value in sheet.values.values() if value.amount.unit.startswith("us_")]
    if imperial and american:
        first, other = imperial[0], american[0]
        us = about(convert(first.amount, "us_gal"))
        yield _question(
            f"{first.name} is {first.amount}, {us}, and {other.name} is {other.amount}: imperial beside US", first
        )

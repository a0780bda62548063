"""Cranking pressures by cylinder: the band, how far apart they lie by the limit's own rule, and what they are at sea level.

Known by a compression computation among the limits, or by gauge pressures by cylinder whose spread is limited. All numbers
come from `core.trade` (its sources stand there); which of the two pressures was judged is always told.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from assistant.core.procedure import Limit
from assistant.core.trade import compression as trade
from assistant.core.trade.compression_balance import COMPUTATIONS as BALANCE
from assistant.core.trade.compression_balance import RULES
from assistant.core.trade.cylinders import cranking_pressures, named
from assistant.core.trade.figure import Figure
from assistant.core.trade.limits import judge, spread_share
from assistant.core.trade.rounding import shown
from assistant.core.units import Amount, kind_of
from assistant.reports.figures.drawing import Drawn, framed
from assistant.reports.figures.notes import Mark, Note, Span, edges_of
from assistant.reports.figures.places import (
    band_in,
    capital,
    left_out,
    places_of,
    sentence,
    told_values,
    unit_of,
)
from assistant.reports.figures.rows import PLACES_MOST, Bar, Chart, Row, drawn_rows
from assistant.reports.figures.scale import Band, band_told, bounds_in, fixed_band, short
from assistant.reports.figures.told import Point, ReadingSet, worked_out
from assistant.reports.figures.told import Told as Texts
from assistant.reports.values import Value

SEA_LEVEL = trade.compression_to_sea_level.__name__
SETS = tuple(computation.__name__ for computation in BALANCE)
BY_RULE, ALL_RULES = "compression_by_rule", "compression_balance"
CYLINDER = "cylinder"
APART = "compare only figures that were corrected the same way"


@dataclass(frozen=True)
class _Rule:
    """How far apart the cylinders may lie: in words, the least that one may show, and whether that was kept."""

    says: str
    floor: Decimal
    verdict: str
    by: str


def compression(found: ReadingSet, texts: Texts, values: Sequence[Value]) -> Drawn | None:
    """The figure; None where the reading is no compression."""
    if not is_compression(found):
        return None
    points = found.points[:PLACES_MOST]
    corrected = [_at_sea_level(found, point, texts, values) for point in points]
    by_sea_level = found.limit_by(SEA_LEVEL) is not None
    rows = tuple(_row(p, c, by_sea_level) for p, c in zip(points, corrected, strict=True))
    rules = _rules(found)
    band = _band(found)
    marks = edges_of(band, found.unit) + _floors(rules, found.unit)
    span = _span(found)
    foot = [Note(f"{rule.says}: {rule.by}", rule.verdict) for rule in rules]
    foot += [Note(note) for note in _notes(found, texts, corrected)]
    parts, tall = drawn_rows(Chart(rows, unit_of(found), band, marks, span, tuple(foot)))
    title = f"{capital(found.name)} by {places_of(points)}"
    told_span = span.words if span else ""
    alt = sentence(f"{title}: {told_values(points)}", told_span, *(line.words for line in foot))
    return Drawn(found.step, found.name, title, _caption(found, band, corrected), alt, framed(parts, tall, alt))


def is_compression(found: ReadingSet) -> bool:
    """Are these cranking pressures, by what the procedure says of them."""
    if kind_of(found.unit) != "pressure" or found.reading is None or not found.reading.each:
        return False
    if any(point.number < 0 or not point.value.place for point in found.points):
        return False
    spread = any(limit.rule == "spread" for limit in found.limits)
    return found.limit_by(SEA_LEVEL, *SETS) is not None or (spread and found.reading.each == CYLINDER)


def _row(point: Point, corrected: Amount | None, by_sea_level: bool) -> Row:
    """Both pressures of a cylinder, the judged one first."""
    read = Bar(point.number, point.value.written)
    if corrected is None:
        return Row(point.value.place, (read,), point.value.verdict)
    other = Bar(corrected.value, f"{corrected} at sea level", beside=not by_sea_level)
    if by_sea_level:
        return Row(
            point.value.place, (other, Bar(point.number, f"{point.value.written} as read", True)), point.value.verdict
        )
    return Row(point.value.place, (Bar(point.number, f"{point.value.written} as read"), other), point.value.verdict)


def _at_sea_level(found: ReadingSet, point: Point, texts: Texts, values: Sequence[Value]) -> Amount | None:
    """What the same engine would show at sea level; None where the shop's altitude is not told, or is sea level."""
    limit = found.limit_by(SEA_LEVEL)
    if limit is not None:
        figure = worked_out(limit, point, texts, values)
        return figure.amount if isinstance(figure, Figure) else None
    if texts.altitude is None or texts.altitude.value == 0:
        return None
    try:
        return trade.compression_to_sea_level(reading=point.amount, altitude=texts.altitude).amount
    except (ValueError, ArithmeticError):
        return None


def _band(found: ReadingSet) -> Band:
    """Of the judged pressures: the bounds of the limit at sea level, where there is one."""
    limit = found.limit_by(SEA_LEVEL)
    if limit is not None:
        return bounds_in(limit, found.unit)
    return fixed_band(found.limits, found.unit) if any(one.alone for one in found.limits) else band_in(found)


def _floors(rules: Sequence[_Rule], unit: str) -> tuple[Mark, ...]:
    """The least that the set allows, where one rule says so; several rules would be a thicket, and are told only."""
    return tuple(
        Mark(rule.floor, f"by the set at least {short(rule.floor, unit)}") for rule in rules[:1] if rules[1:] == []
    )


def _span(found: ReadingSet) -> Span | None:
    """From lowest to highest, as a share of the highest and as a difference."""
    if len(found.points) < 2:
        return None
    lowest = min(found.points, key=lambda point: point.number)
    highest = max(found.points, key=lambda point: point.number)
    if highest.number <= 0:
        return None
    share = 100 - spread_share([point.amount for point in found.points]).value
    words = (
        f"as read, the lowest, {lowest.value.written}, is {_percent(share)} % of the highest, {highest.value.written}; "
        f"{Amount(highest.number - lowest.number, found.unit)} apart"
    )
    return Span(lowest.number, highest.number, words)


def _percent(share: Decimal) -> str:
    """To one decimal; with more where it would else be read as a whole number that it is not."""
    for places in (1, 2, 3):
        text = shown(share, places)
        if Decimal(text) == share or Decimal(text) != round(share):
            return text
    return shown(share, 6)


def _rules(found: ReadingSet) -> list[_Rule]:
    """The rules that the limits name, as kept by the whole set; none as long as a cylinder is missing."""
    amounts = [point.amount for point in found.points]
    if len(amounts) < 2 or not found.complete:
        return []
    try:
        numbers, unit = cranking_pressures("compression", amounts)
    except ValueError:
        return []
    rules = []
    for limit in found.limits:
        if limit.rule == "spread":
            rules.append(_by_share(limit, found.points, numbers))
        for name in _named_rules(limit):
            rule = RULES[name]
            weak = rule.weak(numbers, unit)
            verdict = "low" if weak else "within"
            rules.append(_Rule(rule.says, rule.floor(numbers, unit), verdict, _kept(verdict, named(weak))))
    return rules


def _named_rules(limit: Limit) -> tuple[str, ...]:
    if limit.by == ALL_RULES:
        return tuple(RULES)
    words = [
        part
        for name, parts in limit.inputs
        if name == "rule"
        for part in (parts if isinstance(parts, tuple) else (parts,))
    ]
    return tuple(word for word in words if limit.by == BY_RULE and isinstance(word, str) and word in RULES)


def _by_share(limit: Limit, points: Sequence[Point], numbers: Sequence[Decimal]) -> _Rule:
    lowest = min(points, key=lambda point: point.number)
    others = [point.amount for point in points if point is not lowest]
    verdict = judge(lowest.amount, limit, others).verdict
    share = limit.share or Decimal(0)
    return _Rule(
        f"lowest within {share} % of the highest",
        max(numbers) * (100 - share) / 100,
        verdict,
        _kept(verdict, lowest.value.place),
    )


def _kept(verdict: str, where: str) -> str:
    return {"within": "kept", "unsure": "unsure, too near for the gauge"}.get(verdict, f"not kept by {where}")


def _notes(found: ReadingSet, texts: Texts, corrected: Sequence[Amount | None]) -> list[str]:
    """What was judged, and what is missing."""
    notes = []
    if found.limit_by(SEA_LEVEL) is not None:
        notes.append("Judged by its limit: the pressure at sea level. Hatched: as read on the gauge.")
    elif any(corrected):
        notes.append(f"Judged: the pressure as read. Hatched: the same brought to sea level from {texts.altitude}.")
    if found.limit_by(SEA_LEVEL) is not None and not all(corrected):
        notes.append("Some pressures could not be brought to sea level.")
    if len(found.points) > 1 and not found.complete:
        notes.append("The set is judged when every cylinder is read.")
    return notes


def _caption(found: ReadingSet, band: Band, corrected: Sequence[Amount | None]) -> str:
    told = band_told(band, found.unit)
    which = "at sea level" if found.limit_by(SEA_LEVEL) else "as read"
    source = next((limit.source for limit in found.limits if limit.alone), "")
    parts = [f"Grey band: {told}, {which}" + (f" ({source})" if source else "") if told else ""]
    parts.append(f"Brought to sea level on absolute pressure; {APART}" if any(corrected) else "")
    return " ".join(filter(None, (sentence(*parts), left_out(found))))

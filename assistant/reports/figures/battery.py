"""Batteries: the voltage at rest, and the gravity cell by cell, on their scales of the state of charge.

A voltage is one at rest where its limit is by a computation that takes one, or where its least lies on the resting scale: a
charging voltage lies above it. A gravity is known by its unit. Tables, shares and verdicts are those of `core.trade.battery`.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from assistant.core.procedure import Limit
from assistant.core.trade import battery as trade
from assistant.core.trade.battery_tables import (
    AGM_BY_VOLTAGE,
    BY_GRAVITY,
    FLOODED_BY_VOLTAGE,
    RECHARGE_VOLTS,
    SPREAD,
    Scale,
    at_80,
)
from assistant.core.trade.battery_winter import CHARGE_AT_V, charge_needed
from assistant.core.trade.figure import Figure
from assistant.core.trade.table import Table
from assistant.core.units import Amount, convert, kind_of
from assistant.reports.figures.charge import ChargeScale, Read, drawn_scale
from assistant.reports.figures.drawing import Drawn, framed
from assistant.reports.figures.notes import Mark, Note, Span
from assistant.reports.figures.places import capital, left_out, places_of, sentence
from assistant.reports.figures.rows import PLACES_MOST
from assistant.reports.figures.scale import Band, bounds_in, fixed_band, short
from assistant.reports.figures.told import Point, ReadingSet, given_to
from assistant.reports.figures.told import Told as Texts
from assistant.reports.looks import told
from assistant.reports.values import Value, spaced

NEEDED, BY_VOLTAGE = charge_needed.__name__, trade.charge_by_voltage.__name__
BY_GRAVITY_NAME, SPREAD_NAME = trade.charge_by_gravity.__name__, trade.cell_spread.__name__
AT_REST = (NEEDED, BY_VOLTAGE, trade.gravity_from_voltage.__name__)
TABLES: dict[str, Table] = {"flooded": FLOODED_BY_VOLTAGE, "agm": AGM_BY_VOLTAGE}
GRAVITY_PLACES = 3
"""As a hydrometer is read."""
NOT_RESTED = Amount(Decimal(0), "h")
REST_TOLD = f"The scale holds after {trade.REST_H} h of rest or more"


def rest_voltage(found: ReadingSet, texts: Texts, values: Sequence[Value]) -> Drawn | None:
    """The figure of a battery's voltage at rest; None where it is none."""
    if not found.points or not _is_at_rest(found):
        return None
    points = found.points[:PLACES_MOST]
    by = found.limit_by(*AT_REST)
    kind = given_to(by, "kind", points[0], texts, values) if by else None
    kinds = (str(kind),) if kind in TABLES else tuple(TABLES)
    rested = given_to(by, "rested", points[0], texts, values) if by else None
    hours = rested if isinstance(rested, Amount) else None
    reads = tuple(Read(_volts(p), _named(p), p.value.verdict) for p in points)
    shares = [_share(point, one, hours) for point in points for one in kinds]
    rest = f"Rested {hours}" if hours else "How long it rested is not told"
    foot = (*(Note(share) for share in shares), Note(f"{rest}. {REST_TOLD}."))
    tables = tuple((TABLES[one].title, TABLES[one]) for one in kinds)
    band, marks = _voltage_limits(found, kinds)
    parts, tall = drawn_scale(ChargeScale(reads, tables, "V", band, marks, None, foot))
    title = f"Battery at rest: {spaced(found.name)}"
    said = "; ".join(f"{_named(p)}, {told(p.value.verdict)}" for p in points)
    alt = sentence(f"{title}: {said}", *(mark.words for mark in marks), *shares)
    sources = [TABLES[one].source for one in kinds]
    sources += [RECHARGE_VOLTS] if by and by.by == NEEDED and "flooded" in kinds else []
    sources += [limit.source for limit in found.limits if limit.alone and limit.source]
    caption = " ".join(filter(None, (sentence(_band_told(band), *sources), left_out(found))))
    return Drawn(found.step, found.name, title, caption, alt, framed(parts, tall, alt))


def _is_at_rest(found: ReadingSet) -> bool:
    if kind_of(found.unit) != "voltage":
        return False
    if found.limit_by(*AT_REST) is not None:
        return True
    low, _ = fixed_band(found.limits, "V")
    ends = [volts for table in TABLES.values() for volts, _ in table.rows]
    return low is not None and min(ends) <= low <= max(ends)


def _volts(point: Point) -> Decimal:
    return convert(point.amount, "V").value


def _named(point: Point) -> str:
    return f"{point.value.place} {point.value.written}".strip()


def _share(point: Point, kind: str, rested: Amount | None) -> str:
    """The state of charge in words, or why none can be told."""
    where = f"{point.value.place}: " if point.value.place else ""
    kind_told = "AGM" if kind == "agm" else "flooded"
    try:
        figure = trade.charge_by_voltage(
            voltage=point.amount, rested=rested or NOT_RESTED, kind="agm" if kind == "agm" else "flooded"
        )
    except (ValueError, ArithmeticError):
        ends = TABLES[kind].rows
        return f"{where}{kind_told}: no state of charge, its scale goes from {ends[0][0]} V to {ends[-1][0]} V"
    answer = f"{figure.answer} charged" if isinstance(figure.answer, Amount) else figure.answer
    return f"{where}{kind_told}: {answer}{', unsure' if figure.verdict == 'unsure' else ''}"


def _voltage_limits(found: ReadingSet, kinds: Sequence[str]) -> tuple[Band, tuple[Mark, ...]]:
    """The band of its fixed limits, or what a limit by a computation comes to on the scale."""
    fixed = fixed_band(found.limits, "V")
    edges = [(f"at least {short(fixed[0], 'V')}", fixed[0])] if fixed[0] is not None else []
    edges += [(f"at most {short(fixed[1], 'V')}", fixed[1])] if fixed[1] is not None else []
    if found.limit_by(NEEDED) and "flooded" in kinds:
        edges.append((f"flooded: charge it below {CHARGE_AT_V} V", CHARGE_AT_V))
        fixed = fixed if fixed != (None, None) else (CHARGE_AT_V, None)
    by = found.limit_by(BY_VOLTAGE)
    if by is not None and len(kinds) == 1:
        share, at = _share_bound(by, TABLES[kinds[0]])
        if at is not None:
            edges.append((f"at least {share} charged: {short(round(at, 2), 'V')}", at))
            fixed = (at, None)
    return fixed, tuple(Mark(at, words) for words, at in edges if at is not None)


def _share_bound(limit: Limit, table: Table) -> tuple[Amount | None, Decimal | None]:
    """A least share that a limit names, and where it lies on the table."""
    share, _ = bounds_in(limit, "percent")
    if share is None:
        return None, None
    try:
        return Amount(share, "percent"), table.turned("charge").at(share)
    except ValueError:
        return None, None


def _band_told(band: Band) -> str:
    return "Grey: where it should lie" if band != (None, None) else ""


# Gravity, cell by cell


def cells(found: ReadingSet, texts: Texts, values: Sequence[Value]) -> Drawn | None:
    """The figure of the gravity of a battery's cells; None where the reading is none."""
    if kind_of(found.unit) != "specific gravity" or found.limit_by(BY_GRAVITY_NAME, SPREAD_NAME) is None:
        return None
    points = found.points[:PLACES_MOST]
    by = found.limit_by(BY_GRAVITY_NAME)
    scale = given_to(by, "scale", points[0], texts, values) if by else None
    scales = (str(scale),) if scale in BY_GRAVITY else tuple(BY_GRAVITY)
    degrees = given_to(by, "temperature", points[0], texts, values) if by else None
    reads, corrected = [], False
    for point in points:
        read, brought = _cell(point, scales, degrees)
        reads.append(read)
        corrected = corrected or brought
    spread = _spread(found)
    band, marks = _gravity_limit(by, scales)
    foot = _cell_notes(found, spread, degrees, corrected)
    tables = tuple((BY_GRAVITY[one].title, BY_GRAVITY[one]) for one in scales)
    span = _cell_span(found, spread)
    parts, tall = drawn_scale(ChargeScale(tuple(reads), tables, "", band, marks, span, foot))
    title = f"{capital(found.name)} by {places_of(points)}" if points[0].value.place else capital(found.name)
    said = "; ".join(f"{read.words}, {told(read.verdict)}" for read in reads)
    alt = sentence(
        f"{title}: {said}", span.words if span else "", *(mark.words for mark in marks), *(f.words for f in foot)
    )
    sources = [BY_GRAVITY[one].source for one in scales] + ([SPREAD] if spread else [])
    caption = " ".join(filter(None, (sentence(_band_told(band), *sources), left_out(found))))
    return Drawn(found.step, found.name, title, caption, alt, framed(parts, tall, alt))


def _cell(point: Point, scales: Sequence[str], degrees: object) -> tuple[Read, bool]:
    """A cell at 80 degF where the acid's temperature is known, with its state of charge on one known scale."""
    words, at = _named(point), point.number
    if not isinstance(degrees, Amount):
        return Read(at, words, point.value.verdict), False
    try:
        at = min(at_80(point.amount, degrees))
        words = f"{words}, at 80 °F {round(at, GRAVITY_PLACES)}"
        if len(scales) == 1:
            scale: Scale = "army_1280" if scales[0] == "army_1280" else "industry_1265"
            figure = trade.charge_by_gravity(gravity=point.amount, temperature=degrees, scale=scale)
            words = f"{words}: {figure.answer}"
    except (ValueError, ArithmeticError):
        return Read(at, words, point.value.verdict), at != point.number
    return Read(at, words, point.value.verdict), True


def _spread(found: ReadingSet) -> Figure | None:
    if found.limit_by(SPREAD_NAME) is None or len(found.points) < 2:
        return None
    try:
        return trade.cell_spread(gravities=tuple(point.amount for point in found.points))
    except (ValueError, ArithmeticError):
        return None


def _cell_span(found: ReadingSet, spread: Figure | None) -> Span | None:
    if spread is None:
        return None
    numbers = [point.number for point in found.points]
    return Span(min(numbers), max(numbers), f"as read {spread.answer} apart, at most {trade.SPREAD_MOST}")


def _gravity_limit(by: Limit | None, scales: Sequence[str]) -> tuple[Band, tuple[Mark, ...]]:
    if by is None or len(scales) != 1:
        return (None, None), ()
    share, at = _share_bound(by, BY_GRAVITY[scales[0]])
    if share is None or at is None:
        return (None, None), ()
    return (at, None), (Mark(at, f"at least {share} charged: {round(at, GRAVITY_PLACES)}"),)


def _cell_notes(found: ReadingSet, spread: Figure | None, degrees: object, corrected: bool) -> tuple[Note, ...]:
    notes = []
    if spread is not None and found.complete:
        kept = "kept" if spread.verdict == "within" else "not kept"
        weakest = found.points[min(range(len(found.points)), key=lambda n: found.points[n].number)].value.place
        notes.append(Note(f"Cells apart: {kept}; weakest {weakest}", spread.verdict or ""))
    elif len(found.points) > 1 and not found.complete:
        notes.append(Note("The cells are compared when every one is read."))
    if corrected:
        notes.append(Note(f"Drawn at 80 °F, from acid of {degrees}, by the rule that gives less."))
    elif not isinstance(degrees, Amount):
        notes.append(Note("Drawn as read: the temperature of the acid is not told, so no state of charge is."))
    return tuple(notes)

"""What the procedure of a job says of its readings, and the values that were kept for them.

A reading is known by what its procedure says of it (the computation of its limits, its unit, its places) and never by its
name. Texts that cannot be read cost what is taken from them: then only values and limits in print are there.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation
from functools import lru_cache

from assistant.core.binding import bind
from assistant.core.computing import compute, input_named, parts_of
from assistant.core.entries import JobOpened
from assistant.core.kept_inputs import readings_taken
from assistant.core.problems import FileProblems
from assistant.core.procedure import Limit, OfReading, Reading, place_of
from assistant.core.trade.figure import Figure
from assistant.core.trade.registry import BY_NAME
from assistant.core.units import KINDS, Amount, kind_of
from assistant.files.procedure_file import read_procedure
from assistant.files.sheet_file import read_sheet
from assistant.files.site_file import read_site
from assistant.reports.values import Value

GREATEST = Decimal("1e12")
"""No reading of the trade is greater; what is, is not drawn."""
LONGEST_NUMBER = 60
"""Signs of a number in a job file; a converted one has 30. What is longer is not drawn."""
PROCEDURES_KEPT = 16
ALTITUDE = "altitude"
"""The site's name for how high the shop lies."""


@dataclass(frozen=True)
class Told:
    """Readings by (step, name) in the order of the procedure; the readings that computations take; the shop's altitude."""

    readings: Mapping[tuple[str, str], Reading] = field(default_factory=dict)
    taken: frozenset[str] = frozenset()
    altitude: Amount | None = None

    def where(self, name: str) -> tuple[str, str] | None:
        """The (step, name) of the first reading of that name."""
        return next((key for key in self.readings if key[1] == name), None)


NOTHING_TOLD = Told()


def told_of(opened: JobOpened | None) -> Told:
    """What the texts of the first entry say. Reading them takes a third of a second, once for each set of texts."""
    return _told(opened.procedure_text, opened.sheet_text, opened.site_text) if opened else NOTHING_TOLD


@lru_cache(maxsize=PROCEDURES_KEPT)
def _told(procedure_text: str, sheet_text: str, site_text: str) -> Told:
    try:
        site = read_site(site_text, "site")
        sheet = read_sheet(sheet_text, "machine sheet", kept=True)
        steps = bind(read_procedure(procedure_text, "procedure"), sheet, site).procedure.steps
    except FileProblems:
        return NOTHING_TOLD
    readings = {(step.id, reading.name): reading for step in steps for reading in step.readings}
    limits = [limit for reading in readings.values() for limit in reading.limits]
    altitude = site.values.get(ALTITUDE)
    return Told(
        readings,
        frozenset(name for limit in limits for name in readings_taken(limit)),
        altitude.amount if altitude and kind_of(altitude.amount.unit) == "length" else None,
    )


@dataclass(frozen=True)
class Point:
    """A kept value that is a number."""

    value: Value
    number: Decimal

    @property
    def amount(self) -> Amount:
        """The number with its unit."""
        return Amount(self.number, self.value.unit)


@dataclass(frozen=True)
class ReadingSet:
    """All numbers of one reading in one unit of the list, in the order in which they were kept."""

    step: str
    name: str
    unit: str
    reading: Reading | None
    points: tuple[Point, ...]

    @property
    def limits(self) -> tuple[Limit, ...]:
        """Its limits, as far as the procedure can be read."""
        return self.reading.limits if self.reading else ()

    @property
    def complete(self) -> bool:
        """Is there a value for every place that the procedure has."""
        if self.reading is None:
            return False
        wanted = {place_of(self.reading.each, at) for at in self.reading.positions}
        return wanted <= {point.value.place for point in self.points}

    def limit_by(self, *names: str) -> Limit | None:
        """The first limit by one of these computations."""
        return next((limit for limit in self.limits if limit.by in names), None)


def sets_of(values: Iterable[Value], told: Told) -> tuple[ReadingSet, ...]:
    """The numbers of these values, reading by reading."""
    found: dict[tuple[str, str, str], list[Point]] = {}
    for value in values:
        number = number_of(value.value)
        if number is not None and value.unit in KINDS:
            found.setdefault((value.step, value.name, value.unit), []).append(Point(value, number))
    return tuple(_set(step, name, unit, points, told) for (step, name, unit), points in found.items())


def _set(step: str, name: str, unit: str, points: Sequence[Point], told: Told) -> ReadingSet:
    """Its points in the order of the procedure's places (they are asked in any order), else as they were kept."""
    reading = told.readings.get((step, name))
    places = [place_of(reading.each, at) for at in reading.positions] if reading else []
    order = {place: n for n, place in enumerate(places)}
    return ReadingSet(
        step, name, unit, reading, tuple(sorted(points, key=lambda point: order.get(point.value.place, len(order))))
    )


def number_of(text: str) -> Decimal | None:
    """The number that a value's text is; None for words, and for what no reading is."""
    try:
        number = Decimal(text) if len(text) <= LONGEST_NUMBER else None
    except InvalidOperation:
        number = None
    if number is None or not number.is_finite():
        return None
    _, _, exponent = number.as_tuple()
    near = number.adjusted() < LONGEST_NUMBER and isinstance(exponent, int) and exponent > -LONGEST_NUMBER
    return number if near and abs(number) < GREATEST else None


# Computations, on what is kept


def worked_out(limit: Limit, point: Point, told: Told, values: Sequence[Value]) -> Figure | str:
    """What the limit's computation gives for this value now; where it gives nothing the reason, in words."""
    given: dict[str, list[Amount | str]] = {}
    computation = BY_NAME.get(limit.by)
    if computation is None:
        return f"there is no computation '{limit.by}'"
    for name, parts in limit.inputs:
        wanted = input_named(computation, name)
        several = wanted is not None and wanted.several
        given[name] = [one for part in parts_of(parts) for one in _given(part, several, point, told, values)]
        if not given[name]:
            return f"{name.replace('_', ' ')} is not known"
    try:
        return compute(computation, given, None)
    except (ValueError, KeyError) as error:
        return str(error)


def given_to(limit: Limit, name: str, point: Point, told: Told, values: Sequence[Value]) -> Amount | str | None:
    """What one input of the limit's computation is given for this value; None where it is not known."""
    parts = next((parts for own, parts in limit.inputs if own == name), ())
    return next((one for part in parts_of(parts) for one in _given(part, False, point, told, values)), None)


def _given(
    part: Amount | str | OfReading, several: bool, point: Point, told: Told, values: Sequence[Value]
) -> Iterator[Amount | str]:
    """As `core.kept_inputs` has it; of a set whose places are not all there, nothing."""
    if not isinstance(part, OfReading):
        yield part
        return
    if not part.name and not part.whole:
        yield point.amount
        return
    key = told.where(part.name) if part.name else (point.value.step, point.value.name)
    reading = told.readings.get(key) if key else None
    if key is None or reading is None:
        return
    step = key[0]
    own = {value.place: value for value in values if value.step == step and value.name == reading.name}
    everywhere = [place_of(reading.each, at) for at in reading.positions or (None,)]
    here = point.value.place if reading.each else ""
    places = everywhere if several else [here]
    if all(place in own for place in places):
        yield from (_amount(own[place]) for place in places)


def _amount(value: Value) -> Amount | str:
    number = number_of(value.value)
    return Amount(number, value.unit) if number is not None and value.unit in KINDS else value.value

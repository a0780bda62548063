"""A reading at several places: a bar or a point for each, with the band that its limits allow."""

from __future__ import annotations

from assistant.core.units import WRITTEN, kind_of
from assistant.reports.figures.drawing import Drawn, framed
from assistant.reports.figures.notes import Note, edges_of
from assistant.reports.figures.rows import PLACES_MOST, Bar, Chart, Row, drawn_rows
from assistant.reports.figures.scale import Band, band_of, band_told, fixed_band
from assistant.reports.figures.told import Point, ReadingSet
from assistant.reports.looks import told
from assistant.reports.values import spaced

NO_RATIO = ("temperature", "specific gravity")
"""Kinds of quantity whose nothing is only a place on the scale: a bar from there says nothing."""


def by_place(found: ReadingSet, notes: tuple[str, ...] = ()) -> Drawn | None:
    """The figure of any reading at two places or more. `notes` are told under it."""
    points = found.points[:PLACES_MOST]
    if len(points) < 2 or any(not point.value.place for point in points):
        return None
    band = band_in(found)
    rows = tuple(Row(p.value.place, (Bar(p.number, p.value.written),), p.value.verdict) for p in points)
    dots = kind_of(found.unit) in NO_RATIO or any(point.number < 0 for point in points)
    foot = tuple(Note(note) for note in notes)
    parts, tall = drawn_rows(Chart(rows, unit_of(found), band, edges_of(band, found.unit), notes=foot, points=dots))
    title = f"{capital(found.name)} by {places_of(points)}"
    alt = sentence(f"{title}: {told_values(points)}", band_told(band, found.unit), *notes)
    told_band = "The grey band is where each should lie." if band != (None, None) else ""
    caption = " ".join(filter(None, (told_band, left_out(found))))
    return Drawn(found.step, found.name, title, caption, alt, framed(parts, tall, alt))


def band_in(found: ReadingSet) -> Band:
    """Where each value should lie: by the fixed limits of the procedure, else by the limit in print."""
    fixed = fixed_band(found.limits, found.unit)
    if fixed != (None, None) or not found.points:
        return fixed
    return band_of(found.points[0].value.limit, found.unit, [point.number for point in found.points])


def unit_of(found: ReadingSet) -> str:
    """Its unit in print."""
    return WRITTEN.get(found.unit, found.unit)


def told_values(points: tuple[Point, ...]) -> str:
    """Every value in words, with its verdict."""
    return "; ".join(
        ", ".join(filter(None, (f"{p.value.place} {p.value.written}".strip(), told(p.value.verdict)))) for p in points
    )


def places_of(points: tuple[Point, ...]) -> str:
    """What the places are: "cylinder" where all are, else "place".

    >>> places_of(())
    'place'
    """
    words = {point.value.place.rpartition(" ")[0] for point in points}
    return spaced(words.pop()) if len(words) == 1 and "" not in words else "place"


def left_out(found: ReadingSet) -> str:
    """How many values are not drawn, "" none."""
    more = len(found.points) - PLACES_MOST
    return f"{more} more values are not drawn: see the table." if more > 0 else ""


def capital(name: str) -> str:
    """A name as a title begins."""
    words = spaced(name)
    return words[:1].upper() + words[1:]


def sentence(*parts: str) -> str:
    """Parts as sentences, each with a capital and one full stop."""
    return " ".join(f"{part[0].upper()}{part[1:].rstrip('. ')}." for part in parts if part)

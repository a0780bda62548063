"""What a limit by a computation takes from the job: the value that is judged, the rest of its set, other kept readings."""

from __future__ import annotations

from decimal import Decimal

from assistant.core.computing import input_named, parts_of
from assistant.core.entries import ReadingKept
from assistant.core.procedure import Limit, OfReading, Reading, place_of
from assistant.core.speech.step_grammar import SpokenReading
from assistant.core.state import State
from assistant.core.trade.registry import BY_NAME
from assistant.core.units import Amount


def kept_inputs(
    state: State, step_id: str, reading: Reading, limit: Limit, r: SpokenReading
) -> dict[str, list[Amount | str]] | None:
    """The values for each input, sets in the order of their places; None as long as one of them is not kept."""
    given: dict[str, list[Amount | str]] = {}
    for name, parts in limit.inputs:
        wanted = input_named(BY_NAME[limit.by], name)
        several = wanted is not None and wanted.several
        values: list[Amount | str] = []
        for part in parts_of(parts):
            found = _values(state, step_id, reading, part, r, several) if isinstance(part, OfReading) else [part]
            if found is None:
                return None
            values += found
        given[name] = values
    return given


def readings_taken(limit: Limit) -> frozenset[str]:
    """The names of the other readings that its computation takes."""
    parts = (part for _, given in limit.inputs for part in parts_of(given))
    return frozenset(part.name for part in parts if isinstance(part, OfReading) and part.name)


def takes_whole_set(limit: Limit) -> bool:
    """Is it the whole set that its computation takes."""
    return any(isinstance(part, OfReading) and part.whole for _, given in limit.inputs for part in parts_of(given))


def kept_of(state: State, name: str, place: str) -> ReadingKept | None:
    """What is kept of a reading: at that place, or where it has no places its one value."""
    for step in state.procedure.steps:
        for reading in step.readings:
            if reading.name == name:
                return state.job.reading(step.id, name, place if reading.each else "")
    return None


def _values(
    state: State, step_id: str, reading: Reading, of: OfReading, r: SpokenReading, several: bool
) -> list[Amount | str] | None:
    """One value, or those of a set; None where one of them is missing."""
    if not of.name and not of.whole:
        return [_value_of(r.value, r.unit)]
    if of.name and not several:
        kept = kept_of(state, of.name, r.place)
        return None if kept is None else [_read(kept)]
    step, name, other = step_id, r.name, reading
    if of.name:
        step, other = _where(state, of.name)
        name = of.name
    values = []
    for place in (place_of(other.each, at) for at in other.positions or (None,)):
        if not of.name and place == r.place:
            values.append(_value_of(r.value, r.unit))
            continue
        kept = state.job.reading(step, name, place)
        if kept is None:
            return None
        values.append(_read(kept))
    return values


def _where(state: State, name: str) -> tuple[str, Reading]:
    """The step that asks for a reading, and the reading."""
    return next((step.id, r) for step in state.procedure.steps for r in step.readings if r.name == name)


def _read(kept: ReadingKept) -> Amount | str:
    return Amount(Decimal(kept.value), kept.unit) if kept.unit else kept.value


def _value_of(value: Decimal | str, unit: str) -> Amount | str:
    return Amount(value, unit) if isinstance(value, Decimal) else value

"""What readings of one procedure say of each other: names are given once, and what a limit compares with is there.

Checked when the whole file has been read; names of values are not known before there is a sheet (`core.limit_binding`).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from assistant.core.computing import ITSELF, WHOLE, fits, input_named, parts_of, wanted_kind
from assistant.core.problems import Place
from assistant.core.procedure import LAST_SEASON, Limit, Reading, Step
from assistant.core.trade.inputs import Input
from assistant.core.trade.registry import BY_NAME
from assistant.core.units import kind_of
from assistant.files.yaml_fields import Fields
from assistant.files.yaml_source import did_you_mean

RESERVED = (ITSELF, WHOLE, LAST_SEASON)


@dataclass(frozen=True)
class _Asked:
    step: Step
    reading: Reading

    @property
    def single(self) -> bool:
        """One value that is counted or measured, in the whole job."""
        return not (self.step.each or self.reading.each or self.reading.kind == "choice")


def check_readings(fields: Fields, steps: tuple[Step, ...], step_keys: tuple[str, ...]) -> None:
    """Complain of names given twice, and of limits that compare with a reading that is not there or does not fit."""
    known: dict[str, _Asked] = {}
    everywhere = {r.name: _Asked(step, r) for step in steps for r in step.readings}
    for table, step in zip(fields.tables("steps"), steps, strict=True):
        places = [node.place for node in Fields(table, "a step", step_keys, fields.complaints).tables("readings")]
        for reading, at in zip(step.readings, places, strict=True):
            if reading.name in known:
                what = f"the reading '{reading.name}' is already asked for in line {known[reading.name].step.line}"
                fields.complaints.add(at, what, "give each reading a name of its own")
            if reading.name in RESERVED:
                fields.complaints.add(at, f"'{reading.name}' means something else in a limit", "take another name")
            for limit in reading.limits:
                for what, do in _misfits(limit, _Asked(step, reading), known, everywhere):
                    fields.complaints.add(_at_line(at, limit), what, do)
            known.setdefault(reading.name, _Asked(step, reading))


def _misfits(
    limit: Limit, judged: _Asked, before: Mapping[str, _Asked], everywhere: Mapping[str, _Asked]
) -> Iterator[tuple[str, str]]:
    name = judged.reading.name
    if limit.rule == "same_as":
        other = before.get(limit.other)
        if other is None or not other.single:
            what = f"'{name}' is to be the same as '{limit.other}', a single reading of no earlier step"
            yield what, did_you_mean(limit.other, list(before))
    elif limit.compared and limit.other != LAST_SEASON:
        yield from _compared(limit, judged, everywhere)
    elif limit.by in BY_NAME:
        for key, given in limit.inputs:
            wanted = input_named(BY_NAME[limit.by], key)
            for part in parts_of(given):
                if wanted is not None and isinstance(part, str) and part in everywhere:
                    yield from _given(part, wanted, judged, everywhere[part])


def _compared(limit: Limit, judged: _Asked, everywhere: Mapping[str, _Asked]) -> Iterator[tuple[str, str]]:
    other, reading = everywhere.get(limit.other), judged.reading
    if other is None or limit.other == reading.name:
        others = [name for name in everywhere if name != reading.name]
        yield (
            f"'{reading.name}' is compared with '{limit.other}', and there is no such other reading",
            did_you_mean(limit.other, [*others, LAST_SEASON]),
        )
        return
    if kind_of(other.reading.unit) != kind_of(reading.unit):
        what = f"'{limit.other}' is measured in '{other.reading.unit}', '{reading.name}' in '{reading.unit}'"
        yield what, "compare readings of one kind"
    yield from _one_value(limit.other, judged, other)


def _given(name: str, wanted: Input, judged: _Asked, other: _Asked) -> Iterator[tuple[str, str]]:
    """A reading given to an input by its name. A word goes before it; for text what fits no such reading is the text."""
    if name in wanted.words or (wanted.form == "text" and not fits(wanted, other.reading)):
        return
    if not fits(wanted, other.reading):
        what = f"'{wanted.name}' takes a {wanted_kind(wanted)}, and the reading '{name}' is none"
        yield what, "give it another reading, or a value"
    if wanted.several and not other.step.each:
        return
    yield from _one_value(name, judged, other)


def _one_value(name: str, judged: _Asked, other: _Asked) -> Iterator[tuple[str, str]]:
    """The other has one value for each that is judged: it stands alone, or is of the same places."""
    if other.step.each:
        yield f"'{name}' is read in a step for each {other.step.each}", "take a reading of a step that is made once"
    elif other.reading.each and other.reading.each != judged.reading.each:
        yield f"'{name}' has a value for each {other.reading.each}", "take a single reading, or one of the same places"


def _at_line(place: Place, limit: Limit) -> Place:
    """Where the limit stands, as near as is known."""
    return Place(place.file, limit.line) if limit.line else place

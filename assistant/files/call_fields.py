"""A trade computation called from a file: its name, and what its inputs are given, checked as far as the file alone tells.

work_out: {dose: {by: dose_by_volume, volume: fuel_tank, dose: 1 us_fl_oz, ...}}
limits: [{by: NAME, with: {pressures: all, altitude: altitude, glycol: ethylene}, at_least: 75 percent}]

An input is given an amount, the name of one in sheet, site or work_out, a word that it allows, a date or a text; where a
reading is judged also `it`, `all` (its whole set), `today`, or another reading by its name. Several values are a list.
"""

from __future__ import annotations

from difflib import get_close_matches

from assistant.core.computing import ITSELF, TODAY, WHOLE, fits, input_named, misnamed, wanted_kind
from assistant.core.procedure import Given, OfReading, Reading
from assistant.core.trade.inputs import Computation, Input
from assistant.core.trade.quarters import first_day
from assistant.core.trade.registry import BY_NAME
from assistant.core.units import Amount, kind_of
from assistant.files.yaml_fields import NAME, NOTHING, Fields
from assistant.files.yaml_source import Text, did_you_mean


def computation_named(fields: Fields) -> Computation | None:
    """The computation that the key `by` names; None, and a complaint, where there is none."""
    name = fields.name("by")
    if name and name not in BY_NAME:
        near = get_close_matches(name, BY_NAME, 1)
        advice = f"did you mean '{near[0]}'?" if near else "'layup figure' lists them"
        fields.complain("by", f"there is no computation '{name}'", advice)
    return BY_NAME.get(name)


def inputs_given(fields: Fields, computation: Computation, reading: Reading | None) -> tuple[tuple[str, Given], ...]:
    """What the table (all of its keys but `by`) gives the inputs; `reading` is the one judged, None where nothing is read."""
    names = [name for name in fields.names if name != "by"]
    for name, what, do in misnamed(computation, names):
        fields.complaints.add(fields.key_place(name), what, do)
    found: list[tuple[str, Given]] = []
    for name in names:
        wanted = input_named(computation, name)
        texts = fields.texts(name)
        if wanted is None:
            continue
        if not texts or (len(texts) > 1 and not wanted.several):
            fields.complain(name, f"'{name}' takes one value", "write it on the line, without brackets")
            continue
        parts = tuple(_given(fields, wanted, text, reading) for text in texts)
        found.append((name, parts if wanted.several else parts[0]))
    return tuple(found)


def _given(fields: Fields, wanted: Input, text: Text, reading: Reading | None) -> Amount | str | OfReading:
    if reading is not None and text.value in (ITSELF, WHOLE):
        return _of_the_judged(fields, wanted, text, reading)
    match wanted.form:
        case "amount":
            value = fields.value_of(text)
            if isinstance(value, Amount) and value is not NOTHING and kind_of(value.unit) != kind_of(wanted.unit):
                what = f"'{wanted.name}' is {value} ({kind_of(value.unit)}), and must be a {wanted_kind(wanted)}"
                fields.complaints.add(text.place, what, "give it in a unit of that kind")
            return value
        case "word":
            if text.value not in wanted.words and (reading is None or not NAME.fullmatch(text.value)):
                what = f"'{wanted.name}' is never '{text.value}'"
                fields.complaints.add(text.place, what, did_you_mean(text.value, wanted.words))
        case "date":
            if not (reading is not None and (text.value == TODAY or NAME.fullmatch(text.value))):
                fields.taken(text, first_day, None, "write it as 2026-11-23, 2026-11 or 2026-Q4")
    return text.value


def _of_the_judged(fields: Fields, wanted: Input, text: Text, reading: Reading) -> OfReading:
    """`it`, or `all` of its set."""
    if text.value == WHOLE and not reading.each:
        fields.complaints.add(
            text.place, f"'{reading.name}' is one value, and no set", f"write {ITSELF}, or add 'each'"
        )
    elif text.value == WHOLE and not wanted.several:
        fields.complaints.add(text.place, f"'{wanted.name}' takes one value, and no set", f"write {ITSELF}")
    elif not fits(wanted, reading):
        what = f"'{wanted.name}' takes a {wanted_kind(wanted)}, and '{reading.name}' is none"
        fields.complaints.add(text.place, what, "give it another value")
    return OfReading(whole=text.value == WHOLE)

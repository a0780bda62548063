"""The form of a procedure file as JSON Schema, so that an editor completes and explains it.

Made from what the readers of those files know: their keys, the units, the rules of limits, the computations and what each
takes. The schemas are committed in `procedures/schemas`; `layup schemas -o DIR` writes them anew, and a test compares.
"""

from __future__ import annotations

from typing import get_args

from assistant.core.trade.inputs import Computation, Input
from assistant.core.trade.registry import BY_NAME
from assistant.core.trade.tightening import MOST_FASTENERS, MOST_ROUNDS, Layout
from assistant.core.units import KINDS, kind_of
from assistant.files import limit_fields, procedure_file, reading_file
from assistant.files.schema_pieces import (
    DATE,
    DRAFT,
    HELD,
    NAME,
    NUMBER,
    TEXT,
    YES_OR_NO,
    Schema,
    amount,
    amounts,
    list_of,
    name,
    names_to,
    one_or_more,
    table,
    told,
    value,
    whole,
)


def procedure_schema() -> Schema:
    """Of a procedure file."""
    never = table(("when", "because"), ("when", "because"), {"when": HELD, "because": TEXT})
    entries: dict[str, Schema] = {
        "procedure": told(TEXT, "its short name"),
        "title": told(TEXT, "what people call it"),
        "version": whole(1, 9999, "counts up with every change"),
        "for": told(TEXT, "the class of machines, as the sheets have it"),
        "conditions": names_to(
            {"type": "array", "items": {"type": ["string", "boolean"]}, "minItems": 2},
            "what state the machine can be in: {engine: [stopped, running]}",
        ),
        "start": told(HELD, "how each condition is at first; unsure where nobody can know"),
        "never": list_of(never, "what must not be reached by any order of answers"),
        "work_out": names_to(_call_beside_by(), "values computed before the job, by name"),
        "steps": {**list_of({"$ref": "#/$defs/step"}, "what is to be done, in order"), "minItems": 1},
    }
    needed = ("procedure", "title", "version", "for", "steps")
    return {
        "$schema": DRAFT,
        "title": "A lay-up procedure",
        **table(procedure_file.PROCEDURE_KEYS, needed, entries),
        "$defs": {
            **amounts(),
            **{c.name: _inputs(c) for c in BY_NAME.values()},
            "step": _step(),
            "reading": _reading(),
            "limit": _limit(),
        },
    }


def _step() -> Schema:
    entries: dict[str, Schema] = {
        "id": name("its own name in this file"),
        "title": told(TEXT, "a few words, for the report"),
        "say": told(TEXT, "what is read aloud: 20 words, two actions at most; {value} is said with its unit"),
        "cautions": one_or_more(TEXT, "said before the step, each answered roger"),
        "caution": one_or_more(TEXT, "the same, for one"),
        "needs": told(HELD, "what must hold before; asked for where it does not surely"),
        "makes": told(HELD, "what holds once it is done"),
        "only": told(HELD, "the machines that it is for; passed over on others"),
        "readings": list_of({"$ref": "#/$defs/reading"}, "the values that the technician says"),
        "parts": one_or_more(name("a role of the sheet"), "the parts shown to the camera"),
        "photographs": list_of(
            table(
                procedure_file.PHOTOGRAPH_KEYS,
                ("name", "of"),
                {"name": name("its own name in this step"), "of": told(TEXT, "of what, as it is said aloud")},
            ),
            "pictures that the foreman wants",
        ),
        "countdown": table(
            ("seconds", "start", "end"),
            ("seconds",),
            {
                "seconds": whole(1, procedure_file.MOST_SECONDS, "counted aloud after go ahead"),
                "start": TEXT,
                "end": TEXT,
            },
        ),
        "each": name("one step for each that the sheet counts: cylinder"),
        "tighten": table(
            ("fastener", "layout", "torque", "short_side", "rounds"),
            ("fastener", "layout", "torque"),
            {
                "fastener": name("counted by the sheet"),
                "layout": {"enum": list(get_args(Layout))},
                "torque": value("torque"),
                "short_side": whole(2, MOST_FASTENERS, "how many on each short side of a rectangle"),
                "rounds": whole(1, MOST_ROUNDS, "circular passes at the end"),
            },
            "a joint, spoken fastener by fastener",
        ),
        "wait_for_done": told(YES_OR_NO, "not finished before done is said"),
        "source": told(TEXT, "where the step comes from"),
        "manual": name("a place in the service manual: the sheet's pages say where"),
        "minutes": told(NUMBER, "how long it takes"),
    }
    return table(procedure_file.STEP_KEYS, ("id", "title", "say"), entries)


def _reading() -> Schema:
    choice: dict[str, Schema] = {
        "name": name("what is kept"),
        "words": one_or_more(TEXT, "the words that mean it"),
        "good": told(YES_OR_NO, "no: the foreman is to look"),
        "makes": told(HELD, "the conditions that this answer decides"),
    }
    finding = {"say": told(TEXT, "what the customer must decide on"), "price_later": YES_OR_NO}
    entries: dict[str, Schema] = {
        "name": name("its own name in this file"),
        "ask": told(TEXT, "what it is called aloud: one or two words"),
        "kind": {"enum": ["letters", "date"], "description": "a code spelled by the ICAO alphabet, or a date"},
        "unit": {"enum": list(KINDS), "description": "what it is kept in"},
        "plausible": {
            **list_of(NUMBER, "least and most that may be read, wide enough for a broken machine"),
            "minItems": 2,
        },
        "places": whole(0, 4, "decimals"),
        "each": name("one value for each that the sheet counts, or for each of positions"),
        "positions": list_of(TEXT, "places that the sheet does not count: [port, starboard]"),
        "limits": list_of({"$ref": "#/$defs/limit"}, "what it must keep to"),
        "choices": {
            **list_of(table(reading_file.CHOICE_KEYS, ("name", "words"), choice), "answers in words"),
            "minItems": 2,
        },
        "length": one_or_more(whole(1, 99, "signs"), "of a code: 12, or [6, 20]"),
        "finding": table(
            reading_file.FINDING_KEYS, ("say",), finding, "for the customer, where the value is not within"
        ),
    }
    return table(reading_file.READING_KEYS, ("name", "ask"), entries)


def _limit() -> Schema:
    bound = {"anyOf": [value(), DATE]}
    entries: dict[str, Schema] = {
        "between": {**list_of(bound, "low and high, both within"), "minItems": 2, "maxItems": 2},
        "at_least": told(bound, "the bound itself is within"),
        "at_most": told(bound, "the bound itself is within"),
        "above": told(value(), "the bound itself is out"),
        "below": told(value(), "the bound itself is out"),
        "target": told(value(), "with within, its tolerance"),
        "within": told(value(), "the tolerance of a target: an amount, or percent of it"),
        "spread": told(amount("share"), "the lowest within so many percent of the highest, of a reading with each"),
        "same_as": name("as many as in that earlier reading"),
        "more_than": name("by as much more than that reading, or last_season"),
        "less_than": name("by as much less than that reading, or last_season"),
        "differs_from": name("by as much from that reading, or last_season"),
        "uncertainty": told(value(), "of the gauge (k = 2): an amount, or percent of what was read"),
        "by": told({"enum": list(BY_NAME)}, "what a trade computation answers"),
        "with": told({"type": "object"}, "what it takes"),
        "source": told(TEXT, "where the limit comes from; 'common practice, no source' is one too"),
    }
    closed = {"unevaluatedProperties": False}
    calls = [_if_by(c, {"properties": {"with": {**_inputs_of(c), **closed}}}) for c in BY_NAME.values()]
    return {**table(limit_fields.KEYS, (), entries), "allOf": calls}


def _call_beside_by() -> Schema:
    """A computation whose inputs stand beside its name."""
    calls = [_if_by(c, _inputs_of(c)) for c in BY_NAME.values()]
    by = {"by": {"enum": list(BY_NAME)}}
    return {"type": "object", "required": ["by"], "properties": by, "allOf": calls, "unevaluatedProperties": False}


def _if_by(computation: Computation, then: Schema) -> Schema:
    return {"if": {"properties": {"by": {"const": computation.name}}, "required": ["by"]}, "then": then}


def _inputs_of(computation: Computation) -> Schema:
    return {"$ref": f"#/$defs/{computation.name}"}


def _inputs(computation: Computation) -> Schema:
    """What a computation takes. A reading may stand for any of it: its name, `it`, `all` of its set."""
    needed = [i.name for i in computation.inputs if i.needed]
    properties = {i.name: told(_input(i), i.told()) for i in computation.inputs}
    return {"type": "object", "description": computation.summary, "properties": properties, "required": needed}


def _input(wanted: Input) -> Schema:
    by_form: dict[str, Schema] = {
        "amount": value(kind_of(wanted.unit) or ""),
        "word": {"anyOf": [{"enum": list(wanted.words)}, {"type": "string", "pattern": NAME}]},
        "date": {"anyOf": [DATE, {"type": "string", "pattern": NAME}]},
        "text": TEXT,
    }
    one = by_form[wanted.form]
    return {"anyOf": [one, list_of(one, "")]} if wanted.several else one

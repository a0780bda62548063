"""The readings of a step as a procedure file writes them: what is asked, in which unit, within which limits.

- name: oil_out
  ask: How much oil came out
  unit: us_qt
  plausible: [0, 8]
  places: 1
  limits:
    - at_least: oil_out_least
- name: plug
  ask: What does it look like
  choices:
    - {name: good, words: [brown, grey]}
    - {name: black, words: [black], good: no}
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from assistant.core.problems import Place
from assistant.core.procedure import Choice, Limit, Reading, ReadingKind, Value
from assistant.core.units import KINDS
from assistant.files.yaml_fields import Fields
from assistant.files.yaml_source import Complaints, Table, Text, did_you_mean

READING_KEYS = ("name", "ask", "unit", "plausible", "places", "each", "limits", "choices")
RULES = ("between", "at_least", "at_most", "spread", "same_as")
CHOICE_KEYS = ("name", "words", "good")


def reading_from(table: Table, complaints: Complaints) -> Reading:
    """One reading of a step; with `choices` it is answered by words, with the unit `count` by a whole number."""
    fields = Fields(table, "a reading", READING_KEYS, complaints)
    reading = Reading(fields.name("name"), fields.text("ask"), each=fields.name("each", ""))
    if fields.has("choices"):
        for key in ("unit", "plausible", "places", "limits"):
            if fields.has(key):
                fields.complain(key, f"a reading with choices has no '{key}'", "keep the one or the other")
        return replace(reading, kind="choice", plausible=(Decimal(0), Decimal(0)), choices=_choices(fields))
    unit = _unit(fields)
    kind: ReadingKind = "count" if unit == "count" else "measured"
    most_places = 0 if kind == "count" else 4
    return replace(
        reading,
        kind=kind,
        unit=unit,
        plausible=_plausible(fields),
        places=fields.whole("places", 0, 0, most_places),
        limits=tuple(_limit(limit, complaints) for limit in fields.tables("limits")),
    )


def _unit(fields: Fields) -> str:
    unit = fields.text("unit")
    if unit and unit not in KINDS:
        fields.complain("unit", f"the unit '{unit}' is not on the list", did_you_mean(unit, list(KINDS)))
    return unit


def _plausible(fields: Fields) -> tuple[Decimal, Decimal]:
    numbers = fields.numbers("plausible") if fields.need("plausible") else ()
    if len(numbers) == 2 and numbers[0] < numbers[1]:
        return numbers[0], numbers[1]
    if fields.has("plausible"):
        fields.complain("plausible", "'plausible' is the least and the most that may be read", "write [least, most]")
    return Decimal(0), Decimal(999)


def _choices(fields: Fields) -> tuple[Choice, ...]:
    choices = []
    first: dict[str, Place] = {}
    for table in fields.tables("choices"):
        part = Fields(table, "a choice", CHOICE_KEYS, fields.complaints)
        words = part.texts("words")
        if not words:
            part.complain("words", "a choice needs words that mean it", "add 'words: [...]'")
        for word in words:
            _once(word, first, fields.complaints)
        said = tuple(word.value.lower() for word in words)
        choices.append(Choice(part.text("name"), said, part.flag("good", default=True)))
    if len(choices) < 2:
        fields.complain("choices", "a choice is between two at least", "add another")
    return tuple(choices)


def _once(word: Text, first: dict[str, Place], complaints: Complaints) -> None:
    said = word.value.lower()
    if said in first:
        complaints.add(word.place, f"'{said}' already means the choice in line {first[said].line}", "keep one of them")
    first.setdefault(said, word.place)


def _limit(table: Table, complaints: Complaints) -> Limit:
    """One limit: exactly one rule, and where it comes from."""
    fields = Fields(table, "a limit", (*RULES, "source"), complaints)
    rules = [rule for rule in RULES if fields.has(rule)]
    source = fields.text("source", "")
    if len(rules) != 1:
        complaints.add(table.place, "a limit has exactly one rule", f"write one of {', '.join(RULES)}")
        return Limit("between", source=source)
    match rules[0]:
        case "between":
            low, high = _bounds(fields)
            return Limit("between", low=low, high=high, source=source)
        case "at_least":
            return Limit("at_least", low=fields.value("at_least"), source=source)
        case "at_most":
            return Limit("at_most", high=fields.value("at_most"), source=source)
        case "spread":
            return Limit("spread", share=_share(fields), source=source)
        case _:
            return Limit("same_as", other=fields.name("same_as"), source=source)


def _bounds(fields: Fields) -> tuple[Value, Value]:
    bounds = [fields.value_of(text) for text in fields.texts("between")]
    if len(bounds) != 2:
        fields.complain("between", "'between' has two bounds", "write [low, high]")
        return "", ""
    return bounds[0], bounds[1]


def _share(fields: Fields) -> Decimal:
    amount = fields.amount("spread")
    if not (amount.unit == "percent" and 0 < amount.value <= 100):
        fields.complain("spread", "a spread is a share of the highest", "write it as '10 percent'")
    return amount.value

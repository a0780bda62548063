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
    - {name: black, words: [black], good: no}            # or makes: {cooling: closed}, for an answer that decides
  finding: {say: plugs want changing, price_later: yes}  # for the customer, where the value is not within
- {name: trim, ask: Trim tab, unit: mm, plausible: [0, 60], each: side, positions: [port, starboard]}
- {name: hull, ask: Hull number, kind: letters, length: 12}      # or length: [6, 20]; spelled by the ICAO alphabet
- name: use_by
  ask: Use by
  kind: date                    # a day, a month, or a quarter
  limits: [{at_least: today}]   # or 2026-11-23, 2026-11, 2026-Q4; at_most, between

What a limit may say stands in `limit_fields`.
"""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal

from assistant.core.problems import Place
from assistant.core.procedure import Choice, Finding, Position, Reading, ReadingKind
from assistant.core.speech.letters import ANY_LENGTH
from assistant.core.speech.places import NUMBERS
from assistant.core.units import KINDS
from assistant.files.condition_fields import Known, held
from assistant.files.limit_fields import limits_of
from assistant.files.yaml_fields import Fields
from assistant.files.yaml_source import Complaints, Table, Text, did_you_mean

READING_KEYS = (
    "name", "ask", "kind", "unit", "plausible", "places", "each", "positions", "limits", "choices", "length", "finding",
)  # fmt: skip
NOT_WITH = {
    "choices": ("kind", "unit", "plausible", "places", "limits", "length"),
    "letters": ("unit", "plausible", "places", "limits"),
    "date": ("unit", "plausible", "places", "length"),
}
"""Keys that a reading of this kind has no use for."""
PLACE = re.compile(r"[a-z]+")
"""A place in words, as it is said and as the job file has it."""
CHOICE_KEYS = ("name", "words", "good", "makes")
FINDING_KEYS = ("say", "price_later")


def reading_from(table: Table, known: Known, complaints: Complaints) -> Reading:
    """One reading of a step; with `choices` it is answered by words, with the unit `count` by a whole number, with the `kind`
    letters by spelling, with the kind date by a day, month or quarter. `known`: the conditions that a choice may make."""
    fields = Fields(table, "a reading", READING_KEYS, complaints)
    each = fields.name("each", "")
    reading = Reading(
        fields.name("name"),
        fields.text("ask"),
        each=each,
        positions=_positions(fields, each),
        finding=_finding(fields),
    )
    if fields.has("choices"):
        _not_with(fields, "choices", "a reading with choices")
        return replace(reading, kind="choice", plausible=(Decimal(0), Decimal(0)), choices=_choices(fields, known))
    if fields.has("kind"):
        return _text_reading(fields, reading)
    if fields.has("length"):
        fields.complain("length", "only a reading of letters has a 'length'", "add 'kind: letters', or leave it out")
    unit = _unit(fields)
    kind: ReadingKind = "count" if unit == "count" else "measured"
    most_places = 0 if kind == "count" else 4
    places = fields.whole("places", 0, 0, most_places)
    number = replace(reading, kind=kind, unit=unit, plausible=_plausible(fields), places=places)
    return replace(number, limits=limits_of(fields, number))


def _positions(fields: Fields, each: str) -> tuple[Position, ...]:
    """The places that the sheet does not count: words, or numbers that can be said; none where the sheet counts them."""
    said: dict[Position, Text] = {}
    for text in fields.texts("positions"):
        at: Position = int(text.value) if text.value.isascii() and text.value.isdigit() else text.value
        if (str(at) not in NUMBERS.values()) if isinstance(at, int) else not PLACE.fullmatch(at) or at in NUMBERS:
            fields.complaints.add(text.place, f"'{text.value}' is no place", "write one word, or a number from 1 to 19")
        elif at in said:
            fields.complaints.add(text.place, f"'{text.value}' is there twice", "leave one out")
        said.setdefault(at, text)
    if fields.has("positions") and not each:
        fields.complain("positions", "nothing says what the places are of", "add 'each: side'")
    elif fields.has("positions") and len(fields.texts("positions")) < 2:
        fields.complain("positions", "one place is no set", "write two at least, or leave 'each' out")
    return tuple(said)


def _not_with(fields: Fields, kind: str, called: str) -> None:
    for key in NOT_WITH[kind]:
        if fields.has(key):
            fields.complain(key, f"{called} has no '{key}'", "keep the one or the other")


def _text_reading(fields: Fields, reading: Reading) -> Reading:
    """A reading whose value is text: a code that is spelled, or a date."""
    kind = fields.text("kind")
    if kind == "letters":
        _not_with(fields, kind, "a reading of letters")
        return replace(reading, kind="letters", unit="", length=_length(fields))
    if kind == "date":
        _not_with(fields, kind, "a date")
        dated = replace(reading, kind="date", unit="")
        return replace(dated, limits=limits_of(fields, dated))
    if kind:
        fields.complain("kind", f"there is no kind '{kind}'", "write letters or date, or a unit in its place")
    return reading


def _length(fields: Fields) -> tuple[int, int]:
    """How many signs a code has: one number, or the least and the most."""
    texts = fields.texts("length")
    if not texts:
        return ANY_LENGTH
    bounds = [int(t.value) for t in texts if re.fullmatch("[0-9]{1,2}", t.value)]
    if len(bounds) != len(texts) or len(bounds) > 2 or not 1 <= bounds[0] <= bounds[-1] <= ANY_LENGTH[1]:
        fields.complain("length", f"a length is one number or two, from 1 to {ANY_LENGTH[1]}", "write 12, or [6, 12]")
        return ANY_LENGTH
    return bounds[0], bounds[-1]


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


def _finding(fields: Fields) -> Finding | None:
    """What the customer must decide on when the value is not within."""
    if not fields.has("finding"):
        return None
    inner = fields.under("finding", FINDING_KEYS)
    return Finding(inner.text("say").rstrip(".!? "), inner.flag("price_later", default=False))


def _choices(fields: Fields, known: Known) -> tuple[Choice, ...]:
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
        makes = tuple(held(part, "makes", known).items())
        if makes and fields.has("each"):
            part.complain("makes", "what is read at several places makes no condition", "ask it once, without 'each'")
        choices.append(Choice(part.text("name"), said, part.flag("good", default=True), makes))
    if len(choices) < 2:
        fields.complain("choices", "a choice is between two at least", "add another")
    return tuple(choices)


def _once(word: Text, first: dict[str, Place], complaints: Complaints) -> None:
    said = word.value.lower()
    if said in first:
        complaints.add(word.place, f"'{said}' already means the choice in line {first[said].line}", "keep one of them")
    first.setdefault(said, word.place)

"""The foreman's amendment of a kept reading: a new entry that names it, judged as the reading was.

Pure: entries and texts in, entries out. `layup amend` calls this, and whatever else lets a foreman amend may.
"""

from __future__ import annotations

import re
from decimal import Decimal

from assistant.core.effects import Record
from assistant.core.entries import AMENDED, Amended, Entry, Kept, ReadingKept
from assistant.core.judging import verdict_on
from assistant.core.problems import CallProblem
from assistant.core.procedure import Position, Reading, place_of, position_in
from assistant.core.speech.dates import date_aloud
from assistant.core.speech.expectation import Asked, Expectation
from assistant.core.speech.letters import spelled_back
from assistant.core.speech.reading_grammar import NUMBERS
from assistant.core.speech.step_grammar import SpokenReading, meanings_of, value_text
from assistant.core.speech.understanding import take_of_words
from assistant.core.speech.unit_words import phrases_for
from assistant.core.state import State, Turn
from assistant.core.trade.quarters import first_day
from assistant.core.turns.readings import judge_again
from assistant.core.units import KINDS, WRITTEN, Amount, convert

NUMBER = re.compile(r"([-+]?\d{1,15}(?:\.\d{1,15})?)\s*(.*)", re.ASCII)
KEPT = re.compile(r"-?\d{1,15}(\.\d{1,40})?", re.ASCII)
"""A number as the engine keeps it: a converted one has thirty decimals."""


def amendment(state: State, sequence: int, value: str, reason: str, who: str) -> Amended:
    """The entry that puts `value` ("188", "13 bar", "one eighty eight", a choice) in the place of the entry `sequence`.

    Raises CallProblem where that entry is no reading that counts now, where the value is none that the reading can have, and
    where reason or name are missing.
    """
    for name, text in (("--reason", reason), ("--who", who)):
        if not text.strip():
            raise CallProblem("an amendment needs a reason and a name", where=name, do="say why, and who says so")
    refuse_strange(state)
    old = _current(state, sequence)
    spoken = _spoken(state, old, value, sequence)
    if value_text(spoken.value) == old.value:
        raise CallProblem(f"{old.value} is kept there already", where=f"entry {sequence}", do="give another value")
    verdict = verdict_on(state, old.step, spoken)
    return Amended(
        step=old.step,
        name=old.name,
        at=old.at,
        words="",
        value=value_text(spoken.value),
        unit=spoken.unit,
        said_unit=spoken.said_unit,
        said_value=value_text(spoken.said_value),
        verdict=verdict.word,
        limit=verdict.written_limit,
        weighed=(),
        asked="",
        replaces=sequence,
        why=AMENDED,
        reason=" ".join(reason.split()),
        who=" ".join(who.split()),
    )


def refuse_strange(state: State) -> None:
    """Raises CallProblem for a reading that the job's own procedure does not ask for, or that is no value of it: whoever wrote
    the file, our engine did not, and nothing can be judged by it."""
    asked = {(step.id, reading.name): reading for step in state.procedure.steps for reading in step.readings}
    for (step, name, at), kept in state.job.readings.items():
        reading, entry = asked.get((step, name)), kept.entry
        if reading is None or not isinstance(entry, ReadingKept) or not _is_value(reading, at, entry):
            what = f"entry {kept.sequence} is no value that the job's own procedure asks for"
            raise CallProblem(
                what, where=f"entry {kept.sequence}", do="see who wrote this file: nothing is added to it"
            )


def _is_value(reading: Reading, at: str, entry: ReadingKept) -> bool:
    if at not in {place_of(reading.each, position) for position in reading.positions or (None,)}:
        return False
    if reading.kind not in NUMBERS:
        return not entry.unit and _is_text_of(reading, entry.value)
    units = {KINDS.get(unit) for unit in (entry.unit, entry.said_unit, reading.unit)}
    return len(units) == 1 and None not in units and all(map(KEPT.fullmatch, (entry.value, entry.said_value)))


def _is_text_of(reading: Reading, value: str) -> bool:
    if reading.kind == "choice":
        return value in {choice.name for choice in reading.choices}
    try:
        return reading.kind != "date" or bool(first_day(value))
    except ValueError:
        return False


def judged_again(state: State, amended: Amended) -> tuple[Entry, ...]:
    """The readings whose verdict the amendment turns, as they are to stand again; `state` has the amendment in it."""
    turn = Turn(state, 0.0)
    judge_again(turn, amended)
    return tuple(effect.entry for effect in turn.effects if isinstance(effect, Record))


def _current(state: State, sequence: int) -> ReadingKept:
    for kept in state.job.readings.values():
        if kept.sequence == sequence and isinstance(kept.entry, ReadingKept):
            return kept.entry
    now = ", ".join(
        f"{k.sequence} {_told(k)}" for k in sorted(state.job.readings.values(), key=lambda k: k.sequence)[-4:]
    )
    raise CallProblem(
        "that is no reading that counts now",
        where=f"entry {sequence}",
        do=f"name one of those that do: ... {now}" if now else "nothing was read in this job",
    )


def _told(kept: Kept) -> str:
    r = kept.entry
    assert isinstance(r, ReadingKept)
    return " ".join(filter(None, (f"({r.name}", r.at, r.value, f"{r.unit})")))


def _spoken(state: State, old: ReadingKept, value: str, sequence: int) -> SpokenReading:
    reading, at = state.reading(old.step, old.name), position_in(old.at)
    found = NUMBER.fullmatch(value.strip())
    if found is None or reading.kind not in NUMBERS:
        return _by_words(state, reading, value, at, sequence)
    said = _amount(reading, Decimal(found[1]), found[2], state.site.gallon, sequence)
    got = convert(said, reading.unit)
    _check_range(reading, got, sequence)
    return SpokenReading(old.name, reading.each, at, got.value, got.unit, said.value, said.unit, reading.kind)


def _amount(reading: Reading, number: Decimal, unit: str, gallon: str, sequence: int) -> Amount:
    """The number in the unit that was given, or in the reading's own."""
    written = {text: name for name, text in WRITTEN.items()}
    known = {**written, **{name: name for name in KINDS}, **phrases_for(reading.unit, gallon)}
    named = known.get(unit.strip(), "") if unit else reading.unit
    if KINDS.get(named) != KINDS[reading.unit]:
        problem = f"{unit!r} is no unit of {reading.name}"
        raise CallProblem(problem, where=f"entry {sequence}", do=f"give it in {reading.unit}")
    if reading.kind == "count" and number != number.to_integral_value():
        raise CallProblem(f"{reading.name} is counted", where=f"entry {sequence}", do="give a whole number")
    return Amount(number, named)


def _check_range(reading: Reading, got: Amount, sequence: int) -> None:
    low, high = reading.plausible
    if not low <= got.value <= high:
        raise CallProblem(
            f"{got} cannot be a {reading.name} reading: it lies between {low} and {high} {reading.unit}",
            where=f"entry {sequence}",
            do="check the value",
        )


def _by_words(state: State, reading: Reading, value: str, at: Position | None, sequence: int) -> SpokenReading:
    """A value in words, or one that is no number: what it would mean if it were said."""
    moment = Expectation((), (Asked(reading, at),), gallon=state.site.gallon, today=state.today)
    for said in (value, _aloud(reading, value)):
        words = take_of_words(said).candidates[0].words
        readings = [m.readings[0] for m in meanings_of(moment, words) if len(m.readings) == 1]
        meant = [r for r in readings if r.at == at and not r.implausible]
        if len(meant) == 1:
            return meant[0]
        if meant:
            raise CallProblem(f"{value!r} can mean two values", where=f"entry {sequence}", do="give it in figures")
    names = ", ".join(c.name for c in reading.choices) or "figures, or words as they would be said"
    raise CallProblem(f"{value!r} is no value of {reading.name}", where=f"entry {sequence}", do=f"give {names}")


def _aloud(reading: Reading, value: str) -> str:
    """A choice by its name, a code or an ISO date, as it would be said."""
    if reading.kind == "choice":
        return next((c.words[0] for c in reading.choices if c.name == value.strip()), value)
    try:
        if reading.kind == "date":
            first_day(value)  # raises where it is none
            return date_aloud(value)
        return spelled_back(value.upper()) if reading.kind == "letters" else value
    except (KeyError, ValueError):
        return value

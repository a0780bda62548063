"""A technician for whom all goes well: what he says and shows next, from what the assistant waits for. Always the same.

A number is the machine's usual one where the sheet has it (`compression_usual`), else the middle between two bounds; where
there is only a least, that itself or the next above; where there is only a most, the middle between it and what is plausible.
Each is judged before it is said.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from decimal import Decimal

from assistant.core.entries import ReadingKept
from assistant.core.events import Label
from assistant.core.judging import verdict_on
from assistant.core.kept_inputs import kept_of
from assistant.core.machine import NamedValue, WantedPart
from assistant.core.procedure import LAST_SEASON, Position, Reading, place_of
from assistant.core.speech.language import Language
from assistant.core.speech.saying import sent_singly, spoken
from assistant.core.speech.step_grammar import SpokenReading
from assistant.core.state import Question, State
from assistant.core.trade.quarters import last_day
from assistant.core.turns.opening import next_part, next_photograph, next_reading, wants_count
from assistant.core.units import Amount, convert, kind_of

REMARK = "as it should be"
"""What he says where a remark is wanted."""
MOST_TRIED = 200
"""Values across the plausible range that are tried where no bound tells one that is within."""


class GoingWell:
    """Knows the values of the machine sheet; everything else he is told."""

    def __init__(self, values: Mapping[str, NamedValue]) -> None:
        self._values = values

    def words(self, state: State) -> str:
        """What he says now. Not asked while he only waits (counting, scanning)."""
        question = state.talk.question
        match state.talk.phase:
            case "condition":
                return command(state, "affirm")
            case "question" if question is not None:
                return _to_question(state, question)
            case "caution":
                return command(state, "roger")
            case "remark":
                return REMARK
            case "standing by":
                return command(state, "go ahead")
            case _:
                return self._at_step(state)

    def _at_step(self, state: State) -> str:
        if next_part(state):
            return command(state, "part")
        wanted = next_reading(state)
        if wanted is not None:
            return self.reading_words(state, *wanted)
        if wants_count(state):
            return command(state, "go ahead")
        return command(state, "part" if next_photograph(state) else "done")

    def reading_words(self, state: State, reading: Reading, at: Position | None) -> str:
        """One reading that is as it should be, in words."""
        if reading.kind == "choice":
            good = next((choice for choice in reading.choices if choice.good), reading.choices[0])
            return good.words[0]
        if reading.kind == "letters":
            return " ".join(["alfa"] * reading.length[0])
        if reading.kind == "date":
            return _date_words(self._good_date(state, reading, at), state.site.language)
        return spoken(self.good_value(state, reading, at), state.site.language)

    def good_value(self, state: State, reading: Reading, at: Position | None) -> Decimal:
        """A number within all limits; where none is found, the first that was thought of."""
        tried = dict.fromkeys(_fit(value, reading) for value in self._thought_of(state, reading, at))
        return next((v for v in tried if _is_good(state, reading, at, v)), next(iter(tried)))

    def _thought_of(self, state: State, reading: Reading, at: Position | None) -> Iterator[Decimal]:
        usual = self._values.get(f"{reading.name}_usual")
        if usual is not None and kind_of(usual.amount.unit) == kind_of(reading.unit):
            yield convert(usual.amount, reading.unit).value
        yield from _beside(state, reading, at)
        yield from _between_bounds(reading)
        low, high = reading.plausible
        step = (high - low) / MOST_TRIED
        for n in range(MOST_TRIED // 2 + 1):
            yield (low + high) / 2 + n * step
            yield (low + high) / 2 - n * step

    def _good_date(self, state: State, reading: Reading, at: Position | None) -> str:
        bounds = [b for limit in reading.limits for b in (limit.low, limit.high) if isinstance(b, str)]
        days = (state.today, *(last_day(bound) for bound in bounds if bound[0].isdigit()))
        tried = [day.isoformat() for day in days]
        return next((day for day in tried if _is_good(state, reading, at, day)), tried[0])


def command(state: State, name: str) -> str:
    """A command as this shop says it."""
    return state.site.words_for_commands[name][0]


def shown(state: State) -> tuple[Label, ...]:
    """The labels of the packet that he holds to the camera: the part that is wanted, made this month; none if none is."""
    role = next_part(state)
    return (label_of(state.parts[role], state.today),) if role else ()


def label_of(part: WantedPart, today: date) -> Label:
    """A label that names the part, and where its rubber ages the day it was made."""
    if part.gtins and part.seal:
        return Label("GS1-128", f"01{part.gtins[0]:0>14}11{today:%y%m%d}")
    return Label("EAN-13", part.gtins[0]) if part.gtins else Label("CODE-128", part.numbers[0])


def _to_question(state: State, question: Question) -> str:
    if question.kind in ("part", "affirm"):
        return command(state, "affirm")
    first = question.options[0].readings[0]
    return spoken(first.value, state.site.language) if isinstance(first.value, Decimal) else str(first.value)


def _date_words(day: str, language: Language) -> str:
    return sent_singly(day.replace("-", ""), language)


def _is_good(state: State, reading: Reading, at: Position | None, value: Decimal | str) -> bool:
    said = SpokenReading(reading.name, reading.each, at, value, reading.unit, value, reading.unit, reading.kind)
    return verdict_on(state, state.job.step, said).word in ("within", "")


def _beside(state: State, reading: Reading, at: Position | None) -> Iterator[Decimal]:
    """What is kept already of the set and of what the limits compare with, and that moved by what a limit wants."""
    place = place_of(reading.each, at)
    own = (state.job.reading(state.job.step, reading.name, place_of(reading.each, p)) for p in reading.positions)
    yield from (Decimal(entry.value) for entry in own if entry)
    for limit in reading.limits:
        other = kept_of(state, limit.other, place) if limit.other and limit.other != LAST_SEASON else None
        value = _in_unit(other, reading.unit) if other else None
        if value is None:
            continue
        yield value
        for bound in (limit.low, limit.high):
            if isinstance(bound, Amount) and bound.unit == reading.unit:
                yield value + bound.value
                yield value - bound.value


def _in_unit(entry: ReadingKept, unit: str) -> Decimal | None:
    if kind_of(entry.unit) != kind_of(unit):
        return None
    return convert(Amount(Decimal(entry.value), entry.unit), unit).value


def _between_bounds(reading: Reading) -> Iterator[Decimal]:
    """By the bounds of the value itself; the middle of what is plausible where it has none."""
    low, high = reading.plausible
    lows, highs = [], []
    for limit in reading.limits:
        if limit.alone:
            lows += [_bound(limit.low, reading.unit)] if isinstance(limit.low, Amount) else []
            highs += [_bound(limit.high, reading.unit)] if isinstance(limit.high, Amount) else []
    if lows and not highs:
        yield max(lows)
        yield max(lows) + Decimal(1).scaleb(-reading.places)
    yield (max([low, *lows]) + min([high, *highs])) / 2


def _bound(bound: Amount, unit: str) -> Decimal:
    return convert(bound, unit).value


def _fit(value: Decimal, reading: Reading) -> Decimal:
    """With as many decimals as are customary."""
    return value.quantize(Decimal(1).scaleb(-reading.places))

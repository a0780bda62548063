"""The verdict on a reading in its job: its own limits, the set it belongs to, and the reading it must equal."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from assistant.core.entries import Kept, ReadingKept
from assistant.core.procedure import Limit, Reading, place_of
from assistant.core.speech.dates import first_day, last_day
from assistant.core.speech.saying import figures
from assistant.core.speech.step_grammar import Meaning, SpokenReading
from assistant.core.speech.wording import limit_aloud, limit_written, place_aloud
from assistant.core.state import State
from assistant.core.trade.limits import judge
from assistant.core.units import Amount, convert, kind_of

NO_LIMIT = "no limit"
"""What follows from a value that nothing limits."""
WORST_FIRST = ("low", "high", "outside", "unsure", "within")


@dataclass(frozen=True)
class Verdict:
    """The verdict, the limit that decided it in words for the ear, and all limits in print."""

    word: str
    spoken_limit: str = ""
    written_limit: str = ""


def verdicts_on(state: State, step_id: str, readings: tuple[SpokenReading, ...]) -> tuple[Verdict, ...]:
    """Judge the readings of one breath, each beside what is kept already and those said before it."""
    found = []
    for r in readings:
        found.append(verdict_on(state, step_id, r))
        state = _as_if_kept(state, step_id, r)
    return tuple(found)


def _as_if_kept(state: State, step_id: str, r: SpokenReading) -> State:
    value = format(r.value, "f") if isinstance(r.value, Decimal) else r.value
    entry = ReadingKept(step_id, r.name, r.place, "", value, r.unit, r.unit, value, "", "", (), "", 0, "")
    readings = {**state.job.readings, (step_id, r.name, r.place): Kept(0, "", entry)}
    return replace(state, job=replace(state.job, readings=readings))


def verdict_on(state: State, step_id: str, r: SpokenReading) -> Verdict:
    """Judge one reading as if it were kept now beside what is kept already.

    A value outside its plausible range is never within limits, whatever the limits are.
    """
    reading = state.reading(step_id, r.name)
    if r.kind == "letters":
        return Verdict("")
    if r.kind == "date":
        return _verdict_on_date(reading, str(r.value), state.today)
    if not isinstance(r.value, Decimal):
        good = {c.name: c.good for c in reading.choices}[r.value]
        return Verdict("within" if good else "outside")
    written = "; ".join(limit_written(limit) for limit in reading.limits)
    found: dict[str, str] = {}
    low, high = reading.plausible
    if not low <= r.value <= high:
        found["outside"] = f"plausible is from {figures(low)} to {figures(high)}"
    for limit in reading.limits:
        others = _others(state, step_id, reading, limit, r)
        if others is not None:
            word: str = judge(Amount(r.value, r.unit), limit, others).verdict
            aloud = limit_aloud(limit, state.site.read_back)
            if limit.rule == "spread" and word in ("low", "high"):
                word, aloud = _spread_broken(state, step_id, reading, r)
            found.setdefault(word, aloud)
    for word in WORST_FIRST:
        if word in found:
            return Verdict(word, found[word], written)
    return Verdict("", "", written)


def _verdict_on_date(reading: Reading, said: str, today: date) -> Verdict:
    """A month or quarter counts as its last day: from then rubber ages (as seal suppliers restate ARP5316), and until then
    a mark is good (common practice, no source)."""
    written = "; ".join(limit_written(limit) for limit in reading.limits)
    for limit in reading.limits:
        low, high = (today.isoformat() if b == "today" else b for b in (limit.low, limit.high))
        if isinstance(low, str) and last_day(said) < first_day(low):
            return Verdict("low", limit_aloud(limit), written)
        if isinstance(high, str) and last_day(said) > last_day(high):
            return Verdict("high", limit_aloud(limit), written)
    return Verdict("within" if reading.limits else "", "", written)


def _spread_broken(state: State, step_id: str, reading: Reading, r: SpokenReading) -> tuple[str, str]:
    """The set fails as a whole: the lowest is low, wherever it is, and any other that is kept now hears which it is."""
    assert isinstance(r.value, Decimal)
    lowest, where = r.value, r.place
    for at in reading.positions:
        place = place_of(reading.each, at)
        entry = state.job.reading(step_id, r.name, place)
        if place != r.place and entry is not None and Decimal(entry.value) < lowest:
            lowest, where = Decimal(entry.value), place
    return ("low" if where == r.place else "outside"), f"the spread is too wide, the lowest is {place_aloud(where)}"


def _others(state: State, step_id: str, reading: Reading, limit: Limit, r: SpokenReading) -> tuple[Amount, ...] | None:
    """What the limit compares with: nothing, the rest of the set, or the other reading; None: cannot be judged yet."""
    if limit.rule == "spread":
        places = [place_of(reading.each, at) for at in reading.positions]
        kept = {p: state.job.reading(step_id, r.name, p) for p in places if p != r.place}
        if any(entry is None for entry in kept.values()):
            return None
        return tuple(Amount(Decimal(entry.value), entry.unit) for entry in kept.values() if entry)
    if limit.rule == "same_as":
        for (_, name, _), kept_other in state.job.readings.items():
            entry = kept_other.entry
            if name == limit.other and isinstance(entry, ReadingKept):
                return (Amount(Decimal(entry.value), entry.unit),)
        return None
    return ()


def judge_meaning(state: State, meaning: Meaning) -> str:
    """What would follow from a meaning, for the weighing: commands and readings never lead to the same."""
    if not meaning.readings:
        return f"command {meaning.command}"
    step_id = step_of(state, meaning)
    return ", ".join(verdict.word or NO_LIMIT for verdict in verdicts_on(state, step_id, meaning.readings))


def earlier_values(state: State, meaning: Meaning) -> tuple[Decimal | None, ...]:
    """What each reading that a meaning gives was last season, in its unit; None where it is not known."""
    step_id = step_of(state, meaning) if meaning.readings else ""
    return tuple(_earlier(state, step_id, r) for r in meaning.readings)


def _earlier(state: State, step_id: str, r: SpokenReading) -> Decimal | None:
    found = state.job.earlier.get((step_id, r.name, r.place))
    return convert(found, r.unit).value if found and kind_of(found.unit) == kind_of(r.unit) else None


def step_of(state: State, meaning: Meaning) -> str:
    """The step that a meaning's readings belong to: the open one, or for a correction that of the last reading."""
    last = to_correct(state)
    if meaning.correction and last is not None:
        return str(last.entry.body()["step"])
    return state.job.step


def to_correct(state: State) -> Kept | None:
    """The reading that *correction* replaces when no place is said: the newest of the open step (which may have been
    opened again), or where it has none the last one kept, wherever that was."""
    own = [kept for (step_id, _, _), kept in state.job.readings.items() if step_id == state.job.step]
    return max(own, key=lambda kept: kept.sequence) if own else state.job.last_reading

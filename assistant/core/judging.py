"""The verdict on a reading in its job: by its limits, its set, what it is compared with, and what is computed of it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from assistant.core.computing import compute
from assistant.core.entries import Kept, ReadingKept
from assistant.core.kept_inputs import kept_inputs, kept_of, readings_taken, takes_whole_set
from assistant.core.machine import Site
from assistant.core.procedure import LAST_SEASON, Limit, Reading, place_of
from assistant.core.speech.limit_wording import limit_aloud, limit_written, short_aloud, short_written
from assistant.core.speech.saying import figures
from assistant.core.speech.step_grammar import Meaning, SpokenReading
from assistant.core.speech.wording import place_aloud
from assistant.core.state import State
from assistant.core.trade.limits import judge, judge_figure
from assistant.core.trade.quarters import first_day, last_day
from assistant.core.trade.registry import BY_NAME
from assistant.core.units import Amount, convert, kind_of

JUDGED_AGAIN = "judged again"
"""Why an entry stands again with the same value: another value changed its verdict."""
NO_LIMIT = "no limit"
"""What follows from a value that nothing limits."""
WORST_FIRST = ("low", "high", "outside", "unsure", "within")


@dataclass(frozen=True)
class Verdict:
    """The verdict, the limit that decided it in words for the ear, and all limits in print.

    `spoken_margin`: how far from that limit, where the gauge's uncertainty is known.
    """

    word: str
    spoken_limit: str = ""
    written_limit: str = ""
    spoken_margin: str = ""


@dataclass(frozen=True)
class _Judged:
    """One limit's part in the verdict; `word` is "" where it cannot be judged yet.

    `gap`: how far from the bound, where the gauge's uncertainty is known.
    """

    word: str
    written: str
    spoken: str = ""
    gap: Amount | None = None


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
        return _verdict_on_date(state, step_id, reading, r)
    if not isinstance(r.value, Decimal):
        good = {c.name: c.good for c in reading.choices}[r.value]
        return Verdict("within" if good else "outside")
    found = [_judged(state, step_id, reading, limit, r) for limit in reading.limits]
    low, high = reading.plausible
    if not low <= r.value <= high:
        language = state.site.language
        bounds = {"low": figures(low, language=language), "high": figures(high, language=language)}
        found.insert(0, _Judged("outside", "", language.phrase("implausible", **bounds)))
    return _worst(found, state.site)


def _worst(found: list[_Judged], site: Site) -> Verdict:
    """The limit that is broken worst decides, the first of them; where all are kept, the least margin is told."""
    written = "; ".join(one.written for one in found if one.written)
    for word in WORST_FIRST:
        same = [one for one in found if one.word == word]
        if same:
            gaps = sorted((one.gap for one in same if one.gap), key=lambda gap: gap.value)
            gap = same[0].gap if word != "within" else gaps[0] if gaps else None
            return Verdict(
                word, same[0].spoken, written, short_aloud(gap, site.read_back, site.language) if gap else ""
            )
    return Verdict("", "", written)


def _judged(state: State, step_id: str, reading: Reading, limit: Limit, r: SpokenReading) -> _Judged:
    if limit.by:
        return _judged_by_computation(state, step_id, reading, limit, r)
    assert isinstance(r.value, Decimal)
    others = _others(state, step_id, reading, limit, r)
    if others is None:
        return _Judged("", limit_written(limit))
    judgement = judge(Amount(r.value, r.unit), limit, others)
    if limit.rule == "spread" and judgement.verdict in ("low", "high"):
        return _Judged(*_spread_broken(state, step_id, reading, r, limit_written(limit)))
    gap = judgement.gap if limit.uncertainty else None
    return _Judged(
        judgement.verdict, limit_written(limit), limit_aloud(limit, state.site.read_back, state.site.language), gap
    )


def _judged_by_computation(state: State, step_id: str, reading: Reading, limit: Limit, r: SpokenReading) -> _Judged:
    """What cannot be computed (a value outside of its table) is unsure, and the reason is told; an answer that the computation
    itself does not judge is only written down.

    A set fails as a whole, and a date is neither low nor high: what is not within is then "not as it should be".
    """
    given = kept_inputs(state, step_id, reading, limit, r)
    if given is None:
        return _Judged("", limit_written(limit))
    regime, language = state.site.read_back, state.site.language
    try:
        figure = compute(BY_NAME[limit.by], given, state.today)
        judges = limit.rule != "by" or figure.verdict is not None
        word: str = judge_figure(figure, limit).verdict if judges else ""
    except ValueError as error:
        spoken = language.phrase("not computed", detail=f"{error}")
        return _Judged("unsure", limit_written(limit, f"cannot be told, {error}"), spoken)
    if word in ("low", "high") and (r.kind == "date" or takes_whole_set(limit)):
        word = "outside"
    answer = figure.answer
    told = short_aloud(answer, regime, language) if isinstance(answer, Amount) else language.named(answer)
    written = short_written(answer) if isinstance(answer, Amount) else answer
    spoken = language.phrase("computed", limit=limit_aloud(limit, regime, language), answer=told)
    return _Judged(word, limit_written(limit, written), spoken)


def _verdict_on_date(state: State, step_id: str, reading: Reading, r: SpokenReading) -> Verdict:
    """A month or quarter counts as its last day: from then rubber ages (as seal suppliers restate ARP5316), and until then
    a mark is good (common practice, no source)."""
    found = []
    for limit in reading.limits:
        if limit.by:
            found.append(_judged_by_computation(state, step_id, reading, limit, r))
        else:
            word = _word_on_date(limit, str(r.value), state.today)
            spoken = "" if word == "within" else limit_aloud(limit, language=state.site.language)
            found.append(_Judged(word, limit_written(limit), spoken))
    return _worst(found, state.site)


def _word_on_date(limit: Limit, said: str, today: date) -> str:
    low, high = (today.isoformat() if b == "today" else b for b in (limit.low, limit.high))
    if isinstance(low, str) and last_day(said) < first_day(low):
        return "low"
    return "high" if isinstance(high, str) and last_day(said) > last_day(high) else "within"


def _spread_broken(
    state: State, step_id: str, reading: Reading, r: SpokenReading, written: str
) -> tuple[str, str, str]:
    """The set fails as a whole: the lowest is low, wherever it is, and any other that is kept now hears which it is."""
    assert isinstance(r.value, Decimal)
    lowest, where = r.value, r.place
    for at in reading.positions:
        place = place_of(reading.each, at)
        entry = state.job.reading(step_id, r.name, place)
        if place != r.place and entry is not None and Decimal(entry.value) < lowest:
            lowest, where = Decimal(entry.value), place
    word = "low" if where == r.place else "outside"
    language = state.site.language
    return word, written, language.phrase("spread too wide", place=place_aloud(where, language))


def _others(state: State, step_id: str, reading: Reading, limit: Limit, r: SpokenReading) -> tuple[Amount, ...] | None:
    """What the limit compares with: nothing, the rest of the set, or the other reading; None: cannot be judged yet."""
    if limit.rule == "spread":
        places = [place_of(reading.each, at) for at in reading.positions]
        kept = {p: state.job.reading(step_id, r.name, p) for p in places if p != r.place}
        if any(entry is None for entry in kept.values()):
            return None
        return tuple(Amount(Decimal(entry.value), entry.unit) for entry in kept.values() if entry)
    if limit.other == LAST_SEASON:
        earlier = state.job.earlier.get((step_id, r.name, r.place))
        return (earlier,) if earlier and kind_of(earlier.unit) == kind_of(r.unit) else None
    if limit.other:
        other = kept_of(state, limit.other, r.place)
        return (Amount(Decimal(other.value), other.unit),) if other else None
    return ()


def judged_by(limit: Limit, changed: str, *, same_reading: bool) -> bool:
    """Does this limit's verdict hang on another kept value: of the reading `changed`, or of the set of its own reading."""
    if same_reading:
        return limit.rule == "spread" or takes_whole_set(limit)
    return limit.other == changed or changed in readings_taken(limit)


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
    return max(own, key=_said_at) if own else state.job.last_reading


def _said_at(kept: Kept) -> int:
    """When a reading was said, or told to be out of limits: that it is within after all, judged again, is no news of it."""
    entry = kept.entry
    assert isinstance(entry, ReadingKept)
    return entry.replaces if entry.why == JUDGED_AGAIN and entry.verdict == "within" else kept.sequence

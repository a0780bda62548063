"""A limit made one of this machine and this shop: names become amounts, a target gets its bounds, inputs their values."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from difflib import get_close_matches

from assistant.core.computing import One, compute, fits, input_named, is_date, misnamed, parts_of, wanted_kind
from assistant.core.machine import NamedValue
from assistant.core.procedure import LAST_SEASON, Limit, OfReading, Reading, Value
from assistant.core.trade.figure import Figure
from assistant.core.trade.inputs import Computation, Input
from assistant.core.trade.limits import around, difference_unit, doubt, judge_figure
from assistant.core.trade.registry import BY_NAME
from assistant.core.units import Amount, convert, kind_of

A_DAY = date(2024, 1, 1)
TRIALS = 32
"""Steps across what is plausible, at which a computation is tried to see what it answers in."""


@dataclass(frozen=True)
class Known:
    """What a limit may name, and whom to tell of what does not fit: (what is wrong, what to do)."""

    values: Mapping[str, NamedValue]
    readings: Mapping[str, Reading]
    amount: Callable[[Value], Amount | None]
    complain: Callable[[str, str], None]


def bind_limit(limit: Limit, reading: Reading, known: Known) -> Limit:
    """The limit of this reading with amounts for names, and where it comes from; what does not fit is complained of."""
    _check_rule(limit, reading, known)
    low, high = (_bound(value, limit, reading, known) for value in (limit.low, limit.high))
    bound = replace(limit, low=low or limit.low, high=high or limit.high)
    if limit.rule == "target":
        bound = _around_target(bound, reading, known)
    bound = _with_uncertainty(bound, reading, known)
    _check_bounds(bound, reading, known)
    source = limit.source or "; ".join(_sources(limit, known))
    if not limit.by:
        return replace(bound, source=source)
    return _computed(replace(bound, source=source), limit, reading, known)


def _check_rule(limit: Limit, reading: Reading, known: Known) -> None:
    if limit.rule == "spread" and (not reading.each or kind_of(reading.unit) == "temperature"):
        known.complain("a spread is of a set", "give the reading 'each', or another limit")
    if limit.other and limit.other != LAST_SEASON:
        other = known.readings.get(limit.other)
        unit = other.unit if other else None
        if kind_of(unit or "") != kind_of(reading.unit):
            what = f"'{limit.other}' is measured in '{unit}', not in '{reading.unit}'"
            known.complain(what, "compare readings of one kind")


def _bound(value: Value | None, limit: Limit, reading: Reading, known: Known) -> Amount | None:
    amount = known.amount(value) if value is not None else None
    if amount is None or limit.by:
        return amount
    if limit.compared:
        _check_difference(amount, reading.unit, known)
    elif kind_of(amount.unit) != kind_of(reading.unit):
        what = f"{amount} is a {kind_of(amount.unit)}, the reading a {kind_of(reading.unit)}"
        known.complain(what, "give both the same kind of unit")
    elif not reading.plausible[0] <= convert(amount, reading.unit).value <= reading.plausible[1]:
        known.complain(f"the limit {amount} lies outside of what is plausible", "widen 'plausible', or mend the limit")
    return amount


def _check_difference(amount: Amount, unit: str, known: Known) -> bool:
    """May two amounts of this unit differ by so much: by an amount, or by percent of one of them."""
    wanted = kind_of(difference_unit(unit))
    if kind_of(amount.unit) == wanted or (amount.unit == "percent" and kind_of(unit) != "temperature"):
        return True
    known.complain(
        f"{amount} is a {kind_of(amount.unit)}, and must be a {wanted}",
        "give it in a unit of that kind" + ("" if kind_of(unit) == "temperature" else ", or in percent"),
    )
    return False


def _around_target(limit: Limit, reading: Reading, known: Known) -> Limit:
    target = known.amount(limit.target) if limit.target is not None else None
    tolerance = known.amount(limit.tolerance) if limit.tolerance is not None else None
    if target is None or tolerance is None or not _check_difference(tolerance, target.unit, known):
        return limit
    if tolerance.value < 0:
        known.complain(f"the tolerance {tolerance} is negative", "write how far either way")
    low, high = around(target, tolerance)
    if limit.by or kind_of(target.unit) != kind_of(reading.unit):
        _bound(target, limit, reading, known)
    else:
        for bound in (low, high):
            _bound(bound, limit, reading, known)
    return replace(limit, target=target, tolerance=tolerance, low=low, high=high)


def _with_uncertainty(limit: Limit, reading: Reading, known: Known) -> Limit:
    amount = known.amount(limit.uncertainty) if limit.uncertainty is not None else None
    if amount is None or not _check_difference(amount, reading.unit, known):
        return limit
    if amount.value < 0 or (amount.unit == "percent" and amount.value >= 100):
        known.complain(f"a gauge cannot be good to {amount}", "write the uncertainty of its certificate, at k = 2")
        return replace(limit, uncertainty=None)
    return replace(limit, uncertainty=amount)


def _check_bounds(limit: Limit, reading: Reading, known: Known) -> None:
    """Something must lie between the bounds, and something that the gauge can tell to lie there."""
    low, high = limit.low, limit.high
    if not (isinstance(low, Amount) and isinstance(high, Amount)) or kind_of(low.unit) != kind_of(high.unit):
        return
    top = convert(high, low.unit)
    if low.value > top.value:
        known.complain(f"nothing lies between {low} and {high}", "write [low, high]")
    elif limit.alone and isinstance(limit.uncertainty, Amount) and kind_of(low.unit) == kind_of(reading.unit):
        room = top.value - low.value
        if doubt(low, limit) + doubt(top, limit) > room:
            what = f"a gauge good to {limit.uncertainty} can tell nothing between {low} and {high}"
            known.complain(what, "take a better gauge, or leave the uncertainty out")


def _sources(limit: Limit, known: Known) -> dict[str, None]:
    """Where the named values that it uses come from."""
    given = [part for _, value in limit.inputs for part in parts_of(value)]
    used = (limit.low, limit.high, limit.target, limit.tolerance, limit.uncertainty, *given)
    names = [name for name in used if isinstance(name, str) and name in known.values]
    return dict.fromkeys(known.values[name].source for name in names)


# Limits by a trade computation


def _computed(limit: Limit, written: Limit, reading: Reading, known: Known) -> Limit:
    computation = BY_NAME.get(limit.by)
    if computation is None:
        near = get_close_matches(limit.by, BY_NAME, 1)
        known.complain(
            f"there is no computation '{limit.by}'",
            f"did you mean '{near[0]}'?" if near else "'layup figure' lists them",
        )
        return limit
    wrong = list(misnamed(computation, [name for name, _ in limit.inputs]))
    for _, what, do in wrong:
        known.complain(what, do)
    inputs: list[tuple[str, tuple[One, ...]]] = []
    for name, given in limit.inputs:
        wanted = input_named(computation, name)
        found = [_part(part, wanted, known) for part in parts_of(given)] if wanted else [None]
        inputs.append((name, tuple(part for part in found if part is not None)))
        wrong += [(name, "", "")] * (None in found)
    if wrong:
        return limit
    bound = replace(limit, inputs=tuple(inputs))
    figure = _tried(computation, bound, reading, known)
    if figure is None:
        return bound
    sources = dict.fromkeys((*figure.sources, *_sources(written, known)))
    return bound if written.source else replace(bound, source="; ".join(sources))


def _part(part: One, wanted: Input, known: Known) -> One | None:
    """What an input is given, its name looked up; None, and a complaint, where it does not fit."""
    if not isinstance(part, str):
        return part
    reading = known.readings.get(part)
    if wanted.form == "amount":
        return _amount_or_reading(part, wanted, reading, known)
    if wanted.form == "word" and part in wanted.words:
        return part
    if reading is not None and fits(wanted, reading):
        return OfReading(part)
    if wanted.form == "text" or (wanted.form == "date" and is_date(part)):
        return part
    near = get_close_matches(part, wanted.words, 1)
    do = f"did you mean '{near[0]}'?" if near else f"it takes {wanted_kind(wanted)}"
    known.complain(f"'{wanted.name}' is never '{part}'", do)
    return None


def _amount_or_reading(name: str, wanted: Input, reading: Reading | None, known: Known) -> One | None:
    if reading is None:
        amount = known.amount(name)
    elif name in known.values:
        known.complain(f"'{name}' is a value and a reading as well", "give one of them another name")
        return None
    elif not fits(wanted, reading):
        known.complain(
            f"'{wanted.name}' takes a {wanted_kind(wanted)}, and '{name}' is none", "give it another reading"
        )
        return None
    else:
        return OfReading(name)
    if amount is not None and kind_of(amount.unit) != kind_of(wanted.unit):
        what = f"'{wanted.name}' takes a {wanted_kind(wanted)}, and '{name}' is a {kind_of(amount.unit)}"
        known.complain(what, "give it another value")
        return None
    return amount


def _tried(computation: Computation, limit: Limit, reading: Reading, known: Known) -> Figure | None:
    """What it answers for some plausible readings; None where it answers for none of those tried.

    Complains where it answers, but never so that the limit can judge it.
    """
    figure, wrong = None, ""
    for given in _trials(computation, limit, reading, known):
        try:
            figure = compute(computation, given, A_DAY)
        except ValueError:
            continue
        try:
            judge_figure(figure, limit)
        except ValueError as error:
            wrong = str(error)
        else:
            return figure
    if wrong and limit.rule == "by":
        known.complain(f"{limit.by} gives an answer and no verdict", "give the limit a bound: 'at_least: ...'")
    elif wrong:
        known.complain(f"{limit.by}: {wrong}", "give the bound in a unit of what it answers")
    return figure


def _trials(
    computation: Computation, limit: Limit, reading: Reading, known: Known
) -> Iterator[dict[str, list[Amount | str]]]:
    """Inputs with plausible readings, from the least to the most; of a set each a little less than the one before."""
    for step in range(TRIALS + 1):
        given: dict[str, list[Amount | str]] = {}
        for name, parts in limit.inputs:
            wanted = input_named(computation, name)
            several = wanted is not None and wanted.several
            given[name] = []
            for part in parts_of(parts):
                if not isinstance(part, OfReading):
                    given[name].append(part)
                    continue
                r = known.readings[part.name] if part.name else reading
                places = range(len(r.positions) or (2 if r.each else 1)) if several else range(1)
                given[name] += [_plausible(r, step, place) for place in places]
        yield given


def _plausible(r: Reading, step: int, place: int) -> Amount | str:
    if r.kind == "choice":
        return r.choices[step % len(r.choices)].name
    if r.kind in ("letters", "date"):
        return A_DAY.isoformat()
    low, high = r.plausible
    value = low + (high - low) * step / (TRIALS * (1 + place))
    return Amount(value.to_integral_value() if r.kind == "count" else value, r.unit)

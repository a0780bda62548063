"""A limit in words: for the ear, as *limits* and a verdict say it, and in print, as entries and reports have it.

`reports.figures` reads the bounds in print ("at least 175 psi", "1 V to 2 V") back for its band. So what does not bound the
reading itself begins with "against" or "by", and is passed over there.
"""

from __future__ import annotations

from decimal import Decimal

from assistant.core.procedure import Limit, Value
from assistant.core.speech.dates import date_aloud
from assistant.core.speech.saying import ReadBack, figures
from assistant.core.speech.sources import source_aloud
from assistant.core.speech.wording import amount_aloud
from assistant.core.units import Amount, plain

COMPARED_ALOUD = {"more_than": "more than", "less_than": "less than", "differs_from": "different from"}
COMPARED_WRITTEN = {"more_than": "more", "less_than": "less", "differs_from": "apart"}


def named_aloud(name: str) -> str:
    """A name of the files as it is said: "rest voltage"."""
    return name.replace("_", " ")


def limit_aloud(limit: Limit, regime: ReadBack = "digits") -> str:
    """One limit in words for the ear: its rule, and how good the gauge is where that is known."""
    text = _rule_aloud(limit, regime)
    if limit.by:
        text = f"{named_aloud(limit.by)}, {text}" if text else f"as {named_aloud(limit.by)} has it"
    if limit.compared:
        text = f"{COMPARED_ALOUD[limit.compared]} {named_aloud(limit.other)} by {text.removeprefix('from ')}"
    if limit.uncertainty is None:
        return text
    return f"{text}, the gauge good to {_bound_aloud(limit.uncertainty, regime)}"


def limit_with_source(limit: Limit, regime: ReadBack = "digits") -> str:
    """The same with where it comes from: "at least one seven five P S I, by Tern 3 manual page 6 dash 8"."""
    source = source_aloud(limit.source)
    return f"{limit_aloud(limit, regime)}, by {source.removeprefix('by ')}" if source else limit_aloud(limit, regime)


def _rule_aloud(limit: Limit, regime: ReadBack) -> str:
    match limit.rule:
        case "between":
            return f"from {_first_aloud(limit, regime)} to {_bound_aloud(limit.high, regime)}"
        case "at_least" | "above":
            return f"{named_aloud(limit.rule)} {_bound_aloud(limit.low, regime)}"
        case "at_most" | "below":
            return f"{named_aloud(limit.rule)} {_bound_aloud(limit.high, regime)}"
        case "target":
            return f"{_bound_aloud(limit.target, regime)}, within {_bound_aloud(limit.tolerance, regime)} either way"
        case "spread":
            return f"lowest within {figures(limit.share or Decimal(0), regime)} percent of the highest"
        case "same_as":
            return f"the same as {named_aloud(limit.other)}"
        case "by":
            return ""


def _first_aloud(limit: Limit, regime: ReadBack) -> str:
    """The lower of two bounds; without its unit where the upper one has the same."""
    low, high = limit.low, limit.high
    if isinstance(low, Amount) and (not isinstance(high, Amount) or high.unit == low.unit):
        return figures(low.value, regime)
    return _bound_aloud(low, regime)


def _bound_aloud(value: Value | None, regime: ReadBack) -> str:
    if isinstance(value, Amount):
        return amount_aloud(value.value, value.unit, regime)
    return date_aloud(value) if value and value[0].isdigit() else value or ""


def short_aloud(amount: Amount, regime: ReadBack = "digits") -> str:
    """A computed amount for the ear: three significant figures, whole numbers whole. The record keeps more."""
    return amount_aloud(_significant(amount.value, 3), amount.unit, regime)


def short_written(amount: Amount) -> str:
    """A computed amount in print: six significant figures."""
    return str(Amount(_significant(amount.value, 6), amount.unit))


def _significant(value: Decimal, figures_kept: int) -> Decimal:
    if value == value.to_integral_value():
        return Decimal(plain(value))
    least = Decimal(1).scaleb(min(0, value.adjusted() - figures_kept + 1))
    return Decimal(plain(value.quantize(least)))


def limit_written(limit: Limit, answer: str = "") -> str:
    """One limit in print, with its source; `answer` is what its computation gave."""
    text = _rule_written(limit)
    if limit.by:
        text = f"by {limit.by}: {', '.join(filter(None, (answer, text)))}".removesuffix(": ")
    if limit.compared:
        text = f"against {limit.other}: {COMPARED_WRITTEN[limit.compared]} by {text}"
    if limit.uncertainty is not None:
        text = f"{text}, gauge good to {limit.uncertainty}"
    return f"{text} ({limit.source})" if limit.source else text


def _rule_written(limit: Limit) -> str:
    match limit.rule:
        case "between":
            return f"{limit.low} to {limit.high}"
        case "at_least" | "above":
            return f"{named_aloud(limit.rule)} {limit.low}"
        case "at_most" | "below":
            return f"{named_aloud(limit.rule)} {limit.high}"
        case "target":
            return f"{limit.target} within {limit.tolerance}, {limit.low} to {limit.high}"
        case "spread":
            return f"lowest within {limit.share} % of highest"
        case "same_as":
            return f"same as {limit.other}"
        case "by":
            return ""

"""A limit in words: for the ear, as *limits* and a verdict say it, and in print, as entries and reports have it.

`reports.figures` reads the bounds in print ("at least 175 psi", "1 V to 2 V") back for its band. So what does not bound the
reading itself begins with "against" or "by", and is passed over there.
"""

from __future__ import annotations

from decimal import Decimal

from assistant.core.procedure import Limit, Value
from assistant.core.speech.dates import date_aloud
from assistant.core.speech.english import ENGLISH
from assistant.core.speech.language import Language
from assistant.core.speech.saying import ReadBack, figures
from assistant.core.speech.sources import source_aloud
from assistant.core.speech.wording import amount_aloud
from assistant.core.units import Amount, plain

COMPARED_WRITTEN = {"more_than": "more", "less_than": "less", "differs_from": "apart"}


def named_aloud(name: str) -> str:
    """A name of the files in print: "rest voltage"."""
    return name.replace("_", " ")


def limit_aloud(limit: Limit, regime: ReadBack = "digits", language: Language = ENGLISH) -> str:
    """One limit in words for the ear: its rule, and how good the gauge is where that is known."""
    text = _rule_aloud(limit, regime, language)
    if limit.by:
        by = language.named(limit.by)
        text = language.phrase("limit by", by=by, limit=text) if text else language.phrase("limit by alone", by=by)
    if limit.compared:
        text = language.phrase(f"limit {limit.compared}", other=language.named(limit.other), limit=text)
    if limit.uncertainty is None:
        return text
    return language.phrase("gauge", limit=text, uncertainty=_bound_aloud(limit.uncertainty, regime, language))


def limit_with_source(limit: Limit, regime: ReadBack = "digits", language: Language = ENGLISH) -> str:
    """The same with where it comes from: "at least one seven five P S I, by Tern 3 manual page 6 dash 8"."""
    text, source = limit_aloud(limit, regime, language), source_aloud(limit.source, language)
    by = f"{language.phrase('source by')} "
    return language.phrase("limit source", limit=text, source=source.removeprefix(by)) if source else text


def _rule_aloud(limit: Limit, regime: ReadBack, language: Language) -> str:
    def bound(value: Value | None) -> str:
        return _bound_aloud(value, regime, language)

    match limit.rule:
        case "between":
            key = "difference between" if limit.compared and not limit.by else "limit between"
            return language.phrase(key, low=_first_aloud(limit, regime, language), high=bound(limit.high))
        case "at_least" | "above":
            return language.phrase(f"limit {limit.rule}", bound=bound(limit.low))
        case "at_most" | "below":
            return language.phrase(f"limit {limit.rule}", bound=bound(limit.high))
        case "target":
            return language.phrase("limit target", target=bound(limit.target), tolerance=bound(limit.tolerance))
        case "spread":
            return language.phrase("limit spread", share=figures(limit.share or Decimal(0), regime, language))
        case "same_as":
            return language.phrase("limit same_as", other=language.named(limit.other))
        case "by":
            return ""


def _first_aloud(limit: Limit, regime: ReadBack, language: Language) -> str:
    """The lower of two bounds; without its unit where the upper one has the same."""
    low, high = limit.low, limit.high
    if isinstance(low, Amount) and (not isinstance(high, Amount) or high.unit == low.unit):
        return figures(low.value, regime, language)
    return _bound_aloud(low, regime, language)


def _bound_aloud(value: Value | None, regime: ReadBack, language: Language) -> str:
    if isinstance(value, Amount):
        return amount_aloud(value.value, value.unit, regime, language)
    return date_aloud(value, language) if value and value[0].isdigit() else value or ""


def short_aloud(amount: Amount, regime: ReadBack = "digits", language: Language = ENGLISH) -> str:
    """A computed amount for the ear: three significant figures, whole numbers whole. The record keeps more."""
    return amount_aloud(_significant(amount.value, 3), amount.unit, regime, language)


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

"""The limits of a reading as a procedure file writes them: each has one rule, and says where it comes from.

- {at_least: 175 psi, source: Tern 3 manual page 6-8}   # or the name of a value; its page is then the source
- between: [compression_least, compression_most]        # at_least, at_most, between: the bound itself is within
- {above: 0 psi}                                        # above, below: the bound itself is out
- {target: plug_torque, within: 4 percent}              # either way; or an amount
- {spread: 10 percent}                                  # lowest within so much of the highest, of a reading with 'each'
- {same_as: washers_off}                                # as many as in an earlier step
- {more_than: rest_voltage, at_least: 0.8 V}            # also less_than, differs_from; an amount, or percent of the other
- {less_than: last_season, at_most: 10 percent}         # the same, to its own value in last season's job
- {at_least: 175 psi, uncertainty: 3 psi}               # of the gauge (k = 2): an amount, or percent of the reading
- {by: NAME, with: {pressures: all, altitude: altitude}, at_least: 75 percent}   # what a trade computation answers
- {by: NAME, with: {pressures: all}}                    # as the computation itself judges

Of a date: at_least, at_most, between with 2026-11-23, 2026-11, 2026-Q4 or today; or by a computation.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

from assistant.core.procedure import Compared, Limit, LimitRule, Reading, Value
from assistant.core.trade.quarters import first_day
from assistant.files.call_fields import computation_named, inputs_given
from assistant.files.yaml_fields import Fields
from assistant.files.yaml_source import Complaints, Table, Text

DATE_RULES = ("between", "at_least", "at_most")
BOUNDS = ("between", "at_least", "at_most", "above", "below")
RULES = (*BOUNDS, "target", "spread", "same_as")
COMPARED: tuple[Compared, ...] = ("more_than", "less_than", "differs_from")
KEYS = (*RULES, "within", *COMPARED, "uncertainty", "by", "with", "source")
NOT_BESIDE = {
    "by": ("spread", "same_as", "uncertainty", *COMPARED),
    "same_as": ("uncertainty", *COMPARED),
    "spread": COMPARED,
    "target": COMPARED,
    "differs_from": ("at_least", "above", "between"),
}
"""What makes no sense together in one limit."""


def limits_of(fields: Fields, reading: Reading) -> tuple[Limit, ...]:
    """The limits under the key `limits` of a reading that is known so far."""
    return tuple(_limit(table, reading, fields.complaints) for table in fields.tables("limits"))


def _limit(table: Table, reading: Reading, complaints: Complaints) -> Limit:
    dated = reading.kind == "date"
    keys = (*DATE_RULES, "by", "with", "source") if dated else KEYS
    fields = Fields(table, "a limit of a date" if dated else "a limit", keys, complaints)
    common: dict[str, Any] = {"source": fields.source("source", ""), "line": table.place.line}
    if fields.has("by"):
        return _by_computation(fields, reading, common)
    if fields.has("with"):
        fields.complain("with", "'with' is for a computation", "add 'by: NAME', or leave it out")
    rules = [rule for rule in (DATE_RULES if dated else RULES) if fields.has(rule)]
    if len(rules) != 1:
        wanted = ", ".join(DATE_RULES) + ", with its bounds" if dated else ", ".join(RULES)
        complaints.add(table.place, "a limit has exactly one rule", f"write one of {wanted}")
        return Limit("between", **common)
    if dated:
        return _date_limit(fields, rules[0], common)
    return _number_limit(fields, rules[0], common)


def _number_limit(fields: Fields, rule: str, common: dict[str, Any]) -> Limit:
    _not_beside(fields)
    if fields.has("uncertainty"):
        common["uncertainty"] = fields.value("uncertainty")
    compared = [key for key in COMPARED if fields.has(key)]
    if len(compared) > 1:
        fields.complain(compared[1], "a limit compares with one other value", f"keep one of {', '.join(compared)}")
    if compared:
        common |= {"compared": compared[0], "other": fields.name(compared[0])}
    if rule == "spread":
        return Limit("spread", share=_share(fields), **common)
    if rule == "same_as":
        return Limit("same_as", other=fields.name("same_as"), **common)
    return _bounded(fields, rule, common)


def _bounded(fields: Fields, rule: str, common: dict[str, Any]) -> Limit:
    if fields.has("within") and rule != "target":
        fields.complain("within", "'within' is the tolerance of a target", "add 'target: ...', or leave it out")
    match rule:
        case "between":
            low, high = _bounds(fields)
            return Limit("between", low=low, high=high, **common)
        case "at_least" | "above":
            return Limit(rule, low=fields.value(rule), **common)
        case "at_most" | "below":
            return Limit(rule, high=fields.value(rule), **common)
    return Limit("target", target=fields.value("target"), tolerance=fields.value("within"), **common)


def _by_computation(fields: Fields, reading: Reading, common: dict[str, Any]) -> Limit:
    """A limit on what a trade computation answers, or as it judges itself."""
    _not_beside(fields)
    computation = computation_named(fields)
    fields.need("with")
    inner = fields.under("with")
    if computation is not None:
        common["inputs"] = inputs_given(inner, computation, reading)
    common["by"] = fields.text("by")
    rules = [rule for rule in (*BOUNDS, "target") if fields.has(rule)]
    if len(rules) > 1:
        fields.complain(rules[1], "a limit has at most one bound beside 'by'", f"keep one of {', '.join(rules)}")
    return _bounded(fields, rules[0], common) if rules else Limit(_NO_BOUND, **common)


_NO_BOUND: LimitRule = "by"


def _not_beside(fields: Fields) -> None:
    for key, others in NOT_BESIDE.items():
        for other in others:
            if fields.has(key) and fields.has(other):
                fields.complain(other, f"'{other}' does not go with '{key}'", "keep the one or the other")


def _date_limit(fields: Fields, rule: str, common: dict[str, Any]) -> Limit:
    """Its bounds are dates, or today."""
    bounds = [_date_bound(fields, text) for text in fields.texts(rule)]
    match rule, bounds:
        case "between", [low, high]:
            return Limit("between", low=low, high=high, **common)
        case "at_least", [low]:
            return Limit("at_least", low=low, **common)
        case "at_most", [high]:
            return Limit("at_most", high=high, **common)
    fields.complain(rule, "a limit has exactly one rule", f"write one of {', '.join(DATE_RULES)}, with its bounds")
    return Limit("between", **common)


def _date_bound(fields: Fields, text: Text) -> str:
    if text.value != "today":
        fields.taken(text, first_day, date.min, "write it as 2026-11-23, 2026-11, 2026-Q4 or today")
    return text.value


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
